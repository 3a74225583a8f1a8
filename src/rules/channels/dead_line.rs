//! `channels/dead-line`: a line or condition that never comes into force.

use crate::findings::Severity;
use crate::findings::fact::{Fact, channel, name, text};
use crate::findings::hands::called;
use crate::fleet::condition::Condition as Written;
use crate::fleet::model::{Channel, NamedCondition, NamedKind, ValueLine};
use crate::rules::out::{Out, remove};
use crate::setup::terms::changes_nothing;
use crate::setup::{Setup, Signals};
use crate::signal::{Condition, Question};
use crate::source::Span;
use rustc_hash::FxHashMap;
use std::collections::hash_map::Entry;

/// How a sentence about a channel's value line begins.
const VALUE_LINE: &str = "This value line of channel {channel}";

/// How a sentence about a value line of a mix begins.
const MIX_LINE: &str = "This value line of the mix {mix}";

/// The key of a line that stands under the one that it was to overrule.
const OVERRULED: &str = "changes nothing";

/// How a sentence about a rate line begins.
const RATE_LINE: &str = "This rate line of the {stick}";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    // Which line holds does not hang on the link.
    let Some(signals) = setup.signals() else { return };
    for known in &setup.model.channels {
        let lines: Vec<_> = known.lines.iter().map(|line| (line.span, line.when.as_ref())).collect();
        let number = known.number.value;
        let before = out.findings.len();
        dead(setup, signals, &lines, VALUE_LINE, &channel(number), out);
        let is_motor = setup.motor_channels().iter().any(|motor| motor.channel == number);
        overruled(setup, signals, known, out);
        for finding in out.findings.iter_mut().skip(before).filter(|_| is_motor) {
            let case = if finding.key == OVERRULED { "overruled" } else { "motor" };
            finding.severity(Severity::Caution).case(case);
        }
    }
    for mix in &setup.model.mixes {
        let lines: Vec<_> = mix.lines.iter().map(|line| (line.span, line.when.as_ref())).collect();
        dead(setup, signals, &lines, MIX_LINE, &name("mix", mix.name.value.clone()), out);
    }
    for rates in &setup.model.rates {
        let lines: Vec<_> = rates.lines.iter().map(|line| (line.span, line.when.as_ref())).collect();
        dead(setup, signals, &lines, RATE_LINE, &text("stick", called(setup.hands().grip, rates.stick.value)), out);
    }
    twice(setup, signals, out);
    for condition in &setup.model.conditions {
        let when = match &condition.kind {
            NamedKind::When(when) => when,
            NamedKind::Latch { set, .. } => set,
            // A button can be pressed, and telemetry can tell anything.
            NamedKind::Toggle { .. } | NamedKind::Reported => continue,
        };
        let place = setup.in_model(condition.span);
        let Some(asked) = out.condition(signals, when, place) else { continue };
        if out.decide(signals, &Question::is(asked), place) == Some(false) {
            let facts = [name("condition", condition.name.value.clone())];
            out.find(place, "condition", "No state makes the condition {condition} true.", facts)
                .mend_words("Correct the condition, or take it out where nothing uses it.");
        }
    }
}

/// Two named conditions that say the same. One that only gives another a second name is meant.
fn twice(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let mut known: FxHashMap<Condition, &NamedCondition> = FxHashMap::default();
    for condition in &setup.model.conditions {
        let NamedKind::When(when) = &condition.kind else { continue };
        let place = setup.in_model(condition.span);
        let Some(lowered) = out.condition(signals, when, place).filter(|it| !matches!(it, Condition::Named(_))) else {
            continue;
        };
        match known.entry(lowered) {
            Entry::Vacant(free) => drop(free.insert(condition)),
            Entry::Occupied(first) => {
                let facts =
                    [name("first", first.get().name.value.clone()), name("condition", condition.name.value.clone())];
                let sentence =
                    "The conditions {first} and {condition} are the same: where one holds, the other does too.";
                out.find(place, "twice", sentence, facts)
                    .severity(Severity::Caution)
                    .case("twice")
                    .other(setup.in_model(first.get().span), "the same condition")
                    .mend_words("Give each the position that it is for.");
            }
        }
    }
}

/// A cut, or another constant, that stands under the line that it was to overrule: where its condition holds together with that line
/// it does nothing, and elsewhere the lines below it send the same.
fn overruled(setup: &Setup<'_>, signals: &Signals, known: &Channel, out: &mut Out<'_>) {
    let Some(at) = changes_nothing(known) else { return };
    let Some((line, above)) = known.lines.get(at).zip(known.lines.get(..at)) else { return };
    let place = setup.in_model(line.span);
    let mut condition = |line: &ValueLine| line.when.as_ref().and_then(|when| out.condition(signals, when, place));
    let (Some(here), above) = (condition(line), above.iter().filter_map(&mut condition).collect()) else { return };
    let both = Condition::All(vec![here, Condition::Any(above)]);
    if out.decide(signals, &Question::is(both), place) == Some(true) {
        let sentence = [
            VALUE_LINE,
            " changes nothing: where a line above it holds, that one wins, and where none does, the lines below send the same without it.",
        ];
        out.find(place, OVERRULED, &sentence.concat(), [channel(known.number.value)])
            .mend_words("Move the line above those that it is to overrule.");
    }
}

fn dead(
    setup: &Setup<'_>,
    signals: &Signals,
    lines: &[(Span, Option<&Written>)],
    begin: &str,
    of: &Fact,
    out: &mut Out<'_>,
) {
    // A single line without a condition, or one line alone that may hold, needs no question.
    if lines.len() < 2 && lines.iter().all(|(_, when)| when.is_none()) {
        return;
    }
    let mut before: Vec<Condition> = Vec::new();
    for &(span, when) in lines {
        let here = match when {
            Some(when) => match out.condition(signals, when, setup.in_model(span)) {
                Some(condition) => condition,
                None => return,
            },
            None => Condition::Constant(true),
        };
        before.push(here);
        let place = setup.in_model(span);
        // The conditions are lent to the question: a channel may have many lines.
        let question = Question::is(Condition::All(before));
        let is_dead = out.decide(signals, &question, place) == Some(false);
        let Condition::All(lent) = question.state else { return };
        before = lent;
        let Some(here) = before.pop() else { return };
        if is_dead {
            // A line behind others can go, and nothing changes. One whose own condition can't hold was meant to, and what
            // it was meant to do would be lost with it.
            let never = signals.program().decide(&Question::is(here.clone())) == Ok(false);
            if before.is_empty() || never {
                let sentence = [begin, " never comes into force: no state makes its condition true."].concat();
                out.find(place, "never true", &sentence, [of.clone()])
                    .mend_words("Correct the condition, or take the line out where it is not needed.");
            } else {
                let sentence =
                    [begin, " never comes into force: where its condition holds, a line above it wins."].concat();
                out.find(place, "behind others", &sentence, [of.clone()])
                    .mend_offer("take the line out", vec![remove(&setup.model.head, span)]);
            }
        }
        before.push(Condition::Not(Box::new(here)));
    }
}
