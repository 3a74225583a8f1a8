//! `arming/shared-control`: the arming control does something else as well.

use crate::findings::fact::{channel, channel_as, name, text};
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::terms::holds_control;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(arming) = setup.arming(signals) else { return };
    let Some(controls) = out.arming_controls(signals, arming.place) else { return };
    let arm = setup.arm_channels();
    // The channel where the controller reads the throttle, and the one that carries it where channels/order speaks.
    let read = setup.functions().filter(|(stick, _)| *stick == Stick::Throttle).map(|(_, channel)| channel);
    let carried = setup.crossed().into_iter().filter(|it| it.stick == Stick::Throttle).map(|it| it.channel);
    let throttle: Vec<u8> = read.chain(carried).collect();
    for &control in controls {
        for (number, what, _) in setup.used() {
            let Some(known) = out.channel(setup, number).filter(|_| !arm.contains(&number)) else { continue };
            let moved = match throttle.contains(&number) {
                // A cut on the arming control is a cut; only a value of its own counts.
                true => holds_control(setup.model, known, signals.name(control)),
                false => match signals.program().moves(control, u16::from(number)) {
                    Ok(moves) => moves,
                    Err(why) => {
                        out.why(why, setup.in_model(known.header));
                        continue;
                    }
                },
            };
            if moved {
                let facts = [
                    channel(number),
                    channel_as("arming_channel", arming.channel),
                    name("control", signals.name(control)),
                    text("what", what.to_string()),
                ];
                let sentence = "{control} asks to arm and also moves channel {channel} ({what}).";
                out.find(arming.place, "moves", sentence, facts)
                    .other(setup.in_model(known.header), "moved by the same control");
            }
        }
    }
}
