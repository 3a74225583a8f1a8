//! `arming/between-levels`: a position whose pulse the link has to round to "armed" or "not armed".

use super::spare_switches;
use crate::findings::fact::{Fact, FactValue, Joined, channel, list, names, number, text, us};
use crate::rules::out::Out;
use crate::setup::{Between, Setup, Signals};
use crate::signal::{Answer, Condition, Measure, Position, Question};

/// More controls than this are counted, not named.
const NAMED_AT_MOST: usize = 6;

/// What every sentence ends in.
const REST: &str = ": channel {channel} is sent {sent}, between two levels of the link, and arrives as {received}; one of the two levels arms and the other does not.";

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(mode) = setup.craft.controller.as_ref().and_then(|controller| controller.arm_mode()) else { return };
    for test in mode.tests() {
        for between in Between::of(test, signals) {
            one(setup, signals, test.channel.value, between, out);
        }
    }
}

fn one(setup: &Setup<'_>, signals: &Signals, arm: u8, between: Between, out: &mut Out<'_>) {
    let place = setup.channel_place(arm);
    let here = Condition::Channel(u16::from(arm), Measure::Sent, between.pulses);
    let Some(Answer::Yes(witness)) = out.ask(signals, &Question::is(here.clone()), place) else { return };
    let reading = signals.program().play(&witness.path);
    let Some(seen) = reading.channel(u16::from(arm)) else { return };
    let received = seen.received.as_ref().map_or_else(|| text("received", "nothing"), |pulse| us("received", pulse));
    let mut facts = vec![channel(arm), us("sent", &seen.sent), received];
    let (key, whose) =
        whose(signals, arm, &here, &mut facts, &mut |question| out.decide(signals, question, place) == Some(true));
    out.find(place, key, &[whose, REST].concat(), facts).shown_by(signals.witness(&witness.path)).mend_choices(
        "Arm with a control that has only positions the link can carry: a two-position switch.",
        spare_switches(setup, arm),
    );
}

/// Whose position it is: of switches, where some have a part in it, else of axes.
fn whose(
    signals: &Signals,
    arm: u8,
    here: &Condition,
    facts: &mut Vec<Fact>,
    holds: &mut dyn FnMut(&Question) -> bool,
) -> (&'static str, &'static str) {
    let mut positions = Vec::new();
    for control in signals.switches() {
        let count = signals.positions(control);
        let found = (0..count).filter(|&position| {
            let state = Condition::All(vec![Condition::At(control, Position::Index(position)), here.clone()]);
            holds(&Question::is(state))
        });
        let words: Vec<_> = found.map(|position| signals.position_name(control, position)).collect();
        // A control at any of whose positions the pulse can be there has no part in it.
        if !words.is_empty() && words.len() < usize::from(count) {
            positions.push(FactValue::Positions(signals.name(control).into(), words));
        }
    }
    if !positions.is_empty() {
        let more = positions.split_off(positions.len().min(NAMED_AT_MOST)).len();
        facts.push(list("positions", Joined::Apart, positions));
        return match more {
            0 => ("switch", "{positions}"),
            more => {
                facts.push(number("more", more as u32));
                ("switch", "{positions} and {more} more")
            }
        };
    }
    // Where that is not decided nothing is named.
    let movers = signals.program().moved_by(u16::from(arm)).unwrap_or_default().into_iter();
    let axes: Vec<_> = movers.filter(|&control| signals.positions(control) == 0).collect();
    if axes.is_empty() {
        return ("unnamed", "A position");
    }
    facts.push(names("axes", Joined::And, axes.into_iter().map(|control| signals.name(control))));
    ("axis", "A position of {axes}")
}
