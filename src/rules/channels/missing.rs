//! `channels/missing`: a function that the aircraft needs is moved by no control.

use super::constant;
use crate::findings::Severity;
use crate::fleet::words::{CraftKind, Stick};
use crate::rules::out::{Out, choice, replace};
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    let Some(signals) = pair.signals() else { return };
    let mut functions: Vec<(String, u8)> =
        pair.functions().into_iter().map(|(stick, channel)| (stick.word().to_owned(), channel)).collect();
    if let Some(surfaces) = &pair.craft.surfaces {
        for surface in &surfaces.channels {
            for name in surface.functions.iter().filter(|name| Stick::find(&name.value).is_some()) {
                functions.push((name.value.to_string(), surface.channel.value));
            }
        }
        lacking(pair, out);
    }
    for (function, number) in functions {
        let Some(channel) = pair.model.channel(number) else { continue };
        if !signals.program().moved_by(u16::from(number)).is_empty() {
            continue;
        }
        let choices = constant(channel).map(|value| {
            let edit = replace(&pair.model.head, value.span, function.clone());
            choice(format!("put the {function} stick on channel {number}"), vec![edit])
        });
        let message =
            format!("The aircraft reads {function} from channel {number}, and no control moves that channel.");
        out.find(pair.in_model(channel.header), message)
            .severity(Severity::Danger)
            .mend_choices("Give the channel the stick that belongs to it.", choices.into_iter().collect());
    }
}

/// A function that an aircraft of this kind can't do without, and that none of its surfaces has. An aeroplane may be
/// flown with rudder and elevator, or without a rudder.
fn lacking(pair: &Pair<'_>, out: &mut Out<'_>) {
    let (Some(surfaces), Some(kind)) = (&pair.craft.surfaces, pair.craft.kind) else { return };
    if pair.craft.head.lost_in(surfaces.body.whole) {
        return;
    }
    let has =
        |word: &str| surfaces.channels.iter().any(|surface| surface.functions.iter().any(|name| name.value == word));
    let lacks = match kind.value {
        CraftKind::Wing | CraftKind::Glider if !has("pitch") => "pitch",
        CraftKind::Wing | CraftKind::Glider if !has("roll") && !has("yaw") => "roll or yaw",
        CraftKind::FlyingWing | CraftKind::Helicopter if !has("pitch") => "pitch",
        CraftKind::FlyingWing | CraftKind::Helicopter if !has("roll") => "roll",
        CraftKind::Helicopter if !has("yaw") => "yaw",
        _ => return,
    };
    out.find(pair.in_craft(surfaces.header), format!("No surface of this aircraft has {lacks}."));
}
