//! `failsafe/pulses-stop`: servos get no pulses at all when the link is lost.

use super::{once_all_have, store};
use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::failsafe::is_motorless;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for at in setup.at_loss() {
        let (Some(plan), Some(outputs)) = (at.does(FailsafeAction::OutputStops), at.pulses()) else { continue };
        let (key, sentence) = match is_motorless(setup.craft) {
            true => ("servos", "When the link is lost the receiver sends no pulses: the servos go limp or freeze."),
            false => (
                "servos and motor",
                "When the link is lost the receiver sends no pulses: the servos go limp or freeze, and the motor does what its own speed control does.",
            ),
        };
        let choices = store(&plan, setup).into_iter().collect();
        let finding = out.find(plan.place(), key, sentence, []);
        once_all_have(setup, at, finding);
        finding
            .other(setup.in_craft(outputs), "the servos are plugged into the receiver")
            .mend_choices("Store a preset with the motor at idle and the surfaces where you want them.", choices);
    }
}
