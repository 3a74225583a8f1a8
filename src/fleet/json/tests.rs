//! Files made at random from the table of statements: every shape goes into JSON and back.

use super::{Waive, from_rig, to_rig};
use crate::fleet::problem::ProblemKind;
use crate::fleet::resolve::in_quotes;
use crate::fleet::shape::{Part, SlotKind};
use crate::fleet::table::{self, Block, Ready};
use crate::fleet::{Dimension, FileFleet, read};
use crate::source::{FileId, Span};
use crate::syntax::{Tables, parse};
use proptest::prelude::*;

/// Names that could be taken for something else, and some that could not.
const NAMES: &[&str] = &[
    "plover",
    "any",
    "off",
    "when",
    "m",
    "min",
    "us",
    "throttle",
    "two words",
    "é",
    "q\"u\\o",
    "7",
    "1.5",
    "",
    "a\u{1}b",
    "\u{202e}x",
    "channel",
    "line\nend",
    "update",
    "kind",
    "A",
    "up",
    "statement",
    "body",
];
const CONDITIONS: &[&str] = &[
    "left up",
    "not (left up or throttle below -95.0 %)and\t\"a b\"  2",
    "held 1 min 30 s trigger pressed",
    "channel 5 between 1400..1600 us",
    "mode \"f\\u{e9}\" and ready",
    "(((left up)))",
];
const VALUES: &[&str] =
    &["roll", "-100 %", "soft(roll*50.0 %) - -5 %", "min ( a , - b )", "- (roll + channel 3)", "unshaped yaw"];

/// Choices, one number each; after the last the first of everything is taken, so that what is built has an end.
struct Dice<'d> {
    numbers: &'d [u16],
    at: usize,
}

impl Dice<'_> {
    fn below(&mut self, count: usize) -> usize {
        let number = self.numbers.get(self.at).copied().unwrap_or_default();
        self.at += 1;
        usize::from(number) % count
    }

    fn of<'w>(&mut self, words: &[&'w str]) -> &'w str {
        words[self.below(words.len())]
    }

    fn name(&mut self) -> String {
        let name = self.of(NAMES);
        // In quotes where it would not be read as a name; else sometimes.
        let bare = ["plover", "channel", "update", "statement", "body", "A"].contains(&name) && self.below(2) == 0;
        if bare { name.to_owned() } else { in_quotes(name) }
    }

    fn number(&mut self) -> &'static str {
        self.of(&["0", "5", "12.50", "-3", "-0.05", "123456789012345"])
    }

    fn unit(&mut self, dimension: Dimension) -> &'static str {
        let units = dimension.units();
        units[self.below(units.len())].text()
    }

    fn list(&mut self, between: &str, mut one: impl FnMut(&mut Self) -> String) -> String {
        let count = 1 + self.below(3);
        (0..count).map(|_| one(self)).collect::<Vec<_>>().join(between)
    }

    fn slot(&mut self, kind: &SlotKind) -> String {
        match kind {
            SlotKind::Name => self.name(),
            SlotKind::Position if self.below(2) == 0 => "3".to_owned(),
            SlotKind::Position => self.name(),
            SlotKind::Integer(low, high) => [*low, *high][self.below(2)].to_string(),
            SlotKind::IntegerRange(low, high) => format!("{low}..{high}"),
            SlotKind::Integers(low, high) => self.list(", ", |dice| match dice.below(2) {
                0 => low.to_string(),
                _ => format!("{low}..{high}"),
            }),
            SlotKind::Number(dimension, _) => format!("{} {}", self.number(), self.unit(*dimension)),
            SlotKind::Range(dimension, _) => format!("-1.0..2{}", self.unit(*dimension)),
            SlotKind::Numbers(dimension) => {
                let all = self.list(" , ", |dice| match dice.below(2) {
                    0 => dice.number().to_owned(),
                    _ => format!("{}{}", dice.number(), dice.unit(*dimension)),
                });
                format!("{all}, 1 {}", self.unit(*dimension))
            }
            SlotKind::Duration => self.list("  ", |dice| format!("{} {}", dice.number(), dice.unit(Dimension::Time))),
            SlotKind::Day => "2027-03-01".to_owned(),
            SlotKind::Names(crate::syntax::Kind::Plus) => self.list(" + ", |dice| match dice.below(2) {
                0 => dice.of(crate::fleet::table::lists::FUNCTIONS).to_owned(),
                _ => format!("\"{}\"", dice.name().replace('"', "")),
            }),
            SlotKind::Names(_) => self.list(", ", Self::name),
            SlotKind::Points => self.list(", ", |dice| format!("{}:{} %", dice.number(), dice.number())),
            SlotKind::Condition => self.of(CONDITIONS).to_owned(),
            SlotKind::Value => self.of(VALUES).to_owned(),
            SlotKind::OneOf(words) => self.of(words).to_owned(),
            SlotKind::SomeOf(words) => self.list(", ", |dice| dice.of(words).to_owned()),
        }
    }

    fn parts(&mut self, parts: &[Part], out: &mut String) {
        for part in parts {
            match part {
                Part::Word(word) => *out += &format!(" {word}"),
                Part::Sign(_) => *out += " =",
                Part::Slot("function", SlotKind::Name) if self.below(2) == 0 => {
                    *out += &format!(" {}", self.of(crate::fleet::table::lists::READ));
                }
                // A word that is in no list is a fault there; in JSON every text is as good as in quotes.
                Part::Slot("function", SlotKind::Name) => {
                    *out += &format!(" \"{}\"", self.name().replace('"', ""));
                }
                Part::Slot(_, kind) => *out += &format!(" {}", self.slot(kind)),
                Part::Optional(inner) if self.below(2) == 1 => self.parts(inner, out),
                Part::Repeat(inner) => {
                    for _ in 0..self.below(3) {
                        self.parts(inner, out);
                    }
                }
                Part::Optional(_) => {}
            }
        }
    }

    fn statement(&mut self, ready: &'static Ready, out: &mut String) {
        for _ in 0..self.below(2) {
            *out += "\n  # waive arming/slow because \"\\u{1f426} \\\"x\\\"\" until 2027-03-01";
        }
        *out += &format!("\n{}", ready.entry.word);
        let shape = &ready.shapes()[self.below(ready.shapes().len())];
        self.parts(shape.parts(), out);
        if let (true, Some(opens)) = (shape.has_body(), ready.entry.opens) {
            *out += " {";
            let known = table::block(opens);
            for _ in 0..self.below(5) {
                let ready = &known[self.below(known.len())];
                self.statement(ready, out);
            }
            *out += "\n}";
        }
    }
}

fn file() -> impl Strategy<Value = String> {
    prop::collection::vec(any::<u16>(), 0..120).prop_map(|numbers| {
        let mut dice = Dice { numbers: &numbers, at: 0 };
        let mut out = String::from("rig 1");
        let known = &table::block(Block::Top)[1..];
        for _ in 0..1 + dice.below(4) {
            let ready = &known[dice.below(known.len())];
            dice.statement(ready, &mut out);
        }
        out + "\n"
    })
}

fn tables(text: &str) -> Tables {
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    tables
}

fn waivers(tables: &Tables) -> Vec<(Span, Waive)> {
    let waive = Waive::Parts {
        rule: "arming/slow".to_owned(),
        because: Some("\u{1f426} \"x\"".to_owned()),
        until: Some("2027-03-01".to_owned()),
    };
    tables.comments.iter().map(|comment| (comment.span, waive.clone())).collect()
}

fn json(text: &str) -> Option<String> {
    let tables = tables(text);
    from_rig(text.as_bytes(), &tables, waivers(&tables))
}

/// A fleet without its places, and the problems in it without theirs.
fn shown(text: &str) -> (String, Vec<(ProblemKind, String)>) {
    let FileFleet { problems, sites, links, handsets, crafts, models, .. } =
        read(FileId(0), text.as_bytes(), &tables(text));
    let debug = format!("{sites:#?} {links:#?} {handsets:#?} {crafts:#?} {models:#?}");
    let places = ["start: ", "end: ", "insert: ", "own_line: ", "indent: ", "digest: "];
    let lines = debug.lines().filter(|line| !places.iter().any(|place| line.trim_start().starts_with(place)));
    let said = |message: &str| message.replace(['"', '\\'], "");
    (lines.collect::<Vec<_>>().join("\n"), problems.iter().map(|p| (p.kind, said(&p.message))).collect())
}

fn validator() -> &'static jsonschema::Validator {
    static VALIDATOR: std::sync::OnceLock<jsonschema::Validator> = std::sync::OnceLock::new();
    VALIDATOR.get_or_init(|| jsonschema::draft202012::new(&super::schema()).unwrap())
}

proptest! {
    #[test]
    fn every_statement_goes_into_json_and_back(text in file()) {
        // A shape whose numbers are out of range does not fit and is not turned.
        let Some(first) = json(&text) else {
            prop_assert!(!shown(&text).1.is_empty(), "{}", text);
            return Ok(());
        };
        let value: serde_json::Value = serde_json::from_str(&first).unwrap();
        let back = to_rig(FileId(0), first.as_bytes());
        prop_assert_eq!(&back.problems, &[], "{}\n{}", text, first);
        prop_assert_eq!(json(&back.text), Some(first), "{}", back.text);
        let (fleet, problems) = shown(&text);
        let (fleet_back, problems_back) = shown(&back.text);
        prop_assert_eq!(fleet_back, fleet, "{}\n{}", text, back.text);
        prop_assert_eq!(problems_back.len(), problems.len());
        // The schema looks at statements, and not at what they say together but for how often they stand.
        let counts = |message: &str| {
            let twice = |kind: &Block| message.ends_with(&format!("` stands twice in {}", kind.name()));
            message.contains(" needs a line `") || Block::ALL.iter().any(twice)
        };
        let refused = problems.iter().any(|(_, message)| counts(message));
        let errors: Vec<String> = validator().iter_errors(&value).map(|error| error.to_string()).collect();
        if refused || problems.is_empty() {
            prop_assert_eq!(!errors.is_empty(), refused, "{:?}\n{}", errors, text);
        }
    }
}
