//! What statements say, whatever they look like: without layout, with numbers in one unit, closed lists in their own words,
//! and parts whose order counts for nothing in one order. Two statements that say the same give the same text.

use super::condition::{Condition, ConditionKind, Value, ValueKind};
use super::items::Items;
use super::occurs::{self, Named};
use super::quoted;
use super::shape::{Capture, Captures};
use super::table::{self, Block, Ready, lists};
use crate::source::Span;
use crate::syntax::{Statement, Tables, Token};

/// The name under which something is told; nothing where it keeps its own.
pub type Called<'c> = &'c dyn Fn(Named, &str) -> Option<String>;

/// What a statement says by itself, without those around it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Saying {
    /// Its word and what follows it.
    pub says: String,
    /// What tells it from others with its word, as it is told; nothing where nothing does.
    pub key: Option<String>,
    /// The conditions of a model that it names, as they are told.
    pub conditions: Vec<String>,
}

/// What each statement of a text says, in their order. One that is not understood says its own words.
pub fn sayings(bytes: &[u8], tables: &Tables, called: Called<'_>) -> Vec<Saying> {
    let mut teller = Teller { bytes, tables, called, captures: Captures::default() };
    let blocks = occurs::blocks(bytes, tables);
    tables.statements.iter().zip(blocks).map(|(statement, block)| teller.tell(statement, block)).collect()
}

struct Teller<'t> {
    bytes: &'t [u8],
    tables: &'t Tables,
    called: Called<'t>,
    captures: Captures,
}

impl Teller<'_> {
    fn tell(&mut self, statement: &Statement, block: Option<Block>) -> Saying {
        let word = self.tables.word(statement);
        let ready = block.and_then(|block| table::find(block, word.of(self.bytes)));
        let items = Items::new(self.bytes, self.tables.items(statement), word.end);
        let fits = ready.filter(|ready| {
            let mut shapes = ready.shapes().iter().filter(|shape| shape.has_body() == statement.has_body);
            shapes.any(|shape| shape.take(&mut items.clone(), &mut self.captures).is_ok())
        });
        if fits.is_none() {
            self.captures.list.clear();
        }
        let items = self.tables.items(statement);
        let mut says = vec![self.written(word.span())];
        let mut key = None;
        let key_at = fits.and_then(|ready| ready.entry.key).map(usize::from);
        for (at, part) in self.parts(fits, items) {
            if key_at == Some(at) {
                key = Some(part.clone());
            }
            says.push(part);
        }
        // An alarm has no key, and is known by its first item all the same.
        let by_first = fits.is_some_and(|ready| ready.entry.taken == table::Taken::ByFirstItem);
        let key = key.or_else(|| says.get(1).filter(|_| by_first).cloned());
        Saying { says: says.join(" "), key, conditions: self.conditions() }
    }

    /// The items of a statement as they are told, each with the number of its first token.
    fn parts(&self, fits: Option<&'static Ready>, items: &[Token]) -> Vec<(usize, String)> {
        let mut parts: Vec<(usize, String)> = Vec::new();
        let mut captures = self.captures.list.iter().peekable();
        let mut taken = 0;
        for (at, token) in items.iter().enumerate() {
            if token.start < taken {
                continue;
            }
            while captures.next_if(|(_, capture)| capture.span.end <= token.start).is_some() {}
            match captures.peek().filter(|(_, capture)| capture.span.start <= token.start).zip(fits) {
                Some(((slot, capture), ready)) => {
                    taken = capture.span.end;
                    // A slot without a name of its own is there for the ear: `update`, `updates`.
                    if *slot != "_" {
                        parts.push((at, self.capture(ready, slot, &capture.value)));
                    }
                }
                None => parts.push((at, self.written(token.span()))),
            }
        }
        parts
    }

    fn written(&self, span: Span) -> String {
        String::from_utf8_lossy(span.of(self.bytes)).into_owned()
    }

    fn name(&self, named: Option<Named>, name: &str) -> String {
        quoted(&named.and_then(|named| (self.called)(named, name)).unwrap_or_else(|| name.to_owned()))
    }

    fn capture(&self, ready: &'static Ready, slot: &str, capture: &Capture) -> String {
        let (block, word) = (ready.entry.block, ready.entry.word);
        let sorted = |mut list: Vec<String>| {
            list.sort();
            list.join(", ")
        };
        // What the trade says for a function stands for it.
        let functions = match (block, word) {
            (Block::Surfaces, "channel") => lists::FUNCTIONS,
            (Block::Controller, "reads") => lists::READ,
            _ => &[],
        };
        let name = |named, name: &str| match lists::listed(functions, name.as_bytes()) {
            Some(function) => function.to_owned(),
            None => self.name(named, name),
        };
        match capture {
            Capture::Name(it) => name(occurs::meaning(block, word, slot).map(|(named, _)| named), it),
            Capture::Names(names) => {
                let named = occurs::of_list(block, word);
                sorted(names.iter().map(|it| name(named, &it.value)).collect())
            }
            Capture::Integer(number) => number.to_string(),
            Capture::Integers(ranges) => joined(ranges),
            Capture::Number(number) => number.to_string(),
            Capture::Numbers(numbers) => {
                let mut numbers: Vec<_> = numbers.iter().map(|number| number.value).collect();
                numbers.sort_unstable();
                numbers.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
            }
            Capture::Range(low, high) => format!("{low}..{high}"),
            Capture::Day(day) => day.to_string(),
            Capture::Points(points) => {
                points.iter().map(|(x, y)| format!("{}:{y}", x.value)).collect::<Vec<_>>().join(", ")
            }
            Capture::Condition(condition) => self.condition(condition).to_string(),
            Capture::Value(value) => self.value(value).to_string(),
            Capture::Word(word) => (*word).to_owned(),
            Capture::Words(words) => sorted(words.iter().map(|word| word.value.to_owned()).collect()),
        }
    }

    /// The same condition under the names that are told, its parts in one order.
    fn condition(&self, condition: &Condition) -> Condition {
        let mut told = condition.clone();
        let rename = |named, name: &mut super::condition::Name| {
            if let Some(called) = (self.called)(named, &name.value) {
                name.value = called.into();
            }
        };
        match &mut told.kind {
            ConditionKind::Any(parts) | ConditionKind::All(parts) => {
                let mut all: Vec<Condition> = parts.iter().map(|part| self.condition(part)).collect();
                all.sort_by_cached_key(ToString::to_string);
                *parts = all;
            }
            ConditionKind::Not(part) | ConditionKind::Held(_, part) => **part = self.condition(part),
            ConditionKind::Position { control, .. } => rename(Named::Control, control),
            ConditionKind::Axis { axis, .. } => rename(Named::Control, axis),
            ConditionKind::Mode(name) => rename(Named::Mode, name),
            ConditionKind::Named(name) => rename(Named::Condition, name),
            ConditionKind::Channel { .. } => {}
        }
        told
    }

    /// The same value under the names that are told.
    fn value(&self, value: &Value) -> Value {
        let mut told = value.clone();
        match &mut told.kind {
            ValueKind::Control(name) => {
                if let Some(called) = (self.called)(Named::InValue, name) {
                    *name = called.into();
                }
            }
            ValueKind::Curve(name, of) => {
                if let Some(called) = (self.called)(Named::Curve, &name.value) {
                    name.value = called.into();
                }
                **of = self.value(of);
            }
            ValueKind::Unshaped(name) => {
                if let Some(called) = (self.called)(Named::Control, &name.value) {
                    name.value = called.into();
                }
            }
            ValueKind::Min(a, b)
            | ValueKind::Max(a, b)
            | ValueKind::Add(a, b)
            | ValueKind::Subtract(a, b)
            | ValueKind::Multiply(a, b) => {
                **a = self.value(a);
                **b = self.value(b);
            }
            ValueKind::Negate(of) => **of = self.value(of),
            ValueKind::Percent(_) | ValueKind::Channel(_) => {}
        }
        told
    }

    fn conditions(&self) -> Vec<String> {
        let mut names = Vec::new();
        for (_, capture) in &self.captures.list {
            let Capture::Condition(condition) = &capture.value else { continue };
            condition.walk(&mut |part| {
                if let ConditionKind::Named(name) = &part.kind {
                    let called = (self.called)(Named::Condition, &name.value);
                    names.push(called.unwrap_or_else(|| name.value.to_string()));
                }
            });
        }
        names
    }
}

/// Ranges of whole numbers in rising order, those that touch as one.
fn joined(ranges: &[(i64, i64)]) -> String {
    let mut sorted = ranges.to_vec();
    sorted.sort_unstable();
    let mut whole: Vec<(i64, i64)> = Vec::new();
    for (low, high) in sorted {
        match whole.last_mut().filter(|last| low <= last.1.saturating_add(1)) {
            Some(last) => last.1 = last.1.max(high),
            None => whole.push((low, high)),
        }
    }
    let each = whole.iter().map(|(low, high)| if low == high { low.to_string() } else { format!("{low}..{high}") });
    each.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::parse;

    fn said(text: &str) -> Vec<String> {
        let mut tables = Tables::default();
        parse(text.as_bytes(), table::vocabulary, &mut tables);
        let called = |named: Named, name: &str| match (named, name) {
            (Named::Control, "s") => Some("switch".to_owned()),
            (Named::Top(_), "d") => Some("other".to_owned()),
            (Named::Condition, "y") => Some("steady".to_owned()),
            _ => None,
        };
        sayings(text.as_bytes(), &tables, &called).into_iter().map(|saying| saying.says).collect()
    }

    #[test]
    fn what_looks_otherwise_says_the_same() {
        for (one, other) in [
            ("model m {\n timer 2 min 30 s while y\n}", "model m { timer 150 s while steady }"),
            ("craft d { receiver { drives channel 1..2, 3..4 } }", "craft other { receiver { drives channel 1..4 } }"),
            ("link l { update-rate 45, 110 Hz }", "link l { update-rate 0.11 kHz, 45 Hz }"),
            ("model m { module a { power 0.1 W } }", "model m { module a { power 100 mW } }"),
            ("model m { module a { power 20 dBm } }", "model m { module a { power 100 mW } }"),
            (
                "craft c { surfaces { channel 1 ele + ail left } }",
                "craft c { surfaces { channel 1 roll + pitch left } }",
            ),
            ("model m { expect never s up and not y }", "model m { expect never not steady and switch up }"),
            (
                "link l { carry channel 1 levels 2 every 1 update }",
                "link l { carry channel 1 levels 2 every 1 updates }",
            ),
            ("craft c { battery lipo { cells 6 } }", "craft \"c\" { battery li-po { cells 6 } }"),
        ] {
            assert_eq!(said(one), said(other), "{one}");
        }
    }

    #[test]
    fn what_says_something_else_is_told_apart() {
        let mode = |joint: &str| {
            format!("craft c {{ controller {{ mode m channel 5 1000..1100 us {joint} channel 6 1000..1100 us }} }}")
        };
        for (one, other) in [
            (mode("and"), mode("or")),
            ("craft c { receiver { number any } }".to_owned(), "craft c { receiver { number 1 } }".to_owned()),
            ("model m { before-start s up }".to_owned(), "model m { before-start t up }".to_owned()),
            ("craft c { kind boat }".to_owned(), "craft c { kind bote }".to_owned()),
            ("craft s { kind boat }".to_owned(), "craft switch { kind boat }".to_owned()),
            ("model m { trims on }".to_owned(), "model m { trims throttle off }".to_owned()),
        ] {
            assert_ne!(said(&one), said(&other), "{one}");
        }
    }

    #[test]
    fn a_key_tells_statements_of_one_word_apart() {
        let text = "craft c { controller { mode arm channel 5 1000..1100 us } surfaces { motor channel 3 idle-below 1080 us } }\n\
                    model m { alarm battery below 3.5 V per-cell; alarm signal below -88 dBm; timer 2 min }";
        let mut tables = Tables::default();
        parse(text.as_bytes(), table::vocabulary, &mut tables);
        let keys: Vec<Option<String>> =
            sayings(text.as_bytes(), &tables, &|_, _| None).into_iter().map(|saying| saying.key).collect();
        let keys: Vec<&str> = keys.iter().map(|key| key.as_deref().unwrap_or("-")).collect();
        assert_eq!(keys, ["c", "-", "arm", "-", "3", "m", "battery", "signal", "-"]);
    }
}
