//! `module/none-on`: no bay is on, so nothing transmits.

use super::would_serve;
use crate::fleet::quoted;
use crate::rules::out::{Out, choice, replace};
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let model = view.model;
    // A pupil's handset sends over a cable to the instructor's.
    if model.modules_on().next().is_some() || view.is_a_pupils() {
        return;
    }
    let choices = would_serve(view).filter_map(|module| {
        let name = quoted(&module.bay.value);
        let edit = replace(&model.head, module.off?, "{\n  }");
        Some(choice(format!("turn the bay {name} on; its link is the one that the aircraft has"), vec![edit]))
    });
    let sentence = "Every module bay of this model is off: nothing transmits.";
    out.find(model.head.place(model.head.header), "none-on", sentence, []).mend_choices(
        "Turn the module on whose link the aircraft has, and write down its number, match, update rate, telemetry and power: what is left out is not checked.",
        choices.collect(),
    );
}
