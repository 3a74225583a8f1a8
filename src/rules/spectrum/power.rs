//! `spectrum/power`: the handset sends with more power than the region allows.

use super::{cited, is, region, severity, source};
use crate::findings::fact::{Amount, Fact, Unit, amount, fill, number, word};
use crate::fleet::Decimal;
use crate::radio::regions::{FREE_GAIN_DBI, LimitCheck, PowerKind};
use crate::rules::module::send_on;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for ruled in setup.ruled() {
        let (Some(above), Some(power)) = (ruled.too_strong(), ruled.sender.bay.module.power) else { continue };
        let ((low, high), row) = (power.value, above.row);
        let mut facts = vec![is(row.certainty), region(&ruled.region), source(row)];
        let sum = sum(&above.check, low == high, &mut facts);
        let limit = limit(&above.check, &mut facts);
        let (key, ends) = match above.step {
            Some((step, _)) => {
                facts.push(amount("step", step, Unit::Mw));
                ("above", " The highest step that keeps to the region's rules is {step}.")
            }
            None if ruled.sender.hardware.power.is_empty() => ("steps-not-known", ""),
            None => ("no-step", " No step of the module keeps to the region's rules."),
        };
        let few = above.few.zip(ruled.sender.link.hop_channels);
        let begins = match few {
            Some(((stronger, fewest), stated)) => {
                facts.extend([number("fewest", fewest), number("hops", stated.value), cited("stronger", stronger)]);
                "This link hops over {hops} channels, fewer than the {fewest} for which more is allowed ({stronger}). "
            }
            None => "",
        };
        let key = if few.is_some() { "few-channels" } else { key };
        let sentence = [begins, &sum, "; in {region} the limit {is} ", &limit, " ({source}).", ends].concat();
        let finding = out.find(setup.in_model(power.span), key, &sentence, facts);
        finding
            .severity(severity(row.certainty))
            .other(ruled.region.site.head.place(ruled.region.name.span), "the region");
        if let Some((_, stated)) = few {
            finding.other(ruled.sender.link.head.place(stated.span), "the channels that the link hops over");
        }
        let mut choices = Vec::new();
        if let Some(send) = ruled.sender.bay.module.send_on.as_ref().filter(|_| above.one_chain) {
            let write = |text: String| vec![replace(&setup.model.head, send.span, text)];
            let chain = send.value.chains.first().copied().unwrap_or(1);
            let label = fill("send on chain {chain} alone, with the power as it is", &[number("chain", chain)]);
            choices.push(choice(label, write(send_on(&[chain], false))));
            choices.push(choice(
                "let the chains take turns, with the power as it is",
                write(send_on(&send.value.chains, true)),
            ));
        }
        if let Some((step, certain)) = above.step {
            let edits = vec![replace(&setup.model.head, power.span, lowered(low, high, step))];
            let step = [amount("step", step, Unit::Mw)];
            if certain && choices.is_empty() {
                finding.mend_offer(fill("send with {step}", &step), edits);
                continue;
            }
            let label = match certain {
                true => "send with {step}",
                false => "send with {step}, which keeps to them as far as is stated",
            };
            choices.push(choice(fill(label, &step), edits));
        }
        if choices.is_empty() {
            finding.mend_words(format!(
                "This module can not be used there as it is set: use another module, antenna or link. Ask the regulator: {}.",
                ruled.table.regulator
            ));
        } else {
            finding.mend_choices("Set what keeps to the region's rules.", choices);
        }
    }
}

/// The power with its top at a step.
fn lowered(low: Decimal, high: Decimal, step: Decimal) -> String {
    if low < high && low < step { format!("{low}..{step} mW") } else { format!("{step} mW") }
}

/// How the power adds up.
fn sum(check: &LimitCheck<'_>, one_power: bool, facts: &mut Vec<Fact>) -> String {
    let sum = &check.sum;
    let mut text = String::new();
    let mut add = |words: &str, more: &[Fact]| {
        text.push_str(words);
        facts.extend_from_slice(more);
    };
    if !one_power {
        add("At its top, ", &[]);
    }
    let chain = amount("chain-power", sum.per_chain_mw(), Unit::Power);
    add("{chain-power} a chain ({chain})", &[chain, amount("chain", sum.per_chain_dbm, Unit::Dbm)]);
    if sum.chains_at_once > 1 {
        let chains = [amount("chains-add", sum.chains_db, Unit::Db), number("chains", sum.chains_at_once)];
        add(" + {chains-add} for {chains} chains at once", &chains);
    }
    if matches!(sum.kind, PowerKind::Eirp | PowerKind::Erp) {
        match sum.antenna_gain_dbi {
            Some(gain) => add(" + {gain} of the antenna", &[hundredths("gain", gain, Unit::Dbi)]),
            None => add(" with whatever antenna", &[]),
        }
        if sum.feeder_loss_db > 0.0 {
            add(" - {cable} in the cable", &[hundredths("cable", sum.feeder_loss_db, Unit::Db)]);
        }
        if sum.dipole_db > 0.0 {
            add(" - {dipole} for a dipole", &[hundredths("dipole", sum.dipole_db, Unit::Db)]);
        }
    }
    add(
        match sum.total_dbm {
            Some(_) => " make {total} {kind} ({total-power})",
            None => " make at least {total} {kind} ({total-power})",
        },
        &[
            amount("total", sum.certain_dbm(), Unit::Dbm),
            word("kind", sum.kind.word()),
            amount("total-power", sum.certain_mw(), Unit::Power),
        ],
    );
    text
}

/// The limit, with what raises and lowers it.
fn limit(check: &LimitCheck<'_>, facts: &mut Vec<Fact>) -> String {
    facts.push(hundredths("stated", check.stated_dbm, Unit::Dbm));
    let Some((allowed, allowed_mw)) = check.allowed() else { return "{stated}".to_owned() };
    facts.push(hundredths("allowed", allowed, Unit::Dbm));
    facts.push(amount("allowed-power", allowed_mw, Unit::Power));
    let mut text = "{allowed} {kind} ({allowed-power})".to_owned();
    if let Some(per) = check.limit.per_mhz {
        facts.push(amount("width", Amount::Computed(per, 4), Unit::MHz));
        text.push_str(", which is {stated} in {width}");
    }
    if check.gain_reduction_db > 0.0 {
        facts.push(amount("lowered", check.gain_reduction_db, Unit::Db));
        facts.push(amount("free", FREE_GAIN_DBI, Unit::Dbi));
        text.push_str(", lowered by {lowered} for the antenna's gain over {free}");
    }
    text
}

fn hundredths(name: &'static str, value: f64, unit: Unit) -> Fact {
    amount(name, Amount::Computed(value, 2), unit)
}
