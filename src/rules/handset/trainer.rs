//! `handset/trainer`: a hand-over to a pupil that no lesson explains.

use crate::findings::fact::{FactValue, Joined, list};
use crate::rules::out::{Out, replace};
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let model = view.model;
    let lesson = model.lesson.is_some_and(|lesson| lesson.value);
    let Some(trainer) = model.trainer.as_ref().filter(|trainer| trainer.hand_over.is_some() && !lesson) else { return };
    let names = trainer.hand_over.iter().flat_map(|(_, functions)| functions);
    let given = list("given", Joined::Comma, names.map(|name| FactValue::Text(name.value.clone())));
    let sentence = "This model hands {given} over to a pupil's handset, and no lesson is stated.";
    out.find(model.head.place(trainer.span), "no-lesson", sentence, [given])
        .mend_offer("turn the hand-over off", vec![replace(&model.head, trainer.span, "trainer off")]);
}
