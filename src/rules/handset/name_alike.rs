//! `handset/name-alike`: two models of one handset that are hard to tell apart in a list.

use crate::rules::out::Out;
use crate::rules::subject::Setup;
use rustc_hash::FxHashMap;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let mut seen = FxHashMap::default();
    for model in &setup.fleet.models {
        let plain: String =
            model.head.name.value.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect();
        let handset = model.handset.as_ref().map(|name| name.value.clone());
        let first = *seen.entry((handset, plain)).or_insert(model);
        // Two of the very same name are a fault of the description.
        if std::ptr::eq(first, model) || first.head.name.value == model.head.name.value {
            continue;
        }
        let message = format!(
            "The names \"{}\" and \"{}\" differ only in capitals or spaces.",
            model.head.name.value, first.head.name.value
        );
        out.find(model.head.place(model.head.header), message)
            .other(first.head.place(first.head.header), "the other name")
            .about(model.flies.iter().map(|name| name.value.clone()));
    }
}
