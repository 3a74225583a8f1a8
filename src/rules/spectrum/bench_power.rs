//! `spectrum/bench-power`: the lowest power was left from a bench test, and is too weak for the reach.

use super::{fade, margin};
use crate::findings::fact::{Amount, Unit, amount, fill};
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let asked = fade(out);
    for short in setup.short_ways(asked) {
        let (Some(power), false) = (short.way.sender.bay.module.power, short.bench.is_empty()) else { continue };
        let choices = short.bench.iter().map(|&(step, margin_db)| {
            let mend = [amount("step", step, Unit::Mw), amount("left", Amount::Computed(margin_db, 0), Unit::Db)];
            let edit = replace(&setup.model.head, power.span, fill("{step}", &mend));
            choice(fill("send with {step}, which leaves about {left}", &mend), vec![edit])
        });
        let mut facts = vec![amount("power", power.value.0, Unit::Mw)];
        facts.extend(margin(&short, asked));
        let words =
            "Set a step that leaves enough margin and keeps to the region's rules; for the bench the lowest is right.";
        let sentence = "The model sends with {power}, the lowest step of the module: at {distance} about {margin} of margin are left, and {asked} are asked for.";
        let finding = out.find(setup.in_model(power.span), "bench", sentence, facts);
        finding.mend_choices(words, choices.collect());
        if let Some((site, reach)) = setup.site.and_then(|site| Some((site, site.reach?))) {
            finding.other(site.head.place(reach.span), "the planned reach");
        }
    }
}
