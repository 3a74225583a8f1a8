//! A JSON text to the rig text that says the same, with a map of places.
//!
//! The rig text is then read as any other, so that the JSON form has no meaning of its own. What is wrong in the JSON
//! form itself is told here; its place is a blank of the rig text that the map leads back to the JSON text.

use super::form::{BODY, FORM, Key, STATEMENT, Takes, WAIVE};
use super::map::Map;
use super::tape::{Kind, Node, Tape};
use crate::fleet::problem::{Problem, ProblemKind, nearest};
use crate::fleet::table::{self, Block, Ready};
use crate::source::{FileId, Place, Span};
use crate::syntax::{MAX_PROBLEMS, Tables};

/// The rig text that was made of a JSON text.
#[derive(Debug, Default)]
pub struct Turned {
    /// The rig text.
    pub text: String,
    /// Where its parts come from.
    pub map: Map,
    /// What is wrong in the JSON form; the places are in the rig text.
    pub problems: Vec<Problem>,
    /// Whether no statement of it could be read.
    pub unread: bool,
    /// Where the words of statements stand that were told to be wrong.
    broken: Vec<u32>,
}

impl Turned {
    /// Where the words of the statements stand that were told to be wrong, so that nothing more is said about them.
    pub fn broken(&self) -> &[u32] {
        &self.broken
    }
}

/// Something wrong, before it has its blank in the rig text.
pub(super) struct Wrong {
    pub(super) kind: ProblemKind,
    pub(super) json: Span,
    pub(super) message: String,
    pub(super) mend: String,
}

impl Wrong {
    pub(super) fn new(json: Span, message: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { kind: ProblemKind::Syntax, json, message: message.into(), mend: mend.into() }
    }
}

/// Turns a JSON text into rig text. Never fails: what can't be turned is among the problems.
pub fn to_rig(file: FileId, bytes: &[u8]) -> Turned {
    let (tape, trouble) = match Tape::read(file, bytes) {
        Ok(tape) => (tape, None),
        Err(problem) => (Tape::default(), Some(problem)),
    };
    let mut turner = Turner {
        file,
        bytes,
        tape,
        turned: Turned::default(),
        wrong: Vec::new(),
        scratch: Tables::default(),
        depth: 0,
    };
    match trouble {
        Some(problem) => {
            let Problem { kind, place, message, mend, .. } = problem;
            turner.wrong.push(Wrong { kind, json: place.span, message, mend });
            turner.turned.unread = true;
            turner.put("rig 1");
        }
        None => turner.top(),
    }
    turner.blame();
    if !turner.turned.text.ends_with('\n') {
        turner.put("\n");
    }
    turner.turned
}

pub(super) struct Turner<'t> {
    pub(super) file: FileId,
    pub(super) bytes: &'t [u8],
    pub(super) tape: Tape,
    pub(super) turned: Turned,
    /// What is wrong in the statement at hand.
    pub(super) wrong: Vec<Wrong>,
    pub(super) scratch: Tables,
    pub(super) depth: usize,
}

const EXAMPLE: &str = "write {\"rig\": 1, \"statements\": [ … ]}";

impl Turner<'_> {
    fn top(&mut self) {
        let Some(whole) = self.tape.node(0) else { return };
        if whole.kind != Kind::Object {
            let message = format!("the file is {} and should be an object", whole.kind.words());
            self.wrong.push(Wrong::new(opening(whole), message, EXAMPLE));
            self.turned.unread = true;
            return self.put("rig 1");
        }
        if let Some((_, waivers)) = self.member(0, WAIVE) {
            self.waivers(waivers);
        }
        let version = self.member(0, "rig").map(|(_, value)| value);
        match version.and_then(|index| self.tape.node(index)) {
            Some(node) if matches!(node.kind, Kind::Number | Kind::Text) && self.version(node).is_some() => {
                let number = self.version(node).unwrap_or_default();
                self.put_from("rig", node.span);
                self.put(" ");
                self.put_from(&number, node.span);
            }
            found => {
                let (json, message) = match found {
                    Some(node) => (node.span, "`rig` is the version of the language, a whole number"),
                    None => (opening(whole), "the version of the language is not stated: there is no `rig`"),
                };
                self.wrong.push(Wrong { kind: ProblemKind::Version, ..Wrong::new(json, message, EXAMPLE) });
                self.put("rig 1");
            }
        }
        self.unknown_keys(0, &["rig", "statements", WAIVE], "the file");
        self.twice(0, &["rig", "statements", WAIVE]);
        self.blame();
        self.put("\n");
        match self.member(0, "statements").map(|(_, value)| value) {
            Some(list) if self.tape.node(list).is_some_and(|node| node.kind == Kind::Array) => {
                self.statements(list, Block::Top);
            }
            other => {
                let node = other.and_then(|index| self.tape.node(index));
                let message = match node {
                    Some(node) => format!("`statements` is {} and should be a list", node.kind.words()),
                    None => "there is no list `statements`".to_owned(),
                };
                self.wrong.push(Wrong::new(node.map_or(opening(whole), opening), message, EXAMPLE));
                self.turned.unread = true;
            }
        }
    }

    /// The digits of the language's version.
    fn version(&self, node: Node) -> Option<String> {
        let text = match node.kind {
            Kind::Text => self.decoded(node).0,
            _ => String::from_utf8_lossy(node.span.of(self.bytes)).into_owned(),
        };
        let plain = !text.is_empty() && text.len() <= 7 && text.bytes().all(|byte| byte.is_ascii_digit());
        plain.then_some(text)
    }

    fn statements(&mut self, list: u32, block: Block) {
        let indexes: Vec<u32> = self.tape.inside(list).collect();
        for index in indexes {
            if block == Block::Top {
                self.put("\n");
            }
            self.statement(index, block);
        }
    }

    fn statement(&mut self, index: u32, block: Block) {
        let Some(node) = self.tape.node(index) else { return };
        if node.kind != Kind::Object {
            let message =
                format!("{} stands where a statement should: an object with its `statement`", node.kind.words());
            return self.lost("x", node.span, Wrong::new(opening(node), message, "write {\"statement\": …}"));
        }
        if let Some((_, waivers)) = self.member(index, WAIVE) {
            self.waivers(waivers);
        }
        let Some((_, word)) = self.member(index, STATEMENT) else {
            let keys = self.tape.members(index).count();
            if keys == 1 && self.member(index, WAIVE).is_some() {
                // Waivers at the end of a block: no statement follows them.
                if !self.wrong.is_empty() {
                    self.blame();
                    self.put("\n");
                }
                return;
            }
            let wrong =
                Wrong::new(opening(node), "this statement has no `statement`", "add \"statement\" with its word");
            return self.lost("x", opening(node), wrong);
        };
        let Some(node) = self.tape.node(word) else { return };
        let text = if node.kind == Kind::Text { self.decoded(node).0 } else { String::new() };
        let Some(ready) = table::find(block, text.as_bytes()) else {
            if super::is_word(&text) {
                // The reader of the rig text says what is wrong with it.
                self.indent();
                self.put_from(&text, node.span);
                self.blame();
                return self.put("\n");
            }
            let shown = String::from_utf8_lossy(node.span.of(self.bytes)).into_owned();
            let near = nearest(&text, table::block(block).iter().map(|ready| ready.entry.word));
            let mend = near.map_or("write a statement's word".to_owned(), |near| format!("write \"{near}\""));
            let wrong = Wrong::new(node.span, format!("`{shown}` is no statement of {}", block.name()), mend);
            return self.lost("x", node.span, Wrong { kind: ProblemKind::UnknownStatement, ..wrong });
        };
        self.known(index, node, ready);
    }

    /// A statement of the table.
    fn known(&mut self, index: u32, word: Node, ready: &'static Ready) {
        let form = match self.form(index, word, ready) {
            Ok(form) => form,
            Err(wrong) => return self.lost(ready.entry.word, word.span, wrong),
        };
        let (text, pieces, before) = (self.turned.text.len(), self.turned.map.len(), self.wrong.len());
        self.indent();
        let start = self.turned.text.len() as u32;
        self.put_from(ready.entry.word, word.span);
        let whole = self.parts(form.parts, index, word.span, ready);
        let known: Vec<&str> = [STATEMENT, WAIVE]
            .into_iter()
            .chain(form.form.as_ref().map(|_| FORM))
            .chain(form.body.then_some(BODY))
            .collect();
        let known: Vec<&str> = known.into_iter().chain(form.keys.iter().map(|key| key.name)).collect();
        let doubled = self.twice(index, &known);
        if !whole || doubled {
            self.turned.text.truncate(text);
            self.turned.map.truncate(pieces);
            debug_assert!(self.wrong.len() > before, "a statement is lost and nothing is said");
            self.unknown_keys(index, &known, &format!("`{}`", ready.entry.word));
            self.indent();
            self.put_from(ready.entry.word, word.span);
            self.turned.broken.push(start);
            self.blame();
            return self.put("\n");
        }
        // A key too much hides nothing of what is understood.
        self.unknown_keys(index, &known, &format!("`{}`", ready.entry.word));
        self.blame();
        if let (true, Some((_, body)), Some(opens)) = (form.body, self.member(index, BODY), ready.entry.opens) {
            let span = self.tape.node(body).map(|node| node.span).unwrap_or_default();
            self.put(" ");
            self.put_from("{", Span::new(span.start, span.start + 1));
            self.put("\n");
            self.depth += 1;
            self.statements(body, opens);
            self.depth -= 1;
            self.indent();
            self.put_from("}", Span::new(span.end.saturating_sub(1), span.end));
        }
        self.put("\n");
    }

    /// The value of a key; the first one where it stands twice.
    pub(super) fn member(&self, index: u32, name: &str) -> Option<(Node, u32)> {
        let raw = |key: &Node| Span::new(key.span.start + 1, key.span.end - 1).of(self.bytes);
        // A key that is written with escapes is decoded; hardly any is.
        let is =
            |key: &Node| raw(key) == name.as_bytes() || (raw(key).contains(&b'\\') && self.decoded(*key).0 == name);
        self.tape.members(index).find(|(key, _)| is(key))
    }

    pub(super) fn unknown_keys(&mut self, index: u32, known: &[&str], of: &str) {
        let keys: Vec<Node> = self.tape.members(index).map(|(key, _)| key).collect();
        for key in keys {
            let text = self.decoded(key).0;
            if known.contains(&text.as_str()) || self.wrong.len() > MAX_PROBLEMS {
                continue;
            }
            let near = nearest(&text, known.iter().copied()).map(|near| format!("; the nearest is `{near}`"));
            let message = format!("`{text}` is no key of {of} here{}", near.unwrap_or_default());
            let keys: Vec<String> = known.iter().map(|key| format!("`{key}`")).collect();
            self.wrong.push(Wrong::new(key.span, message, format!("the keys are {}", keys.join(", "))));
        }
    }

    pub(super) fn twice(&mut self, index: u32, known: &[&str]) -> bool {
        let mut found = false;
        for name in known {
            let is = |(key, _): &(Node, u32)| self.decoded(*key).0 == *name;
            let second = self.tape.members(index).filter(is).nth(1);
            if let Some((key, _)) = second {
                found = true;
                self.wrong.push(Wrong::new(key.span, format!("the key `{name}` stands twice"), "keep one of the two"));
            }
        }
        found
    }

    /// A statement that can't be written: its word stays, so that it is known to be missing.
    fn lost(&mut self, word: &str, json: Span, wrong: Wrong) {
        self.wrong.push(wrong);
        self.indent();
        self.turned.broken.push(self.turned.text.len() as u32);
        self.put_from(word, json);
        self.blame();
        self.put("\n");
    }

    /// Gives what is wrong its places: one blank each, where the rig text is now.
    pub(super) fn blame(&mut self) {
        for wrong in std::mem::take(&mut self.wrong) {
            let known = self.turned.problems.len();
            if known > MAX_PROBLEMS {
                return;
            }
            let start = self.turned.text.len() as u32;
            self.put_from(" ", wrong.json);
            let place = Place::new(self.file, Span::new(start, start + 1));
            let problem = if known == MAX_PROBLEMS {
                let message = format!("more than {MAX_PROBLEMS} problems in this file; the rest is not listed");
                Problem::new(ProblemKind::TooLarge, place, message, "mend the first ones and inspect again")
            } else {
                Problem::new(wrong.kind, place, wrong.message, wrong.mend)
            };
            self.turned.problems.push(problem);
        }
    }

    pub(super) fn indent(&mut self) {
        for _ in 0..self.depth {
            self.put("  ");
        }
    }

    pub(super) fn put(&mut self, text: &str) {
        self.turned.text += text;
    }

    /// Writes what was made of a stretch of the JSON text as a whole.
    pub(super) fn put_from(&mut self, text: &str, json: Span) {
        let start = self.turned.text.len() as u32;
        self.turned.text += text;
        self.turned.map.push(Span::new(start, self.turned.text.len() as u32), json, false);
    }
}

/// Whether a key of this form takes something else than its slot alone.
pub(super) fn is_flag(key: &Key) -> bool {
    matches!(key.takes, Takes::Flag)
}

/// The first byte of an object or list, the whole of anything else.
fn opening(node: Node) -> Span {
    match node.kind {
        Kind::Object | Kind::Array => Span::new(node.span.start, node.span.start + 1),
        _ => node.span,
    }
}
