//! The field card of an aircraft.

use super::{handset, say};
use crate::findings::caution::Caution;
use crate::findings::craft_words::CraftWords;
use crate::findings::verdict::Verdict;
use crate::findings::{Finding, Severity};
use crate::fleet::craft::{CraftBattery, Receiver, ReceiverNumber};
use crate::fleet::model::Telemetry;
use crate::fleet::words::{Feeds, LossAction, Tested};
use crate::report::Report;
use crate::report::coverage::{in_words, last_day};
use crate::report::paragraphs::sentences;
use crate::report::traced::movers;
use crate::report::witness::{capital, number};
use crate::setup::loss::{Loss, LossStep};
use crate::setup::{Bay, Setup};
use crate::sheet::{Battery, Page};
use maud::{Markup, html};

/// So many findings, and so many things that are missing, are told on paper; the others are counted.
const TOLD: usize = 6;

/// The head of a page: what to choose on the handset, and what the inspection says.
pub(super) fn head(page: &Page<'_, '_>) -> Markup {
    let (setup, craft) = (page.setup, page.setup.craft);
    let kind = craft.kind.map_or("", |kind| kind.value.word());
    let handset = setup.model.handset.as_ref().map(|name| say::text(&name.value).into_owned());
    html! {
        div.head {
            h1 { (say::text(&craft.head.name.value)) }
            span { (kind) }
            @if let Some(verdict) = page.verdict {
                @match verdict.verdict {
                    // A frame would make a stamp of what is no more than an inspection of the description.
                    Verdict::NothingFound | Verdict::NothingNew | Verdict::Waived | Verdict::NothingOfThese => span {
                        "Inspection: " (say::verdict(verdict, page.row)) ". It has not seen the " (CraftWords::of(craft).noun) "."
                    },
                    _ => span.verdict { (say::verdict(verdict, page.row)) },
                }
            }
            span { @if let Some(today) = page.today { (today) } }
        }
        div.choose-row {
            p.choose {
                "Choose model " b { (say::text(&setup.model.head.name.value)) }
                @if let Some(handset) = handset { " on handset " b { (handset) } }
                ", receiver number " b { (say::numbers(setup.model)) } "."
            }
            p.caution { (page.caution.words()) " That is for every check on the bench." }
        }
        @if is_dangerous(page) { (open(page)) }
    }
}

/// Whether what is open has to be read before anything else on the page.
fn is_dangerous(page: &Page<'_, '_>) -> bool {
    page.findings.iter().any(|finding| finding.severity >= Severity::Danger)
}

/// The card.
pub(super) fn card(page: &Page<'_, '_>, report: &Report<'_>) -> Markup {
    html! {
        (handset::handset(page))
        (channels(page))
        (battery(page))
        (loss(page))
        (radio(page))
        (tested(page))
        @if !is_dangerous(page) { (open(page)) }
        (not_checked(page, report))
    }
}

fn channels(page: &Page<'_, '_>) -> Markup {
    let Some(path) = &page.path else {
        return html! { section { h2 { "Channels" } p { "The signal path can't be put together: `walkaround inspect` says why." } } };
    };
    html! {
        section.long {
            h2 { "Channel order" }
            table {
                @for channel in &path.channels {
                    tr {
                        td.n { (channel.channel) }
                        td { b { (say::label(page.setup, channel.channel)) } }
                        td {
                            (say::text(&movers(&channel.moved_by)))
                            @if !channel.carried { b { " – not carried by the link" } }
                        }
                    }
                }
            }
        }
    }
}

fn battery(page: &Page<'_, '_>) -> Markup {
    let model = page.setup.model;
    let words = CraftWords::of(page.setup.craft);
    html! {
        section {
            h2 { "Battery, timer, alarms" }
            @if page.batteries.is_empty() { p { "No battery is stated." } }
            @for battery in &page.batteries { (one_battery(battery, words, under_load(page, battery.battery))) }
            @if !page.batteries.is_empty() {
                p { "Pack no. " span.line.short {} ", before the " (words.once) " " span.line.short {} " V, after it " span.line.short {} " V." }
            }
            ul {
                @for timer in &model.timers {
                    li {
                        "Timer " b { (say::time(timer.time.value.to_f64())) }
                        @if let Some(when) = &timer.when { " while " (say::text(&when.to_string())) }
                    }
                }
                @if model.timers.is_empty() { li { "No timer is stated." } }
                @for alarm in &model.alarms { li { "Alarm: " (say::alarm(page.caution, &alarm.kind)) } }
                @if model.alarms.is_empty() { li { "No alarm is stated." } }
            }
        }
    }
}

/// What a battery's voltage falls under: the motors, as far as there are any and it may feed them.
fn under_load(page: &Page<'_, '_>, battery: &CraftBattery) -> &'static str {
    let is_motors = page.caution != Caution::Servos && battery.feeds.is_none_or(|feeds| feeds.value != Feeds::Receiver);
    if is_motors { "motors running" } else { "under load" }
}

fn one_battery(battery: &Battery<'_>, words: CraftWords, under_load: &str) -> Markup {
    let stated = battery.battery;
    let feeds = stated.feeds.map(|feeds| feeds.value.word());
    let cells = stated.cells.map_or_else(
        || "cells not stated".to_owned(),
        |cells| match cells.value {
            1 => "1 cell".to_owned(),
            cells => format!("{cells} cells"),
        },
    );
    html! {
        p {
            b { (say::text(&stated.chemistry.value)) ", " (cells) }
            @if let Some(capacity) = battery.lasts { ", " (number(capacity.capacity_mah)) " mAh" }
            @if let Some(feeds) = feeds { " (feeds: " (feeds) ")" }
            ". "
            @match battery.landing {
                Some(landing) => {
                    (capital(words.end)) " at "
                    @if let Some(pack) = landing.pack_under_load { b { (volts(pack)) " V" } " (" }
                    (volts(landing.cell_under_load)) " V a cell, " (under_load)
                    @if landing.pack_under_load.is_some() { ")" }
                    "; at rest "
                    @if let Some(pack) = landing.pack_rested { b { (volts(pack)) " V" } " (" }
                    (volts(landing.cell_rested)) " V a cell"
                    @if landing.pack_rested.is_some() { ")" }
                    ". "
                }
                None => { "When to " (words.end) " is not known. " },
            }
            @match battery.lasts {
                Some(lasts) => {
                    (words.time) " " b { (say::time(lasts.seconds)) } ": " (number(lasts.share)) " % of the capacity at "
                    (lasts.draw_a) " A."
                }
                None => { "The " (words.time.to_lowercase()) " is not known: capacity or draw is not stated." }
            }
        }
    }
}

fn volts(volts: f64) -> String {
    let text = format!("{volts:.2}");
    text.strip_suffix('0').unwrap_or(&text).to_owned()
}

fn loss(page: &Page<'_, '_>) -> Markup {
    html! {
        section {
            h2 { "If the link is lost" }
            @if page.losses.is_empty() { p { "The model is for a simulator." } }
            @for loss in &page.losses { (one_loss(page, loss)) }
        }
    }
}

fn one_loss(page: &Page<'_, '_>, loss: &Loss<'_>) -> Markup {
    html! {
        @if let Some(name) = loss.receiver.and_then(|receiver| receiver.name.as_ref()) {
            p { "Receiver " b { (say::text(&name.value)) } ":" @if loss.backed { " (the other one takes over first)" } }
        }
        ol { @for step in &loss.steps { li { (loss_step(page.setup, step)) } } }
    }
}

/// One step of what happens at a loss, as a sentence.
pub fn loss_step(setup: &Setup<'_>, step: &LossStep<'_>) -> String {
    match step {
        LossStep::Repeats(time) => format!("For {} the receiver repeats the last pulses.", say::seconds(*time)),
        LossStep::RepeatsOn => "The receiver repeats the last pulses without end.".to_owned(),
        LossStep::Stops => "The receiver's outputs stop.".to_owned(),
        LossStep::Gives(preset) => {
            let one = |stored: &crate::fleet::craft::PresetPulse| {
                let channel = stored.channel.value;
                format!("{channel} {} {}", say::label(setup, channel), stored.pulse.value)
            };
            let stored: Vec<String> = preset.iter().map(one).collect();
            format!("The receiver gives its stored pulses (us): {}.", stored.join(", "))
        }
        LossStep::ReceiverOpen => "What the receiver does is not stated.".to_owned(),
        LossStep::Controller(action, after) => {
            let stays_down = setup.craft.stays_down();
            let does = match action {
                LossAction::MotorsOff if stays_down => "stops the motors",
                LossAction::MotorsOff => "stops the motors: the aircraft falls",
                LossAction::Descend => "comes down",
                LossAction::Circle => "circles",
                LossAction::FlyBack => CraftWords::of(setup.craft).comes_home,
                LossAction::Nothing => "does nothing of its own",
            };
            match after {
                Some(after) => format!("{} after it notices, the flight controller {does}.", say::seconds(*after)),
                None => format!("The flight controller {does}; after what time is not stated."),
            }
        }
        LossStep::Unnoticed => {
            "The flight controller can't tell this from flown commands, and does nothing of its own.".to_owned()
        }
        LossStep::ControllerOpen => {
            "What the flight controller does is not known: it is not stated, or not whether it notices.".to_owned()
        }
    }
}

fn radio(page: &Page<'_, '_>) -> Markup {
    let setup = page.setup;
    let region = setup.region().map(|region| say::text(&region.name.value).into_owned());
    let place = setup.site.map(|site| say::text(&site.head.name.value).into_owned());
    let gone = CraftWords::of(setup.craft).gone;
    html! {
        section {
            h2 { "Radio" }
            @for bay in &setup.bays { (one_bay(bay)) }
            @if setup.bays.is_empty() { p { "No module is on." } }
            @for receiver in &setup.craft.receivers { (one_receiver(receiver)) }
            p {
                @match (&place, &region) {
                    (Some(place), Some(region)) => { (capital(gone)) " at " b { (place) } ", radio rules of " b { (region) } "." }
                    (Some(place), None) => { (capital(gone)) " at " b { (place) } "; its region is not stated." }
                    (None, _) => { "Where it is " (gone) " is not stated." }
                }
            }
        }
    }
}

fn one_bay(bay: &Bay<'_>) -> Markup {
    let module = bay.module;
    let power = module.power.map(|power| match power.value {
        (low, high) if low == high => format!("{low} mW a chain"),
        (low, high) => format!("{low} to {high} mW a chain"),
    });
    let chains = module.send_on.as_ref().map(|send| {
        let list: Vec<String> = send.value.chains.iter().map(u8::to_string).collect();
        let word = if list.len() == 1 { "chain" } else { "chains" };
        format!("{word} {}{}", list.join(" and "), if send.value.in_turn { " in turn" } else { "" })
    });
    html! {
        p {
            "Module " b { (say::text(&module.bay.value)) }
            @if let Some(link) = bay.link { ", link " b { (say::text(&link.head.name.value)) } }
            ": "
            b { (power.unwrap_or_else(|| "power not stated".to_owned())) }
            @if let Some(chains) = chains { ", " (chains) }
            @if let Some(rate) = module.update_rate { ", " (rate.value) " Hz" }
            @match module.telemetry.map(|telemetry| telemetry.value) {
                Some(Telemetry::Off) => ", telemetry off",
                Some(Telemetry::Share(share)) => { ", telemetry " (share) " %" }
                None => "",
            }
            @match module.matching.map(|matching| matching.value) {
                Some(true) => ", match on",
                Some(false) => ", match off",
                None => ", match not stated",
            }
            "."
        }
    }
}

fn one_receiver(receiver: &Receiver) -> Markup {
    html! {
        p {
            "Receiver "
            @if let Some(name) = &receiver.name { b { (say::text(&name.value)) } " " }
            @match receiver.number.map(|number| number.value) {
                Some(ReceiverNumber::Locked(number)) => { "locked to number " b { (number) } }
                Some(ReceiverNumber::Any) => "not locked to a number",
                None => "of which no number is stated",
            }
            @if let Some(link) = &receiver.link { ", link " (say::text(&link.value)) }
            "."
        }
    }
}

fn tested(page: &Page<'_, '_>) -> Markup {
    html! {
        section {
            h2 { "Last tested" }
            table {
                @for what in Tested::ALL {
                    @let stated = page.setup.craft.tested.iter().find(|test| test.what == *what);
                    tr {
                        td { (what.word()) }
                        td { @match stated { Some(test) => (test.day.value), None => "not stated" } }
                        td { "again on " span.line {} }
                    }
                }
            }
        }
    }
}

/// What was found and is open, and what is waived.
fn open(page: &Page<'_, '_>) -> Markup {
    let message = |finding: &Finding| say::text(sentences(&finding.message, 1)).into_owned();
    html! {
        section.long.first[is_dangerous(page)] {
            h2 { "Open findings" @if is_dangerous(page) { ": mend the danger before anything else" } }
            @if page.findings.is_empty() {
                p { @if page.waived.is_empty() { "None." } @else { "None beside what is waived, and still so:" } }
            }
            ul {
                @for finding in page.findings.iter().take(TOLD) {
                    li { b { (finding.severity.word()) " " } (finding.rule) ": " (message(finding)) }
                }
                @if page.findings.len() > TOLD {
                    li { "and " (page.findings.len() - TOLD) " more: `walkaround inspect` shows them." }
                }
            }
            @if !page.waived.is_empty() {
                ul {
                    @for waived in page.waived.iter().take(TOLD) {
                        li {
                            "waived: " b { (waived.severity.word()) " " } (waived.rule) ": " (say::text(sentences(&waived.message, 1)))
                            " Accepted " (last_day(waived)) ": “" (say::text(&waived.reason)) "”"
                        }
                    }
                    @if page.waived.len() > TOLD { li { "and " (page.waived.len() - TOLD) " more that are waived." } }
                }
            }
        }
    }
}

/// What the rules that were not asked would need.
fn not_checked(page: &Page<'_, '_>, report: &Report<'_>) -> Markup {
    let wanted = page.row.map(|row| row.wanted()).unwrap_or_default();
    html! {
        @if !wanted.is_empty() {
            section.long {
                h2 { "Not checked, for want of" }
                ul {
                    @for (missing, count) in wanted.iter().take(TOLD) {
                        li { (in_words(missing, report)) " (" (count) @if *count == 1 { " rule)" } @else { " rules)" } }
                    }
                    @if wanted.len() > TOLD { li { "and " (wanted.len() - TOLD) " more: `walkaround inspect --coverage` lists them." } }
                }
            }
        }
    }
}
