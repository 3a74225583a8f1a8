//! `failsafe/hold`: the last commands are repeated without end when the link is lost.

use super::{stop_outputs, store};
use crate::findings::Severity;
use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::failsafe::is_motorless;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let controlled = setup.craft.controller.is_some();
    let words = out.doc.mend.split("\n\n").nth(usize::from(!controlled)).unwrap_or_default().replace('\n', " ");
    for at in setup.at_loss() {
        let Some(plan) = at.does(FailsafeAction::Hold) else { continue };
        let flags = at.flags_loss();
        if flags == Some(true) {
            continue;
        }
        let choices = match controlled {
            true => vec![stop_outputs(&plan)],
            false => store(&plan, setup).into_iter().collect(),
        };
        let sentence = "When the link is lost the receiver repeats the last commands for as long as it has power.";
        let finding = out.find(plan.place(), "repeats", sentence, []);
        if controlled && flags.is_none() {
            let sentence =
                "Unless it flags the loss, which the description does not say, the controller does not notice.";
            finding.also("perhaps unnoticed", sentence, []);
        } else if controlled {
            finding.also("unnoticed", "The flight controller does not notice the loss.", []);
        }
        // Outputs that are not stated may flag the loss after all: what is not known is no danger.
        let less = is_motorless(setup.craft) || (controlled && flags.is_none());
        finding.severity(if less { Severity::Caution } else { Severity::Danger }).mend_choices(words.clone(), choices);
    }
}
