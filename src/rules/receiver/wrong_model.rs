//! `receiver/wrong-model`: a model that was not made for an aircraft would connect to it.

use super::would;
use crate::findings::Severity;
use crate::findings::fact::{Joined, name, names, number, text};
use crate::fleet::craft::Craft;
use crate::fleet::model::Model;
use crate::radio::pairing::Unstated;
use crate::rules::out::Out;
use crate::rules::wording::unstated;
use crate::setup::pairing::{Reaches, reach};
use crate::setup::strange::{Strangers, same_number, would_do};
use crate::setup::{Bay, Context, Wrong, bays, handset_of};

/// How many models that would connect are looked at for one aircraft: one finding says enough about the others.
const MOST_LOOKED_AT: usize = 8;

pub(in crate::rules) fn check(context: &Context<'_>, out: &mut Out<'_>) {
    let strangers = Strangers::new(context);
    let mut perhaps = Vec::new();
    for craft in &context.fleet.crafts {
        if let Some(own) = strangers.own(craft) {
            let (strange, all) = strangers.of(craft);
            let worst = one_craft(context, craft, own, &strange, all, out);
            perhaps.extend(worst.map(|worst| (craft, worst)));
        }
    }
    not_stated(&perhaps, out);
}

/// What is not stated keeps no aircraft from being answered by another's model: said once, about all of them.
fn not_stated(perhaps: &[(&Craft, Worst<'_>)], out: &mut Out<'_>) {
    // The one with the most to lose stands for all.
    let first = perhaps.iter().find(|(_, worst)| worst.severity == Severity::Danger).or(perhaps.first());
    let Some((craft, worst)) = first else { return };
    let Some((_, part, mut facts)) = would(&worst.wrong) else { return };
    let crafts = || perhaps.iter().map(|(craft, _)| craft.head.name.value.clone());
    facts.extend([
        names("aircraft", Joined::And, crafts()),
        name("model", worst.model.head.name.value.clone()),
        name("craft", craft.head.name.value.clone()),
        text("unstated", unstated(&worst.unstated)),
    ]);
    let sentence = [
        "Nothing that is stated keeps models that were not made for {aircraft} from connecting there: {unstated} not stated. If model {model} does so with {craft}, ",
        part,
        ".",
    ];
    let finding = out.find(craft.head.place(craft.head.header), "not stated", &sentence.concat(), facts);
    finding.severity(Severity::Caution).about(crafts());
    for (other, _) in perhaps.iter().filter(|(other, _)| other.head.name.value != craft.head.name.value) {
        finding.other(other.head.place(other.head.header), "the same holds here");
    }
    if let Some(witness) = worst.wrong.witness() {
        finding.shown_by(witness.clone());
    }
}

/// The worst of what a strange model would do.
struct Worst<'f> {
    severity: Severity,
    wrong: Wrong,
    model: &'f Model,
    /// What is not stated and has to agree.
    unstated: Vec<Unstated>,
}

/// Looks at the models that would or may connect to one aircraft, and says what those would do that connect for certain. Else what one
/// of those would do that may, with what is not stated.
fn one_craft<'f>(
    context: &Context<'f>,
    craft: &Craft,
    own: &Model,
    strange: &[&'f Model],
    all: bool,
    out: &mut Out<'_>,
) -> Option<Worst<'f>> {
    let place = craft.head.place(craft.head.header);
    let (mut worst, mut perhaps): (Option<Worst<'_>>, Option<Worst<'_>>) = (None, None);
    let (mut count, mut open, mut looked_at, mut all) = (0u32, false, 0, all);
    for &model in strange {
        if looked_at == MOST_LOOKED_AT {
            all = false;
            break;
        }
        // Two models of one number with match on have a rule of their own.
        if same_number(model, own) {
            continue;
        }
        let on: Vec<Bay<'_>> = bays(context.fleet, model, handset_of(context.fleet, model)).collect();
        let unstated = match reach(context, &on, craft) {
            Reaches::Yes(..) => Vec::new(),
            Reaches::Perhaps(_, list) => list,
            Reaches::Still(_) | Reaches::No(_) => continue,
        };
        looked_at += 1;
        let wrong = would_do(context, model, own, craft);
        let severity = match &wrong {
            Wrong::Alike => continue,
            Wrong::Open => {
                open = true;
                continue;
            }
            wrong if wrong.is_dangerous() => Severity::Danger,
            _ => Severity::Caution,
        };
        let kept = if unstated.is_empty() { &mut worst } else { &mut perhaps };
        count += u32::from(unstated.is_empty());
        if kept.as_ref().is_none_or(|known| known.severity < severity) {
            *kept = Some(Worst { severity, wrong, model, unstated });
        }
    }
    // Where nothing was found among those that were looked at, the others may do it.
    open |= !all && worst.is_none() && perhaps.is_none();
    if open && worst.as_ref().is_none_or(|known| known.severity < Severity::Danger) {
        let why = "what another model would do with the aircraft is not clear";
        out.not_decided_about(place, why, vec![craft.head.name.value.clone()]);
    }
    let Some(Worst { severity, wrong, model, .. }) = worst else { return perhaps };
    let (key, part, mut facts) = would(&wrong)?;
    facts.push(name("model", model.head.name.value.clone()));
    let sentence = ["Model {model}, which does not list this aircraft, would connect to it: ", part, "."].concat();
    let finding = out.find(place, key, &sentence, facts);
    if count > 1 {
        finding.also("more", "So would {more} more.", [number("more", count - 1)]);
    }
    finding
        .severity(severity)
        .other(model.head.place(model.head.header), "the model that would connect")
        .about([craft.head.name.value.clone()]);
    if let Some(witness) = wrong.witness() {
        finding.shown_by(witness.clone());
    }
    None
}
