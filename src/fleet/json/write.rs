//! The tables of a rig text to the JSON form: one line a statement, numbers exactly as they are written.

use super::form::{BODY, FORM, Form, STATEMENT, UNSAID, WAIVE, fixed, forms, group_name};
use super::waive::Waive;
use crate::fleet::items::{Items, text};
use crate::fleet::shape::{Capture, Captures, Part, SlotKind};
use crate::fleet::table::{self, Block, Ready};
use crate::source::{Located, Span};
use crate::syntax::{Kind, Statement, Tables, Token};

/// Writes the JSON form of a text. `waivers` are those of its comments that are waivers, in text order. Other comments and
/// the layout are not kept. `None` where a statement can't be understood: nothing is written then, rather than something else.
pub fn from_rig(bytes: &[u8], tables: &Tables, waivers: Vec<(Span, Waive)>) -> Option<String> {
    let first = tables.statements.first()?;
    if !tables.problems.is_empty() || tables.word(first).of(bytes) != b"rig" {
        return None;
    }
    let mut waivers = waivers.into_iter().peekable();
    let mut writer = Writer { bytes, tables, out: String::new(), captures: Captures::default() };
    let (ready, _) = writer.take(Block::Top, first)?;
    debug_assert_eq!(ready.entry.word, "rig");
    let version = writer.captures.integer("version")?.value;
    let here = before(&mut waivers, tables.word(first).start);
    writer.out += &format!("{{\"rig\": {version}, ");
    writer.waivers(&here, ", ");
    writer.out += "\"statements\": [";
    writer.body(None, Block::Top, 1, &mut waivers)?;
    writer.out += "]}\n";
    Some(writer.out)
}

type Waivers = std::iter::Peekable<std::vec::IntoIter<(Span, Waive)>>;

/// The waivers that begin before a byte.
fn before(waivers: &mut Waivers, byte: u32) -> Vec<Waive> {
    let mut list = Vec::new();
    while let Some((_, waive)) = waivers.next_if(|(span, _)| span.start < byte) {
        list.push(waive);
    }
    list
}

struct Writer<'t> {
    bytes: &'t [u8],
    tables: &'t Tables,
    out: String,
    captures: Captures,
}

impl<'t> Writer<'t> {
    /// The statements of a block, each on a line of its own, and a line end if there are any.
    fn body(&mut self, parent: Option<u32>, block: Block, depth: usize, waivers: &mut Waivers) -> Option<()> {
        let tables = self.tables;
        let mut any = false;
        // The first statement of a file is `rig`, which stands apart.
        for index in tables.body(parent).skip(usize::from(parent.is_none())) {
            let statement = tables.statements.get(index as usize)?;
            let here = before(waivers, tables.word(statement).start);
            self.line(depth, any);
            any = true;
            self.statement(index, statement, block, depth, &here, waivers)?;
        }
        let end = match parent.and_then(|index| tables.statements.get(index as usize)) {
            Some(statement) => tables.tokens.get(statement.close as usize)?.start,
            None => u32::MAX,
        };
        let last = before(waivers, end);
        if !last.is_empty() {
            self.line(depth, any);
            any = true;
            self.out += "{";
            self.waivers(&last, "}");
        }
        if any {
            self.out += "\n";
            self.indent(depth - 1);
        }
        Some(())
    }

    fn line(&mut self, depth: usize, any: bool) {
        self.out += if any { ",\n" } else { "\n" };
        self.indent(depth);
    }

    fn indent(&mut self, depth: usize) {
        for _ in 0..depth {
            self.out += "  ";
        }
    }

    fn waivers(&mut self, list: &[Waive], behind: &str) {
        if list.is_empty() {
            return;
        }
        let one = |waive: &Waive| match waive {
            Waive::Words(words) => string(words),
            Waive::Parts { rule, because, until } => {
                let parts = [("rule", Some(rule)), ("because", because.as_ref()), ("until", until.as_ref())];
                let parts =
                    parts.iter().filter_map(|(key, value)| Some(format!("\"{key}\": {}", string(value.as_ref()?))));
                format!("{{{}}}", parts.collect::<Vec<_>>().join(", "))
            }
        };
        let list: Vec<String> = list.iter().map(one).collect();
        self.out += &format!("\"{WAIVE}\": [{}]{behind}", list.join(", "));
    }

    /// The shape that a statement fits; its captures are the writer's.
    fn take(&mut self, block: Block, statement: &Statement) -> Option<(&'static Ready, &'static Form)> {
        let word = self.tables.word(statement);
        let ready = table::find(block, word.of(self.bytes)).filter(|_| !statement.broken)?;
        let items = Items::new(self.bytes, self.tables.items(statement), word.end);
        let fits = |(shape, form): (&'static crate::fleet::shape::Shape, &'static Form)| {
            let fits =
                shape.has_body() == statement.has_body && shape.take(&mut items.clone(), &mut self.captures).is_ok();
            fits.then_some((ready, form))
        };
        ready.shapes().iter().zip(forms(ready)).find_map(fits)
    }

    fn statement(
        &mut self,
        index: u32,
        statement: &Statement,
        block: Block,
        depth: usize,
        here: &[Waive],
        waivers: &mut Waivers,
    ) -> Option<()> {
        let (ready, form) = self.take(block, statement)?;
        self.out += &format!("{{\"{STATEMENT}\": {}", string(ready.entry.word));
        if let Some(words) = &form.form {
            self.out += &format!(", \"{FORM}\": {}", string(words));
        }
        let captures = std::mem::take(&mut self.captures.list);
        let mut taken = captures.iter().peekable();
        for (key, value) in self.keys(form.parts, ready.shapes().len() > 1, &mut taken)? {
            self.out += &format!(", \"{key}\": {value}");
        }
        if !here.is_empty() {
            self.out += ", ";
            self.waivers(here, "");
        }
        if statement.has_body {
            self.out += &format!(", \"{BODY}\": [");
            self.body(Some(index), ready.entry.opens?, depth + 1, waivers)?;
            self.out += "]";
        }
        self.out += "}";
        Some(())
    }

    /// Keys and values in the order of the shape.
    fn keys<'c>(
        &self,
        parts: &'static [Part],
        several: bool,
        taken: &mut std::iter::Peekable<impl Iterator<Item = &'c (&'static str, Located<Capture>)>>,
    ) -> Option<Vec<(&'static str, String)>> {
        let mut keys = Vec::new();
        for part in parts {
            match part {
                Part::Word(_) | Part::Sign(_) => {}
                Part::Slot(name, kind) => {
                    let (_, capture) = taken.next_if(|(slot, _)| slot == name)?;
                    if *name != UNSAID && fixed(part, several).is_none() {
                        keys.push((*name, self.value(kind, capture)?));
                    }
                }
                Part::Optional(inner) => {
                    let stands = taken.peek().is_some_and(|(slot, _)| first_slot(inner) == Some(*slot));
                    let flag = super::form::optional(inner).filter(super::turn::is_flag);
                    match flag {
                        _ if !stands => {}
                        Some(flag) => {
                            taken.next();
                            keys.push((flag.name, "true".to_owned()));
                        }
                        None => keys.extend(self.keys(inner, false, taken)?),
                    }
                }
                Part::Repeat(inner) => {
                    let mut list = Vec::new();
                    while taken.next_if(|(slot, _)| group_name(inner) == Some(*slot)).is_some() {
                        let inside = self.keys(inner, false, taken)?;
                        let inside = inside.iter().map(|(key, value)| format!("\"{key}\": {value}"));
                        list.push(format!("{{{}}}", inside.collect::<Vec<_>>().join(", ")));
                    }
                    if let (false, Some(name)) = (list.is_empty(), group_name(inner)) {
                        keys.push((name, format!("[{}]", list.join(", "))));
                    }
                }
            }
        }
        Some(keys)
    }

    fn value(&self, kind: &SlotKind, capture: &Located<Capture>) -> Option<String> {
        let from = self.tables.tokens.partition_point(|token| token.start < capture.span.start);
        let to = self.tables.tokens.partition_point(|token| token.end <= capture.span.end);
        let tokens = self.tables.tokens.get(from..to)?;
        let list = |items: Vec<String>| format!("[{}]", items.join(", "));
        Some(match kind {
            SlotKind::Name | SlotKind::Position => string(&text(self.bytes, *tokens.first()?)),
            SlotKind::Names(between) => {
                let names = tokens.iter().filter(|token| token.kind != *between);
                list(names.map(|token| string(&text(self.bytes, *token))).collect())
            }
            SlotKind::Numbers(_) => {
                // A number without a unit takes the unit of the last; here each says its own.
                let unit = self.written(tokens.get(tokens.len() - 1..)?);
                let one = |part: &[Token]| match part {
                    [_] => string(&format!("{} {unit}", self.written(part))),
                    _ => string(&self.written(part)),
                };
                list(tokens.split(|token| token.kind == Kind::Comma).map(one).collect())
            }
            SlotKind::Integers(..) | SlotKind::SomeOf(_) => {
                let parts = tokens.split(|token| token.kind == Kind::Comma);
                list(parts.map(|part| string(&self.written(part))).collect())
            }
            SlotKind::Points => {
                let point = |point: &[Token]| {
                    let numbers = point.iter().filter(|token| token.kind == Kind::Number);
                    list(numbers.map(|token| string(&self.written(std::slice::from_ref(token)))).collect())
                };
                list(tokens.split(|token| token.kind == Kind::Comma).map(point).collect())
            }
            _ => string(&self.written(tokens)),
        })
    }

    /// Tokens with the blanks that they are read with, one at most between two.
    fn written(&self, tokens: &[Token]) -> String {
        let mut out = String::new();
        let mut last: Option<Token> = None;
        for token in tokens {
            if let Some(last) = last {
                let touches = last.end == token.start;
                let close = matches!(token.kind, Kind::Close | Kind::Comma | Kind::Colon)
                    || last.kind == Kind::Open
                    || (touches && (last.kind == Kind::Minus || token.kind == Kind::Open));
                out += if close { "" } else { " " };
            }
            out += &String::from_utf8_lossy(token.of(self.bytes));
            last = Some(*token);
        }
        out
    }
}

fn first_slot(parts: &[Part]) -> Option<&'static str> {
    parts.iter().find_map(|part| match part {
        Part::Slot(name, _) => Some(*name),
        _ => None,
    })
}

/// A string of JSON.
fn string(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}
