//! How a statement stands in the JSON form: its slots are the keys. All of it follows from the table of statements.

use crate::fleet::shape::{Part, Shape, SlotKind};
use crate::fleet::table::{Block, Ready, block};
use std::sync::OnceLock;

/// The key of a statement's word.
pub(super) const STATEMENT: &str = "statement";
/// The key of the words that tell a shape from the others, where no key of its own does.
pub(super) const FORM: &str = "form";
/// The key of a block's statements.
pub(super) const BODY: &str = "body";
/// The key of the waivers that stand before a statement.
pub(super) const WAIVE: &str = "waive";
/// The slot whose words mean nothing: `update` or `updates`.
pub(super) const UNSAID: &str = "_";

/// One shape of a statement as an object.
#[derive(Debug)]
pub(super) struct Form {
    /// What stands under [`FORM`].
    pub(super) form: Option<String>,
    /// Its other keys, in the order of the shape.
    pub(super) keys: Vec<Key>,
    /// Whether it has a [`BODY`].
    pub(super) body: bool,
    /// The parts it was made of.
    pub(super) parts: &'static [Part],
}

/// A key of a statement.
#[derive(Debug)]
pub(super) struct Key {
    pub(super) name: &'static str,
    pub(super) required: bool,
    pub(super) takes: Takes,
}

/// What a key takes.
#[derive(Debug)]
pub(super) enum Takes {
    /// What the slot takes.
    Slot(&'static SlotKind),
    /// `true`: the word stands there.
    Flag,
    /// A list of objects, one for each time that the group stands there.
    Groups(Vec<Key>),
}

/// The forms of a statement of the table, in the order in which its shapes are tried.
pub(super) fn forms(ready: &'static Ready) -> &'static [Form] {
    /// The statements of each block by their words.
    type OfBlock = Vec<(&'static str, Vec<Form>)>;
    static FORMS: OnceLock<Vec<OfBlock>> = OnceLock::new();
    let all = FORMS.get_or_init(|| {
        let of =
            |ready: &'static Ready| (ready.entry.word, ready.shapes().iter().map(|shape| form(ready, shape)).collect());
        Block::ALL.iter().map(|&kind| block(kind).iter().map(of).collect()).collect()
    });
    let in_block = all.get(ready.entry.block as usize).map(Vec::as_slice).unwrap_or_default();
    in_block.iter().find(|(word, _)| *word == ready.entry.word).map_or(&[], |(_, forms)| forms.as_slice())
}

fn form(ready: &'static Ready, shape: &'static Shape) -> Form {
    let several = ready.shapes().len() > 1;
    let (parts, body) = (shape.parts(), shape.has_body());
    let keys = keys(parts, several);
    let is_own = |key: &Key| {
        let others = ready.shapes().iter().filter(|other| !std::ptr::eq(*other, shape));
        key.required && !others.flat_map(|other| self::keys(other.parts(), several)).any(|other| other.name == key.name)
    };
    let words: Vec<&str> = parts.iter().filter_map(|part| fixed(part, several)).collect();
    let told = body || words.is_empty() || keys.iter().any(is_own);
    Form { form: (!told).then(|| words.join(" ")), keys, body, parts }
}

/// The word that a part always is: plain, or the only one of a slot where the statement has several shapes.
pub(super) fn fixed(part: &'static Part, several: bool) -> Option<&'static str> {
    match part {
        Part::Word(word) => Some(word),
        Part::Slot(_, SlotKind::OneOf([word])) if several => Some(word),
        _ => None,
    }
}

fn keys(parts: &'static [Part], several: bool) -> Vec<Key> {
    let mut keys = Vec::new();
    for part in parts {
        match part {
            Part::Slot(name, _) if *name == UNSAID => {}
            Part::Slot(name, kind) if fixed(part, several).is_none() => {
                keys.push(Key { name, required: true, takes: Takes::Slot(kind) });
            }
            Part::Optional(inner) => keys.extend(optional(inner)),
            Part::Repeat(inner) => {
                keys.extend(group_name(inner).map(|name| Key {
                    name,
                    required: false,
                    takes: Takes::Groups(self::keys(inner, false)),
                }));
            }
            Part::Slot(..) | Part::Word(_) | Part::Sign(_) => {}
        }
    }
    keys
}

/// The one key of a group that may be left out.
pub(super) fn optional(inner: &'static [Part]) -> Option<Key> {
    inner.iter().find_map(|part| match part {
        Part::Slot(name, _) if *name == UNSAID => None,
        Part::Slot(_, SlotKind::OneOf(words)) if words.len() == 1 => {
            words.first().map(|&name| Key { name, required: false, takes: Takes::Flag })
        }
        Part::Slot(name, kind) => Some(Key { name, required: false, takes: Takes::Slot(kind) }),
        _ => None,
    })
}

/// The key of a group that may be repeated: its first word.
pub(super) fn group_name(inner: &'static [Part]) -> Option<&'static str> {
    match inner.first() {
        Some(Part::Word(word)) => Some(word),
        _ => None,
    }
}

/// Every word that a name could be taken for in a statement, so that such a name stands in quotes.
pub(super) fn words_of(ready: &'static Ready) -> Vec<&'static str> {
    fn gather(parts: &'static [Part], out: &mut Vec<&'static str>) {
        for part in parts {
            match part {
                Part::Word(word) => out.push(word),
                Part::Slot(_, SlotKind::OneOf(words) | SlotKind::SomeOf(words)) => out.extend(words.iter()),
                Part::Optional(inner) | Part::Repeat(inner) => gather(inner, out),
                Part::Slot(..) | Part::Sign(_) => {}
            }
        }
    }
    let mut out = Vec::new();
    ready.shapes().iter().for_each(|shape| gather(shape.parts(), &mut out));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fleet::table::find;
    use std::collections::HashSet;

    fn of(kind: Block, word: &str) -> Vec<String> {
        let ready = find(kind, word.as_bytes()).unwrap();
        let line = |form: &Form| {
            let keys = form.keys.iter().map(|key| format!("{}{}", key.name, if key.required { "" } else { "?" }));
            let form_key = form.form.iter().map(|words| format!("form={words}"));
            form_key.chain(keys).chain(form.body.then(|| BODY.to_owned())).collect::<Vec<_>>().join(" ")
        };
        forms(ready).iter().map(line).collect()
    }

    #[test]
    fn shapes_become_keys() {
        for (kind, word, wanted) in [
            (Block::Link, "carry", &["channels levels? cadence?"][..]),
            (Block::Receiver, "number", &["form=any", "number"]),
            (Block::Receiver, "outputs", &["form=serial flags-loss?", "form=pulses"]),
            (Block::Receiver, "failsafe", &["hold? body", "hold? action"]),
            (Block::Controller, "arm", &["form=by switch needs?", "form=by sticks"]),
            (Block::Controller, "mode", &["name channel range and? or? kind? excludes?"]),
            (Block::Controller, "arming", &["form=refuses-stop-aloft"]),
            (Block::Model, "module", &["form=off bay", "bay body"]),
            (Block::Model, "trims", &["form=throttle off", "state"]),
            (Block::Model, "trainer", &["form=off", "condition functions pupil?"]),
            (Block::Model, "purpose", &["purpose"]),
            (Block::Model, "channel", &["channel label? value", "channel label? body"]),
            (Block::Channel, "reversed", &[""]),
        ] {
            assert_eq!(of(kind, word), wanted, "{word}");
        }
    }

    /// What makes one object of a statement, whatever the table says: a shape that breaks these needs a thought.
    #[test]
    fn every_statement_has_its_forms() {
        for ready in Block::ALL.iter().flat_map(|&kind| block(kind)) {
            let forms = forms(ready);
            assert_eq!(forms.len(), ready.shapes().len(), "{}", ready.entry.word);
            let mut told = HashSet::new();
            for form in forms {
                let names: Vec<&str> = form.keys.iter().map(|key| key.name).collect();
                let mut apart: HashSet<&str> = names.iter().copied().collect();
                apart.extend([STATEMENT, FORM, BODY, WAIVE]);
                assert_eq!(apart.len(), names.len() + 4, "{}: a key stands twice in {names:?}", ready.entry.word);
                let required: Vec<&str> = form.keys.iter().filter(|key| key.required).map(|key| key.name).collect();
                assert!(
                    told.insert((form.body, form.form.clone(), required)),
                    "{}: two shapes alike",
                    ready.entry.word
                );
                for part in form.parts {
                    match part {
                        Part::Optional(inner) => {
                            let slots =
                                inner.iter().filter(|part| matches!(part, Part::Slot(name, _) if *name != UNSAID));
                            assert_eq!(slots.count(), 1, "{}", ready.entry.word);
                        }
                        Part::Repeat(inner) => assert!(group_name(inner).is_some(), "{}", ready.entry.word),
                        _ => {}
                    }
                }
            }
        }
    }
}
