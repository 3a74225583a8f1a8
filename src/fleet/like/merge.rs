//! A block that is `like` another, put together from the two.

use super::text::{Source, Spelt};
use crate::fleet::problem::{Problem, ProblemKind};
use crate::fleet::read::key_of;
use crate::fleet::resolve::quoted;
use crate::fleet::table::{self, Block, Taken, WITHOUT};
use crate::fleet::{Decimal, items};
use crate::source::{Place, Span};
use crate::syntax::{Comment, Kind, Statement, Tables, Token};
use compact_str::{CompactString, format_compact};

/// How many statements of the other block a message lists.
const MOST_LISTED: usize = 12;

/// One of the two blocks: its text, its tables, and the statement that it is.
#[derive(Clone, Copy)]
pub(super) struct Side<'t> {
    pub(super) source: Source<'t>,
    pub(super) tables: &'t Tables,
}

/// What tells statements of one block apart.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Key<'t> {
    /// The only one of its word with this item, or of its word at all.
    One(&'t [u8], Option<CompactString>),
    /// One of several that belong together.
    Series(&'t [u8], &'t [u8]),
    /// Nothing.
    Free,
}

impl<'t> Side<'t> {
    pub(super) fn statement(self, index: u32) -> Option<&'t Statement> {
        self.tables.statements.get(index as usize)
    }

    pub(super) fn word(self, statement: &Statement) -> &'t [u8] {
        self.tables.word(statement).of(self.source.bytes())
    }

    /// What tells a statement from the others of a block.
    pub(super) fn key(self, block: Block, index: u32) -> Key<'t> {
        let Some(statement) = self.statement(index) else { return Key::Free };
        let word = self.word(statement);
        let Some(ready) = table::find(block, word) else { return Key::Free };
        let bytes = self.source.bytes();
        if !ready.entry.many {
            return Key::One(word, None);
        }
        if ready.entry.key.is_some() {
            return Key::One(word, key_of(bytes, self.tables, ready, statement));
        }
        match ready.entry.taken {
            Taken::Together => Key::Series(word, b""),
            Taken::ByFirstItem => {
                Key::Series(word, self.tables.items(statement).first().map_or(b"", |item| item.of(bytes)))
            }
            Taken::Each | Taken::Nothing => Key::Free,
        }
    }

    fn entry(self, block: Block, index: u32) -> Option<&'static table::Entry> {
        Some(table::find(block, self.word(self.statement(index)?))?.entry)
    }

    /// The kind of block that a statement opens.
    pub(super) fn opens(self, block: Block, index: u32) -> Option<Block> {
        let statement = self.statement(index).filter(|statement| statement.has_body)?;
        table::find(block, self.word(statement))?.entry.opens
    }

    /// The comments on lines of their own right above a statement, and the one behind it.
    fn comments(self, index: u32) -> (&'t [Comment], Option<Span>) {
        let Some(statement) = self.statement(index) else { return (&[], None) };
        let all = self.tables.comments.as_slice();
        let word = self.tables.word(statement).start;
        // Of those above it, the ones that stand behind all that ends before it.
        let tokens = self.tables.tokens.get(..statement.word as usize).unwrap_or_default();
        let before = tokens.iter().rfind(|token| token.kind != Kind::EndOfLine).map_or(0, |token| token.end);
        let from = all.partition_point(|comment| comment.span.start < before);
        let to = all.partition_point(|comment| comment.span.start < word);
        let above = all.get(from..to).unwrap_or_default();
        let own = above.iter().position(|comment| comment.own_line).unwrap_or(above.len());
        let end = self.tables.whole(index).end;
        let behind = all.get(all.partition_point(|comment| comment.span.start < end)).filter(|comment| {
            let between = Span::new(end, comment.span.start);
            !comment.own_line && between.of(self.source.bytes()).iter().all(|byte| matches!(byte, b' ' | b'\t'))
        });
        (above.get(own..).unwrap_or_default(), behind.map(|comment| comment.span))
    }
}

/// Puts blocks together.
pub(super) struct Merge<'t> {
    /// The block that says what it is like.
    pub(super) own: Side<'t>,
    /// The other one.
    pub(super) base: Side<'t>,
    /// What it is called there, as messages name it: `model "dunlin race"`.
    pub(super) base_name: &'t str,
    /// Where a place of the block that says it stands, for what is said of it.
    pub(super) header: Place,
    pub(super) out: Spelt,
    pub(super) problems: Vec<Problem>,
    pub(super) depth: usize,
}

impl Merge<'_> {
    /// The statements of the two blocks, of one kind, put together; the header is written already.
    pub(super) fn body(&mut self, block: Block, own: u32, base: u32) {
        let (own_side, base_side) = (self.own, self.base);
        let own_all: Vec<u32> = own_side.tables.body(Some(own)).collect();
        let base_all: Vec<u32> = base_side.tables.body(Some(base)).collect();
        let (away, own_all): (Vec<u32>, Vec<u32>) = own_all.into_iter().partition(|&index| {
            own_side.statement(index).is_some_and(|one| own_side.word(one) == WITHOUT.as_bytes() && !one.broken)
        });
        let mut gone = vec![false; base_all.len()];
        for index in away {
            self.take_away(block, index, &base_all, &mut gone);
        }
        let own_keys: Vec<Key<'_>> = own_all.iter().map(|&index| own_side.key(block, index)).collect();
        let mut used = vec![false; own_all.len()];
        for (&index, _) in base_all.iter().zip(&gone).filter(|(_, gone)| !**gone) {
            let key = base_side.key(block, index);
            let twins: Vec<usize> = match &key {
                Key::Free => Vec::new(),
                Key::One(..) => own_keys.iter().position(|own| *own == key).into_iter().collect(),
                Key::Series(..) => (0..own_keys.len()).filter(|&at| own_keys.get(at) == Some(&key)).collect(),
            };
            if twins.is_empty() {
                self.inherit(block, index);
                continue;
            }
            for at in twins {
                if let (Some(used), Some(&twin)) = (used.get_mut(at), own_all.get(at))
                    && !std::mem::replace(used, true)
                {
                    self.both(block, twin, index);
                }
            }
        }
        for (&index, _) in own_all.iter().zip(&used).filter(|(_, used)| !**used) {
            self.whole(own_side, index);
        }
        self.not_guessed(block, &own_all, &base_all, &gone);
    }

    /// Two statements with one key.
    fn both(&mut self, block: Block, own: u32, base: u32) {
        let (opens, based_on) = (self.own.opens(block, own), self.base.opens(block, base));
        match opens {
            Some(opened) if based_on == opens => {
                self.open(self.own, own);
                self.body(opened, own, base);
                self.close();
            }
            Some(Block::Channel) if !self.has_value(own) => self.with_value(own, base),
            _ => self.whole(self.own, own),
        }
    }

    fn has_value(&self, channel: u32) -> bool {
        let mut inside = self.own.tables.body(Some(channel)).filter_map(|index| self.own.statement(index));
        inside.any(|statement| self.own.word(statement) == b"value")
    }

    /// A channel whose block says nothing of its value, over one that is nothing but its value: `channel 1 = roll`.
    fn with_value(&mut self, own: u32, base: u32) {
        self.open(self.own, own);
        let statement = self.base.statement(base);
        let items = statement.map(|statement| self.base.tables.items(statement)).unwrap_or_default();
        if let Some(equals) = items.iter().position(|token| token.kind == Kind::Equals)
            && let (Some(first), Some(last)) = (items.get(equals + 1), items.last())
        {
            self.indent();
            self.out.add("value ");
            self.out.take(self.base.source, first.span().to(last.span()));
            self.out.add("\n");
        }
        let inside: Vec<u32> = self.own.tables.body(Some(own)).collect();
        inside.into_iter().for_each(|index| self.whole(self.own, index));
        self.close();
    }

    /// A statement of the other block, without what is never taken over.
    fn inherit(&mut self, block: Block, index: u32) {
        if self.base.entry(block, index).is_some_and(|entry| entry.taken == Taken::Nothing) {
            return;
        }
        let inside: Vec<u32> = self.base.tables.body(Some(index)).collect();
        let opened = self.base.opens(block, index);
        let names_something = |&one: &u32| {
            let entry = opened.and_then(|opened| self.base.entry(opened, one));
            entry.is_some_and(|entry| entry.taken == Taken::Nothing)
        };
        let Some(opened) = opened.filter(|_| inside.iter().any(names_something)) else {
            return self.whole(self.base, index);
        };
        self.open(self.base, index);
        inside.iter().for_each(|&one| self.inherit(opened, one));
        self.not_guessed(opened, &[], &inside, &[]);
        self.close();
    }

    /// Says what has to be stated here, since it is never taken over, and is not.
    fn not_guessed(&mut self, block: Block, own: &[u32], base: &[u32], gone: &[bool]) {
        let stated = |word: &[u8]| {
            own.iter().any(|&index| self.own.statement(index).is_some_and(|statement| self.own.word(statement) == word))
        };
        let there = |word: &[u8]| {
            let has = |index: u32| self.base.statement(index).is_some_and(|one| self.base.word(one) == word);
            base.iter().zip(gone.iter().chain(std::iter::repeat(&false))).any(|(&index, gone)| !gone && has(index))
        };
        let (word, why, mend) = match block {
            Block::Model if there(b"flies") && !stated(b"flies") => (
                "flies",
                "which aircraft it flies is not taken over",
                "add `flies` with the aircraft of this model, or `without flies`",
            ),
            Block::ModelModule
                if there(b"receiver-number") && !stated(b"receiver-number") && self.matches(own, base) =>
            {
                (
                    "receiver-number",
                    "its receiver number is not taken over, and with `match on` it needs one of its own",
                    "add `receiver-number` with this model's own number to its module",
                )
            }
            _ => return,
        };
        self.indent();
        self.out.add_broken(word, self.header);
        self.out.add("\n");
        let message = format!("this model is like {}, but {why}", self.base_name);
        let missing = Problem::new(ProblemKind::MissingStatement, self.header, message, mend);
        if !self.problems.iter().any(|known| known.message == missing.message) {
            self.problems.push(missing);
        }
    }

    /// Whether a module's `match` is on: as it is stated here, or else there.
    fn matches(&self, own: &[u32], base: &[u32]) -> bool {
        let on = |side: Side<'_>, list: &[u32]| {
            let mut all = list.iter().filter_map(|&index| side.statement(index));
            let found = all.find(|statement| side.word(statement) == b"match")?;
            Some(side.tables.items(found).first().is_some_and(|item| item.of(side.source.bytes()) == b"on"))
        };
        on(self.own, own).or_else(|| on(self.base, base)).unwrap_or(false)
    }

    /// Takes the statements of the other block away that a `without` names.
    fn take_away(&mut self, block: Block, index: u32, base: &[u32], gone: &mut [bool]) {
        let Some(statement) = self.own.statement(index) else { return };
        let bytes = self.own.source.bytes();
        let Source::Given(file, ..) = self.own.source else { return };
        let place = Place::new(file, self.own.tables.header(statement));
        let items = self.own.tables.items(statement);
        let is_name = |item: &Token| matches!(item.kind, Kind::Word | Kind::Text);
        let (Some(first), true) = (items.first().filter(|item| is_name(item)), items.len() <= 2) else {
            let message = "`without` takes a statement's word, and what tells it from others with its word";
            let mend = "write it like `without channel 8`, `without controller`, or `without alarm battery`";
            return self.problems.push(Problem::new(ProblemKind::Syntax, place, message, mend));
        };
        let named = items::text(bytes, *first);
        let whole = |item: &Token| Decimal::parse(item.of(bytes)).and_then(|number| number.to_whole());
        let key = items.get(1).map(|item| match whole(item) {
            Some(number) => format_compact!("{number}"),
            None => items::text(bytes, *item),
        });
        let mut found = false;
        for (&one, gone) in base.iter().zip(gone) {
            let Some(other) = self.base.statement(one) else { continue };
            let same_key = match (&key, self.base.key(block, one)) {
                (None, _) => true,
                (Some(key), Key::One(_, Some(known))) => *key == known,
                (Some(key), Key::Series(_, first)) => key.as_bytes() == first,
                _ => false,
            };
            if self.base.word(other) == named.as_bytes() && same_key {
                (*gone, found) = (true, true);
            }
        }
        if found {
            return;
        }
        let mut there: Vec<String> = Vec::new();
        for &one in base {
            let Some(other) = self.base.statement(one) else { continue };
            let word = String::from_utf8_lossy(self.base.word(other)).into_owned();
            let known = match self.base.key(block, one) {
                Key::One(_, key) => format!("`{}`", named_by(&word, key.as_deref())),
                _ => format!("`{word}`"),
            };
            if !there.contains(&known) {
                there.push(known);
            }
        }
        // Those with its word say more than the others.
        let alike: Vec<String> =
            there.iter().filter(|known| known.starts_with(&format!("`{named} "))).cloned().collect();
        let listed = if alike.is_empty() { there } else { alike };
        let more = if listed.len() > MOST_LISTED { ", …" } else { "" };
        let list = listed.iter().take(MOST_LISTED).cloned().collect::<Vec<_>>().join(", ");
        let has = if list.is_empty() { "nothing that could be taken away".to_owned() } else { format!("{list}{more}") };
        let message = format!(
            "there is no `{}` to take away: {} has {has} here",
            named_by(&named, key.as_deref()),
            self.base_name
        );
        let mend = "name one that is there, or take the line out";
        self.problems.push(Problem::new(ProblemKind::UnknownName, place, message, mend));
    }

    /// A statement as it stands there, with its block and its comments.
    fn whole(&mut self, side: Side<'_>, index: u32) {
        let Some(statement) = side.statement(index) else { return };
        let behind = self.begin(side, index, statement);
        if !is_closed(side, index) {
            // What misses a brace gets it here; that it misses it was told.
            self.out.take(side.source, side.tables.header(statement));
            if statement.has_body {
                self.out.add(" {\n");
                self.depth += 1;
                let inside: Vec<u32> = side.tables.body(Some(index)).collect();
                inside.into_iter().for_each(|one| self.whole(side, one));
                self.close();
            } else {
                self.out.add("\n");
            }
            return;
        }
        self.out.take(side.source, side.tables.whole(index));
        if let Some(behind) = behind {
            self.out.add("  ");
            self.out.take(side.source, behind);
        }
        self.out.add("\n");
    }

    /// Writes what stands above a statement: a blank line, and its comments. Gives the comment behind it.
    fn begin(&mut self, side: Side<'_>, index: u32, statement: &Statement) -> Option<Span> {
        let (above, behind) = side.comments(index);
        let first = above.first().map_or(side.tables.word(statement).start, |comment| comment.span.start);
        let before = side.source.bytes().get(..first as usize).unwrap_or_default().trim_ascii_end();
        let gap = Span::new(before.len() as u32, first).of(side.source.bytes());
        if gap.iter().filter(|byte| **byte == b'\n').count() > 1 {
            self.out.add("\n");
        }
        for comment in above {
            self.indent();
            self.out.take(side.source, comment.span);
            self.out.add("\n");
        }
        self.indent();
        behind
    }

    fn open(&mut self, side: Side<'_>, index: u32) {
        let Some(statement) = side.statement(index) else { return };
        self.begin(side, index, statement);
        self.out.take(side.source, side.tables.header(statement));
        self.out.add(" {\n");
        self.depth += 1;
    }

    pub(super) fn close(&mut self) {
        self.depth = self.depth.saturating_sub(1);
        self.indent();
        self.out.add("}\n");
    }

    fn indent(&mut self) {
        (0..self.depth).for_each(|_| self.out.add("  "));
    }
}

/// Whether every block in a statement has its closing brace.
fn is_closed(side: Side<'_>, index: u32) -> bool {
    let after = side.statement(index).map_or(index, |statement| statement.after);
    let inside = side.tables.statements.get(index as usize..after as usize).unwrap_or_default();
    inside.iter().all(|statement| !statement.has_body || statement.close != crate::syntax::NONE)
}

/// How `without` calls a statement.
pub(super) fn named_by(word: &str, key: Option<&str>) -> String {
    match key {
        Some(key) if !key.is_empty() && key.bytes().all(|byte| byte.is_ascii_digit()) => format!("{word} {key}"),
        Some(key) => format!("{word} {}", quoted(key)),
        None => word.to_owned(),
    }
}
