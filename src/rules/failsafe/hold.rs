//! `failsafe/hold`: the last commands are repeated without end when the link is lost.

use super::{once_all_have, stop_outputs, store};
use crate::findings::Severity;
use crate::fleet::craft::Controller;
use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::failsafe::{acts, is_motorless};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let controller = setup.craft.controller.as_ref();
    let words =
        out.doc.mend.split("\n\n").nth(usize::from(controller.is_none())).unwrap_or_default().replace('\n', " ");
    for at in setup.at_loss() {
        let Some(plan) = at.does(FailsafeAction::Hold) else { continue };
        let (flags, acts) = (at.flags_loss(), controller.map(told));
        if flags == Some(true) && acts == Some(Some(true)) {
            continue;
        }
        let choices = match controller {
            Some(_) => vec![stop_outputs(&plan)],
            None => store(&plan, setup).into_iter().collect(),
        };
        let sentence = "When the link is lost the receiver repeats the last commands for as long as it has power.";
        let finding = out.find(plan.place(), "repeats", sentence, []);
        // What is not stated may be well after all: what is not known is no danger.
        let known = match (acts, flags) {
            (None, _) => {
                if flags == Some(true) {
                    let sentence = "It flags the loss, and no flight controller is there that would act on the flag.";
                    finding.also("flag unread", sentence, []);
                }
                true
            }
            (Some(_), Some(false)) => {
                finding.also("unnoticed", "The flight controller does not notice the loss.", []);
                true
            }
            (Some(_), None) => {
                let sentence =
                    "Unless it flags the loss, which the description does not say, the controller does not notice.";
                finding.also("perhaps unnoticed", sentence, []);
                false
            }
            (Some(Some(_)), Some(true)) => {
                finding.also(
                    "idle controller",
                    "It flags the loss, and the flight controller is to do nothing then.",
                    [],
                );
                true
            }
            (Some(None), Some(true)) => {
                let sentence = "It flags the loss; what the flight controller does then is not stated.";
                finding.also("action not stated", sentence, []);
                false
            }
        };
        let severity = if known && !is_motorless(setup.craft) { Severity::Danger } else { Severity::Caution };
        finding.severity(severity).mend_choices(words.clone(), choices);
        once_all_have(setup, at, finding);
    }
}

/// Whether a controller that is told of a lost link does something; `None` where that is not stated.
fn told(controller: &Controller) -> Option<bool> {
    controller.on_loss.map(|_| acts(controller).is_some())
}
