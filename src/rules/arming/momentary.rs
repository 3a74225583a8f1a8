//! `arming/momentary`: letting go of a button or of a sprung switch ends the request to arm.

use crate::findings::fact::{channel, name, text};
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, ControlKind, Question, Setting};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(arming) = setup.arming(signals) else { return };
    for (control, kind) in signals.program().controls() {
        let Some(rest) = setup.springs_to(&kind.name) else { continue };
        let (key, sentence) = match kind.kind {
            ControlKind::Button { .. } => ("button", "Letting go of the button {control} ends the request to arm."),
            _ => ("switch", "{control} springs back to {rest}, and that ends the request to arm."),
        };
        let question =
            Question::is(arming.asks.clone()).then_to(control, Setting::Position(rest), arming.quiet.clone());
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, arming.place) else { continue };
        let facts = [
            channel(arming.channel),
            name("control", signals.name(control)),
            text("rest", signals.position_name(control, rest)),
        ];
        out.find(arming.place, key, sentence, facts).shown_by(signals.witness(&witness.path_then(0)));
    }
}
