//! The statements of a text in which nothing is wrong, gathered while its tokens are made.
//!
//! Nearly every text is such a one. Where anything is odd, no repair is tried here: [`super::structure`] goes through the
//! tokens then, with all that it knows of recovery.

use super::{Kind, MAX_NESTING, MAX_STATEMENTS, NONE, Statement, Tables};

/// What is open while the statements are gathered.
#[derive(Debug, Default)]
pub(super) struct Plain {
    /// The statements whose blocks are open, outermost first.
    open: [u32; MAX_NESTING],
    depth: usize,
    /// A statement has begun and has not ended.
    begun: bool,
    /// A `}` stands before on the line.
    closed: bool,
    /// Something is odd.
    odd: bool,
}

impl Plain {
    /// Gives up.
    pub(super) fn refuse(&mut self) {
        self.odd = true;
    }

    /// A token that is part of a statement comes next.
    pub(super) fn item(&mut self, kind: Kind, tables: &mut Tables) {
        if self.begun {
            return;
        }
        if kind != Kind::Word || self.closed || tables.statements.len() >= MAX_STATEMENTS {
            self.odd = true;
            return;
        }
        self.begun = true;
        let index = tables.statements.len() as u32;
        let parent = self.depth.checked_sub(1).and_then(|at| self.open.get(at)).copied().unwrap_or(NONE);
        tables.statements.push(Statement {
            word: tables.tokens.len() as u32,
            items_end: 0,
            parent,
            after: index + 1,
            close: NONE,
            has_body: false,
            broken: false,
        });
    }

    fn finish(&mut self, tables: &mut Tables, has_body: bool) {
        if std::mem::take(&mut self.begun)
            && let Some(statement) = tables.statements.last_mut()
        {
            statement.items_end = tables.tokens.len() as u32;
            statement.has_body = has_body;
        }
    }

    /// The end of a line comes next.
    pub(super) fn end_of_line(&mut self, tables: &mut Tables) {
        self.finish(tables, false);
        self.closed = false;
    }

    /// A `;` comes next.
    pub(super) fn semicolon(&mut self, tables: &mut Tables) {
        self.odd |= self.depth == 0;
        self.end_of_line(tables);
    }

    /// A `{` comes next.
    pub(super) fn open(&mut self, tables: &mut Tables) {
        match self.open.get_mut(self.depth) {
            Some(place) if self.begun => {
                *place = (tables.statements.len() as u32).saturating_sub(1);
                self.depth += 1;
            }
            _ => self.odd = true,
        }
        self.finish(tables, true);
    }

    /// A `}` comes next.
    pub(super) fn close(&mut self, tables: &mut Tables) {
        self.finish(tables, false);
        let Some(depth) = self.depth.checked_sub(1) else { return self.odd = true };
        (self.depth, self.closed) = (depth, true);
        let (close, after) = (tables.tokens.len() as u32, tables.statements.len() as u32);
        let opened = self.open.get(depth).copied().unwrap_or(NONE);
        if let Some(statement) = tables.statements.get_mut(opened as usize) {
            (statement.close, statement.after) = (close, after);
        }
    }

    /// The text has ended: whether the statements are those of the text.
    pub(super) fn end(&mut self, tables: &mut Tables) -> bool {
        self.finish(tables, false);
        !self.odd && self.depth == 0
    }
}
