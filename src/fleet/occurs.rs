//! The names that a text says, each with its place: what an editor finds, follows and gives another name.
//!
//! This is read off the statements as they are written, before names are looked up and before blocks that are `like` others are
//! spelled out.

use super::condition::{Condition, ConditionKind, Name, Value, ValueKind};
use super::items::Items;
use super::resolve::Fleet;
use super::shape::{Capture, Captures};
use super::table::{self, Block, Ready, WITHOUT};
use crate::source::{Located, Span};
use crate::syntax::{Statement, Tables};
use compact_str::CompactString;

/// What a name is a name of.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Named {
    /// A block at the top level, of a kind as [`Fleet`] numbers them.
    Top(u8),
    /// A switch, button, knob or slider.
    Control,
    /// A module bay.
    Bay,
    /// A condition of a model.
    Condition,
    /// A curve of a model.
    Curve,
    /// A mix of a model.
    Mix,
    /// A control or a mix: it stands in a value.
    InValue,
    /// A mode of a controller.
    Mode,
}

/// What is done with a name where it stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Role {
    /// It gets its meaning.
    Defined,
    /// It is used.
    Used,
    /// A block of its kind is like it.
    Like,
}

/// A name where it stands.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Occurrence {
    /// What it is a name of.
    pub named: Named,
    /// The name.
    pub name: CompactString,
    /// Where, with its quotes.
    pub span: Span,
    /// What is done with it.
    pub role: Role,
    /// Kind and name of the block at the top level that it stands in, or whose name it is.
    pub owner: Option<(u8, CompactString)>,
    /// The number of the statement.
    pub statement: u32,
}

/// The names of a text, in text order.
pub fn occurrences(bytes: &[u8], tables: &Tables) -> Vec<Occurrence> {
    let mut reader = Reader { bytes, tables, captures: Captures::default(), owner: None, found: Vec::new() };
    reader.block(Block::Top, None);
    reader.found.sort_by_key(|found| found.span);
    reader.found
}

/// The kind of block that each statement stands in, in their order; `None` where that is not known.
pub fn blocks(bytes: &[u8], tables: &Tables) -> Vec<Option<Block>> {
    let mut opened: Vec<(Option<Block>, Option<Block>)> = Vec::with_capacity(tables.statements.len());
    for statement in &tables.statements {
        let outer = match tables.statements.get(statement.parent as usize) {
            Some(_) => opened.get(statement.parent as usize).and_then(|(_, opened)| *opened),
            None => Some(Block::Top),
        };
        let ready = outer.and_then(|outer| table::find(outer, tables.word(statement).of(bytes)));
        opened.push((outer, ready.and_then(|ready| ready.entry.opens)));
    }
    opened.into_iter().map(|(outer, _)| outer).collect()
}

/// The kind of the block at the top level that a word begins, as the fleet numbers them.
pub fn kind_of(word: &str) -> Option<u8> {
    [Fleet::SITE, Fleet::LINK, Fleet::HANDSET, Fleet::CRAFT, Fleet::MODEL]
        .into_iter()
        .find(|kind| Fleet::word(*kind) == word)
}

struct Reader<'t> {
    bytes: &'t [u8],
    tables: &'t Tables,
    captures: Captures,
    owner: Option<(u8, CompactString)>,
    found: Vec<Occurrence>,
}

impl Reader<'_> {
    fn block(&mut self, block: Block, parent: Option<u32>) {
        let tables = self.tables;
        for index in tables.body(parent) {
            let Some(statement) = tables.statements.get(index as usize) else { continue };
            if block == Block::Top {
                self.owner = None;
            }
            let Some(ready) = table::find(block, tables.word(statement).of(self.bytes)) else { continue };
            self.statement(ready, statement, index);
            if let Some(opened) = ready.entry.opens.filter(|_| statement.has_body) {
                self.block(opened, Some(index));
            }
        }
    }

    fn statement(&mut self, ready: &'static Ready, statement: &Statement, index: u32) {
        let items = Items::new(self.bytes, self.tables.items(statement), self.tables.word(statement).end);
        let mut captures = std::mem::take(&mut self.captures);
        let fits = ready
            .shapes()
            .iter()
            .filter(|shape| shape.has_body() == statement.has_body)
            .any(|shape| shape.take(&mut items.clone(), &mut captures).is_ok());
        if fits {
            let (block, word) = (ready.entry.block, ready.entry.word);
            let first = captures.list.first();
            if let (Block::Top, Some(kind), Some(("name", Located { value: Capture::Name(name), .. }))) =
                (block, kind_of(word), first)
            {
                self.owner = Some((kind, name.clone()));
            }
            let first = match captures.list.first() {
                Some((_, Located { value: Capture::Name(name), .. })) if word == WITHOUT => name.clone(),
                _ => CompactString::default(),
            };
            for (slot, Located { value, span }) in &captures.list {
                match value {
                    Capture::Name(name) => {
                        let meaning = match word == WITHOUT {
                            true => {
                                taken_away(block, &first).filter(|_| *slot == "key").map(|named| (named, Role::Used))
                            }
                            false => meaning(block, word, slot),
                        };
                        if let Some((named, role)) = meaning {
                            self.add(index, named, role, &Located::new(name.clone(), *span));
                        }
                    }
                    Capture::Names(names) => {
                        let named = of_list(block, word);
                        named.iter().for_each(|named| {
                            names.iter().for_each(|name| self.add(index, *named, Role::Used, name));
                        });
                    }
                    Capture::Condition(condition) => self.condition(index, condition),
                    Capture::Value(value) => self.value(index, value),
                    _ => {}
                }
            }
        }
        self.captures = captures;
    }

    fn add(&mut self, statement: u32, named: Named, role: Role, name: &Name) {
        let owner = self.owner.clone();
        self.found.push(Occurrence { named, name: name.value.clone(), span: name.span, role, owner, statement });
    }

    fn condition(&mut self, statement: u32, condition: &Condition) {
        let mut names: Vec<(Named, &Name)> = Vec::new();
        condition.walk(&mut |condition| match &condition.kind {
            ConditionKind::Position { control, .. } => names.push((Named::Control, control)),
            ConditionKind::Axis { axis, .. } => names.push((Named::Control, axis)),
            ConditionKind::Mode(name) => names.push((Named::Mode, name)),
            ConditionKind::Named(name) => names.push((Named::Condition, name)),
            _ => {}
        });
        names.into_iter().for_each(|(named, name)| self.add(statement, named, Role::Used, name));
    }

    fn value(&mut self, statement: u32, value: &Value) {
        let mut names: Vec<(Named, Name)> = Vec::new();
        value.walk(&mut |value| match &value.kind {
            ValueKind::Control(name) => names.push((Named::InValue, Located::new(name.clone(), value.span))),
            ValueKind::Curve(name, _) => names.push((Named::Curve, name.clone())),
            _ => {}
        });
        names.iter().for_each(|(named, name)| self.add(statement, *named, Role::Used, name));
    }
}

/// What the name in a slot of a statement is a name of, and what is done with it there.
pub(super) fn meaning(block: Block, word: &str, slot: &str) -> Option<(Named, Role)> {
    let used = |kind| Some((Named::Top(kind), Role::Used));
    match (block, word, slot) {
        (Block::Top, word, "name") => Some((Named::Top(kind_of(word)?), Role::Defined)),
        (Block::Top, word, "like") => Some((Named::Top(kind_of(word)?), Role::Like)),
        (Block::HandsetModule | Block::Receiver, "link", _) => used(Fleet::LINK),
        (Block::Craft, "flown-at", _) => used(Fleet::SITE),
        (Block::Model, "handset", _) => used(Fleet::HANDSET),
        (Block::Model, "trainer", "pupil") => used(Fleet::MODEL),
        (Block::Handset, "switch" | "button" | "knob" | "slider", "name") => Some((Named::Control, Role::Defined)),
        (Block::Handset, "module", "bay") => Some((Named::Bay, Role::Defined)),
        (Block::Model, "module", "bay") => Some((Named::Bay, Role::Used)),
        (Block::Model, "before-start" | "condition", "control") => Some((Named::Control, Role::Used)),
        (Block::Model, "condition", "name") => Some((Named::Condition, Role::Defined)),
        (Block::Model, "curve", "name") => Some((Named::Curve, Role::Defined)),
        (Block::Model, "mix", "name") => Some((Named::Mix, Role::Defined)),
        (Block::Controller, "mode", "name") => Some((Named::Mode, Role::Defined)),
        (Block::Controller, "mode", "excludes") => Some((Named::Mode, Role::Used)),
        _ => None,
    }
}

/// What the names in the list of a statement are names of.
pub(super) fn of_list(block: Block, word: &str) -> Option<Named> {
    ((block, word) == (Block::Model, "flies")).then_some(Named::Top(Fleet::CRAFT))
}

/// What the key behind `without` and a word is a name of.
fn taken_away(block: Block, word: &str) -> Option<Named> {
    match (block, word) {
        (Block::Handset, "switch" | "button" | "knob" | "slider") => Some(Named::Control),
        (Block::Handset | Block::Model, "module") => Some(Named::Bay),
        (Block::Model, "condition") => Some(Named::Condition),
        (Block::Model, "curve") => Some(Named::Curve),
        (Block::Model, "mix") => Some(Named::Mix),
        (Block::Controller, "mode") => Some(Named::Mode),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::parse;

    fn said(text: &str) -> Vec<String> {
        let mut tables = Tables::default();
        parse(text.as_bytes(), table::vocabulary, &mut tables);
        let one = |found: &Occurrence| {
            let written = String::from_utf8_lossy(found.span.of(text.as_bytes())).into_owned();
            format!("{:?} {:?} {written}", found.named, found.role)
        };
        occurrences(text.as_bytes(), &tables).iter().map(one).collect()
    }

    #[test]
    fn every_name_is_told_where_it_stands() {
        let text = "model \"a b\" like c {\n handset h\n flies d, \"e f\"\n module m off\n before-start s up\n\
                    condition x latch set s becomes down and y reset mode arm\n condition z toggle on b\n without curve q\n\
                    channel 3 { value q(s) * crow when not x }\n mix crow = roll * k }\n";
        let wanted = [
            "Top(4) Defined \"a b\"",
            "Top(4) Like c",
            "Top(2) Used h",
            "Top(3) Used d",
            "Top(3) Used \"e f\"",
            "Bay Used m",
            "Control Used s",
            "Condition Defined x",
            "Control Used s",
            "Condition Used y",
            "Mode Used arm",
            "Condition Defined z",
            "Control Used b",
            "Curve Used q",
            "Curve Used q",
            "InValue Used s",
            "InValue Used crow",
            "Condition Used x",
            "Mix Defined crow",
            "InValue Used roll",
            "InValue Used k",
        ];
        assert_eq!(said(text), wanted);
        let text = "craft a { receiver { link l }\n controller { mode m channel 5 1000..1200 us excludes n }\n flown-at p\n expect never mode m }\n\
                    handset h { switch s 2 positions; button b; module in { link l } }\n";
        let wanted = [
            "Top(3) Defined a",
            "Top(1) Used l",
            "Mode Defined m",
            "Mode Used n",
            "Top(0) Used p",
            "Mode Used m",
            "Top(2) Defined h",
            "Control Defined s",
            "Control Defined b",
            "Bay Defined in",
            "Top(1) Used l",
        ];
        assert_eq!(said(text), wanted);
    }

    #[test]
    fn a_line_that_is_not_understood_says_no_name() {
        assert_eq!(said("craft a {\n flown-at\n receiver { link 7 }\n}\nrubbish b\n"), ["Top(3) Defined a"]);
    }
}
