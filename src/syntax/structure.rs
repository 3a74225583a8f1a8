//! Tokens to statements and blocks, with recovery.

use super::lex::{part_tokens, problem, tokens};
use super::{Kind, MAX_BYTES, MAX_NESTING, MAX_STATEMENTS, NONE, Statement, Tables, Token, Trouble};
use crate::source::Span;

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
    if !tokens(bytes, tables) {
        statements(bytes, 0, vocabulary, tables);
    }
}

/// Reads a part of a text that [`parse`] found nothing wrong in: whole blocks of the top level, from the first word of one to
/// the closing brace of one. All places are those of the whole text.
pub fn parse_part(bytes: &[u8], part: Span, vocabulary: Vocabulary, tables: &mut Tables) {
    tables.clear();
    let upto = bytes.get(..part.end as usize).unwrap_or(bytes);
    if !part_tokens(upto, part.start, tables) {
        statements(upto, part.start, vocabulary, tables);
    }
}

/// What [`parse`] gives, with the statements always gathered from the tokens: both have to come to the same.
#[cfg(test)]
pub(super) fn parse_from_tokens(bytes: &[u8], vocabulary: Vocabulary, tables: &mut Tables) {
    tables.clear();
    tokens(bytes, tables);
    statements(bytes, 0, vocabulary, tables);
}

/// The statements of a text in which something is wrong, from its tokens.
fn statements(bytes: &[u8], from: u32, vocabulary: Vocabulary, tables: &mut Tables) {
    tables.statements.clear();
    let lexed = tables.problems.len();
    let mut balanced = Structure::new(bytes, tables, None);
    balanced.run(from);
    if balanced.unbalanced {
        tables.statements.clear();
        tables.problems.truncate(lexed);
        Structure::new(bytes, tables, Some(vocabulary)).run(from);
    }
    tables.problems.sort_by_key(|problem| problem.span);
    place_comments(tables);
}

fn place_comments(tables: &mut Tables) {
    let mut next = 0;
    for comment in &mut tables.comments {
        while tables.statements.get(next).is_some_and(|statement| {
            tables.tokens.get(statement.word as usize).is_some_and(|word| word.start < comment.span.start)
        }) {
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
    tables: &'a mut Tables,
    vocabulary: Option<Vocabulary>,
    frames: Vec<Frame>,
    /// How many `{` were refused because they stand too deep or alone, and so how many `}` belong to them.
    skipped: usize,
    unbalanced: bool,
    /// The ends of the stretches from one top-level header in the first column to the next whose braces do not match.
    region_end: usize,
    region_unbalanced: bool,
    next_problem: usize,
    full: bool,
    /// Where the line of the token at hand begins, and how many blanks it begins with.
    line_start: u32,
    line_indent: u32,
}

impl<'a> Structure<'a> {
    fn new(bytes: &'a [u8], tables: &'a mut Tables, vocabulary: Option<Vocabulary>) -> Self {
        Self {
            bytes,
            tables,
            vocabulary,
            frames: Vec::new(),
            skipped: 0,
            unbalanced: false,
            region_end: 0,
            region_unbalanced: false,
            next_problem: 0,
            full: false,
            line_start: 0,
            line_indent: 0,
        }
    }

    fn token(&self, at: usize) -> Option<Token> {
        self.tables.tokens.get(at).copied()
    }

    fn trouble(&mut self, trouble: Trouble, span: Span, other: Option<Span>) {
        problem(&mut self.tables.problems, trouble, span, other);
    }

    fn run(&mut self, from: u32) {
        let mut at = 0;
        self.begin_line(from);
        while let Some(token) = self.token(at) {
            if self.full {
                break;
            }
            if self.vocabulary.is_some() && at >= self.region_end {
                self.begin_region(at);
            }
            at = match token.kind {
                Kind::EndOfLine => {
                    self.begin_line(token.end);
                    at + 1
                }
                Kind::Semicolon => {
                    if self.frames.is_empty() && self.skipped == 0 {
                        self.trouble(Trouble::Semicolon, token.span(), None);
                    }
                    at + 1
                }
                Kind::BlockClose => self.close(at, token),
                Kind::BlockOpen => {
                    self.trouble(Trouble::BraceAlone, token.span(), None);
                    self.skipped += 1;
                    at + 1
                }
                _ => self.statement(at, token),
            };
        }
        let end = self.tables.tokens.last().map_or(0, |token| token.end);
        self.close_until(0, Span::new(end, end));
    }

    fn statement(&mut self, at: usize, first: Token) -> usize {
        let mut end = at + 1;
        if first.kind != Kind::Word {
            end = at;
        }
        while self.token(end).is_some_and(|token| {
            !matches!(token.kind, Kind::EndOfLine | Kind::Semicolon | Kind::BlockOpen | Kind::BlockClose)
        }) {
            end += 1;
        }
        let has_body = self.token(end).is_some_and(|token| token.kind == Kind::BlockOpen);
        let last = self.token(end - 1).unwrap_or(first);
        let span = first.span().to(last.span());
        let bad = self.is_bad(span);
        if first.kind != Kind::Word && !bad {
            self.trouble(Trouble::NoWord, span, None);
        }
        self.recover(first, has_body);
        if self.tables.statements.len() >= MAX_STATEMENTS {
            self.trouble(Trouble::TooMany, span, None);
            self.full = true;
            return end;
        }
        let index = self.tables.statements.len() as u32;
        self.tables.statements.push(Statement {
            word: at as u32,
            items_end: end as u32,
            parent: self.frames.last().map_or(NONE, |frame| frame.statement),
            after: index + 1,
            close: NONE,
            has_body,
            broken: bad || first.kind != Kind::Word,
        });
        if !has_body {
            return end;
        }
        if self.frames.len() >= MAX_NESTING {
            if self.frames.len() == MAX_NESTING && self.skipped == 0 {
                self.trouble(Trouble::TooDeep, span, None);
            }
            self.skipped += 1;
            return end + 1;
        }
        let kind = self.opens(first);
        self.frames.push(Frame { statement: index, kind, indent: self.indent(first.start) });
        end + 1
    }

    fn opens(&self, word: Token) -> BlockKind {
        let Some(vocabulary) = self.vocabulary else { return BlockKind::UNKNOWN };
        let block = self.frames.last().map_or(BlockKind::TOP, |frame| frame.kind);
        match vocabulary(block, word.of(self.bytes), true) {
            Known::Opens(kind) => kind,
            _ => BlockKind::UNKNOWN,
        }
    }

    /// Whether a problem of the tokens lies in this range; ranges are asked for in text order.
    fn is_bad(&mut self, span: Span) -> bool {
        while self.tables.problems.get(self.next_problem).is_some_and(|problem| problem.span.start < span.start) {
            self.next_problem += 1;
        }
        self.tables.problems.get(self.next_problem).is_some_and(|problem| {
            problem.span.start < span.end
                && matches!(
                    problem.trouble,
                    Trouble::Character
                        | Trouble::OpenString
                        | Trouble::Escape
                        | Trouble::DecimalComma
                        | Trouble::Number
                )
        })
    }

    fn close(&mut self, at: usize, token: Token) -> usize {
        if self.skipped > 0 {
            self.skipped -= 1;
            return at + 1;
        }
        if self.frames.is_empty() {
            self.unbalanced = true;
            self.trouble(Trouble::StrayBrace, token.span(), None);
            return at + 1;
        }
        if self.vocabulary.is_some() && self.region_unbalanced && self.begins_line(token.start) {
            // A `}` alone on its line closes the block whose header begins in the same column, where there is one.
            let column = self.indent(token.start);
            let depth = self.frames.iter().rposition(|frame| frame.indent == column);
            if let Some(depth) = depth {
                self.close_until(depth + 1, token.span());
            }
        }
        if let Some(frame) = self.frames.pop() {
            let after = self.tables.statements.len() as u32;
            if let Some(statement) = self.tables.statements.get_mut(frame.statement as usize) {
                statement.close = at as u32;
                statement.after = after;
            }
        }
        if let Some(next) = self.token(at + 1)
            && !matches!(next.kind, Kind::EndOfLine | Kind::Semicolon | Kind::BlockClose)
        {
            self.trouble(Trouble::AfterBlock, next.span(), None);
        }
        at + 1
    }

    /// Closes the blocks above `depth` as blocks that miss their `}`.
    fn close_until(&mut self, depth: usize, taken_to_end: Span) {
        let after = self.tables.statements.len() as u32;
        while self.frames.len() > depth {
            let Some(frame) = self.frames.pop() else { break };
            self.unbalanced = true;
            let Some(statement) = self.tables.statements.get_mut(frame.statement as usize) else { continue };
            statement.after = after;
            let statement = *statement;
            let header = self.tables.header(&statement);
            self.trouble(Trouble::OpenBlock, header, Some(taken_to_end));
        }
    }

    /// In a stretch whose braces do not match, ends the blocks that this statement shows to be over.
    fn recover(&mut self, word: Token, has_body: bool) {
        let Some(vocabulary) = self.vocabulary else { return };
        if self.frames.is_empty() {
            return;
        }
        let name = word.of(self.bytes);
        if has_body
            && self.is_first_column(word.start)
            && matches!(vocabulary(BlockKind::TOP, name, true), Known::Opens(_))
        {
            return self.close_until(0, word.span());
        }
        if !self.region_unbalanced {
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
        let (mut depth, mut lowest, mut at) = (0i64, 0i64, from);
        while let Some(token) = self.token(at) {
            if at > from && self.is_top_header(at, token) {
                break;
            }
            match token.kind {
                Kind::BlockOpen => depth += 1,
                Kind::BlockClose => {
                    depth -= 1;
                    lowest = lowest.min(depth);
                }
                _ => {}
            }
            at += 1;
        }
        self.region_end = at;
        self.region_unbalanced = depth != 0 || lowest < 0;
    }

    fn is_top_header(&self, at: usize, token: Token) -> bool {
        let Some(vocabulary) = self.vocabulary else { return false };
        if token.kind != Kind::Word || !self.is_first_column(token.start) {
            return false;
        }
        if !matches!(vocabulary(BlockKind::TOP, token.of(self.bytes), true), Known::Opens(_)) {
            return false;
        }
        let rest = self.tables.tokens.get(at + 1..).unwrap_or_default();
        rest.iter()
            .find(|token| matches!(token.kind, Kind::EndOfLine | Kind::Semicolon | Kind::BlockOpen | Kind::BlockClose))
            .is_some_and(|token| token.kind == Kind::BlockOpen)
    }

    fn is_first_column(&self, byte: u32) -> bool {
        let before = self.bytes.get(..byte as usize).unwrap_or_default();
        matches!(before, [] | [.., b'\n'] | b"\xef\xbb\xbf")
    }

    fn indent(&self, byte: u32) -> u32 {
        byte.saturating_sub(self.line_start).min(self.line_indent)
    }

    fn begins_line(&self, byte: u32) -> bool {
        byte.saturating_sub(self.line_start) <= self.line_indent
    }

    /// Notes that a line begins here.
    fn begin_line(&mut self, byte: u32) {
        let line = self.bytes.get(byte as usize..).unwrap_or_default();
        self.line_start = byte;
        self.line_indent = line.iter().take_while(|byte| matches!(byte, b' ' | b'\t')).count() as u32;
    }
}
