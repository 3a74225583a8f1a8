//! `house/expect-failed`: a rule of the pilot's own does not hold.

use crate::findings::Severity;
use crate::fleet::craft::Expect;
use crate::fleet::words::{ExpectKind, ExpectSeverity};
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::signal::{Answer, Condition, Question};
use crate::source::Place;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let own = setup.model.expects.iter().map(|expect| (expect, setup.in_model(expect.span)));
    let craft = setup.craft.expects.iter().map(|expect| (expect, setup.in_craft(expect.span)));
    for (expect, place) in own.chain(craft) {
        one(setup, expect, place, out);
    }
}

fn one(setup: &Setup<'_>, expect: &Expect, place: Place, out: &mut Out<'_>) {
    let Some(signals) = setup.signals() else { return };
    let Ok(condition) = signals.lowered().condition(&expect.condition) else {
        return out
            .not_decided(place, "the line names something that this model, its handset or the aircraft does not have");
    };
    let question = match expect.kind {
        ExpectKind::Always => Condition::Not(Box::new(condition)),
        ExpectKind::Never | ExpectKind::Reachable => condition,
    };
    let question = Question::is(question);
    let Some(reached) = out.decide(signals, &question, place) else { return };
    if reached == (expect.kind == ExpectKind::Reachable) {
        return;
    }
    let severity = match expect.severity {
        None | Some(ExpectSeverity::Danger) => Severity::Danger,
        Some(ExpectSeverity::Caution) => Severity::Caution,
        Some(ExpectSeverity::Note) => Severity::Note,
    };
    let written = expect.condition.to_string();
    let witness = match reached {
        true => out.ask(signals, &question, place),
        false => None,
    };
    match (expect.kind, witness) {
        (ExpectKind::Never, Some(Answer::Yes(witness))) => {
            out.find_text(place, format!("Expected never, and reached: {written}."))
                .severity(severity)
                .shown_by(signals.witness(&witness.path));
        }
        (ExpectKind::Always, Some(Answer::Yes(witness))) => {
            out.find_text(place, format!("Expected always, and this state does not have it: {written}."))
                .severity(severity)
                .shown_by(signals.witness(&witness.path));
        }
        (ExpectKind::Reachable, None) => {
            out.find_text(place, format!("Expected to be reachable, and no state has it: {written}."))
                .severity(severity)
                .reaches("no reachable state has it, proved");
        }
        _ => {}
    }
}
