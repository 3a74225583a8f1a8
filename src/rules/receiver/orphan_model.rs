//! `receiver/orphan-model`: a model that flies nothing.

use crate::rules::out::Out;
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let model = view.model;
    if model.flies.is_empty() && !view.is_a_pupils() {
        out.find(model.head.place(model.head.header), "flies nothing", "This model flies no aircraft.", []);
    }
}
