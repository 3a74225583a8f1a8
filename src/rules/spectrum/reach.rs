//! `spectrum/reach`: the link has too little reserve at the distance at which the aircraft is flown.

use super::{fade, margin};
use crate::findings::fact::{Amount, Unit, amount, fill};
use crate::rules::out::Out;
use crate::setup::Setup;

const SHORT: &str = "At {distance} about {margin} of margin are left, and {asked} are asked for; that much is left up to {safe}. The telemetry on its way back is weaker and is not judged.";
const SUM: &str = "{eirp} EIRP of one chain + {gain} of the receiver - {loss} of free-space loss at {frequency}, over a sensitivity of {sensitivity} at {rate}";
/// The same over ground or water.
const OVER_GROUND: &str = "{eirp} EIRP of one chain + {gain} of the receiver - {loss} of loss over the ground with antennas at {sends} and {hears}, over a sensitivity of {sensitivity} at {rate}";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let asked = fade(out);
    // The lowest step left from a bench test is a finding of its own.
    for short in setup.short_ways(asked).iter().filter(|short| short.bench.is_empty()) {
        let (way, budget) = (&short.way, &short.way.budget);
        let Some(power) = way.sender.bay.module.power else { continue };
        let mut facts = margin(short, asked).to_vec();
        facts.extend([
            amount("safe", Amount::Computed(way.safe_reach_m(asked), 0), Unit::M),
            amount("eirp", budget.eirp_dbm, Unit::Dbm),
            amount("gain", budget.receiver_gain_dbi, Unit::Dbi),
            amount("loss", way.loss_db(), Unit::Db),
            amount("frequency", budget.frequency_mhz, Unit::MHz),
            amount("sensitivity", budget.sensitivity_dbm, Unit::Dbm),
            amount("rate", Amount::Computed(way.update_rate_hz, 2), Unit::Hz),
        ]);
        let sum = match way.over_ground() {
            None => fill(SUM, &facts),
            Some((sends, hears)) => {
                let metres = |name, height| amount(name, Amount::Computed(height, 2), Unit::M);
                facts.extend([metres("sends", sends), metres("hears", hears)]);
                fill(OVER_GROUND, &facts)
            }
        };
        let finding = out.find(setup.in_model(power.span), "short", SHORT, facts);
        finding.other(setup.in_model(power.span), sum);
        if setup.receivers_of(&way.sender.bay).nth(1).is_some() {
            finding.other(setup.in_craft(way.receiver.header), "the receiver that this is about");
        }
        if let Some((site, reach)) = setup.site.and_then(|site| Some((site, site.reach?))) {
            finding.other(site.head.place(reach.span), "the planned reach");
        }
    }
}
