//! `spectrum/bench-power`: the lowest power was left from a bench test, and is too weak for the reach.

use super::{bench_steps, figure, short_ways};
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for (way, margin, fade) in short_ways(setup, out).collect::<Vec<_>>() {
        let steps = bench_steps(setup, &way, fade);
        let (Some(power), false) = (way.sender.bay.module.power, steps.is_empty()) else { continue };
        let message = format!(
            "The model sends with {} mW, the lowest step of the module: at {} m about {} dB of margin are left, and {} dB are asked for.",
            power.value.0,
            figure(way.reach_m, 0),
            figure(margin, 1),
            figure(fade, 1)
        );
        let choices = steps.into_iter().map(|step| {
            let left = way.at(step.to_f64()).budget.margin_db(way.reach_m);
            choice(
                format!("send with {step} mW, which leaves about {} dB", figure(left, 0)),
                vec![replace(&setup.model.head, power.span, format!("{step} mW"))],
            )
        });
        let words =
            "Set a step that leaves enough margin and keeps to the region's rules; for the bench the lowest is right.";
        let finding = out.find_text(setup.in_model(power.span), message);
        finding.mend_choices(words, choices.collect());
        if let Some((site, reach)) = setup.site.and_then(|site| Some((site, site.reach?))) {
            finding.other(site.head.place(reach.span), "the planned reach");
        }
    }
}
