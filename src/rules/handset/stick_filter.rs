//! `handset/stick-filter`: smoothing of the sticks where it only delays, or its absence where it helps.

use crate::findings::Severity;
use crate::findings::coverage::Missing;
use crate::fleet::quoted;
use crate::fleet::table::Block;
use crate::fleet::words::CraftKind;
use crate::rules::out::{Out, insert, replace};
use crate::setup::Setup;
use compact_str::format_compact;

const ON_HERE: &str = "The stick filter is on in this model, and this model flies a multirotor: it delays the sticks.";
const ON_BY_HANDSET: &str =
    "The stick filter is on by the handset's own setting, and this model flies a multirotor: it delays the sticks.";
const OFF_HERE: &str =
    "The stick filter is off in this model, though the handset's own setting is on: on this kind of aircraft it helps.";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let head = &setup.model.head;
    // The handset's own setting counts where the model has none.
    let own = setup.handset.and_then(|handset| Some((handset, handset.stick_filter.filter(|own| own.value)?)));
    let is_multirotor = setup.is(CraftKind::Multirotor);
    let finding = match (setup.model.stick_filter, own) {
        (Some(stated), _) if stated.value && is_multirotor => {
            let off = vec![replace(head, stated.span, "off")];
            out.find(head.place(stated.span), "on-here", ON_HERE, [])
                .mend_sure("turn the stick filter off in this model", off);
            return;
        }
        (None, Some(_)) if is_multirotor => {
            let off = vec![insert(head, &head.body, "stick-filter off")];
            out.find(head.place(head.header), "on-by-handset", ON_BY_HANDSET, [])
                .mend_sure("turn the stick filter off in this model", off)
        }
        (Some(stated), Some(_)) if !stated.value && !is_multirotor => {
            let on = vec![replace(head, stated.span, "on")];
            out.find(head.place(stated.span), "off-here", OFF_HERE, [])
                .severity(Severity::Note)
                .mend_sure("turn the stick filter on in this model", on)
        }
        (Some(stated), None) if !stated.value && !is_multirotor => {
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
