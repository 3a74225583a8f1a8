//! The statements of a text, to be taken out one by one.

use walkaround::fleet::table::{self, Block};
use walkaround::syntax::{NONE, Tables, parse};

/// A statement of a text that the language knows, and from where to where it goes with its block.
pub(crate) struct Statement {
    /// The block that it stands in.
    pub(crate) block: Block,
    /// Its word.
    pub(crate) word: &'static str,
    /// Where it begins.
    pub(crate) start: usize,
    /// Where it ends.
    pub(crate) end: usize,
}

impl Statement {
    /// Its block and its word: `a craft/kind`.
    pub(crate) fn name(&self) -> String {
        format!("{}/{}", self.block.name(), self.word)
    }

    /// Puts blanks in its place, so that no other statement moves.
    pub(crate) fn blank(&self, text: &mut [u8]) {
        text[self.start..self.end].iter_mut().filter(|byte| **byte != b'\n').for_each(|byte| *byte = b' ');
    }
}

/// The statements of a text that the language knows.
pub(crate) fn statements(text: &[u8]) -> Vec<Statement> {
    let mut tables = Tables::default();
    parse(text, table::vocabulary, &mut tables);
    let (mut blocks, mut found): (Vec<Option<Block>>, _) = (Vec::new(), Vec::new());
    for (index, statement) in tables.statements.iter().enumerate() {
        let block = match statement.parent {
            NONE => Some(Block::Top),
            parent => blocks[parent as usize],
        };
        let ready = block.and_then(|block| table::find(block, tables.word(statement).of(text)));
        blocks.push(ready.and_then(|ready| ready.entry.opens));
        let (Some(block), Some(ready)) = (block, ready) else { continue };
        let whole = tables.whole(index as u32);
        found.push(Statement { block, word: ready.entry.word, start: whole.start as usize, end: whole.end as usize });
    }
    found
}
