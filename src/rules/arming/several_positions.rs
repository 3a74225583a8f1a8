//! `arming/several-positions`: two positions of one control both ask to arm.

use super::spare_switches;
use crate::findings::Severity;
use crate::findings::fact::{channel, name, text};
use crate::rules::out::Out;
use crate::setup::{Arming, Setup, Signals};
use crate::signal::{Answer, ControlId, Witness};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(arming) = setup.arming(signals) else { return };
    let Some(controls) = out.arming_controls(signals, arming.place) else { return };
    for &control in controls {
        if signals.positions(control) < 3 {
            continue;
        }
        // A dead position between two live ones is the worse case, so it is looked for first.
        let around = arming.around_another(control).into_iter();
        let dead = around.map(|(low, high, dead)| (low, high, Some(dead)));
        let any = arming.two_positions(control).into_iter().map(|(low, high)| (low, high, None));
        let found = dead.chain(any).find_map(|case| Some((case, both(&arming, out, control, case)?)));
        let Some(((low, high, dead), witness)) = found else { continue };
        let (key, severity, sentence) = match dead {
            Some(_) => (
                "around another",
                Severity::Danger,
                "{control} asks to arm both at {low} and at {high}, with a position between them that does not.",
            ),
            None => ("two", Severity::Note, "{control} asks to arm both at {low} and at {high}."),
        };
        let facts = [
            channel(arming.channel),
            name("control", signals.name(control)),
            text("low", signals.position_name(control, low)),
            text("high", signals.position_name(control, high)),
        ];
        out.find(arming.place, key, sentence, facts)
            .severity(severity)
            .shown_by(signals.witness(&witness.path_then(1)))
            .mend_choices(
                "Let one end position of the switch arm, and no other.",
                spare_switches(setup, arming.channel),
            );
    }
}

/// A state from which both positions ask, though it does not itself.
fn both(
    arming: &Arming<'_>,
    out: &mut Out<'_>,
    control: ControlId,
    (low, high, dead): (u8, u8, Option<u8>),
) -> Option<Witness> {
    match out.ask(arming.signals, &arming.at_both(control, (low, high), dead), arming.place)? {
        Answer::Yes(witness) => Some(witness),
        _ => None,
    }
}
