//! `handset/trainer-stays`: the hand-over stays on when the teacher lets go.

use crate::findings::Choice;
use crate::findings::coverage::Missing;
use crate::findings::fact::name;
use crate::fleet::quoted;
use crate::rules::out::{Out, choice, replace};
use crate::setup::ModelSetup;
use crate::setup::trainer::{names_unknown, sprung, stays};

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let model = view.model;
    let Some(trainer) = &model.trainer else { return };
    let Some((condition, _)) = &trainer.hand_over else { return };
    let Some(handset) = view.handset else {
        // It is named, and not defined: the controls of the hand-over are not known.
        return out.misses(Missing::Line(model.head.place(trainer.span)));
    };
    if names_unknown(condition, handset) {
        out.misses(Missing::Line(model.head.place(trainer.span)));
    }
    let Some(control) = stays(condition, handset) else { return };
    let choices = sprung(handset)
        .into_iter()
        .map(|(control, position)| format!("{} {position}", quoted(control)))
        .map(|words| choice(format!("hand over while {words}"), vec![replace(&model.head, condition.span, words)]))
        .collect::<Vec<Choice>>();
    let sentence =
        "The hand-over is on {control}, which stays where it is put: let go of it, and the pupil still flies.";
    out.find(model.head.place(trainer.span), "stays", sentence, [name("control", control.value.clone())])
        .mend_choices("Put the hand-over on a control that springs back when you let go.", choices);
}
