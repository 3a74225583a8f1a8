//! `handset/name-alike`: two models of one handset that are hard to tell apart in a list.

use crate::findings::fact::name;
use crate::fleet::model::Model;
use crate::rules::out::Out;
use crate::setup::Context;
use rustc_hash::{FxBuildHasher, FxHashMap};
use std::hash::{BuildHasher, Hash, Hasher};

pub(in crate::rules) fn shared(_: &Context<'_>, model: &Model) -> Vec<u64> {
    vec![FxBuildHasher.hash_one(alike(model))]
}

/// Models of which this is the same are hard to tell apart: the handset, and the name without capitals and spaces.
fn alike(model: &Model) -> (Option<&str>, Plain<'_>) {
    (model.handset.as_ref().map(|name| name.value.as_str()), Plain(&model.head.name.value))
}

pub(in crate::rules) fn check(_: &Context<'_>, models: &[&Model], out: &mut Out<'_>) {
    let mut seen = FxHashMap::default();
    for &model in models {
        let first = *seen.entry(alike(model)).or_insert(model);
        // Two of the very same name are a fault of the description.
        if std::ptr::eq(first, model) || first.head.name.value == model.head.name.value {
            continue;
        }
        let facts = [name("name", model.head.name.value.clone()), name("first", first.head.name.value.clone())];
        let sentence = "The names {name} and {first} differ only in capitals or spaces.";
        out.find(model.head.place(model.head.header), "alike", sentence, facts)
            .other(first.head.place(first.head.header), "the other name")
            .about(model.flies.iter().map(|name| name.value.clone()));
    }
}

/// A name that is told from others by its small letters without spaces.
struct Plain<'m>(&'m str);

impl Plain<'_> {
    fn letters(&self) -> impl Iterator<Item = char> {
        self.0.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase)
    }
}

impl Hash for Plain<'_> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        // Most names are plain letters, which need no look into the tables of Unicode.
        if self.0.is_ascii() {
            let letters = self.0.chars().filter(|c| !c.is_whitespace());
            letters.for_each(|c| state.write_u32(c.to_ascii_lowercase().into()));
        } else {
            self.letters().for_each(|c| state.write_u32(c.into()));
        }
    }
}

impl PartialEq for Plain<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.letters().eq(other.letters())
    }
}

impl Eq for Plain<'_> {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_told_apart_by_their_letters_alone() {
        let known: FxHashMap<Plain<'_>, u8> = [("Wing A", 0), ("Übung", 1), ("sanderling 3", 2)]
            .map(|(name, number)| (Plain(name), number))
            .into_iter()
            .collect();
        // The last one is written with the sign for kelvin, whose small letter is a plain k.
        for (name, found) in [("winga", Some(0)), ("ü BUNG", Some(1)), ("sanderling 30", None), ("\u{212a}not", None)]
        {
            assert_eq!(known.get(&Plain(name)).copied(), found, "{name}");
        }
        let knot: FxHashMap<Plain<'_>, ()> = [(Plain("knot"), ())].into_iter().collect();
        assert!(knot.contains_key(&Plain("\u{212a}not")));
    }
}
