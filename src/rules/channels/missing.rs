//! `channels/missing`: a function that the aircraft needs is moved by no control.

use crate::findings::Severity;
use crate::fleet::condition::Name;
use crate::fleet::words::{CraftKind, Stick};
use crate::rules::out::{Out, choice, replace};
use crate::setup::{Flight, Setup, Signals};
use crate::setup::{function, only_percent};
use crate::signal::{Handle, Setting, whole};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(signals) = setup.signals() else { return };
    // A stick that moves its channel, as two states show, need not be asked about.
    let still = |flight: &&Flight<'_>| !flight.seen(signals).ends.iter().any(|ends| ends.low != ends.high);
    let flights = setup.flights().iter().filter(still);
    let mut functions: Vec<(&str, u8)> = flights.map(|flight| (flight.function.word(), flight.channel)).collect();
    if let Some(surfaces) = &setup.craft.surfaces {
        for surface in &surfaces.channels {
            let channel = surface.channel.value;
            let still = |name: &&Name| Stick::find(&name.value).is_some_and(|stick| !moves(signals, stick, channel));
            for name in surface.functions.iter().filter(still) {
                functions.push((&name.value, channel));
            }
        }
        lacking(setup, out);
    }
    for (function, number) in functions {
        let Some(channel) = setup.model.channel(number) else { continue };
        // Only what is decided is a statement.
        if out.moved_by(signals, number, setup.in_model(channel.header)).is_none_or(|movers| !movers.is_empty()) {
            continue;
        }
        let choices = only_percent(channel).map(|value| {
            let edit = replace(&setup.model.head, value.span, function);
            choice(format!("put the {function} stick on channel {number}"), vec![edit])
        });
        let message =
            format!("The aircraft reads {function} from channel {number}, and no control moves that channel.");
        out.find_text(setup.in_model(channel.header), message)
            .severity(Severity::Danger)
            .mend_choices("Give the channel the stick that belongs to it.", choices.into_iter().collect());
    }
}

/// Whether a stick moves a channel while all else rests.
fn moves(signals: &Signals, stick: Stick, channel: u8) -> bool {
    let sent = |control, percent| {
        let set = (Handle::Control(control), Setting::Percent(whole(percent)));
        Some(signals.program().read_with(&[set], u16::from(channel))?.percent)
    };
    signals.stick(function(stick)).is_some_and(|control| sent(control, -100) != sent(control, 100))
}

/// A function that an aircraft of this kind can't do without, and that none of its surfaces has. An aeroplane may be
/// flown with rudder and elevator, or without a rudder.
fn lacking(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (Some(surfaces), Some(kind)) = (&setup.craft.surfaces, setup.craft.kind) else { return };
    if setup.craft.head.lost_within(surfaces.body.whole, &["channel"]) {
        return;
    }
    let has =
        |word: &str| surfaces.channels.iter().any(|surface| surface.functions.iter().any(|name| name.value == word));
    let lacks = match kind.value {
        CraftKind::Aeroplane | CraftKind::Glider | CraftKind::Autogyro if !has("pitch") => "pitch",
        CraftKind::Aeroplane | CraftKind::Glider | CraftKind::Autogyro if !has("roll") && !has("yaw") => "roll or yaw",
        CraftKind::FlyingWing | CraftKind::Helicopter if !has("pitch") => "pitch",
        CraftKind::FlyingWing | CraftKind::Helicopter if !has("roll") => "roll",
        CraftKind::Helicopter if !has("yaw") => "yaw",
        _ => return,
    };
    out.find_text(setup.in_craft(surfaces.header), format!("No surface of this aircraft has {lacks}."));
}
