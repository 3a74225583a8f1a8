//! `receiver/orphan-craft`: an aircraft that no model flies.

use crate::rules::out::Out;
use crate::setup::Context;
use rustc_hash::FxHashSet;

pub(in crate::rules) fn check(context: &Context<'_>, out: &mut Out<'_>) {
    // A model without a `flies` line that was understood may fly any of them, and so may one in a file that was not read.
    let open = context.open_model().is_some();
    if context.fleet.unread || open {
        return;
    }
    let flown: FxHashSet<&str> =
        context.fleet.models.iter().flat_map(|model| &model.flies).map(|name| name.value.as_str()).collect();
    for craft in context.fleet.crafts.iter().filter(|craft| !flown.contains(craft.head.name.value.as_str())) {
        out.find(craft.head.place(craft.head.header), "not flown", "No model flies this aircraft.", []).about([craft
            .head
            .name
            .value
            .clone()]);
    }
}
