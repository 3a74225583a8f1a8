//! The bench check of an aircraft, to be ticked off.

use super::{card, say};
use crate::fleet::words::{CraftKind, Grip, MotorKind, Tested};
use crate::report::traced::heads;
use crate::report::witness::{list, number};
use crate::setup::Setup;
use crate::setup::bench::{Aim, BenchLine, Change, View};
use crate::setup::positions::{ControlUse, Effect, springs_to};
use crate::sheet::{Other, Page, SignalPages};
use crate::signal::{ControlId, Setting};
use maud::{Markup, html};

/// The check.
pub(super) fn bench(page: &Page<'_, '_>) -> Markup {
    let Some(path) = &page.path else { return html! {} };
    let bench = &path.bench;
    let lines = bench.lines.len();
    html! {
        section.long {
            h2 { "Bench check" }
            p.caution { (page.caution.words()) }
            p.lead {
                "One movement a line; leave everything else as it is. "
                @if page.setup.craft.controller.is_some() {
                    "Read the channels where the flight controller shows what it receives, in microseconds. "
                }
                @if page.setup.craft.surfaces.is_some() {
                    "Look at the surfaces, and read the pulses in microseconds with a pulse meter at the receiver where you want the numbers. "
                }
                "A reading may be off by one or two. A channel that is not named stays as it was. "
                b { "Where you see anything else: stop, switch the aircraft off, and do not fly until you know why." }
            }
            ol.bench {
                li {
                    span.no { "0" }
                    div { (start(page, path)) }
                }
                @for (at, line) in bench.lines.iter().enumerate() {
                    li {
                        span.no { (at + 1) }
                        div { (one(page, path, line)) }
                    }
                }
                (last(page, &path.others, lines))
            }
            @if let Some(control) = path.controls.iter().find(|control| hands_over(control)) {
                p.small { "What " (say::text(path.signals.name(control.control))) " gives to a pupil is tried with the pupil's handset." }
            }
            @if !bench.unseen.is_empty() {
                p.small {
                    "Not shown by these movements: "
                    (list(bench.unseen.iter().map(|place| say::standing(page, path.signals, *place)))) "."
                }
            }
        }
    }
}

fn start(page: &Page<'_, '_>, path: &SignalPages<'_, '_>) -> Markup {
    let setup = page.setup;
    let bench = &path.bench;
    // What springs back to where it is at the start stands there by itself.
    let is_put = |(control, at): &&(ControlId, Setting)| springs_to(setup, path.signals, *control) != Some(*at);
    let mut stand = bench.start.iter().filter(is_put).map(|place| say::standing(page, path.signals, *place)).peekable();
    let modes = setup.craft.controller.iter().flat_map(|controller| &controller.modes);
    let names: Vec<&str> = path.signals.program().parts().modes.iter().map(|mode| mode.name.as_str()).collect();
    let on = names.iter().zip(&bench.at_start.modes).filter(|(_, on)| **on == Some(true));
    let on: Vec<String> = on.map(|(name, _)| say::text(name).into_owned()).collect();
    html! {
        "Model chosen, handset on"
        @if stand.peek().is_some() { " with " b { (list(stand)) } }
        ", nothing else touched; then switch the aircraft on. "
        span.expect {
            "→ "
            (pulses(setup, &bench.at_start))
            @if modes.count() > 0 {
                "; modes on: "
                b { @if on.is_empty() { "none" } @else { (on.join(", ")) } }
            }
        }
    }
}

/// Whether a control hands functions over to a pupil.
fn hands_over(control: &ControlUse<'_>) -> bool {
    control.places.iter().any(|place| place.effects.iter().any(|effect| matches!(effect, Effect::Pupil(_))))
}

/// What is read on each channel at a moment.
fn pulses(setup: &Setup<'_>, view: &View) -> Markup {
    html! {
        @for (at, (channel, pulse)) in view.pulses.iter().enumerate() {
            @if at > 0 { ", " }
            (channel) " " (say::label(setup, *channel)) " "
            @match pulse { Some(pulse) => b { (number(crate::setup::float(pulse))) }, None => "nothing" }
        }
    }
}

/// A receiver on a link of its own: its readings at the start, and that the same movements arrive there.
fn other(page: &Page<'_, '_>, other: &Other<'_, '_>) -> Markup {
    let name = other.way.receiver.name.as_ref().map(|name| say::text(&name.value).into_owned());
    let link = other.way.link.map(|link| say::text(&link.head.name.value).into_owned());
    let bay = other.way.bay.map(|bay| say::text(&bay.module.bay.value).into_owned());
    html! {
        b { "Receiver " @if let Some(name) = name { (name) " " } "alone" }
        @if let Some(link) = link { " (link " (link) ")" }
        ": everything as in line 0, then turn off every module but " b { (bay.unwrap_or_default()) }
        span.expect { "→ " (pulses(page.setup, &other.at_start)) "; every stick and switch still moves what it moved above" }
    }
}

fn one(page: &Page<'_, '_>, path: &SignalPages<'_, '_>, line: &BenchLine) -> Markup {
    let (control, at) = line.moved;
    let name = path.signals.name(control);
    let where_to = say::position(page.setup, path.signals, control, at);
    let switched = line.switched.iter().filter_map(|(at, on)| {
        let name = &path.signals.program().parts().modes.get(*at)?.name;
        Some(format!("mode {} {}", say::text(name), if *on { "ON" } else { "off" }))
    });
    let switched: Vec<String> = switched.collect();
    html! {
        b { (say::text(name)) ": " (where_to) }
        @if line.aim == Aim::Back { " (back)" }
        @if let Some(wait) = line.wait { ", wait " (wait) " s" }
        @if line.aim == Aim::Holds { ", hold it there" }
        @if line.aim == Aim::Tries && path.signals.is_axis(control) { ", leave it there" }
        @if line.let_go { ", then let go: as before" }
        span.expect {
            "→ "
            @if line.changes.is_empty() && switched.is_empty() { "no channel changes" }
            @for (at, change) in line.changes.iter().enumerate() {
                @if at > 0 { ", " }
                (changed(page, change))
            }
            @if !switched.is_empty() {
                @if !line.changes.is_empty() { "; " }
                b { (switched.join(", ")) }
            }
            @match motor(path, line) {
                // The throttle is up: were the description wrong, the motor would start.
                _ if line.aim == Aim::Tries => { ": " b { "the motor stays still" } }
                Some(true) => { "; " b { "the motor is LIVE: " (page.caution.words()) } }
                Some(false) => "; the motor is cut",
                None if arms(path, line) => { ". " b { (page.caution.words()) } }
                None => "",
            }
        }
    }
}

/// Whether the position lets a motor run that another one keeps idle, or keeps it idle itself.
fn motor(path: &SignalPages<'_, '_>, line: &BenchLine) -> Option<bool> {
    let control = path.controls.iter().find(|control| control.control == line.moved.0)?;
    let place = control.places.iter().find(|place| place.at == line.moved.1)?;
    place.effects.iter().find_map(|effect| match effect {
        Effect::Lets(_) => Some(true),
        Effect::Stops(_) => Some(false),
        _ => None,
    })
}

/// Whether the movement begins to ask for arming.
fn arms(path: &SignalPages<'_, '_>, line: &BenchLine) -> bool {
    let arm = path.signals.arm().map(|arm| usize::from(arm.0));
    line.switched.iter().any(|(mode, on)| *on && Some(*mode) == arm)
}

fn changed(page: &Page<'_, '_>, change: &Change) -> Markup {
    let surfaces = page.setup.craft.surfaces.as_ref();
    let surface = surfaces.and_then(|it| it.channels.iter().find(|surface| surface.channel.value == change.channel));
    let way = surface.and_then(|surface| surface.high_is).map(|way| way.value);
    html! {
        (change.channel) " " (say::label(page.setup, change.channel)) " " b { (number(change.to)) }
        @if let Some(way) = way { " (" (heads(way, change.rises)) ")" }
        @match (change.still, page.setup.craft.controller.is_some()) {
            (Some(true), false) => " (motor still)",
            (Some(false), false) => " (motor may turn)",
            // Whether it turns hangs on whether the controller is armed.
            (Some(true), true) => " (idle)",
            (Some(false), true) => " (above idle)",
            (None, _) => "",
        }
    }
}

/// Which way surfaces go whose description does not say it, as the FAA Pilot's Handbook of Aeronautical Knowledge (FAA-H-8083-25,
/// chapter 6, Flight Controls) has it; nothing for what has no wing, and nothing of the elevator of a canard.
fn ways(setup: &Setup<'_>) -> &'static str {
    let canard = setup.craft.surfaces.as_ref().is_some_and(|surfaces| surfaces.canard.is_some());
    match setup.craft.kind.map(|kind| kind.value) {
        Some(CraftKind::FlyingWing) => {
            "; as a rule: stick right, the right elevon goes up and the left one down; stick towards you, both go up"
        }
        Some(CraftKind::Aeroplane | CraftKind::Glider) if !canard => {
            "; as a rule: stick right, the right aileron goes up and the left one down; stick towards you, the elevator goes up; yaw right, the rudder goes right"
        }
        _ => "",
    }
}

/// What is held while the handset is switched off, so that what the receivers hold is not taken for what they store.
fn held(page: &Page<'_, '_>) -> String {
    let setup = page.setup;
    let over = match setup.hands().grip {
        Grip::Pistol => "hold the wheel over to one side",
        Grip::Sticks => "hold the stick that steers over to one side",
    };
    let burns = setup.craft.motor.is_some_and(|motor| motor.value == MotorKind::Combustion);
    match setup.motor_channels().is_empty() || burns {
        true => over.to_owned(),
        false => format!(
            "{}: with the motor live and the throttle a little up {over}",
            page.caution.words().trim_end_matches('.')
        ),
    }
}

/// The last lines: what no movement on the handset shows.
fn last(page: &Page<'_, '_>, others: &[Other<'_, '_>], lines: usize) -> Markup {
    let after = lines + others.len();
    let surfaces = page.setup.craft.surfaces.as_ref();
    let unstated = surfaces.is_some_and(|it| it.channels.iter().any(|surface| surface.high_is.is_none()));
    html! {
        @for (at, receiver) in others.iter().enumerate() {
            li {
                span.no { (lines + at + 1) }
                div { (other(page, receiver)) }
            }
        }
        li {
            span.no { (after + 1) }
            div {
                b {
                    (Tested::Directions.word()) ": move each stick and look at the aircraft"
                    @if page.setup.craft.controller.is_some() { ", or at what its flight controller shows" }
                }
                span.expect {
                    "→ everything goes the way it is meant to"
                    @if unstated { " (the description does not say which way each surface goes" (ways(page.setup)) ")" }
                    ". Seen on " span.line {}
                }
            }
        }
        li {
            span.no { (after + 2) }
            div {
                b { (Tested::Failsafe.word()) ": " (held(page)) ", switch the handset off" }
                @for loss in &page.losses {
                    span.expect {
                        "→ "
                        @if let Some(name) = loss.receiver.and_then(|receiver| receiver.name.as_ref()) {
                            "receiver " (say::text(&name.value)) ": "
                        }
                        @for step in &loss.steps { (card::loss_step(page.setup, step)) " " }
                    }
                }
                span.expect {
                    @if page.setup.craft.controller.is_some() { "What the flight controller does, it shows as a mode or a message: not armed, it moves nothing. " }
                    "Then switch the handset on again. Seen on " span.line {}
                }
            }
        }
        li {
            span.no { (after + 3) }
            div {
                b { (Tested::Range.word()) ": walk away as the handset's maker says for a range check" }
                span.expect { "→ every channel still follows. Seen on " span.line {} }
            }
        }
    }
}
