//! `handset/trainer-stays`: the hand-over stays on when the teacher lets go.

use crate::findings::Choice;
use crate::fleet::quoted;
use crate::rules::out::{Out, choice, replace};
use crate::setup::ModelSetup;
use crate::setup::trainer::{sprung, stays};

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let (model, Some(handset)) = (view.model, view.handset) else { return };
    let Some(trainer) = &model.trainer else { return };
    let Some((condition, _)) = &trainer.hand_over else { return };
    let Some(control) = stays(condition, handset) else { return };
    let choices = sprung(handset)
        .into_iter()
        .map(|(name, position)| format!("{} {position}", quoted(name)))
        .map(|words| choice(format!("hand over while {words}"), vec![replace(&model.head, condition.span, words)]))
        .collect::<Vec<Choice>>();
    let message = format!(
        "The hand-over is on \"{}\", which stays where it is put: let go of it, and the pupil still flies.",
        control.value
    );
    out.find_text(model.head.place(trainer.span), message)
        .mend_choices("Put the hand-over on a control that springs back when you let go.", choices);
}
