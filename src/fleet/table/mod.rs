//! The table of statements: each is declared once, keyed by block and word. The reader, the nearest-word help, the
//! language reference and every other description of the language come from here.
//!
//! A shape is written as it is read: plain words stand for themselves, `<slot:kind>` is an item, `[…]` may be left
//! out, `(…)*` may stand any number of times, a `{` at the end opens the block. Kinds: `name`, `position`,
//! `int LOW..HIGH`, `ints LOW..HIGH` (a list with ranges), `int-range LOW..HIGH`, `number DIMENSION [LOW..HIGH]`, `numbers DIMENSION`,
//! `range DIMENSION`, `duration`, `day`, `names`, `sum` (names joined by `+`), `points`, `condition`, `value`, and
//! `<slot=a|b>` for one of some words (`<slot=a|b,>` for a list of them).

mod craft;
pub mod grammars;
mod handset;
pub mod lists;
mod model;
mod reference;

pub use reference::{entry, lists, markdown};

use crate::fleet::number::Dimension;
use crate::fleet::shape::Shape;
use crate::syntax::{self, BlockKind};
use std::sync::OnceLock;

macro_rules! blocks {
    ($($variant:ident $name:literal),* $(,)?) => {
        /// The kinds of block.
        #[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, PartialOrd, Ord)]
        #[repr(u8)]
        pub enum Block { $(#[doc = $name] $variant),* }

        impl Block {
            /// All kinds, in the order of the reference.
            pub const ALL: &'static [Block] = &[$(Block::$variant),*];

            /// How the reference and messages name the block.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name),* }
            }
        }
    };
}

blocks! {
    Top "the file", Place "a place", Link "a link", Handset "a handset", HandsetBattery "a handset's battery",
    HandsetModule "a handset's module", Craft "a craft", Receiver "a receiver", Preset "a failsafe preset",
    Controller "a controller", Surfaces "surfaces", CraftBattery "a craft's battery", Model "a model",
    ModelModule "a model's module", Curve "a curve", Rates "rates", Mix "a mix",
    Channel "a channel",
}

/// What a block that is `like` another takes over of a statement that has no key of its own.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Taken {
    /// All of its word, unless one of its word is stated: their order says what they mean together.
    Together,
    /// The same, but only those that begin with the same item belong together.
    ByFirstItem,
    /// Each of them in any case; one that is stated comes to the others.
    Each,
    /// Nothing: it holds for the one thing that is described, and is never guessed.
    Nothing,
}

/// The declaration of one statement.
#[derive(Debug)]
pub struct Entry {
    /// The block it stands in.
    pub block: Block,
    /// Its word.
    pub word: &'static str,
    /// Its shapes, without the word.
    pub shapes: &'static [&'static str],
    /// The block that the shapes with a body open.
    pub opens: Option<Block>,
    /// Whether it may stand more than once.
    pub many: bool,
    /// The item that tells it from others with its word: the number of a channel, the name of a condition; `None` where
    /// nothing does.
    pub key: Option<u8>,
    /// What happens to it in a block that is `like` another: see [`crate::fleet::like`].
    pub taken: Taken,
    /// Whether the block can't do without it.
    pub required: bool,
    /// What holds where it is absent, in words; empty: it is not known.
    pub default: &'static str,
    /// What it means, in a sentence or two.
    pub help: &'static str,
}

impl Entry {
    const fn new(block: Block, word: &'static str, shapes: &'static [&'static str], help: &'static str) -> Self {
        Self {
            block,
            word,
            shapes,
            opens: None,
            many: false,
            key: None,
            taken: Taken::Together,
            required: false,
            default: "",
            help,
        }
    }

    const fn opens(mut self, block: Block) -> Self {
        self.opens = Some(block);
        self
    }

    const fn many(mut self) -> Self {
        self.many = true;
        self
    }

    /// It may stand more than once, each time with another first item.
    const fn keyed(self) -> Self {
        self.keyed_by(0)
    }

    /// It may stand more than once, each time with another item at this place.
    const fn keyed_by(mut self, item: u8) -> Self {
        self.key = Some(item);
        self.many()
    }

    /// How a block that is `like` another takes it over.
    const fn taken(mut self, taken: Taken) -> Self {
        self.taken = taken;
        self
    }

    const fn required(mut self) -> Self {
        self.required = true;
        self
    }

    const fn default(mut self, words: &'static str) -> Self {
        self.default = words;
        self
    }
}

const TOP: &[Entry] = &[
    Entry::new(
        Block::Top,
        "rig",
        &["<version:int 1..1000000>"],
        "The version of the language; the first statement of every file.",
    )
    .required(),
    Entry::new(Block::Top, "place", &["<name:name> [like <like:name>] {"], "A place where aircraft are flown.")
        .opens(Block::Place)
        .keyed(),
    Entry::new(
        Block::Top,
        "link",
        &["<name:name> [like <like:name>] {"],
        "A kind of radio link, shared by modules and receivers.",
    )
    .opens(Block::Link)
    .keyed(),
    Entry::new(
        Block::Top,
        "handset",
        &["<name:name> [like <like:name>] {"],
        "A transmitter handset with its controls and modules.",
    )
    .opens(Block::Handset)
    .keyed(),
    Entry::new(
        Block::Top,
        "craft",
        &["<name:name> [like <like:name>] {"],
        "An aircraft (or car, or boat) with what is built into it.",
    )
    .opens(Block::Craft)
    .keyed(),
    Entry::new(Block::Top, "model", &["<name:name> [like <like:name>] {"], "A model stored in a handset.")
        .opens(Block::Model)
        .keyed(),
];

/// The word that takes a statement away which a block would have of the one that it is `like`.
pub const WITHOUT: &str = "without";

const fn without(block: Block) -> Entry {
    // Where something has a key that tells it from others.
    let shapes: &[&str] = match block {
        Block::Handset | Block::Craft | Block::Preset | Block::Controller | Block::Surfaces | Block::Model => {
            &["<word:name> [<key:position>]"]
        }
        _ => &["<word:name>"],
    };
    Entry::new(
        block,
        WITHOUT,
        shapes,
        "Takes away a statement that the block would have of the one that it is `like`: its word, and what tells it from \
         others with its word.",
    )
    .many()
    .taken(Taken::Nothing)
}

/// In every block but the file, and a mix, which has nothing but its value.
const WITHOUTS: [Entry; Block::ALL.len() - 2] = {
    let mut all = [const { without(Block::Top) }; Block::ALL.len() - 2];
    let (mut from, mut to) = (0, 0);
    while from < Block::ALL.len() {
        let block = Block::ALL[from];
        if !matches!(block, Block::Top | Block::Mix) {
            all[to] = without(block);
            to += 1;
        }
        from += 1;
    }
    all
};

/// The declarations of all statements, in the order of the reference.
pub fn entries() -> impl Iterator<Item = &'static Entry> {
    static WITHOUTS: [Entry; Block::ALL.len() - 2] = self::WITHOUTS;
    [TOP, handset::ENTRIES, craft::ENTRIES, model::ENTRIES, &WITHOUTS].into_iter().flatten()
}

/// A declaration as the reader uses it.
#[derive(Debug)]
pub struct Ready {
    /// The declaration.
    pub entry: &'static Entry,
    shapes: OnceLock<Vec<Shape>>,
    number: u8,
}

impl Ready {
    /// Its shapes, in the order in which they are tried: made ready when the first such statement is read.
    pub fn shapes(&self) -> &[Shape] {
        self.shapes.get_or_init(|| self.entry.shapes.iter().map(|text| Shape::new(text)).collect())
    }

    /// One bit of its own among the statements of its block, so that a set of them is a number.
    pub fn bit(&self) -> u64 {
        1 << (self.number % 64)
    }

    /// Whether a condition or a value may stand in it.
    pub fn holds_conditions(&self) -> bool {
        let holds = |shape: &&str| [":condition>", ":value>"].iter().any(|slot| shape.contains(slot));
        self.entry.shapes.iter().any(holds)
    }

    /// Whether the item that tells it from others with its word is a whole number rather than a name.
    pub fn key_is_a_number(&self) -> bool {
        self.entry
            .shapes
            .iter()
            .any(|shape| shape.starts_with("<channel:int") || shape.starts_with("channel <channel:int"))
    }
}

/// The statements of a block, and where a word's is found: at the place that its letters give, or behind.
#[derive(Debug, Default)]
struct Known {
    list: Vec<Ready>,
    places: Vec<u8>,
    /// The bits of those that the block can't do without.
    required: u64,
}

/// More places than twice the statements of any block, so that most words are found at once.
const PLACES: usize = 128;
const EMPTY: u8 = u8::MAX;

/// The place of a word: most of a block's words differ in an end or in their length.
fn place(word: &[u8]) -> usize {
    let end = |byte: Option<&u8>| usize::from(byte.copied().unwrap_or_default());
    (end(word.first()) * 5 + end(word.last()) * 11 + word.len() * 3) % PLACES
}

fn ready() -> &'static [Known] {
    static READY: OnceLock<Vec<Known>> = OnceLock::new();
    READY.get_or_init(|| {
        let new = |_| Known { list: Vec::new(), places: vec![EMPTY; PLACES], required: 0 };
        let mut blocks: Vec<Known> = Block::ALL.iter().map(new).collect();
        for entry in entries() {
            let Some(block) = blocks.get_mut(entry.block as usize) else { continue };
            let number = block.list.len() as u8;
            let mut at = place(entry.word.as_bytes());
            while block.places.get(at).is_some_and(|&taken| taken != EMPTY) {
                at = (at + 1) % PLACES;
            }
            block.places[at] = number;
            let ready = Ready { entry, shapes: OnceLock::new(), number };
            block.required |= if entry.required { ready.bit() } else { 0 };
            block.list.push(ready);
        }
        blocks
    })
}

/// The statements of a block.
pub fn block(block: Block) -> &'static [Ready] {
    ready().get(block as usize).map_or(&[], |known| known.list.as_slice())
}

/// The statements that a block can't do without, as a set of their bits.
pub fn required(block: Block) -> u64 {
    ready().get(block as usize).map_or(0, |known| known.required)
}

/// The statement with this word in a block.
pub fn find(block: Block, word: &[u8]) -> Option<&'static Ready> {
    let known = ready().get(block as usize)?;
    let mut at = place(word);
    loop {
        let ready = known.list.get(usize::from(*known.places.get(at)?))?;
        if ready.entry.word.as_bytes() == word {
            return Some(ready);
        }
        at = (at + 1) % PLACES;
    }
}

/// A shape as a pilot reads it: `number <switch|any> [levels <levels>]`.
pub fn plain(shape: &str) -> String {
    let mut out = String::new();
    for piece in shape.split_inclusive('>') {
        match piece.rsplit_once('<') {
            Some((before, slot)) => {
                out += before;
                let slot = slot.trim_end_matches('>');
                match slot.split_once('=') {
                    Some((_, words)) => out += &words.trim_end_matches(',').replace('|', " | "),
                    None => out += &format!("<{}>", slot.split(':').next().unwrap_or_default()),
                }
            }
            None => out += piece,
        }
    }
    out
}

/// A shape as it can be typed, and the other words that may stand where it takes the first of several. Capitals stand for
/// what only the pilot knows.
pub fn to_type(shape: &str) -> (String, Vec<&str>) {
    let (mut out, mut others) = (String::new(), Vec::new());
    let mut rest = shape;
    while let Some((before, slot)) = rest.split_once('<') {
        let Some((slot, after)) = slot.split_once('>') else { break };
        out += before;
        let unit = |argument: &str| match argument {
            "frequency" if slot.starts_with("edges") || slot.starts_with("range") => "MHz",
            "charge" => "mAh",
            _ => {
                Dimension::find(argument).and_then(|dimension| dimension.units().first()).map_or("", |unit| unit.text())
            }
        };
        match (slot.split_once('='), slot.split_once(':')) {
            (Some((_, words)), _) => {
                let mut words = words.trim_end_matches(',').split('|');
                out += words.next().unwrap_or_default();
                others.extend(words);
            }
            (_, Some((_, kind))) => {
                let mut parts = kind.split(' ');
                let (kind, argument) = (parts.next().unwrap_or_default(), parts.next().unwrap_or_default());
                out += &match kind {
                    "int" | "ints" => "N".to_owned(),
                    "int-range" => "LOW..HIGH".to_owned(),
                    "number" | "numbers" => format!("N {}", unit(argument)),
                    "range" => format!("LOW..HIGH {}", unit(argument)),
                    "duration" => if shape.starts_with("<time") { "N min" } else { "N s" }.to_owned(),
                    "position" => "POSITION".to_owned(),
                    "points" => "-100:-100, 0:0, 100:100".to_owned(),
                    "condition" => "CONDITION".to_owned(),
                    "value" => "VALUE".to_owned(),
                    _ => "NAME".to_owned(),
                };
            }
            _ => out += slot,
        }
        rest = after;
    }
    out += rest;
    (out, others)
}

/// All shapes of a statement as a message quotes them.
pub fn forms(entry: &Entry) -> String {
    let forms: Vec<String> = entry
        .shapes
        .iter()
        .map(|shape| format!("`{}`", format!("{} {}", entry.word, plain(shape)).trim_end()))
        .collect();
    forms.join(" or ")
}

/// What the recovery of the reader asks: see [`crate::syntax::Vocabulary`].
pub fn vocabulary(kind: BlockKind, word: &[u8], has_body: bool) -> syntax::Known {
    use syntax::Known;
    let Some(&block) = Block::ALL.get(usize::from(kind.0)) else { return Known::No };
    let Some(ready) = find(block, word) else { return Known::No };
    if !ready.shapes().iter().any(|shape| shape.has_body() == has_body) {
        return Known::OtherForm;
    }
    match ready.entry.opens {
        Some(opened) if has_body => Known::Opens(BlockKind(opened as u8)),
        _ => Known::Yes,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_declaration_is_sound() {
        for entry in entries() {
            assert!(!entry.help.is_empty() && entry.help.ends_with('.'), "{} {}", entry.block.name(), entry.word);
            assert!(block(entry.block).len() < 64, "each statement of a block has a bit of its own");
            let ready = find(entry.block, entry.word.as_bytes()).unwrap();
            let takes_key =
                find(entry.block, WITHOUT.as_bytes()).is_none_or(|ready| ready.entry.shapes[0].contains("<key:"));
            let has_key = entry.key.is_some() || entry.taken == Taken::ByFirstItem;
            assert!(!has_key || takes_key, "`without` can't name {} of {}", entry.word, entry.block.name());
            assert!(std::ptr::eq(ready.entry, entry), "{} is declared twice in {}", entry.word, entry.block.name());
            assert_eq!(ready.shapes().iter().any(Shape::has_body), entry.opens.is_some(), "{}", entry.word);
        }
    }
}
