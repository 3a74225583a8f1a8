//! Tokens and comments to lines.

use super::spacing::Before;
use crate::fleet::table::{self, Block};
use crate::syntax::{BlockKind, Comment, Kind, Known, NONE, Tables, Token};

/// A line of the layout.
#[derive(Debug, Default)]
pub(super) struct Line<'t> {
    /// How many levels it is indented.
    pub(super) depth: usize,
    /// Its statements; empty for a comment of its own line and for a blank line.
    pub(super) code: String,
    /// Its comment.
    pub(super) comment: Option<&'t str>,
    /// The column of the comment, in characters from 0: where it stood, and at last where it is to stand.
    pub(super) column: usize,
    /// Where like statements make a column: behind the name that it defines, where it goes on behind it, or before the
    /// `levels` of a `carry`.
    pub(super) name: Option<Name<'t>>,
}

/// A place in a line behind which like statements make a column.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Name<'t> {
    /// The statement's word.
    pub(super) word: &'t [u8],
    /// The statement whose block it stands in.
    pub(super) parent: u32,
    /// One past the last byte before the column, in the line's code.
    pub(super) end: usize,
}

impl Line<'_> {
    pub(super) fn is_blank(&self) -> bool {
        self.code.is_empty() && self.comment.is_none()
    }

    /// How many characters its indentation and statements take.
    pub(super) fn width(&self) -> usize {
        self.depth * 2 + self.code.chars().count()
    }

    pub(super) fn write(&self, out: &mut Vec<u8>) {
        if self.is_blank() {
            return;
        }
        out.resize(out.len() + self.depth * 2, b' ');
        out.extend_from_slice(self.code.as_bytes());
        if let Some(comment) = self.comment {
            if !self.code.is_empty() {
                out.resize(out.len() + self.column.saturating_sub(self.width()).max(1), b' ');
            }
            out.extend_from_slice(comment.as_bytes());
        }
    }
}

/// The lines of a text without faults.
pub(super) fn lines<'t>(text: &'t [u8], tables: &'t Tables) -> Vec<Line<'t>> {
    let mut layer = Layer {
        text,
        tables,
        lines: Vec::new(),
        code: String::new(),
        name: None,
        frames: Vec::new(),
        before: Before::default(),
        next_statement: 0,
        statement: NONE,
        line_has: false,
        line_lays: false,
    };
    let mut comments = tables.comments.iter().peekable();
    for (at, token) in tables.tokens.iter().enumerate() {
        while let Some(comment) = comments.next_if(|comment| comment.span.start < token.start) {
            layer.comment(comment);
        }
        layer.token(at as u32, *token);
    }
    comments.for_each(|comment| layer.comment(comment));
    layer.flush();
    let mut lines = layer.lines;
    lines.dedup_by(|one, before| one.is_blank() && before.is_blank());
    let filled = lines.iter().rposition(|line| !line.is_blank()).map_or(0, |last| last + 1);
    lines.truncate(filled);
    if lines.first().is_some_and(Line::is_blank) {
        lines.remove(0);
    }
    lines
}

/// A block that is open.
struct Frame {
    statement: u32,
    one_line: bool,
    kind: Option<Block>,
}

struct Layer<'t> {
    text: &'t [u8],
    tables: &'t Tables,
    lines: Vec<Line<'t>>,
    /// The statements of the line that is being laid.
    code: String,
    name: Option<Name<'t>>,
    frames: Vec<Frame>,
    before: Before,
    next_statement: u32,
    /// The statement that is being laid.
    statement: u32,
    /// Whether anything stands on the line that is being read.
    line_has: bool,
    /// Whether more than `;` does.
    line_lays: bool,
}

impl<'t> Layer<'t> {
    /// How many blocks over several lines are open.
    fn depth(&self) -> usize {
        self.frames.iter().filter(|frame| !frame.one_line).count()
    }

    fn in_one_line(&self) -> bool {
        self.frames.last().is_some_and(|frame| frame.one_line)
    }

    fn flush(&mut self) {
        if !self.code.is_empty() {
            let name = self.name.take().filter(|name| name.end < self.code.len());
            let line = Line { depth: self.depth(), code: std::mem::take(&mut self.code), name, ..Line::default() };
            self.lines.push(line);
        }
        self.name = None;
        self.before = Before::default();
    }

    fn comment(&mut self, comment: &Comment) {
        let bytes = comment.span.of(self.text).trim_ascii_end();
        let words = std::str::from_utf8(bytes).unwrap_or_default();
        self.flush();
        self.line_has = true;
        if !self.line_lays {
            self.lines.push(Line { depth: self.depth(), comment: Some(words), ..Line::default() });
        } else if let Some(line) = self.lines.last_mut() {
            line.comment = Some(words);
            line.column = column(self.text, comment.span.start);
        }
    }

    fn token(&mut self, at: u32, token: Token) {
        match token.kind {
            Kind::EndOfLine => {
                if !self.line_has {
                    self.lines.push(Line::default());
                }
                self.flush();
                (self.line_has, self.line_lays) = (false, false);
                return;
            }
            Kind::Semicolon if self.in_one_line() => {
                self.before = Before::default();
            }
            Kind::Semicolon => self.flush(),
            Kind::BlockOpen => self.open(at),
            Kind::BlockClose => self.close(),
            _ => self.word(at, token),
        }
        self.line_has = true;
        self.line_lays |= token.kind != Kind::Semicolon;
    }

    fn word(&mut self, at: u32, token: Token) {
        let begins = self.tables.statements.get(self.next_statement as usize).is_some_and(|next| next.word == at);
        if begins {
            self.statement = self.next_statement;
            self.next_statement += 1;
        }
        let space = self.before.step(self.text, token, begins);
        if begins && !self.code.is_empty() {
            self.code.push_str(if self.code.ends_with('{') { " " } else { "; " });
        } else if space {
            self.code.push(' ');
        }
        let end = self.code.trim_end().len();
        self.code.push_str(std::str::from_utf8(token.of(self.text)).unwrap_or_default());
        match begins || self.frames.last().is_some_and(|frame| frame.one_line) {
            true => {}
            false if self.is_name(at) => self.column_at(self.code.len()),
            false if token.of(self.text) == b"levels" && self.own_word() == b"carry" => self.column_at(end),
            false => {}
        }
    }

    /// Notes that like statements make a column behind this byte of the line.
    fn column_at(&mut self, end: usize) {
        let parent = self.frames.last().map_or(NONE, |frame| frame.statement);
        self.name = Some(Name { word: self.own_word(), parent, end });
    }

    fn own_word(&self) -> &'t [u8] {
        self.tables.statements.get(self.statement as usize).map_or(&[], |own| self.tables.word(own).of(self.text))
    }

    /// Whether this token is the name that its statement defines.
    fn is_name(&self, at: u32) -> bool {
        let Some(statement) = self.tables.statements.get(self.statement as usize) else { return false };
        let kind = self.frames.last().and_then(|frame| frame.kind);
        let entry = kind.and_then(|kind| table::find(kind, self.own_word())).map(|ready| ready.entry);
        let defines = entry.is_some_and(|entry| {
            entry.opens.is_none() && entry.shapes.first().is_some_and(|shape| shape.starts_with("<name:name>"))
        });
        defines && statement.word + 1 == at && !statement.has_body
    }

    fn open(&mut self, at: u32) {
        let Some(statement) = self.tables.statements.get(self.statement as usize) else { return };
        let inside = self.tables.tokens.get(at as usize..statement.close as usize).unwrap_or_default();
        let one_line = self.in_one_line() || inside.iter().all(|token| token.kind != Kind::EndOfLine);
        let outer = self.frames.last().map_or(Some(Block::Top), |frame| frame.kind);
        let kind = outer.and_then(|outer| {
            match table::vocabulary(BlockKind(outer as u8), self.tables.word(statement).of(self.text), true) {
                Known::Opens(kind) => Block::ALL.get(usize::from(kind.0)).copied(),
                _ => None,
            }
        });
        self.code.push_str(" {");
        if !one_line {
            self.flush();
        }
        self.frames.push(Frame { statement: self.statement, one_line, kind });
        self.before = Before::default();
    }

    fn close(&mut self) {
        if self.in_one_line() {
            self.code.push_str(" }");
            self.frames.pop();
        } else {
            self.flush();
            self.frames.pop();
            self.code.push('}');
        }
        self.before = Before::default();
    }
}

/// The column of a byte, in characters from 0; a byte-order mark does not count.
fn column(text: &[u8], at: u32) -> usize {
    let start = super::super::lines::line_start(text, at);
    let line = text.get(start as usize..at as usize).unwrap_or_default();
    String::from_utf8_lossy(line).chars().count()
}
