//! `handset/trainer-at-rest`: the pupil has the sticks before the instructor has moved anything.

use crate::findings::Severity;
use crate::findings::fact::{FactValue, Joined, list};
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Condition, Path, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(trainer) = &setup.model.trainer else { return };
    let Some((when, functions)) = &trainer.hand_over else { return };
    let place = setup.in_model(trainer.span);
    let when = match signals.lowered().when(when) {
        Ok(when) => when,
        Err(_) => return out.misses(crate::findings::coverage::Missing::Line(place)),
    };
    let start = Path::at(signals.start(&setup.demands(signals)));
    let at_start = signals.program().holds(&start, &when);
    let always = out.decide(signals, &Question::is(Condition::Not(Box::new(when))), place) == Some(false);
    let given = list("given", Joined::And, functions.iter().map(|name| FactValue::Text(name.value.clone())));
    let (key, sentence) = match (always, at_start, setup.model.before_start.is_empty()) {
        (true, ..) => {
            ("always", "The pupil has {given} in every position of every control: the instructor can't take over.")
        }
        (_, Some(true), true) => ("at rest", "With every control at rest the pupil already has {given}."),
        (_, Some(true), false) => {
            ("as demanded", "With the controls as the start check demands them the pupil already has {given}.")
        }
        _ => return,
    };
    let severity = if setup.hands_over_motors(signals, functions) { Severity::Danger } else { Severity::Caution };
    let words = "Hand over in the position that a sprung control has to be held in.";
    let finding = out.find(place, key, sentence, [given]);
    finding.severity(severity).mend_words(words);
    if at_start == Some(true) {
        finding.shown_by(signals.witness(&start));
    }
}
