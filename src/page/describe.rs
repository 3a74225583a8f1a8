//! What a handset and an aircraft have, so that they can be drawn.

use crate::findings::caution::Caution;
use crate::findings::hands;
use crate::fleet::craft::Controller;
use crate::fleet::words::{Stick, Way};
use crate::report::sheet::{label, loss_step};
use crate::setup::loss::{Loss, LossStep};
use crate::setup::positions::springs_to;
use crate::setup::shapes::levels;
use crate::setup::{Setup, Signals};
use crate::signal::{Control, ControlId, ControlKind, Handle, Setting};
use serde_json::{Value, json};

/// What is there.
pub(super) fn value(setup: &Setup<'_>, signals: &Signals) -> Result<Value, String> {
    let program = signals.program();
    let hands = setup.hands();
    let start = signals.start(&setup.demands(signals));
    let begun = |id: ControlId| start.get(Handle::Control(id));
    let controls: Vec<Value> =
        program.controls().map(|(id, known)| control(setup, signals, id, known, begun(id))).collect();
    let channels: Vec<Value> = setup
        .model
        .channels
        .iter()
        .map(|channel| {
            let number = channel.number.value;
            let carried = setup.link.is_none_or(|link| link.carries_channel(number));
            json!({"channel": number, "label": label(setup, number), "carried": carried, "levels": levels(signals, number)})
        })
        .collect();
    let modes = setup.craft.controller.iter().flat_map(|controller| &controller.modes);
    let modes: Vec<Value> = modes
        .map(|mode| {
            let kind = mode.kind.map(|kind| kind.value.word());
            json!({"mode": mode.name.value.as_str(), "kind": kind, "channels": mode.channels()})
        })
        .collect();
    let motors: Vec<Value> = setup
        .motor_channels()
        .iter()
        .map(|motor| {
            let side = motor.side.map(|side| side.word());
            json!({"channel": motor.channel, "side": side, "reversible": motor.reversible, "label": label(setup, motor.channel)})
        })
        .collect();
    let surfaces = setup.craft.surfaces.as_ref();
    let parts: Vec<Value> = surfaces
        .iter()
        .flat_map(|surfaces| &surfaces.channels)
        .map(|surface| {
            let functions: Vec<&str> = surface.functions.iter().map(|name| name.value.as_str()).collect();
            json!({
                "channel": surface.channel.value,
                "label": label(setup, surface.channel.value),
                "functions": functions,
                "side": surface.side.map(|side| side.value.word()),
                "high_is": surface.high_is.map(|way| Way::word(way.value)),
            })
        })
        .collect();
    Ok(json!({
        "model": setup.model.head.name.value.as_str(),
        "craft": setup.craft.head.name.value.as_str(),
        "kind": setup.craft.kind.map(|kind| kind.value.word()),
        "caution": Caution::of(setup.craft).words(),
        "grip": hands.grip.word(),
        "stick_mode": hands.mode,
        "controls": controls,
        "channels": channels,
        "modes": modes,
        "motors": motors,
        "surfaces": parts,
        "tail": surfaces.and_then(|surfaces| surfaces.tail).map(|tail| tail.value.word()),
        "canard": surfaces.is_some_and(|surfaces| surfaces.canard.is_some()),
        "order": setup.craft.controller.as_ref().map(order),
        "losses": Loss::of(setup).iter().map(|loss| lost(setup, loss)).collect::<Vec<_>>(),
        "scale": {"centre": program.parts().scale.centre.near(), "span": program.parts().scale.span.near()},
    }))
}

/// Which channels a controller reads as the functions of the sticks.
fn order(controller: &Controller) -> Vec<Value> {
    let sticks = [Stick::Roll, Stick::Pitch, Stick::Throttle, Stick::Yaw];
    let reads = sticks.into_iter().filter_map(|stick| Some((stick, controller.channel_of(stick)?)));
    reads.map(|(stick, channel)| json!({"function": stick.word(), "channel": channel})).collect()
}

/// A place as a movement names it, and for the picture: of a switch by its number, of an axis in percent.
fn place(signals: &Signals, control: ControlId, at: Setting) -> Value {
    match at {
        Setting::Position(at) => json!({"place": at, "word": signals.position_name(control, at).as_str()}),
        Setting::Percent(percent) => json!({"place": percent.near(), "word": percent.text()}),
    }
}

fn control(setup: &Setup<'_>, signals: &Signals, id: ControlId, known: &Control, start: Option<Setting>) -> Value {
    let hands = setup.hands();
    let name = known.name.as_str();
    let stick = hands.grip.stick(name);
    let (kind, trim) = match &known.kind {
        ControlKind::Stick { trim, .. } => ("stick", trim.as_ref().map(|range| range.near())),
        ControlKind::Axis { .. } => ("axis", None),
        ControlKind::Switch { .. } => ("switch", None),
        ControlKind::Button { .. } => ("button", None),
        ControlKind::Reported => ("reported", None),
    };
    let names: Vec<_> = (0..signals.positions(id)).map(|at| signals.position_name(id, at)).collect();
    let at = |setting: Option<Setting>| setting.map(|at| place(signals, id, at));
    json!({
        "name": name,
        "kind": kind,
        "function": stick.map(Stick::word),
        "side": stick.and_then(|stick| hands::side(hands.mode?, stick)),
        "upright": stick.map(|stick| matches!(stick, Stick::Pitch | Stick::Throttle)),
        "called": stick.map(|stick| hands::called(hands.grip, stick)),
        "ends": signals.is_axis(id).then(|| hands::ends(hands.grip, name)),
        "positions": names.iter().map(|name| name.as_str()).collect::<Vec<_>>(),
        "trim": trim,
        "springs_to": at(springs_to(setup, signals, id)),
        "rests_at": at(signals.program().rests_at(Handle::Control(id))),
        "start": at(start),
    })
}

/// What happens at one receiver, in words and as far as it can be drawn: what it does with its channels in the end.
fn lost(setup: &Setup<'_>, loss: &Loss<'_>) -> Value {
    let words: Vec<String> = loss.steps.iter().map(|step| loss_step(setup, step)).collect();
    let outputs = loss.steps.iter().find_map(|step| match step {
        LossStep::RepeatsOn => Some(json!({"do": "repeats"})),
        LossStep::Stops => Some(json!({"do": "stops"})),
        LossStep::Gives(preset) => {
            let each = preset.iter().map(|stored| json!([stored.channel.value, stored.pulse.value.to_f64()]));
            Some(json!({"do": "gives", "pulses": each.collect::<Vec<_>>()}))
        }
        _ => None,
    });
    let channels = setup.model.channels.iter().map(|channel| channel.number.value);
    let drives = channels.filter(|channel| loss.receiver.is_none_or(|receiver| receiver.drives(*channel)));
    json!({
        "receiver": loss.receiver.and_then(|receiver| receiver.name.as_ref()).map(|name| name.value.as_str()),
        "backed": loss.backed,
        "drives": drives.collect::<Vec<_>>(),
        "words": words,
        "outputs": outputs,
    })
}
