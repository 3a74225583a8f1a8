//! `module/power-step`: the module does not offer the power.

use crate::findings::fact::{FactValue, Joined, Unit, amount, fill, list, name};
use crate::rules::out::{Out, choice, replace};
use crate::setup::ModelSetup;
use crate::setup::offers::odd_power;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let head = &view.model.head;
    for bay in &view.bays {
        let (Some(odd), Some(power)) = (odd_power(bay), bay.module.power) else { continue };
        let (low, high) = power.value;
        let choices = odd.instead.iter().map(|&step| {
            let text = match low == high {
                true => format!("{step} mW"),
                false if odd.asked == low => format!("{step}..{high} mW"),
                false => format!("{low}..{step} mW"),
            };
            choice(fill("send with {step}", &[amount("step", step, Unit::Mw)]), vec![replace(head, power.span, text)])
        });
        let facts = [
            name("bay", bay.module.bay.value.clone()),
            amount("asked", odd.asked, Unit::Mw),
            list("steps", Joined::Comma, odd.offered.iter().map(|&step| FactValue::Amount(step.into(), Unit::Mw))),
        ];
        let sentence = "The module in bay {bay} has no step of {asked}; it has {steps}.";
        let finding = out.find(head.place(power.span), "no-step", sentence, facts);
        finding.mend_choices("Choose a step that the module has.", choices.collect());
        if let Some(handset) = view.handset {
            finding.other(handset.head.place(odd.stated), "the steps of the module");
        }
    }
}
