//! The page about the JSON form, written from the table of statements.

use super::form::{BODY, FORM, Form, Key, STATEMENT, Takes, forms};
use super::{MAX_DEPTH, from_rig};
use crate::fleet::number::Dimension;
use crate::fleet::shape::SlotKind;
use crate::fleet::table::{Block, Ready, block, vocabulary};
use crate::source::Span;
use crate::syntax::{Kind, Tables, parse};

const HEAD: &str = "\
# Settings in JSON

This page is written from the table of statements that the reader itself uses: `cargo run --example write_docs`.

A program that exports setups writes JSON more easily than the language of rig files. Both say the same: every statement of a rig file is an
object, a block's statements are a list, and their order is kept. Files whose names end in `.rig.json` are inspected like rig files, beside
them and together with them, and findings point into them. `walkaround convert FILE` turns each form into the other; comments that are no waivers
and the layout are lost on the way, and nothing else. A file with something that can't be understood is not converted.
A block that is like another has the name of that one as `\"like\"`, and says with `without` what it has not; `convert --spelled-out` puts such
blocks together first.

The schema is [rig.schema.json](rig.schema.json) (JSON Schema, draft 2020-12); `walkaround reference --schema` prints it.
";

const RIG: &str = "\
rig 1

handset bench-one {
  stick-mode 2
  switch left-front 2 positions
  scale 1500 us plus-minus 500 us
  module plug-in empty
}

model \"dunlin race\" {
  handset bench-one
  flies dunlin, knot
  # waive channels/unused because \"kept for the next aircraft\" until 2027-03-01
  channel 5 = left-front
  channel 7 arm {
    value 100 % when left-front down and throttle below -95 %
    value -100 %
  }
}
";

const RULES: &str = "\
## How it is written

* The file is an object with `rig` (the version of the language, 1) and `statements` (a list). Keys may come in any order, and no key stands twice.
* A statement is an object. `statement` is its word; its other keys are those in the tables below, and no others. A statement with a block has its
  statements in the list `body`.
* **Numbers are text**, exactly as a rig file has them, with their units: `\"7.0 V\"`, `\"-100..100 %\"`, `\"2 min 30 s\"`. So nothing is rounded, and no number
  loses its unit. A number that has no unit (a count, a channel, a point of a curve) may also be a JSON number without an exponent.
* **Lists are lists**: `\"rates\": [\"45 Hz\", \"110 Hz\"]`. Each number in one says its unit.
* **Names are plain text**, without the quotes and escapes of a rig file. A name is a name whatever it is: `\"throttle\"`, `\"two words\"`.
* **Conditions and values are text** of the rig language: `\"left-front down and not held 2 s trigger pressed\"`, `\"soft(throttle) * 50 %\"`. As trees of
  objects they would take five lines where a line does, be a second grammar to learn, and read differently from every message and page. A name in
  them that is no word stands in quotes, as in a rig file: `\"\\\"left rear\\\" up\"`.
* `form` stands where a statement has several shapes and no key of its own tells which it is.
* A key that says `true` has no other value: what is not stated is not known, so there is no `false`.
* **Waivers** stand in the list `waive` of the statement that they are for, or of the file; an object with nothing but `waive` at the end of a list
  keeps those that no statement follows. `rule` is needed; without `because` a waiver covers nothing. A waiver that can't be understood is kept
  as a text.
";

/// The page as Markdown.
pub fn markdown() -> String {
    let mut page = format!("{HEAD}\n## An example\n\n```\n{RIG}```\n\n```json\n{}```\n\n{RULES}", example());
    page += &format!(
        "\nLimits are those of rig files; values stand at most {MAX_DEPTH} deep in each other. Of a mend only the words are given for a JSON \
         file: its edits would fit the rig text alone.\n\n## Keys\n\nKeys in brackets may be left out.\n"
    );
    for &kind in Block::ALL {
        page += &format!("\n### In {}\n\n| `{STATEMENT}` | keys |\n|---|---|\n", kind.name());
        for ready in block(kind).iter().filter(|ready| !(kind == Block::Top && ready.entry.word == "rig")) {
            let forms: Vec<String> = forms(ready).iter().map(|form| keys(ready, form)).collect();
            page += &format!("| `{}` | {} |\n", ready.entry.word, forms.join("<br>or "));
        }
    }
    page
}

fn example() -> String {
    let mut tables = Tables::default();
    parse(RIG.as_bytes(), vocabulary, &mut tables);
    let waivers = tables.comments.iter().map(|comment| {
        let waive = super::Waive::Parts {
            rule: "channels/unused".to_owned(),
            because: Some("kept for the next aircraft".to_owned()),
            until: Some("2027-03-01".to_owned()),
        };
        (comment.span, waive)
    });
    let waivers: Vec<(Span, super::Waive)> = waivers.collect();
    from_rig(RIG.as_bytes(), &tables, waivers).unwrap_or_default()
}

fn keys(ready: &'static Ready, form: &Form) -> String {
    let mut list: Vec<String> = form.form.iter().map(|words| format!("`{FORM}` `{words}`")).collect();
    list.extend(form.keys.iter().map(key));
    if let (true, Some(opens)) = (form.body, ready.entry.opens) {
        list.push(format!("`{BODY}` [{}](#in-{})", opens.name(), opens.name().replace('\'', "").replace(' ', "-")));
    }
    list.join(", ")
}

fn key(key: &Key) -> String {
    let takes = match &key.takes {
        Takes::Flag => "`true`".to_owned(),
        Takes::Slot(kind) => slot(kind),
        Takes::Groups(keys) => {
            let inner: Vec<String> = keys.iter().map(self::key).collect();
            format!("list of objects with {}", inner.join(" and "))
        }
    };
    let text = format!("`{}` {takes}", key.name);
    if key.required { text } else { format!("[{text}]") }
}

fn slot(kind: &SlotKind) -> String {
    let words = |words: &[&str]| words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(" \\| ");
    let units = |dimension: Dimension| dimension.units().iter().map(|unit| unit.text()).collect::<Vec<_>>().join(", ");
    match kind {
        SlotKind::Name => "name".to_owned(),
        SlotKind::Position => "position".to_owned(),
        SlotKind::Integer(low, high) => format!("{low} to {high}"),
        SlotKind::IntegerRange(low, high) => format!("range in {low} to {high}"),
        SlotKind::Integers(low, high) => format!("list of numbers and ranges in {low} to {high}"),
        SlotKind::Number(dimension, _) => format!("number in {}", units(*dimension)),
        SlotKind::Numbers(dimension) => format!("list of numbers in {}", units(*dimension)),
        SlotKind::Range(dimension, _) => format!("range in {}", units(*dimension)),
        SlotKind::Duration => format!("time in {}", units(Dimension::Time)),
        SlotKind::Day => "day such as 2027-03-01".to_owned(),
        SlotKind::Names(Kind::Plus) => "list of names, added up".to_owned(),
        SlotKind::Names(_) => "list of names".to_owned(),
        SlotKind::Points => "list of pairs of numbers, in percent".to_owned(),
        SlotKind::Condition => "condition".to_owned(),
        SlotKind::Value => "value".to_owned(),
        SlotKind::OneOf(list) => words(list),
        SlotKind::SomeOf(list) => format!("list of {}", words(list)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_is_whole_and_every_statement_has_its_row() {
        let page = markdown();
        assert!(page.contains("\"because\": \"kept for the next aircraft\""), "{page}");
        for ready in Block::ALL.iter().flat_map(|&kind| block(kind)).filter(|ready| ready.entry.word != "rig") {
            assert!(page.contains(&format!("\n| `{}` | ", ready.entry.word)), "{}", ready.entry.word);
        }
    }
}
