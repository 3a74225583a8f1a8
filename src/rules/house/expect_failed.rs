//! `house/expect-failed`: a rule of the pilot's own does not hold.

use crate::findings::Severity;
use crate::findings::fact::text;
use crate::fleet::craft::Expect;
use crate::fleet::words::{ExpectKind, ExpectSeverity};
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Condition, Question};
use crate::source::Place;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let own = setup.model.expects.iter().map(|expect| (expect, setup.in_model(expect.span)));
    let craft = setup.craft.expects.iter().map(|expect| (expect, setup.in_craft(expect.span)));
    for (expect, place) in own.chain(craft) {
        one(signals, expect, place, out);
    }
}

fn one(signals: &Signals, expect: &Expect, place: Place, out: &mut Out<'_>) {
    let Ok(condition) = signals.lowered().condition(&expect.condition) else {
        return out
            .not_decided(place, "the line names something that this model, its handset or the aircraft does not have");
    };
    let question = Question::is(match expect.kind {
        ExpectKind::Always => Condition::Not(Box::new(condition)),
        ExpectKind::Never | ExpectKind::Reachable => condition,
    });
    let Some(reached) = out.decide(signals, &question, place) else { return };
    if reached == (expect.kind == ExpectKind::Reachable) {
        return;
    }
    // Only what is reached has a state to show.
    let witness = match reached.then(|| out.ask(signals, &question, place)).flatten() {
        Some(Answer::Yes(witness)) => Some(signals.witness(&witness.path)),
        _ if reached => return,
        _ => None,
    };
    let (key, sentence) = match expect.kind {
        ExpectKind::Never => ("never", "Expected never, and reached: {condition}."),
        ExpectKind::Always => ("always", "Expected always, and this state does not have it: {condition}."),
        ExpectKind::Reachable => ("reachable", "Expected that it can occur, and it can not: {condition}."),
    };
    let finding = out.find(place, key, sentence, [text("condition", expect.condition.to_string())]);
    finding.severity(match expect.severity {
        None | Some(ExpectSeverity::Danger) => Severity::Danger,
        Some(ExpectSeverity::Caution) => Severity::Caution,
        Some(ExpectSeverity::Note) => Severity::Note,
    });
    match witness {
        Some(witness) => finding.shown_by(witness),
        None => finding.reaches("no state has it, proved"),
    };
}
