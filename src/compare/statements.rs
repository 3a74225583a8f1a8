//! The statements of a block as they mean, under the names that the other side has.

use crate::fleet::occurs::Named;
use crate::fleet::says::{Saying, sayings};
use crate::fleet::{Fleet, table};
use crate::inspect::Workspace;
use crate::syntax::{NONE, Statement, Tables, Token, parse};
use rustc_hash::FxHashMap;

/// New names of what is called otherwise now, by what it is and its old name.
#[derive(Clone, Default)]
pub(super) struct Renames(FxHashMap<(Named, String), String>);

impl Renames {
    /// Something has another name now.
    pub(super) fn add(&mut self, named: Named, old: &str, new: &str) {
        self.0.insert((named, old.to_owned()), new.to_owned());
    }

    pub(super) fn add_all(&mut self, others: &Self) {
        self.0.extend(others.0.iter().map(|(key, new)| (key.clone(), new.clone())));
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// A text with what is called otherwise under its new name, where it stands as a whole word.
    pub(super) fn in_words(&self, text: &str) -> String {
        let mut names: Vec<(&str, &str)> = self.0.iter().map(|((_, old), new)| (old.as_str(), new.as_str())).collect();
        names.sort_unstable_by_key(|(old, new)| (std::cmp::Reverse(old.len()), *old, *new));
        let is_part = |letter: char| letter.is_alphanumeric() || letter == '-' || letter == '_';
        let (mut told, mut rest) = (String::with_capacity(text.len()), text);
        let mut is_start = true;
        while let Some(first) = rest.chars().next() {
            let here = names.iter().filter(|_| is_start).find_map(|(old, new)| {
                let behind = rest.strip_prefix(old).filter(|behind| !old.is_empty() && !behind.starts_with(is_part))?;
                Some((*new, behind))
            });
            match here {
                Some((new, behind)) => {
                    told += new;
                    (rest, is_start) = (behind, false);
                }
                None => {
                    told.push(first);
                    is_start = !is_part(first);
                    rest = rest.get(first.len_utf8()..).unwrap_or_default();
                }
            }
        }
        told
    }

    fn called(&self, named: Named, name: &str) -> Option<String> {
        let find = |named| self.0.get(&(named, name.to_owned())).cloned();
        match named {
            Named::InValue => find(Named::Control).or_else(|| find(Named::Mix)),
            named => find(named),
        }
    }
}

/// One statement of a block.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Stated {
    /// What it says, with the statements around it: equal where it means the same.
    pub(super) means: String,
    /// The words that say which statement it is: `controller mode arm`, without what it says; the outermost first.
    pub(super) about: Vec<String>,
    /// What it and those around it say, each by itself; the outermost first.
    pub(super) says: Vec<String>,
    /// As they are written, in the same order.
    pub(super) shown: Vec<String>,
    /// The conditions of the model that it names.
    pub(super) conditions: Vec<String>,
    /// What it says is compared by what the signal path does.
    pub(super) is_signal: bool,
}

impl Stated {
    /// The words that say which statement of the block it is, or stands in.
    pub(super) fn outermost(&self) -> &str {
        self.about.first().map_or("", String::as_str)
    }
}

/// The statements of a block, in their order; none where it can't be spelled out.
pub(super) fn of(workspace: &Workspace, kind: u8, name: &str, renames: &Renames) -> Option<Vec<Stated>> {
    let body = workspace.spelled_out(kind, name)?;
    let text = format!("rig 1\n{body}\n");
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    let sayings = sayings(text.as_bytes(), &tables, &|named, name| renames.called(named, name));
    let reader = Reader { text: &text, tables: &tables, sayings: &sayings, kind };
    let all = (0..).zip(&tables.statements).filter(|(_, statement)| statement.parent != NONE);
    // A bare block says what stands in it.
    let all = all.filter(|(_, it)| !it.has_body || it.items_end > it.word + 1);
    Some(all.map(|(at, _)| reader.stated(at)).collect())
}

struct Reader<'t> {
    text: &'t str,
    tables: &'t Tables,
    sayings: &'t [Saying],
    kind: u8,
}

/// Words of a model whose statements the signal path compares by what they do.
const OF_MODEL: [&str; 5] = ["channel", "rates", "curve", "mix", "condition"];

/// What stands in a channel and has no part in the settled pulse.
const BESIDE: &str = "full-sweep";

impl Reader<'_> {
    fn token(&self, at: u32) -> Token {
        self.tables.tokens.get(at as usize).copied().unwrap_or_default()
    }

    /// The text from one token to another.
    fn written(&self, from: Token, to: Token) -> String {
        let text = self.text.get(from.start as usize..to.end as usize).unwrap_or_default();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    fn word(&self, statement: &Statement) -> String {
        let word = self.token(statement.word);
        self.written(word, word)
    }

    /// The statements around one, the outermost first, without the block itself; and the one.
    fn chain(&self, at: u32) -> Vec<u32> {
        let parent = |at: u32| self.tables.statements.get(at as usize).map_or(NONE, |it| it.parent);
        let mut chain = vec![at];
        let mut above = parent(at);
        while above != NONE && parent(above) != NONE {
            chain.push(above);
            above = parent(above);
        }
        chain.reverse();
        chain
    }

    fn stated(&self, at: u32) -> Stated {
        let chain = self.chain(at);
        let parts = || {
            let each = chain.iter().map(|at| *at as usize);
            each.filter_map(|at| Some((self.tables.statements.get(at)?, self.sayings.get(at)?)))
        };
        let says: Vec<String> = parts().map(|(_, saying)| saying.says.clone()).collect();
        let shown = parts().map(|(statement, _)| {
            let last = statement.items_end.saturating_sub(1).max(statement.word);
            self.written(self.token(statement.word), self.token(last))
        });
        let about = parts().map(|(statement, saying)| match &saying.key {
            Some(key) => format!("{} {key}", self.word(statement)),
            None => self.word(statement),
        });
        let words: Vec<String> = parts().map(|(statement, _)| self.word(statement)).collect();
        let is_of_model = words.first().is_some_and(|first| OF_MODEL.contains(&first.as_str()));
        Stated {
            means: says.join(" / "),
            about: about.collect(),
            says,
            shown: shown.collect(),
            conditions: parts().flat_map(|(_, saying)| saying.conditions.clone()).collect(),
            is_signal: self.kind == Fleet::MODEL && is_of_model && words.last().is_none_or(|last| last != BESIDE),
        }
    }
}
