//! `throttle/unchecked`: no start check asks for the throttle at idle.

use super::{insists, spring};
use crate::findings::Severity;
use crate::findings::fact::{name, text};
use crate::rules::out::{Out, insert, replace};
use crate::setup::{Driver, Setup};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let model = setup.model;
    let motors = out.motors(setup);
    if let Some(signals) = setup.signals()
        && motors.iter().any(|motor| setup.stands_still_at_rest(signals, motor).is_none())
    {
        out.misses(spring());
    }
    let drivers = match setup.drivers() {
        Ok(drivers) => drivers,
        Err((why, place)) => return out.why(why, place),
    };
    let (severity, notices) = match insists(setup) {
        true => (Severity::Caution, "only the flight controller would notice."),
        false => (Severity::Danger, "nothing else is stated to notice."),
    };
    for Driver { control, idle, .. } in drivers {
        let statement = format!("before-start {} {idle}", crate::fleet::quoted(control));
        let facts = [name("control", control.clone()), text("idle", *idle)];
        match model.before_start.iter().find(|start| start.control.value == *control) {
            // Whether the stick or the start check is meant the other way round, the pilot knows.
            Some(start) if *idle == "high" => {
                let sentence = format!(
                    "The start check asks for {{control}} {{asked}}, and the motor stands still with {{control}} {{idle}}: one of the two is turned round, and {notices}"
                );
                let facts = facts.into_iter().chain([text("asked", start.position.value.clone())]);
                out.find(setup.in_model(start.span), "turned", &sentence, facts).severity(severity).mend_words(format!(
                    "Turn the sign of the stick in the motor's channel; only where you fly with a stick that is meant so, ask for `{statement}`."
                ));
            }
            Some(start) => {
                let sentence = format!(
                    "The start check asks for {{control}} where a motor runs, and not for {{control}} {{idle}}: {notices}"
                );
                out.find(setup.in_model(start.span), "asks for live", &sentence, facts).severity(severity).mend_sure(
                    format!("ask for `{statement}`"),
                    vec![replace(&model.head, start.position.span, *idle)],
                );
            }
            None => {
                let sentence = format!("No start check asks for {{control}} {{idle}}, which moves a motor: {notices}");
                out.find(setup.in_model(model.head.header), "unchecked", &sentence, facts)
                    .severity(severity)
                    .mend_sure(format!("add `{statement}`"), vec![insert(&model.head, &model.head.body, &statement)]);
            }
        }
    }
}
