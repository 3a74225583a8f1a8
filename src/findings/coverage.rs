//! What was asked of each aircraft: how each rule ended, and what those that were not asked would need.

use super::RuleId;
use crate::fleet::table::{self, Block};
use crate::source::Place;
use compact_str::CompactString;
use rustc_hash::FxHashMap;
use std::cmp::Reverse;
use std::sync::Arc;

/// How a rule ended for an aircraft, from what says least to what says most: where an aircraft is flown with several models
/// or has several receivers, the one that says most counts.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
#[repr(u8)]
pub enum Standing {
    /// It is about another kind of aircraft, or about a thing that this one does not have.
    #[default]
    DoesNotApply,
    /// It was asked, and what it looks for is not there: proved, or read off.
    Clear,
    /// Something that it needs is not stated, or was not understood.
    NotAsked,
    /// It was asked, and the analysis ended without an answer.
    NotDecided,
    /// It was asked, and found something.
    Found,
}

impl Standing {
    /// All of them, in the order in which they are read: what was found first.
    pub const ALL: [Self; 5] = [Self::Found, Self::NotDecided, Self::NotAsked, Self::Clear, Self::DoesNotApply];

    /// The words that every output uses.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Found => "found",
            Self::Clear => "clear",
            Self::NotDecided => "not decided",
            Self::NotAsked => "not asked",
            Self::DoesNotApply => "does not apply",
        }
    }
}

/// What a rule needs and does not have.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Missing {
    /// A statement that is not stated.
    Statement {
        /// The kind of block that it belongs in.
        block: Block,
        /// Its word.
        word: &'static str,
        /// The block as it is written, from the outermost header that has to be named: `handset bench-one { module built-in`.
        within: CompactString,
        /// What has to stand behind the word, where not any form of the statement will do; else empty.
        form: &'static str,
    },
    /// A line that was not understood and may have said it.
    Line(Place),
    /// The signal path could not be put together.
    SignalPath {
        /// The line that causes it, or the header of what lacks something.
        place: Place,
        /// Why, in words.
        why: CompactString,
    },
    /// A file that could not be read may say it.
    UnreadFile,
    /// Radio rules that this program does not have.
    NoTable {
        /// The region.
        region: CompactString,
        /// The link, where there is a table for the region, and it has nothing on what this link does.
        link: Option<CompactString>,
    },
}

impl Missing {
    /// What to type, for a statement: `controller { valid LOW..HIGH us }`. Where one of several words is to be chosen the
    /// first is written, and the others stand behind; capitals stand for what only the pilot knows.
    pub fn to_type(&self) -> Option<String> {
        let Self::Statement { block, word, within, form } = self else { return None };
        let entry = table::find(*block, word.as_bytes()).map(|ready| ready.entry);
        // The form with a block, else the first that says something of its own.
        let shape = entry.and_then(|entry| {
            // A failsafe of one word says as much as a preset.
            let block = entry.shapes.iter().find(|shape| shape.ends_with('{') && *word != "failsafe");
            let slot = || entry.shapes.iter().find(|shape| shape.contains(':') && !shape.ends_with('{'));
            let word = || entry.shapes.iter().find(|shape| !shape.ends_with('{'));
            block.or_else(slot).or_else(word).or(entry.shapes.first())
        });
        let short = match (*form, shape) {
            ("", Some(shape)) => shortest(shape),
            (form, _) => form.to_owned(),
        };
        let (shape, others) = table::to_type(&short);
        let others = match others.as_slice() {
            [] => String::new(),
            words => format!(" (or {})", words.join(", ")),
        };
        let (shape, opens) = match shape.strip_suffix('{') {
            Some(shape) => (shape.trim_end().to_owned(), " { … }"),
            None => (shape, ""),
        };
        let statement = format!("{word} {shape}");
        let statement = format!("{}{opens}", statement.trim_end());
        if within.is_empty() {
            return Some(format!("{statement}{others}"));
        }
        let closes = " }".repeat(1 + within.matches(" { ").count());
        Some(format!("{within} {{ {statement}{closes}{others}"))
    }
}

/// A shape without what may be left out.
fn shortest(shape: &str) -> String {
    let (mut out, mut depth) = (String::new(), 0usize);
    for letter in shape.chars() {
        match letter {
            '[' => depth += 1,
            ']' => depth = depth.saturating_sub(1),
            _ if depth == 0 => out.push(letter),
            _ => {}
        }
    }
    let repeated = out.split(" (").next().unwrap_or_default();
    repeated.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// How each rule ended for one aircraft.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Row {
    standings: Vec<Standing>,
    /// What is missing, each once and in order, with the numbers of the rules that need it, in order too.
    missing: Vec<(Missing, Vec<u16>)>,
}

impl Row {
    /// Without anything noted, with room for so many rules.
    pub fn with_room(rules: usize) -> Self {
        Self { standings: Vec::with_capacity(rules), missing: Vec::new() }
    }

    /// Notes how a rule ended, by its number in the list of those asked.
    pub fn note(&mut self, rule: usize, standing: Standing) {
        if self.standings.len() <= rule {
            self.standings.resize(rule + 1, Standing::default());
        }
        if let Some(known) = self.standings.get_mut(rule) {
            *known = standing.max(*known);
        }
    }

    /// Notes that a rule was not asked, and what it would need.
    pub fn note_missing(&mut self, rule: usize, missing: &[Missing]) {
        self.note(rule, Standing::NotAsked);
        missing.iter().for_each(|missing| self.needs(&[rule as u16], missing));
    }

    fn needs(&mut self, rules: &[u16], missing: &Missing) {
        match self.missing.binary_search_by(|(known, _)| known.cmp(missing)) {
            Ok(at) => {
                let known = &mut self.missing[at].1;
                for rule in rules {
                    if let Err(at) = known.binary_search(rule) {
                        known.insert(at, *rule);
                    }
                }
            }
            Err(at) => self.missing.insert(at, (missing.clone(), rules.to_vec())),
        }
    }

    /// How a rule ended.
    pub fn standing(&self, rule: usize) -> Standing {
        self.standings.get(rule).copied().unwrap_or_default()
    }

    /// What a rule that was not asked would need.
    pub fn missing(&self, rule: usize) -> impl Iterator<Item = &Missing> {
        let open = self.standing(rule) == Standing::NotAsked;
        let needs = move |rules: &[u16]| open && rules.iter().any(|known| usize::from(*known) == rule);
        self.missing.iter().filter(move |(_, rules)| needs(rules)).map(|(missing, _)| missing)
    }

    /// How many rules ended so.
    pub fn count(&self, standing: Standing) -> usize {
        self.standings.iter().filter(|known| **known == standing).count()
    }

    /// How many rules apply.
    pub fn applicable(&self) -> usize {
        self.standings.iter().filter(|known| **known != Standing::DoesNotApply).count()
    }

    /// What the rules that were not asked would need, each with how many of them need it; most wanted first.
    pub fn wanted(&self) -> Vec<(&Missing, usize)> {
        let open = |rule: &&u16| self.standing(usize::from(**rule)) == Standing::NotAsked;
        let counts = self.missing.iter().map(|(missing, rules)| (missing, rules.iter().filter(open).count()));
        let mut wanted: Vec<(&Missing, usize)> = counts.filter(|(_, count)| *count > 0).collect();
        // What as many rules need stays in its order.
        wanted.sort_by_key(|(_, count)| Reverse(*count));
        wanted
    }

    /// Shows every place in it.
    pub fn each_place(&mut self, visit: &mut dyn FnMut(&mut Place)) {
        for (mut missing, rules) in std::mem::take(&mut self.missing) {
            if let Missing::Line(place) | Missing::SignalPath { place, .. } = &mut missing {
                visit(place);
            }
            self.needs(&rules, &missing);
        }
    }

    /// Whether nothing is noted.
    pub fn is_empty(&self) -> bool {
        self.standings.is_empty()
    }

    /// Takes in how the rules ended elsewhere for the same aircraft.
    pub fn add(&mut self, other: &Self) {
        if self.is_empty() {
            *self = other.clone();
            return;
        }
        for (rule, standing) in other.standings.iter().enumerate() {
            self.note(rule, *standing);
        }
        other.missing.iter().for_each(|(missing, rules)| self.needs(rules, missing));
    }
}

/// How each rule ended for each aircraft. A copy shares the rows until one of them changes.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Coverage {
    /// The rules that were asked, in the order of the numbers in a row. Those that look at texts alone end nowhere.
    pub rules: Vec<RuleId>,
    /// Whether others were left out, on the command line or in the settings.
    pub filtered: bool,
    rows: FxHashMap<CompactString, Arc<Row>>,
}

impl FromIterator<(CompactString, Arc<Row>)> for Coverage {
    fn from_iter<I: IntoIterator<Item = (CompactString, Arc<Row>)>>(rows: I) -> Self {
        Self { rows: rows.into_iter().collect(), ..Self::default() }
    }
}

impl Coverage {
    /// The row of an aircraft, empty where nothing is noted yet.
    pub fn row(&mut self, aircraft: &str) -> &mut Row {
        Arc::make_mut(self.rows.entry(aircraft.into()).or_default())
    }

    /// What is known of an aircraft.
    pub fn of(&self, aircraft: &str) -> Option<&Row> {
        self.rows.get(aircraft).map(Arc::as_ref)
    }

    /// The rows of all aircraft of which something is noted, in no order.
    pub fn rows(&self) -> impl Iterator<Item = (&CompactString, &Row)> {
        self.rows.iter().map(|(name, row)| (name, row.as_ref()))
    }

    /// Leaves out the rows of all other aircraft.
    pub fn retain(&mut self, wanted: &dyn Fn(&str) -> bool) {
        self.rows.retain(|name, _| wanted(name));
    }

    /// Takes in what was noted elsewhere.
    pub fn add(&mut self, other: &Self) {
        for (name, row) in other.rows() {
            self.row(name).add(row);
        }
    }

    /// Shows every place in it.
    pub fn each_place(&mut self, visit: &mut dyn FnMut(&mut Place)) {
        for row in self.rows.values_mut().filter(|row| !row.missing.is_empty()) {
            Arc::make_mut(row).each_place(visit);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::slice;

    fn statement(block: Block, word: &'static str, within: &str, form: &'static str) -> Missing {
        Missing::Statement { block, word, within: within.into(), form }
    }

    #[test]
    fn what_is_missing_is_written_as_it_is_typed() {
        for (missing, typed) in [
            (statement(Block::Controller, "valid", "controller", ""), "controller { valid LOW..HIGH us }"),
            (statement(Block::Link, "band", "link shore-24", ""), "link shore-24 { band LOW..HIGH MHz }"),
            (
                statement(Block::HandsetModule, "chains", "handset bench-one { module built-in", ""),
                "handset bench-one { module built-in { chains N } }",
            ),
            (statement(Block::Craft, "controller", "craft", ""), "craft { controller { … } }"),
            (statement(Block::Model, "timer", "model \"knot race\"", ""), "model \"knot race\" { timer N min }"),
            (
                statement(Block::Link, "number-check", "link shore-24", ""),
                "link shore-24 { number-check strict } (or learns, blocks-outputs, none)",
            ),
            (
                statement(Block::Controller, "mode", "controller", "arm channel … us"),
                "controller { mode arm channel … us }",
            ),
        ] {
            assert_eq!(missing.to_type().as_deref(), Some(typed));
        }
        assert_eq!(Missing::UnreadFile.to_type(), None);
    }

    #[test]
    fn what_says_most_counts() {
        let (mut one, mut other) = (Coverage::default(), Coverage::default());
        one.row("knot").note(3, Standing::Clear);
        let need = statement(Block::Place, "reach", "place", "");
        other.row("knot").note_missing(3, slice::from_ref(&need));
        other.row("knot").note_missing(1, slice::from_ref(&need));
        other.row("ruff").note(0, Standing::Found);
        one.add(&other);
        let row = one.of("knot").unwrap();
        assert_eq!([0, 1, 2, 3, 4].map(|rule| row.standing(rule)), {
            use Standing::*;
            [DoesNotApply, NotAsked, DoesNotApply, NotAsked, DoesNotApply]
        });
        assert_eq!((row.applicable(), row.wanted()), (2, vec![(&need, 2)]));
        one.row("knot").note(3, Standing::Found);
        let row = one.of("knot").unwrap();
        assert_eq!((row.standing(3), row.missing(3).count(), row.wanted()), (Standing::Found, 0, vec![(&need, 1)]));
        assert_eq!(one.of("ruff").unwrap().count(Standing::Found), 1);
    }
}
