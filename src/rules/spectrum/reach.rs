//! `spectrum/reach`: the link has too little reserve at the distance at which the aircraft is flown.

use super::{bench_steps, figure, short_ways};
use crate::radio::budget::free_space_loss_db;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for (way, margin, fade) in short_ways(setup, out).collect::<Vec<_>>() {
        let module = way.sender.bay.module;
        let (Some(power), Some(reach)) = (module.power, setup.site.and_then(|site| site.reach)) else { continue };
        // The lowest step left from a bench test is a finding of its own.
        if !bench_steps(setup, &way, fade).is_empty() {
            continue;
        }
        let budget = way.budget;
        let message = format!(
            "At {} m about {} dB of margin are left, and {} dB are asked for; that much is left up to {} m. The telemetry on its way back is weaker and is not judged.",
            figure(way.reach_m, 0),
            figure(margin, 1),
            figure(fade, 1),
            figure(rounded_down(budget.reach_m(fade)), 0)
        );
        let sum = format!(
            "{} dBm EIRP + {} dBi of the receiver - {} dB of free-space loss at {} MHz, over a sensitivity of {} dBm at {} Hz",
            figure(budget.eirp_dbm, 1),
            figure(budget.receiver_gain_dbi, 1),
            figure(free_space_loss_db(way.reach_m, budget.frequency_mhz), 1),
            figure(budget.frequency_mhz, 1),
            figure(budget.sensitivity_dbm, 1),
            figure(way.update_rate_hz, 2)
        );
        let finding = out.find_text(setup.in_model(power.span), message);
        finding.other(setup.in_model(power.span), sum);
        if let Some(site) = setup.site {
            finding.other(site.head.place(reach.span), "the planned reach");
        }
    }
}

/// A distance with two good digits, rounded down: nobody should rely on the last metre.
fn rounded_down(metres: f64) -> f64 {
    let step = 10f64.powf(metres.max(1.0).log10().floor() - 1.0);
    (metres / step).floor() * step
}
