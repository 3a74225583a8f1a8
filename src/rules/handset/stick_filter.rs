//! `handset/stick-filter`: smoothing of the sticks where it only delays, or its absence where it helps.

use crate::findings::Severity;
use crate::fleet::words::CraftKind;
use crate::rules::out::{Out, insert, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let model = setup.model;
    let handset = setup.handset.and_then(|handset| Some((handset, handset.stick_filter?)));
    let stated = model.stick_filter;
    let Some(on) = stated.or(handset.map(|(_, own)| own)).map(|setting| setting.value) else { return };
    if setup.is(CraftKind::Multirotor) && on {
        let (place, whose) = match stated {
            Some(setting) => (setup.in_model(setting.span), "in this model"),
            None => (setup.in_model(model.head.header), "by the handset's own setting"),
        };
        let edits = match stated {
            Some(setting) => vec![replace(&model.head, setting.span, "off")],
            None => vec![insert(&model.head, &model.head.body, "stick-filter off")],
        };
        let finding = out.find_text(
            place,
            format!("The stick filter is on {whose}, and this model flies a multirotor: it delays the sticks."),
        );
        finding.mend_sure("turn the stick filter off in this model", edits);
        if let (None, Some((handset, own))) = (stated, handset) {
            finding.other(handset.head.place(own.span), "the handset's own setting");
        }
    }
    let smooth =
        [CraftKind::Aeroplane, CraftKind::Helicopter, CraftKind::Autogyro].into_iter().any(|kind| setup.is(kind));
    if let (true, Some(setting), Some((handset, own))) = (smooth && !on, stated, handset)
        && own.value
    {
        let message = "The stick filter is off in this model, though the handset's own setting is on: on this kind of aircraft it helps.";
        out.find_text(setup.in_model(setting.span), message)
            .severity(Severity::Note)
            .other(handset.head.place(own.span), "the handset's own setting")
            .mend_sure("turn the stick filter on in this model", vec![replace(&model.head, setting.span, "on")]);
    }
}
