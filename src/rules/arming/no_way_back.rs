//! `arming/no-way-back`: once asked for, arming can't be ended, or not by the arming control.

use crate::findings::Severity;
use crate::findings::fact::{Joined, channel, names};
use crate::rules::out::Out;
use crate::setup::terms::waits;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(arming) = setup.arming(signals) else { return };
    // Where every state asks, arming/always says so.
    if out.decide(signals, &Question::is(arming.quiet.clone()), arming.place) != Some(true) {
        return;
    }
    match signals.program().trapped(&arming.asks, &arming.quiet) {
        Answer::Yes(witness) => {
            let sentence = "Once the model asks to arm in this state, no movement of any control ends it.";
            out.find(arming.place, "trapped", sentence, [channel(arming.channel)])
                .shown_by(signals.witness(&witness.path))
                .reaches("from this state on, every state that can occur asks to arm");
            return;
        }
        Answer::No(_) => {}
        Answer::NotDecided(why) => return out.not_decided(arming.place, why.to_string()),
    }
    // A condition that has to be held comes true while one waits: that no movement ends it at once says nothing then.
    if waits(setup.model) {
        return;
    }
    let Some(controls) = out.arming_controls(signals, arming.place) else { return };
    for question in arming.held_fast(controls) {
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, arming.place) else { continue };
        let sentence = "In this state no single movement of {controls} ends the request to arm: another control has to be moved first.";
        let names = names("controls", Joined::Or, controls.iter().map(|&control| signals.name(control)));
        out.find(arming.place, "held fast", sentence, [channel(arming.channel), names])
            .severity(Severity::Caution)
            .shown_by(signals.witness(&witness.path));
        return;
    }
}
