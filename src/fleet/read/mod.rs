//! Tables of one text to its typed blocks.

mod craft;
mod file;
mod handset;
mod model;
mod take;
#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic, clippy::string_slice)]
mod tests;
mod troubles;

pub use file::FileFleet;
use file::push_few;
pub(super) use model::unknown_position;
pub(super) use troubles::trouble_in_words;

use super::condition::Name;
use super::equipment::{Body, Head, Lost, Opened};
use super::items;
use super::miss::any_of;
use super::number::Decimal;
use super::problem::{Problem, ProblemKind, nearest};
use super::shape::{Capture, Captures};
use super::table::{self, Block, Ready, lists};
use crate::source::{FileId, Located, Place, Span};
use crate::syntax::{Kind, MAX_IN_BLOCK, MAX_PROBLEMS, NONE, Statement, Tables};
use compact_str::{CompactString, format_compact};

/// The newest version of the language that this program reads.
pub const VERSION: i64 = 1;

/// A line of more bytes than this is not looked through for its start.
const LONG_LINE: usize = 4_096;

/// So many statements of a text are guessed at, so that a text of slips alone takes no longer to read.
const MOST_GUESSED: usize = 200;

/// Reads the tables of one text, made with [`table::vocabulary`]. Of a block that is `like` another only what is stated is read;
/// all the rest of it counts as not understood.
pub fn read(file: FileId, bytes: &[u8], tables: &Tables) -> FileFleet {
    read_behind(file, bytes, tables, &[])
}

/// The same of a text behind which blocks are spelled out that are `like` others: they are read there, and not where their
/// headers begin, at these bytes.
pub(super) fn read_behind(file: FileId, bytes: &[u8], tables: &Tables, spelt: &[u32]) -> FileFleet {
    let mut reader = Reader::new(file, bytes, tables);
    reader.troubles();
    if reader.tables.problems.iter().any(|problem| {
        use crate::syntax::Trouble::{NotUtf8, TooLong};
        matches!(problem.trouble, NotUtf8 | TooLong)
    }) {
        return FileFleet { problems: reader.problems, unread: true, ..FileFleet::default() };
    }
    let mut fleet = FileFleet::default();
    reader.version();
    reader.block(Block::Top, None, Span::default(), |reader, statement| match statement.word {
        _ if spelt.contains(&statement.header.start) => {}
        "place" => fleet.sites.push(reader.site(statement)),
        "link" => fleet.links.push(reader.link(statement)),
        "handset" => fleet.handsets.push(reader.handset(statement)),
        "craft" => push_few(&mut fleet.crafts, 1, reader.craft(statement)),
        "model" => fleet.models.push(reader.model(statement)),
        // It was looked at before all others.
        "rig" => {}
        _ => reader.unread(statement),
    });
    fleet.problems = reader.problems;
    fleet.attribute(reader.lost);
    fleet
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
    /// How many problems were told, listed or not.
    told: usize,
    /// Statements that could not be understood, so that what they say is not known.
    lost: Vec<Lost>,
    /// The item at which the last statement that did not fit was a miss.
    missed: Option<usize>,
    /// How many statements may still be guessed at: a pilot mends the first slips and inspects again.
    guesses: usize,
    /// The blocks that are being read, from the outside in, each with the statement that opens it.
    around: Vec<(Block, Option<u32>)>,
    /// The block at the top level is like another that is not known here, so that it has more than is stated.
    has_more: bool,
}

impl<'t> Reader<'t> {
    fn new(file: FileId, bytes: &'t [u8], tables: &'t Tables) -> Self {
        let (captures, problems, lost) = (Captures::default(), Vec::new(), Vec::new());
        let around = Vec::new();
        let (missed, guesses) = (None, MOST_GUESSED);
        let told = 0;
        Self { file, bytes, tables, captures, problems, told, lost, missed, guesses, around, has_more: false }
    }

    fn place(&self, span: Span) -> Place {
        Place::new(self.file, span)
    }

    /// Lists a problem, up to the limit.
    #[cold]
    fn tell(&mut self, problem: Problem) {
        self.told += 1;
        match self.problems.len() {
            listed if listed < MAX_PROBLEMS => self.problems.push(problem),
            listed if listed == MAX_PROBLEMS => self.problems.push(troubles::too_many(problem.place)),
            _ => {}
        }
    }

    #[cold]
    fn problem(&mut self, kind: ProblemKind, span: Span, message: impl Into<String>, mend: impl Into<String>) {
        self.tell(Problem::new(kind, self.place(span), message, mend));
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
                // At the very start where a comment on the file stands there; else above the first statement.
                let mark = if self.bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
                let comment = self.tables.comments.first().is_some_and(|comment| comment.span.start < span.start);
                let (at, text) = if comment { (mark, "rig 1\n") } else { (span.start, "rig 1\n\n") };
                problem = problem.repair("write `rig 1` first", Span::new(at, at), text);
            }
            return self.tell(problem);
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

    /// Reads the statements of a block and hands each whose shape fits to `handle`. Gives the set of those that were
    /// understood.
    fn block(
        &mut self,
        block: Block,
        parent: Option<u32>,
        header: Span,
        mut handle: impl FnMut(&mut Self, Found),
    ) -> u64 {
        // The statements of the table that stand in the block, by their numbers, and those of them that were understood.
        let (mut seen, mut stated) = (0u64, 0u64);
        let tables = self.tables;
        self.around.push((block, parent));
        for (count, index) in tables.body(parent).enumerate() {
            let Some(statement) = self.statement(index) else { continue };
            if count == MAX_IN_BLOCK && block != Block::Top {
                self.too_many(block, index, statement);
                break;
            }
            let known = table::find(block, tables.word(statement).of(self.bytes));
            if statement.broken {
                self.missed = None;
                self.lose(block, index);
                // Something is wrong in its own words; that was said. What it would have been counts as present.
                seen |= known.map_or(0, |ready| ready.bit());
                continue;
            }
            let Some(ready) = known else {
                self.lose(block, index);
                self.unknown_statement(block, statement);
                continue;
            };
            if seen & ready.bit() != 0 && !ready.entry.many {
                self.twice(block, parent, ready, statement);
                continue;
            }
            seen |= ready.bit();
            self.missed = None;
            if ready.entry.word == table::WITHOUT {
                self.without(block, index, ready, statement);
                continue;
            }
            if self.take(ready, statement) {
                stated |= ready.bit();
                let body = statement.has_body.then(|| self.body(index));
                handle(self, Found { word: ready.entry.word, index, header: tables.header(statement), body });
            } else {
                self.lose(block, index);
            }
        }
        if self.has_more && block != Block::Top {
            // What the other block says may be anything.
            let opening = parent.and_then(|index| self.tables.tokens.get(self.statement(index)?.items_end as usize));
            let (span, inside) = (opening.map_or(header, |token| token.span()), self.inside());
            self.lost.push(Lost { span, block, word: "", key: None, inside });
        } else if table::required(block) & !seen != 0 && block != Block::Top {
            self.missing(block, header, seen);
        }
        self.around.pop();
        stated
    }

    /// A statement that takes another away. Where it can, the block is spelled out, and it does not stand there any more.
    #[cold]
    fn without(&mut self, block: Block, index: u32, ready: &'static Ready, statement: &Statement) {
        if self.take(ready, statement) && !self.has_more {
            let place = self.place(self.tables.header(statement));
            let message =
                "`without` takes away what a block has of the one that it is like, and this one is like no other";
            let mend = "take the line out, or write `like` and the name of the other block behind the name of this one";
            self.tell(Problem::new(ProblemKind::UnknownStatement, place, message, mend));
        }
        self.lose(block, index);
    }

    /// Says which statements a block can't do without and has not.
    #[cold]
    fn missing(&mut self, block: Block, header: Span, seen: u64) {
        for ready in table::block(block).iter().filter(|ready| ready.entry.required && seen & ready.bit() == 0) {
            let message = format!("{} needs a line `{}`", block.name(), ready.entry.word);
            let shape = ready.entry.shapes.first().copied().unwrap_or_default();
            let mend = format!("add `{} {}`: {}", ready.entry.word, table::plain(shape), ready.entry.help);
            self.problem(ProblemKind::MissingStatement, header, message, mend);
            let inside = self.inside();
            self.lost.push(Lost { span: header, block, word: ready.entry.word, key: None, inside });
        }
    }

    /// Says that a statement stands in its block for a second time.
    #[cold]
    fn twice(&mut self, block: Block, parent: Option<u32>, ready: &Ready, statement: &Statement) {
        let word = |statement: &Statement| self.tables.word(statement).of(self.bytes);
        let mut all = self.tables.body(parent).filter_map(|index| self.statement(index));
        let first = all.find(|first| word(first) == ready.entry.word.as_bytes()).unwrap_or(statement);
        let message = format!("`{}` stands twice in {}", ready.entry.word, block.name());
        let place = self.place(self.tables.header(statement));
        let problem = Problem::new(ProblemKind::RepeatedStatement, place, message, "keep one of the two");
        self.tell(problem.other(self.place(self.tables.header(first)), "the first one"));
    }

    #[cold]
    fn too_many(&mut self, block: Block, index: u32, statement: &Statement) {
        // What is not read may be anything.
        let inside = self.inside();
        self.lost.push(Lost { span: self.tables.whole(index), block, word: "", key: None, inside });
        let message = format!("more than {MAX_IN_BLOCK} statements in {}: the rest of it is not read", block.name());
        let mend = "split it; no description of one thing needs so many";
        self.problem(ProblemKind::TooLarge, self.tables.header(statement), message, mend);
    }

    /// Keeps in mind that a statement of the block that is being read could not be understood, and what of it could.
    #[cold]
    fn lose(&mut self, block: Block, index: u32) {
        let Some(statement) = self.statement(index) else { return };
        let first = self.tables.word(statement);
        if first.kind != Kind::Word && self.tables.items(statement).is_empty() {
            // A sign alone says nothing that could be lost.
            return;
        }
        let text = self.text(first.span());
        let word = nearest(&text, table::block(block).iter().map(|ready| ready.entry.word)).unwrap_or_default();
        let (key, inside) = (self.key(block, word, statement), self.inside());
        self.lost.push(Lost { span: self.tables.whole(index), block, word, key, inside });
    }

    /// Says that a statement of the table has no reader, so that what it says is never passed over in silence.
    #[cold]
    fn unread(&mut self, found: Found) {
        let message = format!("`{}` is a statement that this program does not read", found.word);
        self.problem(ProblemKind::UnknownStatement, found.header, message, "take the line out, and report this");
        self.refuse(found);
    }

    /// Keeps in mind that a statement whose shape fits could not be understood all the same.
    #[cold]
    fn refuse(&mut self, found: Found) {
        if let Some(&(block, _)) = self.around.last() {
            self.lose(block, found.index);
        }
    }

    fn key(&self, block: Block, word: &str, statement: &Statement) -> Option<CompactString> {
        let ready = table::find(block, word.as_bytes())?;
        let key = usize::from(ready.entry.key?);
        let behind = self.tables.items(statement).get(key + 1);
        if self.missed == Some(key + 1) && behind.is_some_and(|behind| behind.kind == Kind::Word) {
            // A name in several words, of which the first is not the name.
            return None;
        }
        key_of(self.bytes, self.tables, ready, statement)
    }

    /// The statements around what is being read, without the one at the top level.
    fn inside(&self) -> Vec<Opened> {
        let opened = self.around.windows(2).skip(1).filter_map(|pair| {
            let [(outer, _), (_, opening)] = pair else { return None };
            let statement = self.statement((*opening)?)?;
            let ready = table::find(*outer, self.tables.word(statement).of(self.bytes))?;
            Some(Opened { word: ready.entry.word, key: self.key(*outer, ready.entry.word, statement) })
        });
        opened.collect()
    }

    /// Where a block stands, and where a statement can be added to it.
    fn body(&self, index: u32) -> Body {
        body_of(self.bytes, self.tables, index).unwrap_or_default()
    }

    fn head(&mut self, found: Found) -> Head {
        let like = self.captures.name("like").map(Box::new);
        let name = self.captures.name("name").unwrap_or_default();
        self.has_more = like.is_some();
        let (header, body) = (found.header, found.body.unwrap_or_default());
        Head { file: self.file, name, like, header, body, lost: Vec::new() }
    }

    /// A name where it is used; faults about names that are not defined are found when the fleet is put together.
    fn name(&mut self, slot: &str) -> Option<Name> {
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

    /// A word of a closed list that is kept as a name.
    fn listed(&self, slot: &str) -> Option<Name> {
        let word = self.captures.word(slot)?;
        Some(Located::new(CompactString::const_new(word.value), word.span))
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

    /// The problem of a word that is not in the closed list of its place.
    #[cold]
    fn unknown_word(&self, span: Span, what: &str, list: &[&'static str]) -> Problem {
        let written = self.text(span);
        let near = lists::near(list, &written);
        let mut message = format!("`{written}` is not {what}: that is {}", any_of(list));
        if let Some(near) = near {
            message += &format!("; the nearest is `{near}`");
        }
        let mend = "write one of the words that the list has";
        let problem = Problem::new(ProblemKind::UnknownWord, self.place(span), message, mend);
        match near {
            Some(near) => problem.repair(format!("write `{near}`"), span, near),
            None => problem,
        }
    }

    /// Says that a second thing of one kind has a name that is taken.
    #[cold]
    fn name_twice(&mut self, what: &str, name: &Name, first: Span) {
        let message = format!("there are two {what} called \"{}\" here", name.value);
        let place = self.place(name.span);
        let problem = Problem::new(
            ProblemKind::NameTwice,
            place,
            message,
            "give one of them another name, or inspect one folder at a time if they belong to two fleets",
        );
        self.tell(problem.other(self.place(first), "the first one"));
    }
}

/// The item of a statement that tells it from others with its word, where it is one that can stand there.
pub(super) fn key_of(
    bytes: &[u8],
    tables: &Tables,
    ready: &'static Ready,
    statement: &Statement,
) -> Option<CompactString> {
    let token = *tables.items(statement).get(usize::from(ready.entry.key?))?;
    match (ready.key_is_a_number(), token.kind) {
        (true, Kind::Number) => {
            let number = Decimal::parse(token.of(bytes))?.to_whole()?;
            Some(format_compact!("{number}"))
        }
        (false, Kind::Word | Kind::Text) => Some(items::text(bytes, token)),
        _ => None,
    }
}

/// Where the block of a statement stands, and where a statement can be added to it.
pub(super) fn body_of(bytes: &[u8], tables: &Tables, index: u32) -> Option<Body> {
    let statement = tables.statements.get(index as usize)?;
    let whole = tables.whole(index);
    let start = tables.word(statement).start as usize;
    let indent = bytes.get(line_start(bytes, start)..start).unwrap_or_default();
    let indent = indent.iter().take_while(|byte| matches!(byte, b' ' | b'\t')).count() as u16;
    let close = match tables.tokens.get(statement.close as usize) {
        Some(token) if statement.close != NONE => token.start,
        _ => whole.end,
    };
    let before = bytes.get(..close as usize).unwrap_or_default();
    let close_line = line_start(bytes, before.len());
    let own_line = before.get(close_line..).unwrap_or_default().iter().all(|byte| matches!(byte, b' ' | b'\t'));
    let insert = if own_line { close_line as u32 } else { close };
    Some(Body { whole, insert, own_line, indent, empty: statement.after == index + 1, stated: 0 })
}

/// The start of the line of a byte. In a line longer than any that people write, a place not far before the byte
/// will do: only the layout of what is added hangs on it, and a text of one long line must not be walked through
/// for each of its blocks.
fn line_start(bytes: &[u8], byte: usize) -> usize {
    let from = byte.saturating_sub(LONG_LINE);
    let before = bytes.get(from..byte).unwrap_or_default();
    memchr::memrchr(b'\n', before).map_or(from, |at| from + at + 1)
}
