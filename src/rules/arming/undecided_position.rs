//! `arming/undecided-position`: a position whose pulse the link has to round to "armed" or "not armed".

use super::{arming, spare_switches};
use crate::rules::out::Out;
use crate::rules::wording::us;
use crate::setup::Arming;
use crate::setup::{Setup, float, number};
use crate::signal::{
    Answer, Bound, Bounds, Carriage, Condition, ControlId, Measure, Number, Position, Question, Scale, fits,
};
use num_traits::{CheckedAdd, CheckedMul, CheckedSub};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(arming) = arming(setup) else { return };
    let Some(mode) = setup.craft.controller.as_ref().and_then(|controller| controller.arm_mode()) else { return };
    for test in &mode.tests {
        let channel = test.channel.value;
        let Some(Carriage::Levels(levels)) =
            arming.signals.program().channel(u16::from(channel)).map(|channel| channel.carriage)
        else {
            continue;
        };
        let (low, high) = (number(test.range.value.0), number(test.range.value.1));
        for zone in zones(arming.signals.program().parts().scale, levels, low, high) {
            zone_of(setup, &arming, channel, zone, out);
        }
    }
}

/// The pulses more than a quarter step from both of two neighbouring levels of which exactly one lies in the range.
fn zones(scale: Scale, levels: u32, low: Number, high: Number) -> Vec<Bounds> {
    let steps = i64::from(levels) - 1;
    // The pulse so many quarter steps above the lowest level; `None` where it can't be kept exactly.
    let at = |quarters: i64| {
        let share = Number::new(quarters * 2, steps * 4);
        let pulse = scale.centre.checked_sub(&scale.span)?.checked_add(&scale.span.checked_mul(&share)?)?;
        fits(pulse).then_some(pulse)
    };
    let inside = |index: i64| at(index * 4).is_some_and(|pulse| (low..=high).contains(&pulse));
    let zone = |index: i64| {
        let bound = |quarters| Some(Some(Bound { at: at(quarters)?, strict: true }));
        Some(Bounds { low: bound(index * 4 + 1)?, high: bound(index * 4 + 3)? })
    };
    (0..steps).filter(|&index| inside(index) != inside(index + 1)).filter_map(zone).collect()
}

fn zone_of(setup: &Setup<'_>, arming: &Arming<'_>, channel: u8, zone: Bounds, out: &mut Out<'_>) {
    let place = setup.channel_place(channel);
    let here = Condition::Channel(u16::from(channel), Measure::Sent, zone);
    let Some(Answer::Yes(witness)) = out.ask(arming.signals, &Question::is(here.clone()), place) else { return };
    let mut positions = Vec::new();
    let mut more = 0usize;
    for control in arming.signals.switches() {
        let count = arming.signals.positions(control);
        let found: Vec<u8> = (0..count).filter(|&position| at(arming, control, position, &here, place, out)).collect();
        // A control at any of whose positions the pulse can be there has no part in it.
        if !found.is_empty() && found.len() < usize::from(count) {
            if positions.len() < 6 {
                let words = found.iter().map(|&position| arming.signals.position_name(control, position));
                let words: Vec<_> = words.collect();
                positions.push(format!("\"{}\" {}", arming.signals.name(control), words.join(", ")));
            } else {
                more += 1;
            }
        }
    }
    let reading = arming.signals.program().play(&witness.path);
    let Some(seen) = reading.channel(u16::from(channel)) else { return };
    let sent = us(float(&seen.sent));
    let received = seen.received.as_ref().map_or_else(|| "nothing".to_owned(), |pulse| us(float(pulse)));
    let whose = match positions.is_empty() {
        true => axes(arming, channel),
        false if more > 0 => format!("{} and {more} more", positions.join("; ")),
        false => positions.join("; "),
    };
    let message = format!(
        "{whose}: channel {channel} is sent {sent}, between two levels of the link, and arrives as {received}; one of the two levels arms and the other does not."
    );
    let choices = spare_switches(setup, channel);
    out.find(place, message)
        .shown_by(arming.signals.witness(&witness.path))
        .mend_choices("Arm with a control that has only positions the link can carry: a two-position switch.", choices);
}

fn at(
    arming: &Arming<'_>,
    control: ControlId,
    position: u8,
    here: &Condition,
    place: crate::source::Place,
    out: &mut Out<'_>,
) -> bool {
    let state = Condition::All(vec![Condition::At(control, Position::Index(position)), here.clone()]);
    out.decide(arming.signals, &Question::is(state), place) == Some(true)
}

/// The axes that move a channel, where no switch has a part in it.
fn axes(arming: &Arming<'_>, channel: u8) -> String {
    let movers = arming.signals.program().moved_by(u16::from(channel)).into_iter();
    let axes = movers.filter(|&control| arming.signals.positions(control) == 0);
    let names: Vec<String> = axes.map(|control| format!("\"{}\"", arming.signals.name(control))).collect();
    match names.as_slice() {
        [] => "A position".to_owned(),
        names => format!("A position of {}", names.join(" and ")),
    }
}
