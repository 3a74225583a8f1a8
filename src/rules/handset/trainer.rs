//! `handset/trainer`: a hand-over to a pupil that no lesson explains.

use crate::rules::out::{Out, replace};
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let model = view.model;
    let lesson = model.lesson.is_some_and(|lesson| lesson.value);
    let Some(trainer) = model.trainer.as_ref().filter(|trainer| trainer.hand_over.is_some() && !lesson) else { return };
    let names = trainer.hand_over.iter().flat_map(|(_, functions)| functions).map(|name| name.value.as_str());
    let names: Vec<&str> = names.collect();
    let message = format!("This model hands {} over to a pupil's handset, and no lesson is stated.", names.join(", "));
    out.find_text(model.head.place(trainer.span), message)
        .mend_sure("turn the hand-over off", vec![replace(&model.head, trainer.span, "trainer off")]);
}
