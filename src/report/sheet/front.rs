//! The first page of a fleet.

use super::say;
use crate::findings::caution::{Caution, before_the_bench};
use crate::fleet::craft::{Craft, ReceiverNumber};
use crate::report::Report;
use crate::rules::matrix::{Cell, Connects};
use crate::sheet::{Front, Grid};
use maud::{Markup, html};

/// The page.
pub(super) fn front(front: &Front<'_, '_>, report: &Report<'_>) -> Markup {
    html! {
        article.page {
            div.head {
                h1 { "Before flying" }
                span { (front.rows.len()) " aircraft, " (report.files) @if report.files == 1 { " file" } @else { " files" } }
                span { @if let Some(today) = front.today { (today) } }
            }
            p.caution { (before_the_bench(front.rows.iter().map(|row| Caution::of(row.craft)))) }
            section.long {
                h2 { "Which model and number belong to which aircraft" }
                table {
                    tr { th { "aircraft" } th { "model to choose" } th { "handset" } th { "model's number" } th { "receiver's number" } th { "what the inspection says" } }
                    @for row in &front.rows {
                        tr {
                            td { b { (say::text(&row.craft.head.name.value)) } }
                            td { @for model in &row.models { div { (say::text(&model.head.name.value)) } } @if row.models.is_empty() { "no model flies it" } }
                            td { @for model in &row.models { div { @if let Some(handset) = &model.handset { (say::text(&handset.value)) } } } }
                            td { @for model in &row.models { div { (say::numbers(model)) } } }
                            td { (receiver_numbers(row.craft)) }
                            td { @if let Some(verdict) = row.verdict { (say::verdict(verdict, row.standing)) } }
                        }
                    }
                }
            }
            @match &front.grid {
                Some(grid) => (connections(grid)),
                None => p { "There are too many models or aircraft for a grid of who connects to whom: `walkaround pairings` tells what is not as the models say." },
            }
            p.small { "\"Nothing found\" means that none of the rules that were asked spoke. It does not mean that an aircraft is fit to fly. \"2 not asked\": two more rules are about the aircraft, and could not be asked to the end." }
            p.small { (super::STAYS) }
        }
    }
}

fn receiver_numbers(craft: &Craft) -> String {
    let number = |receiver: &crate::fleet::craft::Receiver| match receiver.number.map(|number| number.value) {
        Some(ReceiverNumber::Locked(number)) => number.to_string(),
        Some(ReceiverNumber::Any) => "any".to_owned(),
        None => "not stated".to_owned(),
    };
    let all: Vec<String> = craft.receivers.iter().map(number).collect();
    if all.is_empty() { "no receiver is stated".to_owned() } else { all.join(", ") }
}

fn connections(grid: &Grid<'_>) -> Markup {
    let surprising = |cell: &&Cell<'_>| cell.surprises();
    html! {
        section {
            h2 { "Who connects to whom" }
            table.grid {
                tr { th { "model" } @for craft in &grid.crafts { th { (say::text(&craft.head.name.value)) } } }
                @for (model, cells) in &grid.rows {
                    tr { th { (say::text(&model.head.name.value)) } @for cell in cells { td { (word(cell)) } } }
                }
            }
            p.small { "Connects: ✔ as the model says, ! though it does not list the aircraft. ? depends on what is not stated. ✘ lists it and does not connect." }
            @let told: Vec<_> = grid.rows.iter().flat_map(|(_, cells)| cells).filter(surprising).collect();
            ul {
                @for cell in &told {
                    li {
                        b { (say::text(&cell.model.head.name.value)) } " and " b { (say::text(&cell.craft.head.name.value)) } ": "
                        (say::text(&cell.decides))
                    }
                }
            }
        }
    }
}

const fn word(cell: &Cell<'_>) -> &'static str {
    match (cell.connects, cell.listed) {
        (Connects::Yes, true) => "✔",
        (Connects::Yes, false) => "!",
        (Connects::Depends, true) => "? (listed)",
        (Connects::Depends, false) => "?",
        (Connects::No, true) => "✘",
        (Connects::No, false) => "",
    }
}
