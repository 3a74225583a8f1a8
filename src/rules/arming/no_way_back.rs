//! `arming/no-way-back`: once asked for, arming can't be ended, or not by the arming control.

use super::{arming, controls};
use crate::findings::Severity;
use crate::fleet::condition::ConditionKind;
use crate::fleet::model::Model;
use crate::rules::out::Out;
use crate::setup::Arming;
use crate::setup::Setup;
use crate::signal::{Answer, Condition, ControlId, Position, Question, Setting, Witness};

/// More combinations of arming controls than this are not looked at.
const MOST_COMBINATIONS: usize = 64;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(arming) = arming(setup) else { return };
    // Where every state asks, arming/always says so.
    if out.decide(arming.signals, &Question::is(arming.quiet.clone()), arming.place) != Some(true) {
        return;
    }
    match arming.signals.program().trapped(&arming.asks, &arming.quiet) {
        Answer::Yes(witness) => {
            let message = "Once the model asks to arm in this state, no movement of any control ends it.";
            out.find(arming.place, message)
                .shown_by(arming.signals.witness(&witness.path))
                .reaches("from this state on every reachable state asks to arm");
            return;
        }
        Answer::No(_) => {}
        Answer::NotDecided(why) => return out.not_decided(arming.place, crate::rules::wording::reason(why)),
    }
    // A condition that has to be held comes true while one waits: that no movement ends it at once says nothing then.
    if waits(setup.model) {
        return;
    }
    let Some(controls) = controls(&arming, out) else { return };
    if let Some(witness) = stuck(&arming, controls, out) {
        let names: Vec<String> =
            controls.iter().map(|&control| format!("\"{}\"", arming.signals.name(control))).collect();
        let message = format!(
            "In this state no single movement of {} ends the request to arm: another control has to be moved first.",
            names.join(" or ")
        );
        out.find(arming.place, message).severity(Severity::Caution).shown_by(arming.signals.witness(&witness.path));
    }
}

/// Whether some condition of a model has to be held for a time.
fn waits(model: &Model) -> bool {
    let mut found = false;
    for condition in model.all_conditions() {
        condition.walk(&mut |part| found |= matches!(part.kind, ConditionKind::Held(..)));
    }
    found
}

/// A state that asks and that no single movement of an arming control ends.
fn stuck(arming: &Arming<'_>, controls: &[ControlId], out: &mut Out<'_>) -> Option<Witness> {
    let counts: Vec<u8> = controls.iter().map(|&control| arming.signals.positions(control)).collect();
    let all: usize = counts.iter().map(|&count| usize::from(count)).product();
    if controls.is_empty() || all > MOST_COMBINATIONS {
        return None;
    }
    for combination in 0..all {
        let mut rest = combination;
        let mut state = vec![arming.asks.clone()];
        let mut stand = Vec::with_capacity(controls.len());
        for (&control, &count) in controls.iter().zip(&counts) {
            let position = (rest % usize::from(count)) as u8;
            rest /= usize::from(count);
            state.push(Condition::At(control, Position::Index(position)));
            stand.push(position);
        }
        let mut question = Question::is(Condition::All(state));
        for ((&control, &count), &here) in controls.iter().zip(&counts).zip(&stand) {
            for to in (0..count).filter(|&to| to != here) {
                question = question.then_to(control, Setting::Position(to), arming.asks.clone());
            }
        }
        if let Some(Answer::Yes(witness)) = out.ask(arming.signals, &question, arming.place) {
            return Some(witness);
        }
    }
    None
}
