//! The values of a JSON form's keys as items of the rig language, and waivers as its comments.

use super::form::{FORM, UNSAID, fixed, group_name, optional, words_of};
use super::map::Map;
use super::tape::{Kind, Node, escape};
use super::turn::{Turner, Wrong};
use crate::fleet::items::Items;
use crate::fleet::miss::{MissKind, any_of, units};
use crate::fleet::number::Dimension;
use crate::fleet::problem::ProblemKind;
use crate::fleet::resolve::{in_quotes, quoted};
use crate::fleet::shape::{Part, SlotKind, take_slot};
use crate::fleet::table::lists::{FUNCTIONS, READ, listed, near};
use crate::fleet::table::{Block, Ready};
use crate::source::Span;
use crate::syntax::{BlockKind, Kind as TokenKind, Known, MAX_DIGITS, Unit, parse};

/// What stands before a text while it is read alone, so that it is the items of a statement.
const LEAD: &str = "x ";

impl Turner<'_> {
    /// Writes the parts of a shape from the keys of an object; false where one can't be written, which is told then.
    pub(super) fn parts(&mut self, parts: &'static [Part], object: u32, word: Span, ready: &'static Ready) -> bool {
        let several = ready.shapes().len() > 1;
        let form = self.member(object, FORM).and_then(|(_, value)| self.tape.node(value));
        let mut sound = true;
        for part in parts {
            if let Some(word) = fixed(part, several) {
                self.put(" ");
                match form {
                    Some(node) => self.put_from(word, node.span),
                    None => self.put(word),
                }
                continue;
            }
            sound &= match part {
                Part::Sign(kind) => {
                    self.put(if *kind == TokenKind::Comma { "," } else { " =" });
                    true
                }
                Part::Slot(name, _) if *name == UNSAID => self.unsaid(part),
                Part::Slot(name, kind) => match self.member(object, name) {
                    Some((_, value)) => self.value(name, kind, value, ready),
                    None => {
                        let message = format!("`{}` needs its `{name}`", ready.entry.word);
                        let mend = format!("it is written {}", super::written(ready));
                        self.wrong.push(Wrong::new(word, message, mend));
                        false
                    }
                },
                Part::Optional(inner) => {
                    let key = optional(inner).and_then(|key| Some((self.member(object, key.name)?.1, key)));
                    match key {
                        None => true,
                        Some((value, key)) if super::turn::is_flag(&key) => self.flag(key.name, value),
                        Some(_) => self.parts(inner, object, word, ready),
                    }
                }
                Part::Repeat(inner) => self.groups(inner, object, ready),
                Part::Word(_) => true,
            };
        }
        sound
    }

    /// `update` or `updates`: the word that the number before it asks for.
    fn unsaid(&mut self, part: &'static Part) -> bool {
        if let Part::Slot(_, SlotKind::OneOf(words)) = part {
            let one = self.turned.text.ends_with(" 1");
            let word = if one { words.first() } else { words.last() };
            self.put(" ");
            self.put(word.copied().unwrap_or_default());
        }
        true
    }

    fn flag(&mut self, name: &str, value: u32) -> bool {
        let Some(node) = self.tape.node(value) else { return false };
        if node.kind != Kind::True {
            let message = format!("`{name}` is {} and can only be `true`", node.kind.words());
            self.wrong.push(Wrong::new(node.span, message, "leave the key out where it is not stated"));
            return false;
        }
        self.put(" ");
        self.put_from(name, node.span);
        true
    }

    fn groups(&mut self, inner: &'static [Part], object: u32, ready: &'static Ready) -> bool {
        let Some(name) = group_name(inner) else { return true };
        let Some((_, list)) = self.member(object, name) else { return true };
        let Some(items) = self.list(name, list) else { return false };
        let mut sound = true;
        for index in items {
            let Some(node) = self.tape.node(index) else { continue };
            if node.kind != Kind::Object {
                let message = format!("`{name}` is a list of objects, and {} stands in it", node.kind.words());
                self.wrong.push(Wrong::new(node.span, message, format!("it is written {}", super::written(ready))));
                sound = false;
                continue;
            }
            sound &= self.parts(inner, index, Span::new(node.span.start, node.span.start + 1), ready);
            let known = |part: &'static Part| match part {
                Part::Slot(name, _) => Some(*name),
                Part::Repeat(inside) => group_name(inside),
                _ => None,
            };
            let known: Vec<&str> = inner.iter().filter_map(known).collect();
            self.unknown_keys(index, &known, &format!("`{name}`"));
        }
        sound
    }

    /// The values of a list that is not empty.
    fn list(&mut self, name: &str, index: u32) -> Option<Vec<u32>> {
        let node = self.tape.node(index)?;
        let items: Vec<u32> = if node.kind == Kind::Array { self.tape.inside(index).collect() } else { Vec::new() };
        if items.is_empty() {
            let what = if node.kind == Kind::Array { "an empty list" } else { node.kind.words() };
            let message = format!("`{name}` is {what} and should be a list of at least one");
            self.wrong.push(Wrong::new(node.span, message, "put what belongs in it in `[ ]`"));
            return None;
        }
        Some(items)
    }

    /// Writes the value of a slot.
    fn value(&mut self, name: &str, kind: &'static SlotKind, index: u32, ready: &'static Ready) -> bool {
        match kind {
            SlotKind::Names(between) => {
                let between = if *between == TokenKind::Plus { " +" } else { "," };
                self.each(name, index, between, |turner, item| turner.name(name, item, ready))
            }
            SlotKind::SomeOf(words) => self.each(name, index, ",", |turner, item| turner.one_of(name, words, item)),
            SlotKind::Integers(low, high) => {
                let kind = SlotKind::IntegerRange(*low, *high);
                self.each(name, index, ",", |turner, item| turner.exact(name, &kind, item))
            }
            SlotKind::Numbers(dimension) => self.numbers(name, index, *dimension),
            SlotKind::Points => self.each(name, index, ",", |turner, item| turner.point(name, item)),
            SlotKind::Name | SlotKind::Position => self.name(name, index, ready),
            SlotKind::OneOf(words) => self.one_of(name, words, index),
            _ => self.exact(name, kind, index),
        }
    }

    /// A list of numbers, each with its unit; where all have the same, only the last says it, as pilots write.
    fn numbers(&mut self, name: &str, index: u32, dimension: Dimension) -> bool {
        let unit =
            |text: &str| text.trim_end().trim_start_matches(|c: char| !(c.is_alphabetic() || c == '%')).to_owned();
        let nodes: Vec<Node> = self.tape.inside(index).filter_map(|item| self.tape.node(item)).collect();
        let units: Vec<String> = nodes.iter().map(|node| unit(&self.decoded(*node).0)).collect();
        let alike = units.iter().all(|unit| Some(unit) == units.last());
        let last = nodes.last().map(|node| node.span);
        let kind = SlotKind::Number(dimension, None);
        self.each(name, index, ",", |turner, item| {
            let is_last = turner.tape.node(item).map(|node| node.span) == last;
            turner.exact_up_to(name, &kind, item, |text| match units.first() {
                Some(unit) if alike && !is_last => text.trim_end().trim_end_matches(unit.as_str()).trim_end().len(),
                _ => text.len(),
            })
        })
    }

    fn each(&mut self, name: &str, list: u32, between: &str, item: impl Fn(&mut Self, u32) -> bool) -> bool {
        let Some(items) = self.list(name, list) else { return false };
        let mut sound = true;
        for (at, index) in items.into_iter().enumerate() {
            if at > 0 {
                self.put(between);
            }
            sound &= item(self, index);
        }
        sound
    }

    pub(super) fn text_node(&mut self, name: &str, index: u32) -> Option<Node> {
        let node = self.tape.node(index)?;
        if node.kind != Kind::Text {
            let message = format!("`{name}` is {} and should be a text", node.kind.words());
            self.wrong.push(Wrong::new(node.span, message, "put it in quotes"));
            return None;
        }
        Some(node)
    }

    fn name(&mut self, name: &str, index: u32, ready: &'static Ready) -> bool {
        let Some(node) = self.text_node(name, index) else { return false };
        let text = self.decoded(node).0;
        let digits =
            name_is_position(name, ready) && !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
        // Every text is in quotes in JSON, so that what a surface moves may be anything there but a slip of the pen.
        let functions = match (ready.entry.block, name) {
            (Block::Surfaces, "functions") => Some(FUNCTIONS),
            (Block::Controller, "function") => Some(READ),
            _ => None,
        };
        let own = functions.is_some_and(|list| listed(list, text.as_bytes()).is_none() && near(list, &text).is_none());
        let mistaken = own || Unit::find(text.as_bytes()).is_some() || words_of(ready).contains(&text.as_str());
        let written = match text.as_str() {
            _ if mistaken => in_quotes(&text),
            _ if digits && text.len() <= MAX_DIGITS => text,
            _ => quoted(&text),
        };
        self.put(" ");
        self.put_from(&written, node.span);
        true
    }

    fn one_of(&mut self, name: &str, words: &[&'static str], index: u32) -> bool {
        let Some(node) = self.text_node(name, index) else { return false };
        let text = self.decoded(node).0;
        if listed(words, text.as_bytes()).is_none() {
            let near = near(words, &text).map(|near| format!("; the nearest is `{near}`"));
            let message = format!("`{text}` can't be the `{name}` here{}", near.unwrap_or_default());
            let wrong = Wrong::new(node.span, message, format!("write {}", any_of(words)));
            self.wrong.push(Wrong { kind: ProblemKind::UnknownWord, ..wrong });
            return false;
        }
        self.put(" ");
        self.put_from(&text, node.span);
        true
    }

    /// Writes a text as it stands, once it is seen to be one item of this kind and nothing else.
    fn exact(&mut self, name: &str, kind: &SlotKind, index: u32) -> bool {
        self.exact_up_to(name, kind, index, str::len)
    }

    /// The same up to the length that is kept of it.
    fn exact_up_to(&mut self, name: &str, kind: &SlotKind, index: u32, kept: impl Fn(&str) -> usize) -> bool {
        let Some(node) = self.tape.node(index) else { return false };
        let number = matches!(kind, SlotKind::Integer(..) | SlotKind::IntegerRange(..)) && node.kind == Kind::Number;
        let (text, local) = if number {
            let text = String::from_utf8_lossy(node.span.of(self.bytes)).into_owned();
            let mut local = Map::default();
            local.push(Span::new(0, text.len() as u32), node.span, true);
            (text, local)
        } else {
            let Some(node) = self.text_node(name, index) else { return false };
            self.decoded(node)
        };
        if let Err(wrong) = self.check(name, kind, &text) {
            let json = if text.is_empty() { node.span } else { local.place(wrong.json) };
            self.wrong.push(Wrong { json, ..wrong });
            return false;
        }
        self.put(" ");
        let start = self.turned.text.len() as u32;
        let kept = kept(&text);
        self.put(text.get(..kept).unwrap_or_default());
        self.turned.map.append(&local, start, kept as u32);
        true
    }

    /// Holds a text against a kind of item; the place of what is wrong is in the text.
    fn check(&mut self, name: &str, kind: &SlotKind, text: &str) -> Result<(), Wrong> {
        if let Some((at, control)) = text.char_indices().find(|(_, character)| character.is_control()) {
            let span = Span::new(at as u32, (at + control.len_utf8()) as u32);
            return Err(Wrong::new(span, "a control character stands in this text", "take it out"));
        }
        let lead = LEAD.len() as u32;
        let whole = format!("{LEAD}{text}");
        let bytes = whole.as_bytes();
        let back = |span: Span| Span::new(span.start.saturating_sub(lead), span.end.saturating_sub(lead));
        parse(bytes, |_: BlockKind, _: &[u8], _: bool| Known::No, &mut self.scratch);
        if let Some(problem) = self.scratch.problems.first() {
            let (kind, message, mend) = crate::fleet::read::trouble_in_words(bytes, problem);
            return Err(Wrong { kind, ..Wrong::new(back(problem.span), message, mend) });
        }
        if let Some(comment) = self.scratch.comments.first() {
            return Err(Wrong::new(back(comment.span), "`#` begins a comment, which has no place here", "take it out"));
        }
        let mut items = Items::new(bytes, self.scratch.tokens.get(1..).unwrap_or_default(), lead);
        let taken = take_slot(kind, &mut items);
        let miss = match taken {
            Ok(_) if items.peek().is_none() => return Ok(()),
            Ok(_) => items.miss::<()>("the end of the text").err(),
            Err(miss) => Some(miss),
        };
        let Some(miss) = miss else { return Ok(()) };
        let span = items.span_at(miss.at);
        let found = match String::from_utf8_lossy(span.of(bytes)) {
            text if text.is_empty() => "the end of the text".to_owned(),
            text => format!("`{text}`"),
        };
        let is = format!("in `{name}`");
        Err(match miss.kind {
            MissKind::Expected(expected) => {
                Wrong::new(back(span), format!("expected {expected} {is}, found {found}"), format!("give {expected}"))
            }
            MissKind::Range(allowed) => Wrong {
                kind: ProblemKind::Range,
                ..Wrong::new(
                    back(span),
                    format!("{found} can't be {is}: it takes {allowed}"),
                    format!("give {allowed}"),
                )
            },
            MissKind::TooLarge(what, limit) => Wrong {
                kind: ProblemKind::TooLarge,
                ..Wrong::new(
                    back(span),
                    format!("more than {limit} {what}: this program reads no more"),
                    "split it into several, such as named conditions or channels",
                )
            },
            MissKind::Unit(dimension) => Wrong {
                kind: ProblemKind::Unit,
                ..Wrong::new(
                    back(span),
                    format!("{found} {is} needs a unit after its number: {} is accepted", units(dimension)),
                    format!("write the number with {}", units(dimension)),
                )
            },
        })
    }

    /// A point of a curve: a pair of numbers in percent.
    fn point(&mut self, name: &str, index: u32) -> bool {
        let Some(node) = self.tape.node(index) else { return false };
        let pair: Vec<Node> = match node.kind {
            Kind::Array => self.tape.inside(index).filter_map(|item| self.tape.node(item)).collect(),
            _ => Vec::new(),
        };
        let written: Vec<String> = pair
            .iter()
            .map(|node| match node.kind {
                Kind::Text => self.decoded(*node).0,
                Kind::Number => String::from_utf8_lossy(node.span.of(self.bytes)).into_owned(),
                _ => String::new(),
            })
            .collect();
        let text = written.join(":");
        let alone = written.iter().all(|text| !text.contains([',', ':']));
        if written.len() != 2 || !alone || self.check(name, &SlotKind::Points, &text).is_err() {
            let message =
                format!("this is no point of `{name}`: two numbers in percent, such as [\"-100\", \"-95.5\"]");
            self.wrong.push(Wrong::new(node.span, message, "write each point as a list of its two numbers"));
            return false;
        }
        self.put(" ");
        for (at, (text, node)) in written.iter().zip(&pair).enumerate() {
            if at > 0 {
                self.put(":");
            }
            self.put_from(text, node.span);
        }
        true
    }

    /// The text of a string, and where each part of it stands.
    pub(super) fn decoded(&self, node: Node) -> (String, Map) {
        let (mut text, mut map) = (String::new(), Map::default());
        let (mut at, end) = (node.span.start + 1, node.span.end.saturating_sub(1));
        while at < end {
            let rest = Span::new(at, end).of(self.bytes);
            let plain = memchr::memchr(b'\\', rest).unwrap_or(rest.len());
            let from = text.len() as u32;
            if plain > 0 {
                text += &String::from_utf8_lossy(rest.get(..plain).unwrap_or_default());
                let json = Span::new(at, at + plain as u32);
                map.push(Span::new(from, text.len() as u32), json, true);
                at = json.end;
                continue;
            }
            // What is on the tape has no other escapes.
            let Ok((behind, character)) = escape(rest) else { break };
            text.push(character);
            let json = Span::new(at, end - behind.len() as u32);
            map.push(Span::new(from, text.len() as u32), json, false);
            at = json.end;
        }
        (text, map)
    }
}

/// Whether a slot takes a position, which may be written as a number.
fn name_is_position(name: &str, ready: &'static Ready) -> bool {
    fn holds(parts: &'static [Part], name: &str) -> bool {
        parts.iter().any(|part| match part {
            Part::Slot(slot, SlotKind::Position) => *slot == name,
            Part::Optional(inner) | Part::Repeat(inner) => holds(inner, name),
            _ => false,
        })
    }
    ready.shapes().iter().any(|shape| holds(shape.parts(), name))
}
