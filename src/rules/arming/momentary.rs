//! `arming/momentary`: letting go of a button or of a sprung switch ends the request to arm.

use super::arming;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::signal::{Answer, ControlKind, Question, Setting};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(arming) = arming(setup) else { return };
    for (control, kind) in arming.signals.program().controls() {
        let rest = match kind.kind {
            ControlKind::Button => 0,
            ControlKind::Switch { sprung_to: Some(rest), .. } => rest,
            _ => continue,
        };
        let question =
            Question::is(arming.asks.clone()).then_to(control, Setting::Position(rest), arming.quiet.clone());
        let Some(Answer::Yes(witness)) = out.ask(arming.signals, &question, arming.place) else { continue };
        let name = arming.signals.name(control);
        let message = match kind.kind {
            ControlKind::Button => format!("Letting go of the button \"{name}\" ends the request to arm."),
            _ => format!(
                "\"{name}\" springs back to {}, and that ends the request to arm.",
                arming.signals.position_name(control, rest)
            ),
        };
        let seen = arming.signals.witness(&witness.path_then(0));
        out.find(arming.place, message).shown_by(seen);
    }
}
