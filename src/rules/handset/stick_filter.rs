//! `handset/stick-filter`: smoothing of the sticks where it only delays, or its absence where it helps.

use crate::findings::Severity;
use crate::findings::coverage::Missing;
use crate::findings::fact::word;
use crate::fleet::quoted;
use crate::fleet::table::Block;
use crate::fleet::words::{CraftKind, LossAction};
use crate::rules::out::{Out, insert, replace};
use crate::setup::Setup;
use compact_str::format_compact;

const ON_HERE: &str = "The stick filter is on in this model, and this model flies {kind}: it delays the sticks.";
const ON_BY_HANDSET: &str =
    "The stick filter is on by the handset's own setting, and this model flies {kind}: it delays the sticks.";
const OFF_HERE: &str =
    "The stick filter is off in this model, though the handset's own setting is on: on this kind of aircraft it helps.";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let head = &setup.model.head;
    // The handset's own setting counts where the model has none.
    let own = setup.handset.and_then(|handset| Some((handset, handset.stick_filter.filter(|own| own.value)?)));
    let is_stabilised = setup.craft.controller.is_some();
    // One that flies back by itself is mostly flown slowly, for its camera: whoever puts the filter on there means it.
    let loss = setup.craft.controller.as_ref().and_then(|controller| controller.on_loss);
    let is_steady = loss.is_some_and(|loss| loss.action == LossAction::FlyBack);
    let kind = match setup.craft.kind.map(|kind| kind.value) {
        Some(CraftKind::Multirotor) => Some("a multirotor"),
        Some(CraftKind::Helicopter) if is_stabilised => Some("a helicopter with electronic stabilisation"),
        _ => None,
    };
    let is_quick = kind.is_some();
    let finding = match (setup.model.stick_filter, own) {
        (Some(stated), _) if stated.value && is_steady && is_quick => return,
        (Some(stated), _) if stated.value && is_quick => {
            let off = vec![replace(head, stated.span, "off")];
            out.find(head.place(stated.span), "on-here", ON_HERE, kind.map(|kind| word("kind", kind)))
                .mend_offer("turn the stick filter off in this model", off);
            return;
        }
        (None, Some(_)) if is_quick => {
            let off = vec![insert(head, &head.body, "stick-filter off")];
            let facts = kind.map(|kind| word("kind", kind));
            out.find(head.place(head.header), "on-by-handset", ON_BY_HANDSET, facts)
                .severity(if is_steady { Severity::Note } else { Severity::Caution })
                .mend_sure("turn the stick filter off in this model", off)
        }
        (Some(stated), Some(_)) if !stated.value && !is_quick => {
            let on = vec![replace(head, stated.span, "on")];
            out.find(head.place(stated.span), "off-here", OFF_HERE, [])
                .severity(Severity::Note)
                .mend_offer("turn the stick filter on in this model", on)
        }
        (Some(stated), None) if !stated.value && !is_quick => {
            // Whether it is off against the handset's own setting hangs on that.
            if setup.handset.is_none_or(|handset| handset.stick_filter.is_none()) {
                let within = setup.handset.map_or("handset".into(), |handset| {
                    format_compact!("handset {}", quoted(&handset.head.name.value))
                });
                out.misses(Missing::Statement { block: Block::Handset, word: "stick-filter", within, form: "" });
            }
            return;
        }
        _ => return,
    };
    if let Some((handset, own)) = own {
        finding.other(handset.head.place(own.span), "the handset's own setting");
    }
}
