//! A text as features look at it: its statements, and what stands at a byte.

use crate::fleet::occurs::{self, Occurrence};
use crate::fleet::table::{self, Block, Ready};
use crate::source::Span;
use crate::syntax::{Comment, Kind, NONE, Statement, Tables, Token, parse};

/// A rig text with its tables.
pub(super) struct Text<'t> {
    pub(super) bytes: &'t [u8],
    pub(super) tables: Tables,
    /// By statement the kind of block that it stands in.
    blocks: Vec<Option<Block>>,
}

impl<'t> Text<'t> {
    pub(super) fn of(bytes: &'t [u8]) -> Self {
        let mut tables = Tables::default();
        parse(bytes, table::vocabulary, &mut tables);
        let blocks = occurs::blocks(bytes, &tables);
        Self { bytes, tables, blocks }
    }

    /// The names that it says.
    pub(super) fn occurrences(&self) -> Vec<Occurrence> {
        occurs::occurrences(self.bytes, &self.tables)
    }

    pub(super) fn statement(&self, index: u32) -> Option<&Statement> {
        self.tables.statements.get(index as usize)
    }

    /// The kind of block that a statement stands in.
    pub(super) fn block_of(&self, index: u32) -> Option<Block> {
        self.blocks.get(index as usize).copied().flatten()
    }

    /// The declaration of a statement.
    pub(super) fn ready(&self, index: u32) -> Option<&'static Ready> {
        table::find(self.block_of(index)?, self.word(index))
    }

    /// The word of a statement.
    pub(super) fn word(&self, index: u32) -> &'t [u8] {
        self.statement(index).map_or(&[], |statement| self.tables.word(statement).of(self.bytes))
    }

    /// The innermost statement whose words or block a byte touches.
    pub(super) fn statement_at(&self, byte: u32) -> Option<u32> {
        let mut next = self.last_begun(byte);
        while let Some(index) = next {
            let whole = self.tables.whole(index);
            if whole.start <= byte && byte <= whole.end {
                return Some(index);
            }
            next = self.parent(index);
        }
        None
    }

    /// The innermost block around a byte: the statement that opens it, or `None` for the file itself, and its kind.
    pub(super) fn block_at(&self, byte: u32) -> (Option<u32>, Option<Block>) {
        let mut next = self.last_begun(byte);
        while let Some(index) = next {
            let Some(statement) = self.statement(index) else { break };
            let token = |at: u32| self.tables.tokens.get(at as usize);
            let is_open = statement.has_body && token(statement.items_end).is_some_and(|open| open.end <= byte);
            let is_closed = token(statement.close).is_some_and(|close| close.end <= byte);
            if is_open && !is_closed {
                return (Some(index), self.ready(index).and_then(|ready| ready.entry.opens));
            }
            next = self.parent(index);
        }
        (None, Some(Block::Top))
    }

    /// The last statement that begins at a byte or before it.
    fn last_begun(&self, byte: u32) -> Option<u32> {
        let begun = self.tables.statements.partition_point(|one| self.tables.word(one).start <= byte);
        begun.checked_sub(1).map(|index| index as u32)
    }

    pub(super) fn parent(&self, index: u32) -> Option<u32> {
        self.statement(index).map(|statement| statement.parent).filter(|parent| *parent != NONE)
    }

    /// The statement at the top level that one stands in.
    pub(super) fn top(&self, index: u32) -> u32 {
        let mut top = index;
        while let Some(parent) = self.parent(top) {
            top = parent;
        }
        top
    }

    /// The comment that a byte stands in.
    pub(super) fn comment_at(&self, byte: u32) -> Option<&Comment> {
        let comments = &self.tables.comments;
        let behind = comments.partition_point(|comment| comment.span.start <= byte);
        comments.get(behind.checked_sub(1)?).filter(|comment| byte <= comment.span.end)
    }

    /// The token that a byte stands in or behind.
    pub(super) fn token_at(&self, byte: u32) -> Option<Token> {
        let tokens = &self.tables.tokens;
        let behind = tokens.partition_point(|token| token.start <= byte);
        let near = behind.saturating_sub(2)..behind;
        let touches = |token: &&Token| token.start <= byte && byte <= token.end && token.kind != Kind::EndOfLine;
        let touching: Vec<&Token> = tokens.get(near)?.iter().filter(touches).collect();
        // Between a word and a sign the word is meant.
        let word = touching.iter().rev().find(|token| matches!(token.kind, Kind::Word | Kind::Text));
        word.or(touching.last()).map(|token| **token)
    }

    /// The text of a range.
    pub(super) fn str(&self, span: Span) -> &'t str {
        std::str::from_utf8(span.of(self.bytes)).unwrap_or_default()
    }
}
