//! `handset/copied-model`: two models that differ in nothing but their names.

use crate::findings::fact::name;
use crate::fleet::model::Model;
use crate::rules::out::Out;
use crate::setup::Context;
use rustc_hash::FxHashMap;

pub(in crate::rules) fn shared(_: &Context<'_>, model: &Model) -> Vec<u64> {
    // An empty model is no copy, and a model with lines that are not understood is not known.
    if model.head.body.empty || !model.head.lost.is_empty() { Vec::new() } else { vec![model.digest] }
}

pub(in crate::rules) fn check(_: &Context<'_>, models: &[&Model], out: &mut Out<'_>) {
    let mut seen = FxHashMap::default();
    for &model in models {
        let Some(first) = seen.insert(model.digest, model) else { continue };
        seen.insert(model.digest, first);
        let sentence = "This model says the same as {first} in every line: a copy that was not finished?";
        out.find(model.head.place(model.head.header), "copy", sentence, [name("first", first.head.name.value.clone())])
            .other(first.head.place(first.head.header), "the model that it is like")
            .about(model.flies.iter().map(|name| name.value.clone()));
    }
}
