//! Whether a statement could stand in a block, by its words alone.

use super::items::Items;
use super::shape::Captures;
use super::table::{self, Block};
use crate::syntax::{Known, Tables, parse};

/// Whether a text is one statement, with its block if it has one, that can be read in a block of this kind.
pub fn fits(block: Block, statement: &str) -> bool {
    let mut tables = Tables::default();
    parse(statement.as_bytes(), |_, _, _| Known::No, &mut tables);
    tables.problems.is_empty()
        && tables.body(None).count() == 1
        && all_fit(block, None, statement.as_bytes(), &tables, &mut Captures::default())
}

fn all_fit(block: Block, parent: Option<u32>, bytes: &[u8], tables: &Tables, captures: &mut Captures) -> bool {
    tables.body(parent).all(|index| {
        let Some(statement) = tables.statements.get(index as usize) else { return false };
        let word = tables.word(statement);
        let Some(ready) = table::find(block, word.of(bytes)) else { return false };
        let items = Items::new(bytes, tables.items(statement), word.end);
        let shapes = ready.shapes().iter().filter(|shape| shape.has_body() == statement.has_body);
        let mut fitting = shapes.filter(|shape| shape.take(&mut items.clone(), captures).is_ok());
        fitting.next().is_some()
            && match (statement.has_body, ready.entry.opens) {
                (true, Some(opened)) => all_fit(opened, Some(index), bytes, tables, captures),
                (has_body, _) => !has_body,
            }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn statements_fit_their_block() {
        for (block, text, wanted) in [
            (Block::Craft, "kind multirotor", true),
            (Block::Craft, "kind", false),
            (Block::Craft, "kind boot", false),
            (Block::Model, "kind multirotor", false),
            (Block::Craft, "receiver { link x }", true),
            (Block::Craft, "receiver { link }", false),
            (Block::Craft, "receiver", false),
            (Block::Model, "condition a latch set b up reset c", true),
            (Block::Model, "condition a latch set b up", false),
            (Block::Top, "craft a { kind car; receiver { link x } }", true),
            (Block::Craft, "kind car; kind boat", false),
            (Block::Craft, "", false),
            (Block::Craft, "receiver {", false),
        ] {
            assert_eq!(fits(block, text), wanted, "{text}");
        }
    }
}
