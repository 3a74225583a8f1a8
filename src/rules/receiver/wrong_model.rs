//! `receiver/wrong-model`: a model that was not made for an aircraft would connect to it.

use super::{Wrong, wrong};
use crate::findings::Severity;
use crate::fleet::craft::Craft;
use crate::fleet::equipment::Link;
use crate::fleet::model::{Model, ModelModule};
use crate::fleet::words::NumberCheck;
use crate::rules::out::Out;
use crate::rules::wording::unstated;
use crate::setup::pairing::{Reaches, reach};
use crate::setup::{Context, ModelSetup, bays, handset_of};
use rustc_hash::FxHashMap;

/// How many models that would connect are looked at for one aircraft: where there are more, one finding says enough.
const MOST_LOOKED_AT: usize = 8;

/// How many models are asked whether they connect to one aircraft.
const MOST_ASKED: usize = 256;

pub(in crate::rules) fn check(context: &Context<'_>, out: &mut Out<'_>) {
    // Models that may reach a receiver they were not made for, by link: those without a match, and all on a link that
    // does not look at numbers. Elsewhere a model with match on reaches only receivers of its own number, and two of one
    // number have a rule of their own.
    let blind = |link: &Link| link.number_check.is_some_and(|check| check.value == NumberCheck::None);
    let some_blind = context.fleet.links.iter().any(blind);
    let mut loose: FxHashMap<&str, Vec<&Model>> = FxHashMap::default();
    let mut own: FxHashMap<&str, Vec<&Model>> = FxHashMap::default();
    for model in &context.fleet.models {
        for name in &model.flies {
            own.entry(&name.value).or_default().push(model);
        }
        if model.simulator.is_some()
            || !some_blind && model.modules_on().all(|module| module.matching.is_some_and(|matching| matching.value))
        {
            continue;
        }
        for bay in bays(context.fleet, model, handset_of(context.fleet, model)) {
            let open = bay.module.matching.is_none_or(|matching| !matching.value);
            if let Some(link) = bay.link.filter(|link| open || blind(link)) {
                loose.entry(&link.head.name.value).or_default().push(model);
            }
        }
    }
    if loose.is_empty() {
        return;
    }
    for craft in &context.fleet.crafts {
        let links = craft.receivers.iter().filter_map(|receiver| receiver.link.as_ref());
        let strange = links.flat_map(|link| loose.get(link.value.as_str()).into_iter().flatten().copied());
        let strange = strange.filter(|model| !model.flies.iter().any(|name| name.value == craft.head.name.value));
        let own = own.get(craft.head.name.value.as_str()).and_then(|list| list.first()).copied();
        let Some(own) = own else { continue };
        one_craft(context, craft, own, strange.take(MOST_ASKED), out);
    }
}

fn one_craft<'f>(
    context: &Context<'_>,
    craft: &Craft,
    own: &Model,
    strange: impl Iterator<Item = &'f Model>,
    out: &mut Out<'_>,
) {
    let place = craft.head.place(craft.head.header);
    let mut worst: Option<(Severity, String, &Model, Option<crate::findings::Witness>)> = None;
    let (mut count, mut open, mut looked_at) = (0, false, 0);
    for model in strange {
        if looked_at == MOST_LOOKED_AT {
            break;
        }
        // Two models of one number with match on have a rule of their own.
        if same_number(model, own) {
            continue;
        }
        let view = ModelSetup::new(context, model);
        let perhaps = match reach(view.context, &view.bays, craft) {
            Reaches::Yes(..) => String::new(),
            Reaches::Perhaps(_, list) => format!(" (if {} agrees, which is not stated)", unstated(&list)),
            Reaches::Still(_) | Reaches::No(_) => continue,
        };
        looked_at += 1;
        let (severity, words, witness) = match wrong(context, model, own, craft) {
            Wrong::Dangerous(words, witness) => (Severity::Danger, words, witness),
            Wrong::Different(words) => (Severity::Caution, words, None),
            Wrong::Alike => continue,
            Wrong::Open => {
                open = true;
                continue;
            }
        };
        count += 1;
        if worst.as_ref().is_none_or(|(known, ..)| *known < severity) {
            worst = Some((severity, format!("{perhaps}: {words}"), model, witness));
        }
    }
    if open && worst.as_ref().is_none_or(|(known, ..)| *known < Severity::Danger) {
        let why = "what another model would do with the aircraft is not clear";
        out.not_decided_about(place, why, vec![craft.head.name.value.clone()]);
    }
    let Some((severity, words, model, witness)) = worst else { return };
    let more = if count > 1 { format!(" So would {} more.", count - 1) } else { String::new() };
    let message = format!(
        "Model \"{}\", which does not list this aircraft, would connect to it{words}.{more}",
        model.head.name.value
    );
    let finding = out.find_text(place, message);
    finding
        .severity(severity)
        .other(model.head.place(model.head.header), "the model that would connect")
        .about([craft.head.name.value.clone()]);
    if let Some(witness) = witness {
        finding.shown_by(witness);
    }
}

/// Whether both have match on, in a bay of one name, with the same number.
fn same_number(one: &Model, other: &Model) -> bool {
    let matched = |module: &&ModelModule| module.matching.is_some_and(|matching| matching.value);
    one.modules_on().filter(matched).any(|module| {
        let number = module.receiver_number.map(|number| number.value);
        let same = |known: &ModelModule| known.receiver_number.map(|number| number.value) == number;
        number.is_some()
            && other.modules_on().filter(matched).any(|known| known.bay.value == module.bay.value && same(known))
    })
}
