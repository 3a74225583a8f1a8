//! `channels/elevons-alike`: two surfaces with the same mix, so that there is no roll or no pitch.

use super::stick_arrives;
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::function;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    // Pairs of surfaces that share two functions: roll and pitch, or pitch and yaw.
    for (at, first) in surfaces.channels.iter().enumerate() {
        for second in surfaces.channels.iter().skip(at + 1) {
            let shared: Vec<Stick> = first
                .functions
                .iter()
                .filter(|name| second.functions.iter().any(|other| other.value == name.value))
                .filter_map(|name| Stick::find(&name.value))
                .collect();
            let (&[one, other], Some(signals)) = (shared.as_slice(), setup.signals()) else { continue };
            let gain = |stick: Stick, channel: u8| {
                let control = signals.stick(function(stick))?;
                let at = |percent| stick_arrives(signals, control, percent, channel);
                Some((at(50)? - at(-50)?) / 500.0)
            };
            let (a, b) = (first.channel.value, second.channel.value);
            let (Some(aa), Some(ab), Some(ba), Some(bb)) = (gain(one, a), gain(other, a), gain(one, b), gain(other, b))
            else {
                continue;
            };
            let size = (aa.hypot(ab) * ba.hypot(bb)).max(1e-9);
            // Nearly singular: the two surfaces move alike, or exactly against each other, with both sticks.
            if ((aa * bb - ab * ba) / size).abs() > 0.1 {
                continue;
            }
            let lost = if aa * ba > 0.0 { one } else { other };
            let kept = if lost == one { other } else { one };
            let message = format!(
                "Channels {a} and {b} answer {} and {} in the same way: the aircraft has {}, and no {}.",
                one.word(),
                other.word(),
                kept.word(),
                lost.word()
            );
            out.find_text(setup.channel_place(a), message)
                .other(setup.channel_place(b), "the other surface")
                .other(setup.in_craft(first.span), "what the surfaces are to do");
        }
    }
}
