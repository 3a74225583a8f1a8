//! Tables of one text to its typed blocks.

mod craft;
mod handset;
mod model;
mod troubles;

pub(super) use model::unknown_position;
pub(super) use troubles::trouble_in_words;

use super::condition::Name;
use super::craft::Craft;
use super::equipment::{Body, Handset, Head, Link, Lost, Site};
use super::items::{Items, Miss, MissKind, units};
use super::model::Model;
use super::number::Decimal;
use super::problem::{Problem, ProblemKind, nearest};
use super::shape::{Capture, Captures};
use super::table::{self, Block, Ready};
use crate::source::{FileId, Located, Place, Span};
use crate::syntax::{Kind, NONE, Statement, Tables};

/// The newest version of the language that this program reads.
pub const VERSION: i64 = 1;

/// The typed blocks of one file, with what could not be understood in it.
#[derive(Debug, Default)]
pub struct FileFleet {
    /// Its places.
    pub sites: Vec<Site>,
    /// Its links.
    pub links: Vec<Link>,
    /// Its handsets.
    pub handsets: Vec<Handset>,
    /// Its aircraft.
    pub crafts: Vec<Craft>,
    /// Its models.
    pub models: Vec<Model>,
    /// What could not be understood.
    pub problems: Vec<Problem>,
    /// Nothing of it could be read: whatever is not found elsewhere may stand there.
    pub unread: bool,
}

/// Reads the tables of one text, made with [`table::vocabulary`].
pub fn read(file: FileId, bytes: &[u8], tables: &Tables) -> FileFleet {
    let mut reader =
        Reader { file, bytes, tables, captures: Captures::default(), problems: Vec::new(), lost: Vec::new() };
    reader.troubles();
    if tables.problems.iter().any(|problem| {
        use crate::syntax::Trouble::{NotUtf8, TooLong};
        matches!(problem.trouble, NotUtf8 | TooLong)
    }) {
        return FileFleet { problems: reader.problems, unread: true, ..FileFleet::default() };
    }
    let mut fleet = FileFleet::default();
    reader.version();
    reader.block(Block::Top, None, Span::default(), |reader, statement| match statement.word {
        "place" => fleet.sites.push(reader.site(statement)),
        "link" => fleet.links.push(reader.link(statement)),
        "handset" => fleet.handsets.push(reader.handset(statement)),
        "craft" => fleet.crafts.push(reader.craft(statement)),
        "model" => fleet.models.push(reader.model(statement)),
        _ => {}
    });
    fleet.problems = reader.problems;
    attribute(&mut fleet, &reader.lost);
    fleet
}

/// Tells each block which of its statements were lost.
fn attribute(fleet: &mut FileFleet, lost: &[Lost]) {
    if lost.is_empty() {
        return;
    }
    let heads = fleet.crafts.iter_mut().map(|craft| &mut craft.head);
    let heads = heads.chain(fleet.models.iter_mut().map(|model| &mut model.head));
    let heads = heads.chain(fleet.sites.iter_mut().map(|site| &mut site.head));
    let heads = heads.chain(fleet.links.iter_mut().map(|link| &mut link.head));
    for head in heads.chain(fleet.handsets.iter_mut().map(|handset| &mut handset.head)) {
        let whole = head.body.whole;
        head.lost = lost.iter().copied().filter(|lost| whole.holds(lost.span)).collect();
    }
}

/// A statement whose shape fits; its captures are the reader's.
#[derive(Clone, Copy)]
struct Found {
    word: &'static str,
    index: u32,
    header: Span,
    body: Option<Body>,
}

struct Reader<'t> {
    file: FileId,
    bytes: &'t [u8],
    tables: &'t Tables,
    captures: Captures,
    problems: Vec<Problem>,
    /// Statements that could not be understood, so that what they say is not known.
    lost: Vec<Lost>,
}

impl<'t> Reader<'t> {
    fn place(&self, span: Span) -> Place {
        Place::new(self.file, span)
    }

    fn problem(&mut self, kind: ProblemKind, span: Span, message: impl Into<String>, mend: impl Into<String>) {
        self.problems.push(Problem::new(kind, self.place(span), message, mend));
    }

    fn text(&self, span: Span) -> String {
        String::from_utf8_lossy(span.of(self.bytes)).into_owned()
    }

    fn statement(&self, index: u32) -> Option<&'t Statement> {
        self.tables.statements.get(index as usize)
    }

    fn version(&mut self) {
        let first = self.tables.statements.first();
        let word = first.map(|statement| self.tables.word(statement).of(self.bytes));
        if word != Some(b"rig") {
            let span = first.map_or(Span::new(0, 0), |statement| self.tables.header(statement));
            let mut problem = Problem::new(
                ProblemKind::Version,
                self.place(span),
                "the file does not begin with `rig 1`, so it is not known which version of the language it is in",
                "write `rig 1` as the first line",
            );
            if first.is_some() {
                // At the very start, above a comment on the file; right above a statement with a blank line between.
                let at = if self.bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
                let start = Span::new(at, at);
                let text = if at == span.start { "rig 1\n\n" } else { "rig 1\n" };
                problem = problem.repair("write `rig 1` first", start, text);
            }
            return self.problems.push(problem);
        }
        let Some(statement) = first else { return };
        let number = self.tables.items(statement).first().copied();
        let value = number.and_then(|token| Decimal::parse(token.of(self.bytes))?.to_whole());
        if let (Some(token), Some(value)) = (number, value)
            && value > VERSION
        {
            let message =
                format!("the file is in version {value} of the language; this program reads version {VERSION}");
            self.problem(
                ProblemKind::Version,
                token.span(),
                message,
                "use a newer walkaround, or write the file in version 1",
            );
        }
    }

    /// Reads the statements of a block and hands each whose shape fits to `handle`.
    fn block(&mut self, block: Block, parent: Option<u32>, header: Span, mut handle: impl FnMut(&mut Self, Found)) {
        let mut seen: Vec<(&'static str, Span)> = Vec::new();
        let tables = self.tables;
        for index in tables.body(parent) {
            let Some(statement) = self.statement(index) else { continue };
            if statement.broken {
                self.lose(block, index);
                // Something is wrong in its own words; that was said. What it would have been counts as present.
                if let Some(ready) = table::find(block, tables.word(statement).of(self.bytes)) {
                    seen.push((ready.entry.word, tables.header(statement)));
                }
                continue;
            }
            let word = tables.word(statement);
            let Some(ready) = table::find(block, word.of(self.bytes)) else {
                self.lose(block, index);
                self.unknown_statement(block, statement);
                continue;
            };
            let header = tables.header(statement);
            if let Some(&(_, first)) = seen.iter().find(|(word, _)| *word == ready.entry.word)
                && !ready.entry.many
            {
                let message = format!("`{}` stands twice in {}", ready.entry.word, block.name());
                let problem =
                    Problem::new(ProblemKind::RepeatedStatement, self.place(header), message, "keep one of the two");
                self.problems.push(problem.other(self.place(first), "the first one"));
                continue;
            }
            seen.push((ready.entry.word, header));
            if self.take(ready, statement) {
                let body = statement.has_body.then(|| self.body(index, statement));
                handle(self, Found { word: ready.entry.word, index, header, body });
            } else {
                self.lose(block, index);
            }
        }
        for ready in table::block(block).iter().filter(|ready| ready.entry.required && block != Block::Top) {
            if !seen.iter().any(|(word, _)| *word == ready.entry.word) {
                let message = format!("{} needs a line `{}`", block.name(), ready.entry.word);
                let shape = ready.entry.shapes.first().copied().unwrap_or_default();
                let mend = format!("add `{} {}`: {}", ready.entry.word, table::plain(shape), ready.entry.help);
                self.problem(ProblemKind::MissingStatement, header, message, mend);
            }
        }
    }

    fn lose(&mut self, block: Block, index: u32) {
        let Some(statement) = self.statement(index) else { return };
        let text = self.text(self.tables.word(statement).span());
        let word = nearest(&text, table::block(block).iter().map(|ready| ready.entry.word)).unwrap_or_default();
        self.lost.push(Lost { span: self.tables.whole(index), word });
    }

    /// Holds the shapes of a declaration against a statement; says what does not fit.
    fn take(&mut self, ready: &'static Ready, statement: &Statement) -> bool {
        let word = self.tables.word(statement);
        let items = Items::new(self.bytes, self.tables.items(statement), word.end);
        let mut worst: Option<Miss> = None;
        let mut other_form = false;
        for shape in &ready.shapes {
            if shape.has_body() != statement.has_body {
                other_form = true;
                continue;
            }
            match shape.take(&mut items.clone(), &mut self.captures) {
                Ok(()) => return true,
                Err(miss) => {
                    // The miss that lies furthest on says most; at one place a wrong number says more than a word.
                    let precise = !matches!(miss.kind, MissKind::Expected(_));
                    if worst.as_ref().is_none_or(|known| (miss.at, precise) > (known.at, false)) {
                        worst = Some(miss);
                    }
                }
            }
        }
        match worst {
            Some(miss) => self.misfit(ready, statement, &items, miss),
            None if other_form => {
                let header = self.tables.header(statement);
                let (message, mend) = if statement.has_body {
                    (format!("`{}` has no block in braces here", ready.entry.word), "take the braces out")
                } else {
                    (format!("`{}` needs its block in braces here", ready.entry.word), "add `{` and `}` with its lines")
                };
                self.problem(
                    ProblemKind::Syntax,
                    header,
                    message,
                    format!("{mend}; it is written {}", table::forms(ready.entry)),
                );
            }
            None => {}
        }
        false
    }

    fn misfit(&mut self, ready: &Ready, statement: &Statement, items: &Items<'_>, miss: Miss) {
        let mut span = items.span_at(miss.at);
        let here = if span.start == span.end {
            // Something is missing at the end: the last word shows the place.
            span = Span::new(self.tables.header(statement).start, span.end);
            "the end of the line".to_owned()
        } else {
            format!("`{}`", self.text(span))
        };
        let written = format!("it is written {}", table::forms(ready.entry));
        match miss.kind {
            MissKind::Expected(expected) => {
                let message = format!("expected {expected} in `{}`, found {here}", ready.entry.word);
                self.problem(ProblemKind::Syntax, span, message, written);
            }
            MissKind::Range(allowed) => {
                let message = format!("{here} can't be here: `{}` takes {allowed}", ready.entry.word);
                self.problem(ProblemKind::Range, span, message, format!("give {allowed}"));
            }
            MissKind::TooLarge(what, limit) => {
                let message = format!("more than {limit} {what}: this program reads no more");
                self.problem(ProblemKind::TooLarge, span, message, "split it into named conditions or channels");
            }
            MissKind::Unit(dimension) => {
                let token = self.tables.items(statement).get(miss.at);
                let wrong = token.is_some_and(|token| matches!(token.kind, Kind::Unit(_)));
                let accepted = units(dimension);
                let message = if wrong {
                    format!("{here} is no unit for this number in `{}`: {accepted} is accepted", ready.entry.word)
                } else {
                    format!("{here} misses its unit in `{}`: {accepted} is accepted", ready.entry.word)
                };
                let place = self.place(span);
                let mut problem =
                    Problem::new(ProblemKind::Unit, place, message, format!("write the number with {accepted}"));
                let number = self.tables.items(statement).get(miss.at - usize::from(wrong && miss.at > 0));
                let number = number.map_or(0.0, |token| first_number(token.of(self.bytes)));
                for unit in dimension.likely_units(ready.entry.word, number) {
                    let text = if wrong { unit.text().to_owned() } else { format!(" {}", unit.text()) };
                    let at = if wrong { span } else { Span::new(span.end, span.end) };
                    problem = problem.repair(format!("write {}", unit.text()), at, text);
                }
                self.problems.push(problem);
            }
        }
    }

    /// Where a block stands, and where a statement can be added to it.
    fn body(&self, index: u32, statement: &Statement) -> Body {
        let whole = self.tables.whole(index);
        let start = self.tables.word(statement).start as usize;
        let line_start = memchr::memrchr(b'\n', self.bytes.get(..start).unwrap_or_default()).map_or(0, |at| at + 1);
        let indent = self.bytes.get(line_start..start).unwrap_or_default();
        let indent = indent.iter().take_while(|byte| matches!(byte, b' ' | b'\t')).count() as u16;
        let close = match self.tables.tokens.get(statement.close as usize) {
            Some(token) if statement.close != NONE => token.start,
            _ => whole.end,
        };
        let before = self.bytes.get(..close as usize).unwrap_or_default();
        let close_line = memchr::memrchr(b'\n', before).map_or(0, |at| at + 1);
        let own_line = before.get(close_line..).unwrap_or_default().iter().all(|byte| matches!(byte, b' ' | b'\t'));
        let insert = if own_line { close_line as u32 } else { close };
        Body { whole, insert, own_line, indent, empty: statement.after == index + 1 }
    }

    fn head(&mut self, found: Found) -> Head {
        let name = self.captures.name("name").unwrap_or_default();
        Head { file: self.file, name, header: found.header, body: found.body.unwrap_or_default(), lost: Vec::new() }
    }

    /// A name where it is used; faults about names that are not defined are found when the fleet is put together.
    fn name(&self, slot: &str) -> Option<Name> {
        self.captures.name(slot)
    }

    fn number(&self, slot: &str) -> Option<Located<Decimal>> {
        self.captures.number(slot)
    }

    fn range(&self, slot: &str) -> Option<Located<(Decimal, Decimal)>> {
        self.captures.range(slot)
    }

    fn small(&self, slot: &str) -> Option<Located<u8>> {
        self.captures.integer(slot).map(|number| Located::new(number.value as u8, number.span))
    }

    fn on_off(&self, slot: &str) -> Option<Located<bool>> {
        self.captures.word(slot).map(|word| Located::new(word.value == "on", word.span))
    }

    fn word<T>(&self, slot: &str, find: fn(&str) -> Option<T>) -> Option<Located<T>> {
        let word = self.captures.word(slot)?;
        Some(Located::new(find(word.value)?, word.span))
    }

    fn names(&mut self, slot: &str) -> Vec<Name> {
        match self.captures.remove(slot) {
            Some(Located { value: Capture::Names(names), .. }) => names,
            _ => Vec::new(),
        }
    }

    fn numbers(&mut self, slot: &str) -> Vec<Located<Decimal>> {
        match self.captures.remove(slot) {
            Some(Located { value: Capture::Numbers(numbers), .. }) => numbers,
            _ => Vec::new(),
        }
    }

    fn integers(&mut self, slot: &str) -> Vec<(i64, i64)> {
        match self.captures.remove(slot) {
            Some(Located { value: Capture::Integers(ranges), .. }) => ranges,
            _ => Vec::new(),
        }
    }

    /// Says that a second thing of one kind has a name that is taken.
    fn name_twice(&mut self, what: &str, name: &Name, first: Span) {
        let message = format!("there are two {what} called \"{}\" here", name.value);
        let place = self.place(name.span);
        let problem = Problem::new(
            ProblemKind::NameTwice,
            place,
            message,
            "give one of them another name, or inspect one folder at a time if they belong to two fleets",
        );
        self.problems.push(problem.other(self.place(first), "the first one"));
    }
}

/// The number of a token, or the first of its range.
fn first_number(token: &[u8]) -> f64 {
    let end = memchr::memmem::find(token, b"..").unwrap_or(token.len());
    Decimal::parse(token.get(..end).unwrap_or_default()).unwrap_or_default().to_f64()
}
