//! `module/wrong-link`: the bay that is on speaks a link that the aircraft has no receiver for.

use super::swap;
use crate::findings::fact::{Joined, name, names};
use crate::fleet::condition::Name;
use crate::rules::out::Out;
use crate::setup::offers::off_and_heard;
use crate::setup::{Bay, Setup};

/// What every sentence begins with.
const SPEAKS: &str = "The module bay {bay} speaks link {link}, and the aircraft listens to {wanted}. ";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let wanted: Vec<&Name> = setup.craft.receivers.iter().filter_map(|receiver| receiver.link.as_ref()).collect();
    // Beside a bay that the aircraft hears, another one is one too many, which is a finding of its own.
    if setup.bays.iter().any(|bay| setup.hears(bay)) {
        return;
    }
    for bay in &setup.bays {
        if let Some(link) = bay.hardware.and_then(|hardware| hardware.link.as_ref()) {
            one(setup, bay, link, &wanted, out);
        }
    }
}

fn one(setup: &Setup<'_>, bay: &Bay<'_>, link: &Name, wanted: &[&Name], out: &mut Out<'_>) {
    let mut facts = vec![
        name("bay", bay.module.bay.value.clone()),
        name("link", link.value.clone()),
        names("wanted", Joined::And, wanted.iter().map(|link| link.value.clone())),
    ];
    let other = off_and_heard(setup).next();
    let (key, serves) = match other {
        Some(module) => {
            facts.push(name("other", module.bay.value.clone()));
            ("other-bay", "The bay {other}, which is off, has that link.")
        }
        None => ("no-bay", "No other bay of the handset has that link."),
    };
    let finding = out.find(setup.in_model(bay.module.header), key, &[SPEAKS, serves].concat(), facts);
    if let Some(handset) = setup.handset {
        finding.other(handset.head.place(link.span), "the link of what is in this bay");
    }
    for link in wanted {
        finding.other(setup.in_craft(link.span), "the link that the aircraft listens to");
    }
    let choices = other.map(|module| swap(setup.model, bay.module, module)).into_iter().collect();
    finding.mend_choices("Turn the module on whose link the aircraft has, or list another aircraft.", choices);
}
