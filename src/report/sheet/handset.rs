//! The handset from above, with what this aircraft uses of it. The description does not say where a switch sits, so that none is drawn
//! in a place of its own: they stand in a list.

use super::say::{self, Readings};
use crate::findings::craft_words::CraftWords;
use crate::findings::hands;
use crate::fleet::words::{Grip, ModeKind, Stick};
use crate::report::traced::stands;
use crate::report::witness::list;
use crate::setup::Setup;
use crate::setup::positions::{ControlUse, Effect, PlaceUse};
use crate::sheet::{Page, SignalPages};
use crate::signal::Setting;
use maud::{Markup, html};

/// The sticks as a picture, and the switches in a table.
pub(super) fn handset(page: &Page<'_, '_>) -> Markup {
    let Some(path) = &page.path else { return html! {} };
    html! {
        section.long {
            h2 { "Handset" }
            (sticks(page, path))
            @if !path.controls.is_empty() {
                p.small {
                    @if page.setup.hands().grip == Grip::Sticks && path.controls.iter().any(has_up) {
                        b { "Up on a switch is away from you, down towards you." } " "
                    }
                    "Underlined: where the start check wants it, or where it is at the start. Sprung: it goes back by itself."
                }
                @let readings = Readings::of(path);
                table.controls {
                    @for control in &path.controls { (rows(page, path, control, &readings)) }
                }
            }
        }
    }
}

/// Whether it is a switch with a position that is called up.
fn has_up(control: &ControlUse<'_>) -> bool {
    control.places.iter().any(|place| matches!(place.at, Setting::Position(_)) && place.name == "up")
}

/// The channels that a stick moves, in words.
fn moves(setup: &Setup<'_>, path: &SignalPages<'_, '_>, stick: &str) -> String {
    let shapes = path.shapes.iter().filter(|shape| path.signals.name(shape.axis) == stick);
    let named = shapes.map(|shape| format!("{} {}", shape.channel, say::label(setup, shape.channel)));
    let named: Vec<String> = named.collect();
    if named.is_empty() { "moves nothing".to_owned() } else { named.join(", ") }
}

fn sticks(page: &Page<'_, '_>, path: &SignalPages<'_, '_>) -> Markup {
    let setup = page.setup;
    let hands = setup.hands();
    if hands.grip == Grip::Pistol {
        return html! {
            table {
                @for (_, name) in hands.grip.sticks() {
                    tr { td { b { (name) } } td { (say::text(&moves(setup, path, name))) } }
                }
            }
        };
    }
    let Some(mode) = hands.mode else {
        return html! {
            p.small { "Which function is on which stick is not stated (" code { "stick-mode" } ")." }
            table {
                @for (_, name) in hands.grip.sticks() {
                    tr { td { b { (name) } } td { (say::text(&moves(setup, path, name))) } }
                }
            }
        };
    };
    let on = |side: &str, upright: bool| {
        let found = hands.grip.sticks().iter().find(|(stick, _)| {
            hands::side(mode, *stick) == Some(side) && matches!(stick, Stick::Pitch | Stick::Throttle) == upright
        });
        found.map_or("", |(_, name)| *name)
    };
    html! {
        svg viewBox="0 0 420 96" role="img" aria-label="The two sticks of the handset, from above" {
            rect.box x="1" y="1" width="418" height="94" rx="10" {}
            @for (side, x) in [("left", 10), ("right", 215)] {
                @let (upright, across) = (on(side, true), on(side, false));
                rect.box x=(x) y="16" width="64" height="64" rx="6" {}
                line.axis x1=(x + 32) y1="22" x2=(x + 32) y2="74" {}
                line.axis x1=(x + 6) y1="48" x2=(x + 58) y2="48" {}
                circle.mark cx=(x + 32) cy=(height(path, upright)) r="6" {}
                text x=(x + 72) y="12" font-weight="bold" { (side) " stick" }
                text x=(x + 72) y="30" { "up, down: " (upright) }
                text x=(x + 72) y="44" { (clipped(&moves(setup, path, upright))) }
                text x=(x + 72) y="66" { "left, right: " (across) }
                text x=(x + 72) y="80" { (clipped(&moves(setup, path, across))) }
            }
        }
        @for (_, name) in hands.grip.sticks() {
            @let all = moves(setup, path, name);
            @if clipped(&all) != all { p.small { b { (name) } " moves " (say::text(&all)) } }
        }
    }
}

/// How high a stick stands at the start, in the picture's units.
fn height(path: &SignalPages<'_, '_>, stick: &str) -> i32 {
    let start = path.bench.start.iter().find(|(control, _)| path.signals.name(*control) == stick);
    match start.map(|(_, at)| *at) {
        Some(Setting::Percent(at)) if at.is_negative() => 72,
        Some(Setting::Percent(at)) if !at.is_zero() => 24,
        _ => 48,
    }
}

/// As much of a text as has room beside a stick.
fn clipped(text: &str) -> String {
    const ROOM: usize = 24;
    if text.chars().count() <= ROOM { text.to_owned() } else { text.chars().take(ROOM - 1).chain(['…']).collect() }
}

fn rows(page: &Page<'_, '_>, path: &SignalPages<'_, '_>, control: &ControlUse<'_>, readings: &Readings) -> Markup {
    let start = path.bench.start.iter().find(|(known, _)| *known == control.control).map(|(_, at)| *at);
    let start = control.asked.or(start);
    let mut places = merged(control);
    let is_idle = places.iter().all(|(_, place)| place.effects.is_empty());
    if is_idle {
        places.truncate(1);
    }
    html! {
        @for (at, (names, place)) in places.iter().enumerate() {
            tr {
                @if at == 0 {
                    td rowspan=(places.len()) {
                        b { (say::text(&control.name)) }
                        @if control.springs_to.is_some() { " (sprung)" }
                    }
                }
                td {
                    @if is_idle {
                        @match control.asked { Some(asked) => span.start { (name_of(control, asked)) }, None => "" }
                    } @else {
                        @for (at, (setting, name)) in names.iter().enumerate() {
                            @if at > 0 { ", " }
                            @if start == Some(*setting) { span.start { (say::text(name)) } } @else { (say::text(name)) }
                        }
                    }
                }
                td {
                    @if is_idle { "moves no channel of this " (CraftWords::of(page.setup.craft).noun) " by itself" }
                    @else { (effects(page.setup, place, readings)) }
                }
            }
        }
    }
}

fn name_of(control: &ControlUse<'_>, at: Setting) -> String {
    let place = control.places.iter().find(|place| place.at == at);
    place.map_or_else(String::new, |place| say::text(&place.name).into_owned())
}

/// Positions beside each other that do the same, in one row.
type Merged<'c, 'f> = Vec<(Vec<(Setting, &'c str)>, &'c PlaceUse<'f>)>;

fn merged<'c, 'f>(control: &'c ControlUse<'f>) -> Merged<'c, 'f> {
    let mut rows: Merged<'c, 'f> = Vec::new();
    for place in &control.places {
        match rows.last_mut() {
            Some((names, last)) if last.effects == place.effects => names.push((place.at, &place.name)),
            _ => rows.push((vec![(place.at, &place.name)], place)),
        }
    }
    rows
}

/// What is so in a position.
fn effects(setup: &Setup<'_>, place: &PlaceUse<'_>, readings: &Readings) -> String {
    if place.effects.is_empty() {
        return "–".to_owned();
    }
    let told: Vec<String> = place.effects.iter().map(|effect| effect_words(setup, effect, readings)).collect();
    told.join("; ")
}

fn effect_words(setup: &Setup<'_>, effect: &Effect<'_>, readings: &Readings) -> String {
    let labelled = |channel: &u8| format!("{channel} {}", say::label(setup, *channel));
    let mode_name = |name: &str| match name {
        "arm" => "asks to ARM".to_owned(),
        name => format!("mode {}", say::text(name)),
    };
    match effect {
        Effect::Mode(mode) => {
            let does = mode.kind.map_or_else(String::new, |kind| format!(": {}", does(kind.value, setup)));
            let never = mode.excludes.as_ref();
            let never = never.map_or_else(String::new, |other| format!(", never with {}", say::text(&other.value)));
            format!("{}{does}{never}", mode_name(&mode.name.value))
        }
        Effect::NoMode(modes) => match modes.as_slice() {
            [one] if one.name.value == "arm" => "does not ask to arm".to_owned(),
            [one] => format!("not mode {}", say::text(&one.name.value)),
            _ => "none of its modes".to_owned(),
        },
        Effect::Stops(channels) => {
            format!("CUT: motor stays idle ({})", list(channels.iter().map(|channel| format!("channel {channel}"))))
        }
        Effect::Lets(channels) => {
            format!("motor LIVE ({})", list(channels.iter().map(|channel| format!("channel {channel}"))))
        }
        Effect::Rate(stick, rate, expo) => {
            let expo = expo.map_or_else(String::new, |expo| format!(" expo {expo} %"));
            format!("{stick} rate {rate} %{expo}")
        }
        Effect::Surface(surface, percent) => {
            format!("{} {}", labelled(&surface.channel.value), stands(surface.high_is.map(|way| way.value), *percent))
        }
        Effect::Pulse(channel, us) => format!("{} {} us", labelled(channel), readings.us(*channel, *us)),
        Effect::Moves(axis, channels) => {
            format!("{} moves {}", say::text(axis), list(channels.iter().map(labelled)))
        }
        Effect::Pupil(gives) => {
            format!("the PUPIL has {}", list(gives.iter().map(|name| say::text(&name.value).into_owned())))
        }
    }
}

/// What a mode does, as far as the description says what it is for.
fn does(kind: ModeKind, setup: &Setup<'_>) -> &'static str {
    match kind {
        ModeKind::Return => CraftWords::of(setup.craft).comes_home,
        ModeKind::Land => "lands",
        ModeKind::Stop => "STOPS the motors",
        ModeKind::Enable => "allows arming",
        ModeKind::Locator => "makes a noise to be found by",
        ModeKind::OnGround => "for the ground only",
    }
}
