//! `handset/trainer-stays`: the hand-over stays on when the teacher lets go.

use crate::findings::Choice;
use crate::fleet::condition::ConditionKind;
use crate::fleet::equipment::{ControlKind, Handset};
use crate::fleet::quoted;
use crate::rules::out::{Out, choice, replace};
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let (model, Some(handset)) = (view.model, view.handset) else { return };
    let Some(trainer) = &model.trainer else { return };
    let Some((condition, _)) = &trainer.hand_over else { return };
    let (mut stays, mut springs) = (None, false);
    condition.walk(&mut |part| {
        if let ConditionKind::Position { control, .. } = &part.kind {
            match handset.control(&control.value).map(|control| control.kind) {
                Some(ControlKind::Switch { sprung_to: None, .. }) => stays = stays.or(Some(control)),
                Some(ControlKind::Switch { .. } | ControlKind::Button) => springs = true,
                _ => {}
            }
        }
    });
    let Some(control) = stays.filter(|_| !springs) else { return };
    let choices = sprung(handset)
        .map(|words| choice(format!("hand over while {words}"), vec![replace(&model.head, condition.span, words)]))
        .collect::<Vec<Choice>>();
    let message = format!(
        "The hand-over is on \"{}\", which stays where it is put: let go of it, and the pupil still flies.",
        control.value
    );
    out.find_text(model.head.place(trainer.span), message)
        .mend_choices("Put the hand-over on a control that springs back when you let go.", choices);
}

/// The controls that spring back, each with a position away from rest, as a condition is written.
fn sprung(handset: &Handset) -> impl Iterator<Item = String> + '_ {
    handset.controls.iter().filter_map(|control| {
        let away = match control.kind {
            ControlKind::Switch { positions, sprung_to: Some(rest) } => {
                if rest == 0 {
                    positions - 1
                } else {
                    0
                }
            }
            ControlKind::Button => 1,
            _ => return None,
        };
        Some(format!("{} {}", quoted(&control.name.value), control.kind.position_name(away)))
    })
}
