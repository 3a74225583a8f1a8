//! `channels/double-expo`: expo in the handset and on the controller, one on top of the other.

use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(controller) = &setup.craft.controller else { return };
    for (stick, own) in controller.expo.iter().filter(|(_, expo)| expo.value.mantissa() > 0) {
        let Some(rates) = setup.model.rates.iter().find(|rates| rates.stick.value == stick.value) else { continue };
        let expo = rates
            .lines
            .iter()
            .filter_map(|line| Some((line, line.expo?)))
            .filter(|(_, expo)| expo.value.mantissa() > 0);
        let Some((line, expo)) = expo.max_by(|(_, a), (_, b)| a.value.cmp(&b.value)) else { continue };
        let share = |expo: crate::fleet::Decimal| 1.0 - expo.to_f64() / 100.0;
        let slope = share(expo.value) * share(own.value) * line.rate.value.to_f64();
        let message = format!(
            "The {} stick has {} % expo in the handset and {} % on the controller: around the centre {slope:.0} % of a straight stick is left.",
            stick.value.word(),
            expo.value,
            own.value
        );
        out.find_text(setup.in_model(rates.header), message)
            .other(setup.in_craft(own.span), "the expo of the controller");
    }
}
