//! The bench check of an aircraft, to be ticked off.

use super::card;
use super::say::{self, Readings};
use crate::findings::craft_words::CraftWords;
use crate::findings::hands;
use crate::fleet::condition::{Condition, Name};
use crate::fleet::model::Trainer;
use crate::fleet::words::{CraftKind, Grip, MotorKind, Stick, Tested};
use crate::report::traced::heads;
use crate::report::witness::list;
use crate::setup::bench::{Aim, BenchLine, Change, View};
use crate::setup::positions::{Effect, springs_to};
use crate::setup::{Setup, float};
use crate::sheet::{Other, Page, SignalPages};
use crate::signal::{ControlId, Setting, whole};
use maud::{Markup, html};

/// The check.
pub(super) fn bench(page: &Page<'_, '_>) -> Markup {
    let Some(path) = &page.path else { return html! {} };
    let bench = &path.bench;
    let readings = Readings::of(path);
    let words = CraftWords::of(page.setup.craft);
    let first_live = bench.lines.iter().position(|line| runs(page, path, line));
    html! {
        section.long.bench-check {
            div.begins { h2 { "Bench check" } p.caution { (page.caution.words()) } }
            p.lead {
                "One movement a line; leave everything else as it is. "
                @if page.setup.craft.controller.is_some() {
                    "Read the channels where the flight controller shows what it receives, in microseconds. "
                }
                @if page.setup.craft.surfaces.is_some() {
                    "Look at the surfaces, and read the pulses in microseconds with a pulse meter at the receiver where you want the numbers. "
                }
                "Readings are rounded, and may be off by one or two. A channel or mode that is not named stays as it was. "
                @if is_tried_live(page.setup) || first_live.is_some() { span.live { (LIVE) } ": a motor may turn. " }
                b { "Where you see anything else: stop, switch the " (words.noun) " off, and do not " (words.go) " until you know why." }
            }
            ol.bench {
                li {
                    span.no { "0" }
                    div { (start(page, path, &readings)) }
                }
                @for (at, line) in bench.lines.iter().enumerate() {
                    li {
                        span.no { (at + 1) }
                        div { (one(page, path, line, &readings, first_live == Some(at))) }
                    }
                }
                (last(page, path, &readings))
            }
            @if !bench.unseen.is_empty() {
                p.small {
                    "Not shown by these movements: "
                    (list(bench.unseen.iter().map(|place| say::standing(page, path.signals, *place)))) "."
                }
            }
            p.result {
                "Result: " span.check {} " every line as it is written " span.check {} " not so: lines " span.line {}
                " Done by " span.line {} " on " span.line {}
            }
        }
    }
}

fn start(page: &Page<'_, '_>, path: &SignalPages<'_, '_>, readings: &Readings) -> Markup {
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
        ", nothing else touched; then switch the " (CraftWords::of(setup.craft).noun) " on. "
        span.expect {
            "→ "
            (pulses(setup, &bench.at_start, readings))
            @if modes.count() > 0 {
                "; modes on: "
                b { @if on.is_empty() { "none" } @else { (on.join(", ")) } }
            }
        }
    }
}

/// What is read on each channel at a moment.
fn pulses(setup: &Setup<'_>, view: &View, readings: &Readings) -> Markup {
    html! {
        @for (at, (channel, pulse)) in view.pulses.iter().enumerate() {
            @if at > 0 { ", " }
            (channel) " " (say::label(setup, *channel)) " "
            @match pulse { Some(pulse) => b { (readings.us(*channel, float(pulse))) }, None => "nothing" }
        }
    }
}

/// A receiver on a link of its own: its readings at the start, and that the same movements arrive there.
fn other(page: &Page<'_, '_>, other: &Other<'_, '_>, readings: &Readings) -> Markup {
    let name = other.way.receiver.name.as_ref().map(|name| say::text(&name.value).into_owned());
    let link = other.way.link.map(|link| say::text(&link.head.name.value).into_owned());
    let bay = other.way.bay.map(|bay| say::text(&bay.module.bay.value).into_owned());
    html! {
        b { "Receiver " @if let Some(name) = name { (name) " " } "alone" }
        @if let Some(link) = link { " (link " (link) ")" }
        ": everything as in line 0, then turn off every module but " b { (bay.unwrap_or_default()) }
        span.expect { "→ " (pulses(page.setup, &other.at_start, readings)) "; everything still moves what it moved above" }
    }
}

/// What marks a line after which a motor is live: a word in a frame, which is seen in black and white too.
const LIVE: &str = "LIVE";

/// One movement; `is_first` says that no line before it has a motor turn.
fn one(
    page: &Page<'_, '_>,
    path: &SignalPages<'_, '_>,
    line: &BenchLine,
    readings: &Readings,
    is_first: bool,
) -> Markup {
    let (control, at) = line.moved;
    let name = path.signals.name(control);
    let where_to = say::position(page.setup, path.signals, control, at);
    let switched = line.switched.iter().filter_map(|(at, on)| {
        let name = &path.signals.program().parts().modes.get(*at)?.name;
        Some(format!("mode {} {}", say::text(name), if *on { "ON" } else { "off" }))
    });
    let switched: Vec<String> = switched.collect();
    html! {
        @if runs(page, path, line) || goes_live(path, line) { span.live { (LIVE) } " " }
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
                (changed(page, change, readings))
            }
            @if !switched.is_empty() {
                @if !line.changes.is_empty() { "; " }
                b { (switched.join(", ")) }
            }
            @if let Some(half) = &line.half_way {
                "; " (stick_called(page.setup, path, half.stick)) " half-way (expo): "
                @for (at, change) in half.changes.iter().enumerate() {
                    @if at > 0 { ", " }
                    (changed(page, change, readings))
                }
            }
            @match motor(path, line) {
                // The throttle is up: were the description wrong, the motor would start.
                _ if line.aim == Aim::Tries => { ": " b { "the motor stays still" } }
                Some(true) if is_first => { "; " b { "the motor is LIVE." } }
                Some(true) => { "; " b { "the motor is LIVE: " (page.caution.words()) } }
                Some(false) => "; the motor is cut",
                None if arms(path, line) && !is_first => { ". " b { (page.caution.words()) } }
                None => "",
            }
            @if is_first {
                @if motor(path, line) != Some(true) { "." }
                " " b { "Look again: " (page.caution.inside()) "." }
            }
        }
    }
}

/// What the pilot calls a stick.
fn stick_called<'p>(setup: &Setup<'_>, path: &'p SignalPages<'_, '_>, stick: ControlId) -> &'p str {
    let (grip, name) = (setup.hands().grip, path.signals.name(stick));
    grip.stick(name).map_or(name, |stick| hands::called(grip, stick))
}

/// Whether a motor may turn after the movement: it gives one more than its idle, and no controller is known to be disarmed then.
fn runs(page: &Page<'_, '_>, path: &SignalPages<'_, '_>, line: &BenchLine) -> bool {
    let arm = path.signals.arm().and_then(|arm| line.after.modes.get(usize::from(arm.0)).copied().flatten());
    let is_disarmed = page.setup.craft.controller.is_some() && arm == Some(false);
    line.aim != Aim::Tries && !is_disarmed && line.changes.iter().any(|change| change.still == Some(false))
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

/// Whether the movement lets a motor run, or has the controller start its motors.
fn goes_live(path: &SignalPages<'_, '_>, line: &BenchLine) -> bool {
    line.aim != Aim::Tries && (motor(path, line) == Some(true) || arms(path, line))
}

/// Whether the movement begins to ask for arming.
fn arms(path: &SignalPages<'_, '_>, line: &BenchLine) -> bool {
    let arm = path.signals.arm().map(|arm| usize::from(arm.0));
    line.switched.iter().any(|(mode, on)| *on && Some(*mode) == arm)
}

fn changed(page: &Page<'_, '_>, change: &Change, readings: &Readings) -> Markup {
    let surfaces = page.setup.craft.surfaces.as_ref();
    let surface = surfaces.and_then(|it| it.channels.iter().find(|surface| surface.channel.value == change.channel));
    let way = surface.and_then(|surface| surface.high_is).map(|way| way.value);
    html! {
        (change.channel) " " (say::label(page.setup, change.channel)) " " b { (readings.us(change.channel, change.to)) }
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
/// chapter 6, Flight Controls) has it, and its Helicopter Flying Handbook (FAA-H-8083-21, chapter 3, Helicopter Flight Controls) for a
/// helicopter; nothing for what else has no wing, and nothing of the elevator of a canard.
fn ways(setup: &Setup<'_>) -> &'static str {
    let canard = setup.craft.surfaces.as_ref().is_some_and(|surfaces| surfaces.canard.is_some());
    match setup.craft.kind.map(|kind| kind.value) {
        Some(CraftKind::FlyingWing) => {
            "; as a rule: stick right, the right elevon goes up and the left one down; stick towards you, both go up"
        }
        Some(CraftKind::Aeroplane | CraftKind::Glider) if !canard => {
            "; as a rule: stick right, the right aileron goes up and the left one down; stick towards you, the elevator goes up; yaw right, the rudder goes right"
        }
        Some(CraftKind::Helicopter) => {
            "; as a rule: the swashplate tilts the way the stick of roll and pitch goes, and rises as a whole with the collective"
        }
        _ => "",
    }
}

/// Whether a flight controller turns what the sticks ask for into the movements of an aircraft in the air: which way these are, the FAA
/// Pilot's Handbook of Aeronautical Knowledge (FAA-H-8083-25, chapter 6, Flight Controls) says.
fn is_flown_by_a_controller(setup: &Setup<'_>) -> bool {
    setup.craft.controller.is_some() && setup.craft.kind.is_some_and(|kind| !kind.value.stays_down())
}

/// Whether the motor is live while the link is cut; an engine that burns fuel is not run for a check.
fn is_tried_live(setup: &Setup<'_>) -> bool {
    let burns = setup.craft.motor.is_some_and(|motor| motor.value == MotorKind::Combustion);
    !burns && !setup.motor_channels().is_empty()
}

/// All that the hands steer with.
fn each_stick(setup: &Setup<'_>) -> &'static str {
    match setup.hands().grip {
        Grip::Sticks => "each stick",
        Grip::Pistol => "the wheel and the trigger",
    }
}

/// The stick that steers, by its own name, as far as one moves a channel: that of roll on what flies, of yaw on what does not.
fn steering(page: &Page<'_, '_>, path: &SignalPages<'_, '_>) -> Option<(ControlId, Stick)> {
    let (setup, grip) = (page.setup, page.setup.hands().grip);
    let stays_down = setup.craft.stays_down();
    let order = match stays_down {
        true => [Stick::Yaw, Stick::Roll, Stick::Pitch],
        false => [Stick::Roll, Stick::Yaw, Stick::Pitch],
    };
    let moves = |stick: Stick| {
        let mut axes = path.shapes.iter().map(|shape| shape.axis);
        Some((axes.find(|axis| grip.stick(path.signals.name(*axis)) == Some(stick))?, stick))
    };
    order.into_iter().find_map(moves)
}

/// What is held while the handset is switched off, so that what the receivers hold is not taken for what they store.
fn held(page: &Page<'_, '_>, path: &SignalPages<'_, '_>) -> String {
    let setup = page.setup;
    let over = steering(page, path).map(|(control, stick)| {
        let end = say::position(setup, path.signals, control, Setting::Percent(whole(100)));
        format!("hold the {} over ({end}), ", hands::called(setup.hands().grip, stick))
    });
    let over = over.unwrap_or_default();
    match is_tried_live(setup) {
        false => over,
        true => {
            let a_little = match setup.hands().grip {
                Grip::Sticks => "the throttle a little up",
                Grip::Pistol => "the trigger pulled a little",
            };
            let off = page.caution.words().trim_end_matches('.');
            format!("{off}: with the motor live and {a_little}, {over}")
        }
    }
}

/// That a pupil gets what is given, and nothing else.
fn pupil(page: &Page<'_, '_>, trainer: &Trainer, when: &Condition, gives: &[Name]) -> Markup {
    let from = trainer.from.as_ref().map(|from| say::text(&from.value).into_owned());
    let given = list(gives.iter().map(|name| say::text(&name.value).into_owned()));
    let has_throttle = gives.iter().any(|name| page.setup.hands().grip.stick(&name.value) == Some(Stick::Throttle));
    let theirs = match page.setup.hands().grip {
        Grip::Sticks => "sticks move",
        Grip::Pistol => "handset moves",
    };
    html! {
        b { "pupil: with the pupil's handset on too" @if let Some(from) = from { " (model " (from) ")" } ", " (say::text(&when.to_string())) }
        @if has_throttle { ". " b { (page.caution.words()) } }
        span.expect {
            "→ the pupil's " (theirs) " " (given) " and nothing else, yours the rest. Then back: yours move everything. Seen on " span.line {}
        }
    }
}

/// The last lines: what no movement on the handset shows.
fn last(page: &Page<'_, '_>, path: &SignalPages<'_, '_>, readings: &Readings) -> Markup {
    let (lines, others) = (path.bench.lines.len(), &path.others);
    let lesson = page.setup.model.trainer.as_ref().and_then(|trainer| Some((trainer, trainer.hand_over.as_ref()?)));
    let after = lines + others.len() + usize::from(lesson.is_some());
    let surfaces = page.setup.craft.surfaces.as_ref();
    let unstated = surfaces.is_some_and(|it| it.channels.iter().any(|surface| surface.high_is.is_none()));
    html! {
        @for (at, receiver) in others.iter().enumerate() {
            li {
                span.no { (lines + at + 1) }
                div { (other(page, receiver, readings)) }
            }
        }
        @if let Some((trainer, (when, gives))) = lesson {
            li {
                span.no { (after) }
                div { (pupil(page, trainer, when, gives)) }
            }
        }
        li {
            span.no { (after + 1) }
            div {
                b {
                    (Tested::Directions.word()) ": move " (each_stick(page.setup)) " and look at the " (CraftWords::of(page.setup.craft).noun)
                    @if page.setup.craft.controller.is_some() { ", or at what its flight controller shows" }
                }
                span.expect {
                    "→ everything goes the way it is meant to"
                    @if is_flown_by_a_controller(page.setup) {
                        ": as a rule, stick right, it rolls right; stick away from you, its nose goes down; yaw right, its nose turns right"
                    }
                    @if unstated { " (the description does not say which way each surface goes" (ways(page.setup)) ")" }
                    ". Seen on " span.line {}
                }
            }
        }
        li {
            span.no { (after + 2) }
            div {
                @if is_tried_live(page.setup) { span.live { (LIVE) } " " }
                b { (Tested::Failsafe.word()) ": " (held(page, path)) "switch the handset off" }
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
                span.expect {
                    "→ every channel still follows at " span.line.short {} " steps or metres, at power " span.line.short {}
                    ". Seen on " span.line {}
                }
            }
        }
    }
}
