//! `arming/several-positions`: two positions of one control both ask to arm.

use super::{arming, controls, spare_switches};
use crate::findings::Severity;
use crate::rules::out::Out;
use crate::setup::Arming;
use crate::setup::Setup;
use crate::signal::{Answer, Condition, ControlId, Position, Question, Setting, Witness};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(arming) = arming(setup) else { return };
    let Some(controls) = controls(&arming, out) else { return };
    for &control in controls {
        let count = arming.signals.positions(control);
        if count < 3 {
            continue;
        }
        // A dead position between two live ones is the worse case, so it is looked for first.
        let dead = (1..count - 1).find_map(|dead| {
            let pairs = (0..dead).flat_map(|low| (dead + 1..count).map(move |high| (low, high)));
            pairs.filter_map(|(low, high)| both(&arming, out, control, low, high, Some(dead))).next()
        });
        let found = dead.map(|found| (found, Severity::Danger)).or_else(|| {
            let pairs = (0..count).flat_map(|low| (low + 1..count).map(move |high| (low, high)));
            pairs
                .filter_map(|(low, high)| both(&arming, out, control, low, high, None))
                .next()
                .map(|found| (found, Severity::Note))
        });
        let Some(((low, high, witness), severity)) = found else { continue };
        let name = |position| arming.signals.position_name(control, position);
        let mut message =
            format!("\"{}\" asks to arm both at {} and at {}", arming.signals.name(control), name(low), name(high));
        if severity == Severity::Danger {
            message += ", with a position between them that does not";
        }
        let choices = setup.arm_channels().first().map(|&channel| spare_switches(setup, channel)).unwrap_or_default();
        out.find(arming.place, message + ".")
            .severity(severity)
            .shown_by(arming.signals.witness(&witness.path_then(1)))
            .mend_choices("Let one end position of the switch arm, and no other.", choices);
    }
}

/// A state that does not ask, with the control at `dead` where that is given, from which both positions do.
fn both(
    arming: &Arming<'_>,
    out: &mut Out<'_>,
    control: ControlId,
    low: u8,
    high: u8,
    dead: Option<u8>,
) -> Option<(u8, u8, Witness)> {
    let mut state = vec![arming.quiet.clone()];
    state.extend(dead.map(|dead| Condition::At(control, Position::Index(dead))));
    let question = Question::is(Condition::All(state))
        .then_to(control, Setting::Position(low), arming.asks.clone())
        .then_to(control, Setting::Position(high), arming.asks.clone());
    match out.ask(arming.signals, &question, arming.place)? {
        Answer::Yes(witness) => Some((low, high, witness)),
        _ => None,
    }
}
