//! `surfaces/kind`: an aircraft is said to be of a kind that does not have such parts.

use crate::findings::fact::{channel, text};
use crate::fleet::craft::Craft;
use crate::fleet::words::CraftKind;
use crate::rules::out::Out;
use crate::setup::Context;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let (Some(kind), Some(surfaces)) = (craft.kind, &craft.surfaces) else { return };
    let odd: &[&str] = match kind.value {
        // Its flight controller drives the motors; what tilts something beside that is no surface that steers.
        CraftKind::Multirotor if craft.controller.is_none() => &["roll", "pitch", "yaw", "flap", "collective"],
        CraftKind::Car | CraftKind::Tracked | CraftKind::Boat | CraftKind::Hovercraft => {
            &["roll", "collective", "tail"]
        }
        CraftKind::Glider | CraftKind::FlyingWing | CraftKind::Aeroplane => &["collective", "tail"],
        _ => &[],
    };
    let mut parts =
        surfaces.channels.iter().flat_map(|surface| surface.functions.iter().map(move |name| (surface, name)));
    let Some((surface, function)) = parts.find(|(_, name)| odd.contains(&name.value.as_str())) else { return };
    let facts =
        [text("kind", kind.value.word()), channel(surface.channel.value), text("function", function.value.as_str())];
    let sentence = "The kind is {kind}, and channel {channel} moves {function}, which such a craft does not have without a flight controller: rules for the right kind are not asked.";
    out.find(craft.head.place(kind.span), "parts", sentence, facts)
        .other(craft.head.place(surface.span), "what does not fit");
}
