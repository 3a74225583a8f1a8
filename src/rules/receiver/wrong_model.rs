//! `receiver/wrong-model`: a model that was not made for an aircraft would connect to it.

use super::would;
use crate::findings::Severity;
use crate::findings::fact::{name, number, text};
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
    for craft in &context.fleet.crafts {
        if let Some(own) = strangers.own(craft) {
            let (strange, all) = strangers.of(craft);
            one_craft(context, craft, own, &strange, all, out);
        }
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

fn one_craft<'f>(
    context: &Context<'f>,
    craft: &Craft,
    own: &Model,
    strange: &[&'f Model],
    all: bool,
    out: &mut Out<'_>,
) {
    let place = craft.head.place(craft.head.header);
    let mut worst: Option<Worst<'_>> = None;
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
        count += 1;
        if worst.as_ref().is_none_or(|known| known.severity < severity) {
            worst = Some(Worst { severity, wrong, model, unstated });
        }
    }
    // Where nothing was found among those that were looked at, the others may do it.
    open |= !all && worst.is_none();
    if open && worst.as_ref().is_none_or(|known| known.severity < Severity::Danger) {
        let why = "what another model would do with the aircraft is not clear";
        out.not_decided_about(place, why, vec![craft.head.name.value.clone()]);
    }
    let Some(Worst { severity, wrong, model, unstated: list }) = worst else { return };
    let Some((key, part, mut facts)) = would(&wrong) else { return };
    facts.push(name("model", model.head.name.value.clone()));
    let perhaps = match list.as_slice() {
        [] => "",
        list => {
            facts.push(text("unstated", unstated(list)));
            " (if {unstated} agrees, which is not stated)"
        }
    };
    let sentence =
        ["Model {model}, which does not list this aircraft, would connect to it", perhaps, ": ", part, "."].concat();
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
}
