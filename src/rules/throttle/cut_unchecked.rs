//! `throttle/cut-unchecked`: no start check asks for the cut of a motor, or it asks for the position in which the motor is live.

use super::insists;
use crate::findings::fact::{Joined, channel, name, names, text};
use crate::findings::{Edit, Finding, Severity};
use crate::rules::arming::demand;
use crate::rules::out::{Out, insert, replace};
use crate::setup::cuts::only_chooses_rates;
use crate::setup::{Setup, Signals};
use crate::signal::ControlId;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let model = setup.model;
    let Some(arming) = out.arming_controls(signals, setup.in_model(model.head.header)) else { return };
    let mut told: Vec<ControlId> = Vec::new();
    for (at, motor) in out.motors(setup).iter().enumerate() {
        let Some(stops) = out.stops(setup, signals, at) else { continue };
        // The start check of an arming control is asked for by `arming/start-unchecked`, and one that springs to where it stops the
        // motor is there by itself.
        let settled = |control| arming.contains(&control);
        let rests =
            |stop: &crate::setup::Stop| signals.springs_to(stop.control).is_some_and(|at| stop.stops.contains(&at));
        if stops.is_empty() || stops.iter().any(|stop| settled(stop.control) || rests(stop)) {
            continue;
        }
        let asked = |stop: &&crate::setup::Stop| setup.demanded(signals, stop.control).is_some();
        // A rate that is too low is no cut: `throttle/tiny-rate` tells of it.
        let cuts = |stop: &&crate::setup::Stop| !only_chooses_rates(model, motor.number(), signals.name(stop.control));
        if stops.iter().any(|stop| setup.demanded(signals, stop.control).is_some_and(|at| stop.stops.contains(&at))) {
            continue;
        }
        let mut real = stops.iter().filter(cuts);
        let unsprung = |stop: &&crate::setup::Stop| signals.springs_to(stop.control).is_none();
        let Some(stop) = real.clone().find(asked).or_else(|| real.find(unsprung)) else { continue };
        if told.contains(&stop.control) {
            continue;
        }
        told.push(stop.control);
        let Some(&off) = stop.stops.first() else { continue };
        let refuses = insists(setup) || !setup.runs_at_start(signals, motor, stops);
        let severity = if refuses { Severity::Caution } else { Severity::Danger };
        let statement = demand(signals, stop.control, off);
        let control = signals.name(stop.control);
        if let Some((other, latch)) = setup.latched_by_another(signals, motor, stop.control) {
            let facts = [
                channel(motor.number()),
                name("control", control),
                text("position", signals.position_name(stop.control, off)),
                name("other", other.control.value.clone()),
                text("asked", other.position.value.clone()),
            ];
            let sentence = "The start check asks for {other} {asked}, and {other} stops nothing: the motor on channel {channel} stops only with {control} {position}.";
            out.find(setup.in_model(latch), "asks for another", sentence, facts)
                .severity(severity)
                .other(setup.in_model(other.span), "what the start check asks for")
                .mend_words("Let the latch be reset by the switch that is meant to stop the motor, and let the start check ask for that one.");
            continue;
        }
        let alone = setup.moves_motors_alone(signals, stop.control);
        let written = model.before_start.iter().find(|start| start.control.value == control);
        match written {
            Some(start) => {
                let facts =
                    [channel(motor.number()), name("control", control), text("position", start.position.value.clone())];
                let sentence =
                    "The start check asks for {control} at {position}, where the motor on channel {channel} can run.";
                let edits = vec![replace(&model.head, start.position.span, signals.position_name(stop.control, off))];
                let finding = out.find(setup.in_model(start.span), "asks for live", sentence, facts);
                finding.severity(severity);
                mend(finding, alone, format!("ask for `{statement}`"), edits);
            }
            None => {
                let controls = stops.iter().map(|stop| signals.name(stop.control));
                let facts = [channel(motor.number()), names("controls", Joined::Or, controls)];
                let sentence = "No start check looks at {controls}, which stops the motor on channel {channel}.";
                let edits = vec![insert(&model.head, &model.head.body, &statement)];
                let finding = out.find(setup.in_model(model.head.header), "unchecked", sentence, facts);
                finding.severity(severity);
                mend(finding, alone, format!("add `{statement}`"), edits);
            }
        }
    }
}

/// Sure where the switch does nothing but stop motors; where it moves something else as well, the start check may mean that.
fn mend(finding: &mut Finding, alone: bool, label: String, edits: Vec<Edit>) {
    match alone {
        true => finding.mend_sure(label, edits),
        false => finding.mend_offer(label, edits),
    };
}
