//! Rules about the transmitting module: which bay is on, and how it sends.

rules_of!(module);

use super::out::{choice, replace};
use crate::findings::Choice;
use crate::fleet::Decimal;
use crate::fleet::craft::Craft;
use crate::fleet::equipment::HandsetModule;
use crate::fleet::model::{Model, ModelModule};
use crate::fleet::quoted;
use crate::setup::{Bay, ModelSetup, Setup};

/// Whether an aircraft has a receiver that speaks the link of what is in a bay.
fn hears(craft: &Craft, hardware: &HandsetModule) -> bool {
    let link = hardware.link.as_ref().map(|link| &link.value);
    link.is_some() && craft.receivers.iter().any(|receiver| receiver.link.as_ref().map(|own| &own.value) == link)
}

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

/// The bays of a model that are off and hold something that one of these aircraft hears.
fn would_serve<'f>(view: &'f ModelSetup<'_>, crafts: &[&Craft]) -> Vec<&'f ModelModule> {
    let serves = |module: &&ModelModule| {
        let hardware = view.handset.and_then(|handset| handset.module(&module.bay.value));
        hardware.is_some_and(|hardware| crafts.iter().any(|craft| hears(craft, hardware)))
    };
    view.model.modules.iter().filter(|module| module.off.is_some()).filter(serves).collect()
}

/// The same for one setup.
fn would_serve_pair<'f>(setup: &Setup<'f>) -> Option<&'f ModelModule> {
    setup.model.modules.iter().filter(|module| module.off.is_some()).find(|module| {
        let hardware = setup.handset.and_then(|handset| handset.module(&module.bay.value));
        hardware.is_some_and(|hardware| hears(setup.craft, hardware))
    })
}

/// The bay of a setup with the receiver that it reaches, where they speak one link.
fn reached<'p>(setup: &'p Setup<'_>) -> Option<(Bay<'p>, &'p crate::fleet::craft::Receiver, &'p HandsetModule)> {
    let bay = setup.bay?;
    let hardware = bay.hardware?;
    hears(setup.craft, hardware).then_some((bay, setup.receiver?, hardware))
}

/// Numbers in the order of their distance from one, the lower first where two are as near.
fn by_distance(from: Decimal, mut list: Vec<Decimal>) -> Vec<Decimal> {
    let distance = |number: &Decimal| (number.to_f64() - from.to_f64()).abs();
    list.sort_by(|a, b| distance(a).total_cmp(&distance(b)).then(a.cmp(b)));
    list
}
