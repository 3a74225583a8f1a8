//! `channels/trims`: the trims act on a multirotor's flight functions.

use crate::fleet::model::Trims;
use crate::fleet::words::CraftKind;
use crate::rules::out::{Out, insert, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let model = setup.model;
    if !setup.is(CraftKind::Multirotor) || setup.craft.controller.is_none() || model.head.lost_here(&["trims"]) {
        return;
    }
    let (place, words, edit) = match model.trims {
        Some(trims) if trims.value == Trims::Off => return,
        Some(trims) => (trims.span, "are on", replace(&model.head, trims.span, "trims off")),
        None => (
            model.head.header,
            "are on, since the model does not say",
            insert(&model.head, &model.head.body, "trims off"),
        ),
    };
    let message = format!(
        "The trims {words}: a trim that is moved by mistake tilts or turns the multirotor, or lifts the idle throttle."
    );
    out.find_text(setup.in_model(place), message).mend_sure("turn the trims off", vec![edit]);
}
