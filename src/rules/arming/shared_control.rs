//! `arming/shared-control`: the arming control does something else as well.

use super::{arming, controls};
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::signal::{ControlId, Value};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(arming) = arming(setup) else { return };
    let Some(controls) = controls(&arming, out) else { return };
    let program = arming.signals.program();
    let arm = setup.arm_channels();
    // The channel where the controller reads the throttle, and the one that carries it where channels/order speaks.
    let read = setup.functions().filter(|(stick, _)| *stick == Stick::Throttle).map(|(_, channel)| channel);
    let carried =
        setup.crossed().into_iter().filter(|crossed| crossed.stick == Stick::Throttle).map(|crossed| crossed.channel);
    let throttle: Vec<u8> = read.chain(carried).collect();
    for &control in controls {
        for (channel, what, _) in setup.used() {
            let Some(known) = setup.model.channel(channel).filter(|_| !arm.contains(&channel)) else { continue };
            let moved = if throttle.contains(&channel) {
                // A cut on the arming control is a cut; only a value of its own counts.
                program
                    .channel(u16::from(channel))
                    .is_some_and(|known| known.lines.iter().any(|line| holds(&line.value, control)))
            } else {
                program.moves(control, u16::from(channel))
            };
            if moved {
                let name = arming.signals.name(control);
                let message = format!("\"{name}\" asks to arm and also moves channel {channel} ({what}).");
                out.find(arming.place, message).other(setup.in_model(known.header), "moved by the same control");
            }
        }
    }
}

/// Whether a control stands in a value.
fn holds(value: &Value, control: ControlId) -> bool {
    match value {
        Value::Control(id) | Value::Unshaped(id) => *id == control,
        Value::Percent(_) | Value::Channel(_) => false,
        Value::Curve(_, of) | Value::Negate(of) => holds(of, control),
        Value::Min(a, b) | Value::Max(a, b) | Value::Add(a, b) | Value::Subtract(a, b) | Value::Multiply(a, b) => {
            holds(a, control) || holds(b, control)
        }
    }
}
