//! `channels/trims`: the trims act on a multirotor's flight functions.

use crate::fleet::model::Trims;
use crate::rules::out::{Out, insert, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let model = setup.model;
    let (place, key, sentence, edit) = match model.trims {
        Some(trims) if trims.value == Trims::Off => return,
        Some(trims) => (
            trims.span,
            "on",
            "The trims are on: a trim that is moved by mistake tilts or turns the multirotor, or lifts the idle throttle.",
            replace(&model.head, trims.span, "trims off"),
        ),
        None => (
            model.head.header,
            "not said",
            "The trims are on, since the model does not say: a trim that is moved by mistake tilts or turns the multirotor, or lifts the idle throttle.",
            insert(&model.head, &model.head.body, "trims off"),
        ),
    };
    let finding = out.find(setup.in_model(place), key, sentence, []);
    // What the model says may be meant.
    match key {
        "on" => finding.mend_offer("turn the trims off", vec![edit]),
        _ => finding.mend_sure("turn the trims off", vec![edit]),
    };
}
