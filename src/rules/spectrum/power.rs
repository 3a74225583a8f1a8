//! `spectrum/power`: the handset sends with more power than the region allows.

use super::{figure, is, milliwatts, region_words, severity, source};
use crate::fleet::Decimal;
use crate::radio::decibel::mw_from_dbm;
use crate::radio::regions::{
    FREE_GAIN_DBI, LimitCheck, PowerKind, PowerVerdict, highest_fitting_step, is_plainly_allowed, judge_power,
};
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::radio::{emission, link_facts};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((region, table)) = setup.region().and_then(|region| Some((region, region.table?))) else { return };
    for sender in setup.senders() {
        let (Some(link), Some(power)) = (link_facts(setup, &sender), sender.bay.module.power) else { continue };
        let (low, high) = power.value;
        let emission = emission(setup, &sender, high.to_f64());
        if is_plainly_allowed(table, &link, &emission) {
            continue;
        }
        let PowerVerdict::Above(above) = judge_power(table, &link, &emission) else { continue };
        let Some(check) = &above.binding else { continue };
        let row = above.row;
        let steps: Vec<f64> = sender.hardware.power.iter().map(|step| step.value.to_f64()).collect();
        let fitting = highest_fitting_step(table, &link, &emission, &steps);
        let exact = fitting.and_then(|fitting| {
            let step = sender.hardware.power.iter().find(|step| step.value.to_f64() == fitting.power_mw)?;
            Some((step.value, fitting.certain))
        });
        let ends = match exact {
            Some((step, _)) => format!("The highest step that keeps to the region's rules is {step} mW."),
            None if steps.is_empty() => String::new(),
            None => "No step of the module keeps to the region's rules.".to_owned(),
        };
        let message = format!(
            "{}; in {} the limit {} {} ({}). {ends}",
            sum(check, low == high),
            region_words(&region),
            is(row.certainty),
            limit(check),
            source(row)
        );
        let finding = out.find_text(setup.in_model(power.span), message.trim_end());
        finding.severity(severity(row.certainty)).other(region.site.head.place(region.name.span), "the region");
        let Some((step, certain)) = exact else {
            finding.mend_words(format!(
                "This module can not be used there as it is set: use another module, antenna or link. Ask the regulator: {}.",
                table.regulator
            ));
            continue;
        };
        let edits = vec![replace(&setup.model.head, power.span, lowered(low, high, step))];
        match certain {
            true => finding.mend_sure(format!("send with {step} mW"), edits),
            false => finding.mend_choices(
                "Set the highest step that keeps to the region's rules.",
                vec![choice(format!("send with {step} mW, which keeps to them as far as is stated"), edits)],
            ),
        };
    }
}

/// The power with its top at a step.
fn lowered(low: Decimal, high: Decimal, step: Decimal) -> String {
    if low < high && low < step { format!("{low}..{step} mW") } else { format!("{step} mW") }
}

/// How the power adds up.
fn sum(check: &LimitCheck<'_>, one_power: bool) -> String {
    let sum = &check.sum;
    let mut text = format!(
        "{}{} a chain ({} dBm)",
        if one_power { "" } else { "At its top, " },
        milliwatts(mw_from_dbm(sum.per_chain_dbm)),
        figure(sum.per_chain_dbm, 1)
    );
    if sum.chains_at_once > 1 {
        text += &format!(" + {} dB for {} chains at once", figure(sum.chains_db, 1), sum.chains_at_once);
    }
    if matches!(sum.kind, PowerKind::Eirp | PowerKind::Erp) {
        match sum.antenna_gain_dbi {
            Some(gain) => text += &format!(" + {} dBi of the antenna", figure(gain, 2)),
            None => text += " with whatever antenna",
        }
        if sum.feeder_loss_db > 0.0 {
            text += &format!(" - {} dB in the cable", figure(sum.feeder_loss_db, 2));
        }
        if sum.dipole_db > 0.0 {
            text += &format!(" - {} dB for a dipole", figure(sum.dipole_db, 2));
        }
    }
    let at_least = if sum.total_dbm.is_none() { "at least " } else { "" };
    let total = sum.total_dbm.unwrap_or(sum.least_dbm);
    text + &format!(" make {at_least}{} dBm {} ({})", figure(total, 1), sum.kind.word(), milliwatts(mw_from_dbm(total)))
}

/// The limit, with what raises and lowers it.
fn limit(check: &LimitCheck<'_>) -> String {
    let Some(allowed) = check.allowed_dbm else { return format!("{} dBm", figure(check.stated_dbm, 2)) };
    let mut text =
        format!("{} dBm {} ({})", figure(allowed, 2), check.sum.kind.word(), milliwatts(mw_from_dbm(allowed)));
    if let Some(per) = check.limit.per_mhz {
        text += &format!(", which is {} dBm in {per} MHz", figure(check.stated_dbm, 2));
    }
    if check.gain_reduction_db > 0.0 {
        text += &format!(
            ", lowered by {} dB for the antenna's gain over {FREE_GAIN_DBI} dBi",
            figure(check.gain_reduction_db, 1)
        );
    }
    text
}
