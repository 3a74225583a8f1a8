//! `throttle/tiny-rate`: a rate is so low that next to nothing is left of the throttle while its line holds.

use crate::findings::fact::{percent, text};
use crate::fleet::Dimension;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::rates::tiny_rates;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let most = out.parameter("most", Dimension::Percent);
    for found in tiny_rates(setup.model, most) {
        let facts = [text("stick", found.rates.name), percent("rate", found.line.rate.value), percent("limit", most)];
        let sentence = "With a rate of {rate} next to nothing is left of the {stick} while this line holds (a rate up to {limit} is found).";
        let finding = out.find(setup.in_model(found.line.span), "tiny", sentence, facts);
        let edit = |rate| vec![replace(&setup.model.head, found.line.rate.span, format!("{rate} %"))];
        let choices = found.tenfold.map(|rate| choice(format!("write {rate} %"), edit(rate)));
        finding.mend_choices("Give the rate its full number: a digit may be missing.", choices.into_iter().collect());
    }
}
