//! `failsafe/late`: the last commands go on being flown for long after the link is lost.

use crate::findings::Severity;
use crate::findings::coverage::Missing;
use crate::findings::fact::{Amount, Unit, amount, fill};
use crate::fleet::Dimension;
use crate::fleet::table::Block;
use crate::rules::out::{Out, choice, replace};
use crate::setup::failsafe::is_motorless;
use crate::setup::{Setup, Wait};

const BOTH: &str = "When the link is lost the receiver repeats the last commands for {held}, and the controller waits for another {delay}: for {wait} nothing is done.";
const HELD: &str =
    "When the link is lost the receiver repeats the last commands for {held} before it does anything else.";
const WAITS: &str = "When the link is lost the controller waits for {delay} before it does anything.";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (caution, danger) = (out.parameter("caution", Dimension::Time), out.parameter("danger", Dimension::Time));
    for wait in setup.at_loss().iter().filter_map(|at| Wait::of(at, setup.craft)) {
        if !wait.exceeds(caution) {
            if wait.open {
                let form = "… after … s";
                out.misses(Missing::Statement {
                    block: Block::Controller,
                    word: "on-loss",
                    within: "controller".into(),
                    form,
                });
            }
            continue;
        }
        let held_place = wait.held.map(|(plan, _)| plan.place());
        let delay_place = wait.delay.map(|(loss, _)| setup.in_craft(loss.span));
        let (key, sentence) = match (held_place, delay_place) {
            (Some(_), Some(_)) => ("both", BOTH),
            (Some(_), None) => ("held", HELD),
            _ => ("waits", WAITS),
        };
        let Some(place) = held_place.or(delay_place) else { continue };
        let mut facts = vec![amount("wait", Amount::Computed(wait.seconds(), 2), Unit::S)];
        facts.extend(wait.held.map(|(_, held)| amount("held", held.value, Unit::S)));
        facts.extend(wait.delay.map(|(_, delay)| amount("delay", delay.value, Unit::S)));
        let mut choices = Vec::new();
        if let Some(((plan, held), short)) = wait.held.zip(wait.shorter(true, caution)) {
            let facts = [amount("short", short, Unit::S)];
            let edit = replace(plan.head, held.span, fill("{short}", &facts));
            choices.push(choice(
                fill("repeat the last commands for {short}; set that in the receiver too", &facts),
                vec![edit],
            ));
        }
        if let Some(((_, delay), short)) = wait.delay.zip(wait.shorter(false, caution)) {
            let facts = [amount("short", short, Unit::S)];
            let edit = replace(&setup.craft.head, delay.span, fill("{short}", &facts));
            choices.push(choice(
                fill("let the controller wait for {short}; set that in the controller too", &facts),
                vec![edit],
            ));
        }
        let severe = wait.exceeds(danger) && !is_motorless(setup.craft);
        let finding = out.find(place, key, sentence, facts);
        finding.severity(if severe { Severity::Danger } else { Severity::Caution });
        if let Some(delay) = delay_place.filter(|delay| *delay != place) {
            finding.other(delay, "what the controller waits");
        }
        finding.mend_choices("Shorten the time in which nothing is done.", choices);
    }
}
