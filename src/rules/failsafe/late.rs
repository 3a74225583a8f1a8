//! `failsafe/late`: the last commands go on being flown for long after the link is lost.

use super::once_all_have;
use crate::findings::coverage::Missing;
use crate::findings::fact::{Amount, Unit, amount, fill};
use crate::findings::{Edit, Severity};
use crate::fleet::Dimension;
use crate::fleet::table::Block;
use crate::rules::out::{Out, choice, replace};
use crate::setup::failsafe::is_motorless;
use crate::setup::{AtLoss, Setup, Wait};
use crate::source::Place;

const BOTH: &str = "When the link is lost the receiver repeats the last commands for {held}, and the controller waits for another {delay}: for {wait} nothing is done.";
const HELD: &str =
    "When the link is lost the receiver repeats the last commands for {held} before it does anything else.";
const WAITS: &str = "When the link is lost the controller waits for {delay} before it does anything.";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (caution, danger) = (out.parameter("caution", Dimension::Time), out.parameter("danger", Dimension::Time));
    // Receivers that wait alike are one finding.
    let mut alike: Vec<(&AtLoss<'_>, Vec<Wait<'_>>)> = Vec::new();
    for at in setup.at_loss() {
        let Some(wait) = Wait::of(at, setup.craft) else { continue };
        if wait.exceeds(caution) {
            match alike.iter_mut().find(|(_, known)| known.iter().any(|known| known.is_like(&wait))) {
                Some((_, known)) => known.push(wait),
                None => alike.push((at, vec![wait])),
            }
        } else if wait.open {
            let form = "… after … s";
            out.misses(Missing::Statement {
                block: Block::Controller,
                word: "on-loss",
                within: "controller".into(),
                form,
            });
        }
    }
    for (at, waits) in &alike {
        let Some(wait) = waits.first() else { continue };
        let mut held_places: Vec<Place> = Vec::new();
        for (plan, _) in waits.iter().filter_map(|wait| wait.held) {
            if !held_places.contains(&plan.place()) {
                held_places.push(plan.place());
            }
        }
        let delay_place = wait.delay.map(|(loss, _)| setup.in_craft(loss.span));
        let (key, sentence) = match (held_places.first(), delay_place) {
            (Some(_), Some(_)) => ("both", BOTH),
            (Some(_), None) => ("held", HELD),
            _ => ("waits", WAITS),
        };
        let Some(place) = held_places.first().copied().or(delay_place) else { continue };
        let mut facts = vec![amount("wait", Amount::Computed(wait.seconds(), 2), Unit::S)];
        facts.extend(wait.held.map(|(_, held)| amount("held", held.value, Unit::S)));
        facts.extend(wait.delay.map(|(_, delay)| amount("delay", delay.value, Unit::S)));
        let mut choices = Vec::new();
        if let Some(short) = wait.held.and_then(|_| wait.shorter(true, caution)) {
            let facts = [amount("short", short, Unit::S)];
            let mut edits: Vec<Edit> = Vec::new();
            for (plan, held) in waits.iter().filter_map(|wait| wait.held) {
                let edit = replace(plan.head, held.span, fill("{short}", &facts));
                if !edits.contains(&edit) {
                    edits.push(edit);
                }
            }
            choices.push(choice(
                fill("repeat the last commands for {short}; set that in the receiver too", &facts),
                edits,
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
        for other in held_places.into_iter().skip(1) {
            finding.other(other, "the same at this receiver");
        }
        if let Some(delay) = delay_place.filter(|delay| *delay != place) {
            finding.other(delay, "what the controller waits");
        }
        once_all_have(setup, at, finding);
        finding.mend_choices("Shorten the time in which nothing is done.", choices);
    }
}
