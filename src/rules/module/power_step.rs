//! `module/power-step`: the module does not offer the power.

use super::by_distance;
use crate::fleet::Decimal;
use crate::rules::out::{Out, choice, replace};
use crate::setup::ModelSetup;

/// A step that is written in decibels is rounded to a tenth of one: this share of a power, 10^0.005, is half of that.
const ROUNDED: f64 = 0.0116;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    for bay in &view.bays {
        let (Some(hardware), Some(power), Some(handset)) = (bay.hardware, bay.module.power, view.handset) else {
            continue;
        };
        let steps: Vec<Decimal> = hardware.power.iter().map(|step| step.value).collect();
        let offered = |value: Decimal| steps.iter().any(|step| (value.to_f64() / step.to_f64() - 1.0).abs() < ROUNDED);
        let (low, high) = power.value;
        let Some(first) = hardware.power.first() else { continue };
        let Some(odd) = [low, high].into_iter().find(|&value| !offered(value)) else { continue };
        let list: Vec<String> = steps.iter().map(|step| format!("{step} mW")).collect();
        // The step below comes first: less power never breaks a rule that more power kept.
        let (below, over): (Vec<Decimal>, Vec<Decimal>) =
            by_distance(odd, steps.clone()).into_iter().partition(|step| *step < odd);
        let choices = below.into_iter().chain(over).map(|step| {
            let text = match low == high {
                true => format!("{step} mW"),
                false if odd == low => format!("{step}..{high} mW"),
                false => format!("{low}..{step} mW"),
            };
            choice(format!("send with {step} mW"), vec![replace(&view.model.head, power.span, text)])
        });
        out.find_text(
            view.model.head.place(power.span),
            format!(
                "The module in bay \"{}\" has no step of {odd} mW; it has {}.",
                bay.module.bay.value,
                list.join(", ")
            ),
        )
        .other(handset.head.place(first.span), "the steps of the module")
        .mend_choices("Choose a step that the module has.", choices.collect());
    }
}
