//! Rules about which receiver answers which model.

rules_of!(receiver);

use super::out::replace;
use crate::findings::Edit;
use crate::fleet::craft::{Craft, Receiver, ReceiverNumber};
use crate::fleet::equipment::Link;
use crate::fleet::model::Model;
use crate::fleet::words::Stick;
pub(super) use crate::setup::Wrong;
use crate::setup::{Bay, Context, ModelSetup, Setup};
use crate::setup::{Crossed, sticks};
use crate::signal::{Parts, Path, Setting};
use crate::source::{Located, Span};

/// The bay of a setup with the receiver of the same link.
pub(super) fn paired<'p>(setup: &'p Setup<'_>) -> Option<(Bay<'p>, &'p Receiver, &'p Link)> {
    let (bay, receiver) = (setup.bay?, setup.receiver?);
    let link = bay.link?;
    let same = receiver.link.as_ref().is_some_and(|own| own.value == link.head.name.value);
    same.then_some((bay, receiver, link))
}

/// The number that a receiver is locked to.
fn locked(receiver: &Receiver) -> Option<Located<u16>> {
    match receiver.number? {
        Located { value: ReceiverNumber::Locked(number), span } => Some(Located::new(number, span)),
        Located { value: ReceiverNumber::Any, .. } => None,
    }
}

/// The edits that give a model another number, and the receivers of its aircraft that are locked to the old one.
fn renumber(context: &Context<'_>, model: &Model, old: Located<u16>, new: u16) -> Vec<Edit> {
    let mut edits = vec![replace(&model.head, old.span, new.to_string())];
    for craft in model.flies.iter().filter_map(|name| context.fleet.craft(&name.value)) {
        for own in craft.receivers.iter().filter_map(locked).filter(|own| own.value == old.value) {
            edits.push(replace(&craft.head, own.span, format!("number {new}")));
        }
    }
    edits
}

/// Compares a strange model with the aircraft's own.
pub(super) fn wrong(context: &Context<'_>, strange: &Model, own: &Model, craft: &Craft) -> Wrong {
    context.compared.of([&strange.head, &own.head, &craft.head], || compare(context, strange, own, craft))
}

fn compare<'f>(context: &'f Context<'f>, strange: &'f Model, own: &'f Model, craft: &'f Craft) -> Wrong {
    let (strange, own) = (ModelSetup::new(context, strange), ModelSetup::new(context, own));
    let other = Setup::new(context, strange.model, strange.handset, craft, &strange.bays);
    let mine = Setup::new(context, own.model, own.handset, craft, &own.bays);
    if let Some(&Crossed { function, channel, stick }) = other.crossed().first()
        && mine.crossed().is_empty()
    {
        let words = format!("the {} stick would move {} (channel {channel})", stick.word(), function.word());
        return Wrong::Dangerous(words, None);
    }
    if let Some(words) = other_surfaces(strange.model, craft) {
        return Wrong::Dangerous(words, None);
    }
    let (Some(signals), Some(known)) = (other.signals(), mine.signals()) else { return Wrong::Open };
    // What the pilot takes for off, in the aircraft's own model.
    let Ok(controls) = known.arming_controls() else { return Wrong::Open };
    for &control in controls {
        let name = known.name(control);
        let quiet = (0..known.positions(control)).find(|&position| {
            let stand = known.start(&[(control, Setting::Position(position))]);
            known.arm().is_some_and(|arm| {
                known.program().play(&Path::at(stand)).modes.get(usize::from(arm.0)) == Some(&Some(false))
            })
        });
        let Some(position) = quiet else { continue };
        let word = known.position_name(control, position);
        let Some(there) = signals.lowered().control(name) else { continue };
        let Some(at) = signals.lowered().position(there, &word) else { continue };
        let path = Path::at(signals.start(&[(there, Setting::Position(at))]));
        let reading = signals.program().play(&path);
        if signals.arm().is_some_and(|arm| reading.modes.get(usize::from(arm.0)) == Some(&Some(true))) {
            let words = format!("\"{name}\" at {word}, which is off for this aircraft, would ask to arm");
            return Wrong::Dangerous(words, Some(signals.witness(&path)));
        }
    }
    let (a, b) = (signals.program().parts(), known.program().parts());
    if a.channels == b.channels && a.conditions == b.conditions && a.controls == b.controls {
        return Wrong::Alike;
    }
    let other = |number: u16| {
        let find = |parts: &Parts| parts.channels.iter().find(|channel| channel.number == number).cloned();
        find(a) != find(b)
    };
    let first = b.channels.iter().chain(&a.channels).map(|channel| channel.number).find(|&number| other(number));
    Wrong::Different(match first {
        Some(number) => format!("channel {number} would carry something else"),
        None => "its conditions or controls would work otherwise".to_owned(),
    })
}

/// On an aircraft without a flight controller: a surface or motor that would follow other sticks than it should.
fn other_surfaces(strange: &Model, craft: &Craft) -> Option<String> {
    let surfaces = craft.surfaces.as_ref()?;
    let wanted = surfaces.channels.iter().map(|surface| {
        let sticks = surface.functions.iter().filter_map(|name| Stick::find(&name.value)).collect();
        let names: Vec<&str> = surface.functions.iter().map(|name| name.value.as_str()).collect();
        (surface.channel.value, sticks, names.join(" + "))
    });
    let motors = surfaces.motors.iter().map(|motor| (motor.channel.value, vec![Stick::Throttle], "a motor".to_owned()));
    wanted.chain(motors).find_map(|(channel, wanted, what)| {
        let moved = sticks(strange, channel);
        let differs =
            moved.iter().any(|stick| !wanted.contains(stick)) || wanted.iter().any(|stick| !moved.contains(stick));
        let list = |sticks: &[Stick]| match sticks {
            [] => "no stick".to_owned(),
            sticks => sticks.iter().map(|stick| stick.word()).collect::<Vec<_>>().join(" and "),
        };
        (differs && !wanted.is_empty()).then(|| format!("channel {channel} ({what}) would follow {}", list(&moved)))
    })
}

/// The place of a model's number, else of its bay.
fn number_place(bay: &Bay<'_>) -> Span {
    bay.module.receiver_number.map_or(bay.module.header, |number| number.span)
}
