//! Rules about the transmitting module: which bay is on, and how it sends.

rules_of!(module);

use super::out::{choice, replace};
use crate::findings::Choice;
use crate::findings::fact::{FactValue, Joined, Unit, fill, list};
use crate::fleet::model::{Model, ModelModule};
use crate::fleet::quoted;
use crate::setup::ModelSetup;
use crate::setup::offers::off_and_heard;

/// The choice that turns a bay off.
fn turn_off(model: &Model, module: &ModelModule) -> Option<Choice> {
    let name = quoted(&module.bay.value);
    let edit = replace(&model.head, module.body?.whole, format!("module {name} off"));
    Some(choice(format!("turn the bay {name} off"), vec![edit]))
}

/// The choice that gives the settings of the bay that is on to one that is off.
fn swap(model: &Model, on: &ModelModule, off: &ModelModule) -> Choice {
    let (from, to) = (quoted(&on.bay.value), quoted(&off.bay.value));
    let edits = vec![replace(&model.head, on.bay.span, to.clone()), replace(&model.head, off.bay.span, from.clone())];
    choice(format!("turn {to} on with these settings, and {from} off"), edits)
}

/// The bays of a model that are off and would serve one of its aircraft, in the model's order.
fn would_serve<'f>(view: &ModelSetup<'f>) -> impl Iterator<Item = &'f ModelModule> {
    let serving: Vec<_> =
        view.setups.iter().flat_map(|setup| off_and_heard(setup)).map(|module| module.header).collect();
    view.model.modules.iter().filter(move |module| serving.contains(&module.header))
}

/// The statement that sends on chains.
pub(super) fn send_on(chains: &[u8], in_turn: bool) -> String {
    let all = list("chains", Joined::Comma, chains.iter().map(|&chain| FactValue::Amount(chain.into(), Unit::None)));
    match (chains, in_turn) {
        ([_], _) => fill("send-on chain {chains}", &[all]),
        (_, true) => fill("send-on chains {chains} in-turn", &[all]),
        (_, false) => fill("send-on chains {chains}", &[all]),
    }
}
