//! What a change does to the aircraft, as it was and as it is side by side.

use super::say;
use crate::compare::{Change, Comparison, Subject, Told};
use crate::report::compare::{closing, positions, side_by_side};
use maud::{Markup, html};

/// The page.
pub(super) fn changes(comparison: &Comparison, sides: [&str; 2]) -> Markup {
    let [old, new] = sides.map(|side| say::text(side).into_owned());
    html! {
        article.page {
            div.head { h1 { "What a change does" } span { "from " b { (old) } " to " b { (new) } } }
            p.caution { "Propellers off for every check on the bench." }
            @for one in &comparison.subjects { (subject(one, &old, &new)) }
            (told("Findings that come", &comparison.came))
            (told("Findings that go", &comparison.went))
            p { (closing(comparison, sides)) }
            p.small { (super::STAYS) }
        }
    }
}

fn subject(subject: &Subject, old: &str, new: &str) -> Markup {
    let is_aircraft = subject.kind == "aircraft";
    // What is seen in the same positions stands together below them.
    let mut place = String::new();
    let rows: Vec<(String, &Change)> = subject
        .changes
        .iter()
        .map(|change| {
            let here = at(change, subject);
            let head = if here == place { String::new() } else { here.clone() };
            place = here;
            (head, change)
        })
        .collect();
    html! {
        section.long {
            h2 {
                @if !is_aircraft { (subject.kind) " " }
                (say::text(&subject.name))
                @if let Some(before) = &subject.before { " (before: " (say::text(before)) ")" }
            }
            @if !subject.changes.is_empty() {
                table.changes {
                    tr { th { "what" } th { (old) } th { (new) } }
                    @for (here, change) in &rows {
                        @if !here.is_empty() { tr { td colspan="3" { i { (here) } } } }
                        @let [what, was, is] = side_by_side(&change.what);
                        tr { td { b { (what) } } td { (was) } td { (is) } }
                    }
                }
            }
            @for open in &subject.open { p { b { "Not decided: " } (say::text(&open.what)) ". " (say::text(&open.why)) } }
        }
    }
}

/// Where a change is seen: under which model, over which link, in which positions.
fn at(change: &Change, subject: &Subject) -> String {
    let model = change.model.as_ref().filter(|_| subject.models.len() > 1);
    let model = model.map(|model| format!("under \"{}\": ", say::text(model)));
    let link = change.over.as_ref().map(|link| format!("over link {}: ", say::text(link)));
    let shown = change.example.as_ref().map(|example| positions(example));
    let all: String = [model, link, shown].into_iter().flatten().collect();
    all.trim_end_matches([' ', ',', ':']).to_owned()
}

fn told(head: &str, findings: &[Told]) -> Markup {
    html! {
        @if !findings.is_empty() {
            section.long {
                h2 { (head) }
                ul {
                    @for one in findings {
                        li {
                            b { (one.severity.0.word()) " " } (one.rule)
                            @if !one.aircraft.is_empty() { " (" (say::text(&one.aircraft.join(", "))) ")" }
                            ": " (say::text(&one.message))
                        }
                    }
                }
            }
        }
    }
}
