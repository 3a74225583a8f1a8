//! Tokens to statements and blocks, with recovery.
//!
//! The grammar is that of the parsers here: `statement = header ["{" body "}"]`, `body = {EOL | ";" | statement end}`. A
//! `}` may be missing anywhere, so what is open is kept as a list ([`Frame`]) instead of on the stack of the program,
//! and [`piece`] takes a statement only up to its `{`.

use super::lex::{MARK, problem, tokens};
use super::{Comment, Kind, MAX_BYTES, MAX_NESTING, MAX_STATEMENTS, NONE, Problem, Statement, Tables, Token, Trouble};
use crate::source::Span;
use nom::branch::alt;
use nom::combinator::opt;
use nom::{IResult, Parser};

/// A kind of block, by its number in the statement table. 0 is the top level.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct BlockKind(pub u8);

impl BlockKind {
    /// The top level of a file.
    pub const TOP: Self = Self(0);
    /// A block whose header is unknown: nothing is known in it.
    pub const UNKNOWN: Self = Self(u8::MAX);
}

/// What the statement table says about a word in a kind of block.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Known {
    /// No statement there begins with this word.
    No,
    /// A statement there does, in this form (with or without a body).
    Yes,
    /// A statement there does, and it opens this kind of block.
    Opens(BlockKind),
    /// The word is known there, but never in this form.
    OtherForm,
}

/// What recovery has to know of the statement table: the kind of block, the word, and whether a `{` follows.
pub type Vocabulary = fn(BlockKind, &[u8], bool) -> Known;

/// Reads a text into `tables`, which are emptied first.
pub fn parse(bytes: &[u8], vocabulary: Vocabulary, tables: &mut Tables) {
    tables.clear();
    if bytes.len() > MAX_BYTES {
        problem(&mut tables.problems, Trouble::TooLong, Span::new(0, 0), None);
        return;
    }
    if let Err(error) = std::str::from_utf8(bytes) {
        let at = error.valid_up_to() as u32;
        let length = error.error_len().unwrap_or(1) as u32;
        problem(&mut tables.problems, Trouble::NotUtf8, Span::new(at, at + length), None);
        return;
    }
    let from = if bytes.starts_with(MARK) { MARK.len() } else { 0 };
    tokens(bytes, from, tables);
    statements(bytes, from as u32, vocabulary, tables);
}

/// Reads a part of a text that [`parse`] found nothing wrong in: whole blocks of the top level, from the first word of one to
/// the closing brace of one. All places are those of the whole text.
pub fn parse_part(bytes: &[u8], part: Span, vocabulary: Vocabulary, tables: &mut Tables) {
    tables.clear();
    let upto = bytes.get(..part.end as usize).unwrap_or(bytes);
    tokens(upto, part.start as usize, tables);
    statements(upto, part.start, vocabulary, tables);
}

/// The tokens that are left, and what was taken from their front.
type Parsed<'t, T> = IResult<&'t [Token], T, ()>;

/// A part of a text on its top level or in a block.
#[derive(Clone, Copy, Debug)]
enum Piece<'t> {
    EndOfLine,
    Semicolon(Token),
    /// The first token of a statement, the other ones, and whether a `{` follows.
    Statement(Token, &'t [Token], bool),
    /// A `{` that follows no statement.
    Open(Token),
    Close(Token),
}

/// `piece = header ["{"] | EOL | ";" | "}"`
fn piece(input: &[Token]) -> Parsed<'_, Piece<'_>> {
    alt((
        (header, opt(sign(Kind::BlockOpen)))
            .map(|((first, items), open)| Piece::Statement(first, items, open.is_some())),
        sign(Kind::EndOfLine).map(|_| Piece::EndOfLine),
        sign(Kind::BlockClose).map(Piece::Close),
        sign(Kind::Semicolon).map(Piece::Semicolon),
        sign(Kind::BlockOpen).map(Piece::Open),
    ))
    .parse(input)
}

/// `header = word {item}`, or items alone, which are a problem and a statement nevertheless.
fn header(input: &[Token]) -> Parsed<'_, (Token, &[Token])> {
    (item, items).parse(input)
}

/// `items = {item}`
fn items(input: &[Token]) -> Parsed<'_, &[Token]> {
    let length = input.iter().take_while(|token| is_item(token.kind)).count();
    let (items, rest) = input.split_at(length);
    Ok((rest, items))
}

/// `item = word | string | number | unit | range | "," | ":" | "=" | "+" | "-" | "*" | "(" | ")"`
fn item(input: &[Token]) -> Parsed<'_, Token> {
    token(is_item, input)
}

/// What is no item ends a statement: `end = EOL | ";" | before "}" | end of text`, or a `{`.
fn is_item(kind: Kind) -> bool {
    !matches!(kind, Kind::EndOfLine | Kind::Semicolon | Kind::BlockOpen | Kind::BlockClose)
}

fn sign<'t>(kind: Kind) -> impl Fn(&'t [Token]) -> Parsed<'t, Token> {
    move |input| token(|found| found == kind, input)
}

fn token(is: impl Fn(Kind) -> bool, input: &[Token]) -> Parsed<'_, Token> {
    match input.split_first() {
        Some((first, rest)) if is(first.kind) => Ok((rest, *first)),
        _ => Err(nom::Err::Error(())),
    }
}

/// Gathers the statements of the tokens in `tables`. The text begins at `from`.
fn statements(bytes: &[u8], from: u32, vocabulary: Vocabulary, tables: &mut Tables) {
    let Tables { tokens, statements, comments, problems } = tables;
    let words = vocabulary;
    let vocabulary = (!are_balanced(tokens)).then_some(vocabulary);
    let mut structure = Structure {
        bytes,
        from,
        tokens,
        statements,
        problems,
        words,
        vocabulary,
        frames: Vec::new(),
        skipped: 0,
        region_end: 0,
        region_is_balanced: true,
        excess: 0,
        line: 0,
    };
    structure.run();
    problems.sort_by_key(|problem| problem.span);
    place_comments(comments, statements, tokens);
}

/// Whether every `{` has its `}`.
fn are_balanced(tokens: &[Token]) -> bool {
    let mut depth = 0u32;
    for token in tokens {
        depth = match token.kind {
            Kind::BlockOpen => depth + 1,
            Kind::BlockClose => match depth.checked_sub(1) {
                Some(depth) => depth,
                None => return false,
            },
            _ => depth,
        };
    }
    depth == 0
}

fn place_comments(comments: &mut [Comment], statements: &[Statement], tokens: &[Token]) {
    let starts_before = |statement: &Statement, comment: &Comment| {
        tokens.get(statement.word as usize).is_some_and(|word| word.start < comment.span.start)
    };
    let mut next = 0;
    for comment in comments {
        while statements.get(next).is_some_and(|statement| starts_before(statement, comment)) {
            next += 1;
        }
        comment.before = next as u32;
    }
}

/// A block that is open while the statements are gathered.
struct Frame {
    statement: u32,
    kind: BlockKind,
    /// The column in bytes at which the header's line begins, to match a `}` that stands alone on its line.
    indent: u32,
}

struct Structure<'a> {
    bytes: &'a [u8],
    /// Where the text begins, behind a byte-order mark.
    from: u32,
    tokens: &'a [Token],
    statements: &'a mut Vec<Statement>,
    problems: &'a mut Vec<Problem>,
    words: Vocabulary,
    /// What recovery knows; nothing is recovered where every brace has its twin.
    vocabulary: Option<Vocabulary>,
    frames: Vec<Frame>,
    /// How many `{` were refused because they stand too deep or alone, and so how many `}` belong to them.
    skipped: usize,
    /// The end of the stretch from one top-level header in the first column to the next, and whether its braces match.
    region_end: usize,
    region_is_balanced: bool,
    /// How many more `}` than `{` the stretch has that were not yet accounted for.
    excess: usize,
    /// The first token of the line at hand.
    line: usize,
}

impl Structure<'_> {
    fn run(&mut self) {
        let mut rest = self.tokens;
        while let Ok((after, piece)) = piece(rest) {
            let at = self.tokens.len() - rest.len();
            rest = after;
            if self.vocabulary.is_some() && at >= self.region_end {
                self.begin_region(at);
            }
            match piece {
                Piece::EndOfLine => self.line = at + 1,
                Piece::Semicolon(token) => {
                    if self.frames.is_empty() && self.skipped == 0 {
                        self.trouble(Trouble::Semicolon, token.span(), None);
                    }
                }
                Piece::Statement(first, items, has_body) => {
                    if self.statements.len() >= MAX_STATEMENTS {
                        return self.stop(header_span(first, items));
                    }
                    self.statement(at, first, items, has_body);
                }
                Piece::Open(token) => {
                    self.trouble(Trouble::BraceAlone, token.span(), None);
                    if !self.open_the_last(at) {
                        self.skipped += 1;
                    }
                }
                Piece::Close(token) => self.close(at, token, after.first()),
            }
        }
        let end = self.tokens.last().map_or(0, |token| token.end);
        self.close_until(0, Span::new(end, end));
    }

    /// Ends the reading at the statement that is one too many. Nothing is known of the blocks that are open here.
    fn stop(&mut self, span: Span) {
        self.trouble(Trouble::TooMany, span, None);
        let after = self.statements.len() as u32;
        for frame in self.frames.drain(..) {
            if let Some(statement) = self.statements.get_mut(frame.statement as usize) {
                statement.after = after;
            }
        }
    }

    fn trouble(&mut self, trouble: Trouble, span: Span, other: Option<Span>) {
        problem(self.problems, trouble, span, other);
    }

    fn statement(&mut self, at: usize, first: Token, items: &[Token], has_body: bool) {
        let span = header_span(first, items);
        let is_bad = first.kind == Kind::Bad || items.iter().any(|token| token.kind == Kind::Bad);
        let has_word = first.kind == Kind::Word;
        if !has_word && !is_bad {
            self.trouble(Trouble::NoWord, span, None);
        }
        self.recover(at, first, has_body);
        let index = self.statements.len() as u32;
        self.statements.push(Statement {
            word: at as u32,
            items_end: (at + 1 + items.len()) as u32,
            parent: self.frames.last().map_or(NONE, |frame| frame.statement),
            after: index + 1,
            close: NONE,
            has_body,
            broken: is_bad || !has_word,
        });
        if !has_body {
            self.open_without_brace(at, first, items);
            return;
        }
        if self.frames.len() >= MAX_NESTING {
            if self.skipped == 0 {
                self.trouble(Trouble::TooDeep, span, None);
            }
            self.skipped += 1;
            return;
        }
        self.frames.push(Frame { statement: index, kind: self.opens(first), indent: self.indent() });
    }

    /// The kind of block that a header opens here, as far as recovery has to know it.
    fn opens(&self, word: Token) -> BlockKind {
        match (self.words)(self.block(), word.of(self.bytes), true) {
            Known::Opens(kind) => kind,
            _ => BlockKind::UNKNOWN,
        }
    }

    /// The kind of block that is open.
    fn block(&self) -> BlockKind {
        self.frames.last().map_or(BlockKind::TOP, |frame| frame.kind)
    }

    /// Whether the next statement behind a token can stand in a kind of block; `None` where a block ends or nothing follows.
    fn next_stands_in(&self, at: usize, block: BlockKind) -> Option<bool> {
        let behind = self.tokens.get(at..)?;
        let ends = behind.iter().take_while(|token| matches!(token.kind, Kind::EndOfLine | Kind::Semicolon)).count();
        let (rest, (word, _)) = header(behind.get(ends..)?).ok()?;
        let has_body = rest.first().is_some_and(|token| token.kind == Kind::BlockOpen);
        Some(matches!((self.words)(block, word.of(self.bytes), has_body), Known::Yes | Known::Opens(_)))
    }

    /// Opens the block of a header whose `{` is missing: its lines follow, and a `}` that has no other `{`.
    fn open_without_brace(&mut self, at: usize, first: Token, items: &[Token]) {
        let kind = self.opens(first);
        if self.excess == 0 || kind == BlockKind::UNKNOWN || self.frames.len() >= MAX_NESTING {
            return;
        }
        let behind = at + 1 + items.len();
        if self.next_stands_in(behind, kind) != Some(true) || self.next_stands_in(behind, self.block()) != Some(false) {
            return;
        }
        self.excess -= 1;
        self.trouble(Trouble::MissingBrace, header_span(first, items), None);
        self.open_block(kind);
    }

    /// Opens the block of the last statement by a `{` on a line of its own below it; whether there is one to open.
    fn open_the_last(&mut self, at: usize) -> bool {
        let Some(last) = self.statements.last() else { return false };
        let between = self.tokens.get(last.items_end as usize..at).unwrap_or_default();
        let parent = self.frames.last().map_or(NONE, |frame| frame.statement);
        let Some(word) = self.tokens.get(last.word as usize) else { return false };
        let kind = self.opens(*word);
        let opens = !last.has_body
            && last.parent == parent
            && between.iter().all(|token| token.kind == Kind::EndOfLine)
            && kind != BlockKind::UNKNOWN
            && self.skipped == 0
            && self.frames.len() < MAX_NESTING;
        if opens {
            self.open_block(kind);
        }
        opens
    }

    /// Makes a block of the last statement.
    fn open_block(&mut self, kind: BlockKind) {
        let indent = self.indent();
        if let Some(statement) = self.statements.last_mut() {
            statement.has_body = true;
            self.frames.push(Frame { statement: self.statements.len() as u32 - 1, kind, indent });
        }
    }

    /// Whether a `}` is one too many: what follows it can stand in the block that it would close, and not around it.
    fn is_stray(&self, at: usize) -> bool {
        let Some(frame) = self.frames.last().filter(|_| self.excess > 0) else { return false };
        let around = self.frames.len().checked_sub(2).and_then(|at| self.frames.get(at));
        let around = around.map_or(BlockKind::TOP, |frame| frame.kind);
        self.next_stands_in(at + 1, frame.kind) == Some(true) && self.next_stands_in(at + 1, around) == Some(false)
    }

    fn close(&mut self, at: usize, token: Token, next: Option<&Token>) {
        if self.skipped > 0 {
            self.skipped -= 1;
            return;
        }
        if self.frames.is_empty() {
            return self.trouble(Trouble::StrayBrace, token.span(), None);
        }
        if self.is_stray(at) {
            self.excess -= 1;
            return self.trouble(Trouble::StrayBrace, token.span(), None);
        }
        if !self.region_is_balanced && at == self.line {
            // A `}` alone on its line closes the block whose header begins in the same column, where there is one.
            let column = self.indent();
            if let Some(depth) = self.frames.iter().rposition(|frame| frame.indent == column) {
                self.close_until(depth + 1, token.span());
            }
        }
        if let Some(frame) = self.frames.pop() {
            let after = self.statements.len() as u32;
            if let Some(statement) = self.statements.get_mut(frame.statement as usize) {
                statement.close = at as u32;
                statement.after = after;
            }
        }
        if let Some(next) = next
            && !matches!(next.kind, Kind::EndOfLine | Kind::Semicolon | Kind::BlockClose)
        {
            self.trouble(Trouble::AfterBlock, next.span(), None);
        }
    }

    /// Closes the blocks above `depth` as blocks that miss their `}`.
    fn close_until(&mut self, depth: usize, taken_to_end: Span) {
        let after = self.statements.len() as u32;
        while self.frames.len() > depth {
            let Some(frame) = self.frames.pop() else { break };
            let Some(statement) = self.statements.get_mut(frame.statement as usize) else { continue };
            statement.after = after;
            let items = self.tokens.get(statement.word as usize..statement.items_end as usize).unwrap_or_default();
            if let Some((first, items)) = items.split_first() {
                self.trouble(Trouble::OpenBlock, header_span(*first, items), Some(taken_to_end));
            }
        }
    }

    /// In a stretch whose braces do not match, ends the blocks that this statement shows to be over.
    fn recover(&mut self, at: usize, word: Token, has_body: bool) {
        let Some(vocabulary) = self.vocabulary else { return };
        if self.frames.is_empty() {
            return;
        }
        let name = word.of(self.bytes);
        if has_body && self.is_first_column(at) && matches!(vocabulary(BlockKind::TOP, name, true), Known::Opens(_)) {
            return self.close_until(0, word.span());
        }
        if self.region_is_balanced {
            return;
        }
        let knows = |frame: &Frame| match vocabulary(frame.kind, name, has_body) {
            Known::Yes | Known::Opens(_) => true,
            Known::No | Known::OtherForm => false,
        };
        if self.frames.last().is_some_and(|frame| frame.kind == BlockKind::UNKNOWN || knows(frame)) {
            return;
        }
        if let Some(depth) = self.frames.iter().rposition(knows) {
            self.close_until(depth + 1, word.span());
        }
    }

    /// Finds the stretch from here to the next top-level header in the first column, and whether its braces match.
    fn begin_region(&mut self, from: usize) {
        let next = (from + 1..self.tokens.len()).find(|&at| self.is_top_header(at));
        self.region_end = next.unwrap_or(self.tokens.len());
        let region = self.tokens.get(from..self.region_end).unwrap_or_default();
        self.region_is_balanced = are_balanced(region);
        let count = |kind| region.iter().filter(|token| token.kind == kind).count();
        self.excess = count(Kind::BlockClose).saturating_sub(count(Kind::BlockOpen));
    }

    fn is_top_header(&self, at: usize) -> bool {
        let (Some(vocabulary), true) = (self.vocabulary, self.is_first_column(at)) else { return false };
        let statement = self.tokens.get(at..).unwrap_or_default();
        let Ok((rest, (word, _))) = header(statement) else { return false };
        word.kind == Kind::Word
            && matches!(vocabulary(BlockKind::TOP, word.of(self.bytes), true), Known::Opens(_))
            && rest.first().is_some_and(|token| token.kind == Kind::BlockOpen)
    }

    /// Whether nothing stands before a token on its line, not even a blank.
    fn is_first_column(&self, at: usize) -> bool {
        self.blanks_before(at) == Some(0)
    }

    /// The column in bytes at which the line at hand begins.
    fn indent(&self) -> u32 {
        self.blanks_before(self.line).unwrap_or_default()
    }

    /// How many blanks a line begins with, by its first token; none for a token that is not the first of its line.
    fn blanks_before(&self, at: usize) -> Option<u32> {
        let line = match at.checked_sub(1).and_then(|before| self.tokens.get(before)) {
            None => self.from,
            Some(before) if before.kind == Kind::EndOfLine => before.end,
            Some(_) => return None,
        };
        self.tokens.get(at).map(|token| token.start - line)
    }
}

fn header_span(first: Token, items: &[Token]) -> Span {
    first.span().to(items.last().unwrap_or(&first).span())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lexed(text: &str) -> Vec<Token> {
        let mut tables = Tables::default();
        tokens(text.as_bytes(), 0, &mut tables);
        tables.tokens
    }

    #[test]
    fn pieces_are_taken_one_by_one() {
        for (text, wanted) in [
            ("channel 1 = roll\n", "statement of 4"),
            ("channel 3 { value", "statement of 2 with {"),
            ("link x }", "statement of 2"),
            ("a; b", "statement of 1"),
            ("= 4\n", "statement of 2"),
            ("@", "statement of 1"),
            ("{ a", "{"),
            ("} a", "}"),
            (";;", ";"),
            ("\na", "end of line"),
        ] {
            let tokens = lexed(text);
            let (rest, found) = piece(&tokens).unwrap();
            let (is, length) = match found {
                Piece::Statement(_, items, false) => (format!("statement of {}", items.len() + 1), items.len() + 1),
                Piece::Statement(_, items, true) => {
                    (format!("statement of {} with {{", items.len() + 1), items.len() + 2)
                }
                Piece::Open(_) => ("{".to_owned(), 1),
                Piece::Close(_) => ("}".to_owned(), 1),
                Piece::Semicolon(_) => (";".to_owned(), 1),
                Piece::EndOfLine => ("end of line".to_owned(), 1),
            };
            assert_eq!((is.as_str(), rest.len()), (wanted, tokens.len() - length), "{text:?}");
        }
        assert!(piece(&[]).is_err());
    }

    #[test]
    fn braces_have_their_twins() {
        for (text, wanted) in
            [("", true), ("a { b { } } { }", true), ("a {", false), ("}{", false), ("\"{\" # {", true)]
        {
            assert_eq!(are_balanced(&lexed(text)), wanted, "{text}");
        }
    }

    #[test]
    fn a_full_table_ends_the_reading_and_blames_no_block() {
        let text = format!("a {{\n{}}}\n", "b\n".repeat(MAX_STATEMENTS));
        let mut tables = Tables::default();
        parse(text.as_bytes(), |_, _, _| Known::No, &mut tables);
        let found: Vec<Trouble> = tables.problems.iter().map(|problem| problem.trouble).collect();
        assert_eq!((tables.statements.len(), found), (MAX_STATEMENTS, vec![Trouble::TooMany]));
        assert_eq!(tables.statements[0].after as usize, MAX_STATEMENTS);
    }
}
