//! The statements of a block as they mean, apart from how they are written: without layout and comments, with numbers
//! in one unit, and under the names that the other side has.

use crate::fleet::{Fleet, table};
use crate::inspect::Workspace;
use crate::syntax::{Kind, NONE, Statement, Tables, Token, Unit, parse};
use rustc_hash::FxHashMap;

/// New names of what is called otherwise now, by the old ones.
pub(super) type Renames = FxHashMap<String, String>;

/// One statement of a block.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Stated {
    /// What it says, with the statements around it: equal where it means the same.
    pub(super) means: String,
    /// The words that say which statement it is: `controller mode arm`, without what it says.
    pub(super) about: String,
    /// As it is written, with the statements around it.
    pub(super) shown: String,
    /// Its names and words, decoded.
    pub(super) words: Vec<String>,
    /// What it says is compared by what the signal path does.
    pub(super) is_signal: bool,
}

/// The statements of a block, in their order; none where it can't be spelled out.
pub(super) fn of(workspace: &Workspace, kind: u8, name: &str, renames: &Renames) -> Option<Vec<Stated>> {
    let body = workspace.spelled_out(kind, name)?;
    let text = format!("rig 1\n{body}\n");
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    let reader = Reader { text: &text, tables: &tables, renames, kind };
    let all = (0..).zip(&tables.statements).filter(|(_, statement)| statement.parent != NONE);
    // A bare block says what stands in it.
    let all = all.filter(|(_, it)| !it.has_body || it.items_end > it.word + 1);
    Some(all.map(|(at, it)| reader.stated(at, it)).collect())
}

struct Reader<'t> {
    text: &'t str,
    tables: &'t Tables,
    renames: &'t Renames,
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

    fn written(&self, token: Token) -> &str {
        self.text.get(token.start as usize..token.end as usize).unwrap_or_default()
    }

    /// The statements around one, the outermost first, without the block itself; and the one.
    fn chain(&self, at: u32, statement: &Statement) -> Vec<Statement> {
        let mut chain = vec![*statement];
        let (mut parent, mut seen) = (statement.parent, at);
        while parent != NONE && parent < seen {
            let Some(above) = self.tables.statements.get(parent as usize) else { break };
            if above.parent == NONE {
                break;
            }
            chain.push(*above);
            (seen, parent) = (parent, above.parent);
        }
        chain.reverse();
        chain
    }

    fn stated(&self, at: u32, statement: &Statement) -> Stated {
        let chain = self.chain(at, statement);
        let word = |statement: &Statement| self.written(self.token(statement.word)).to_owned();
        let items = |statement: &Statement| {
            (statement.word + 1..statement.items_end).map(|at| self.token(at)).collect::<Vec<Token>>()
        };
        let (mut means, mut shown, mut about, mut words) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for (depth, part) in chain.iter().enumerate() {
            let items = items(part);
            let whole = std::iter::once(word(part)).chain(self.meaning(&items)).collect::<Vec<_>>().join(" ");
            let span = (
                self.token(part.word).start as usize,
                items.last().map_or(self.token(part.word).end, |it| it.end) as usize,
            );
            let as_written = self.text.get(span.0..span.1).unwrap_or_default();
            means.push(whole);
            shown.push(as_written.split_whitespace().collect::<Vec<_>>().join(" "));
            about.push(word(part));
            let is_last = depth + 1 == chain.len();
            // The key of a statement that can stand more than once: a name or a channel.
            let key =
                items.first().filter(|first| matches!(first.kind, Kind::Word | Kind::Text) || self.is_channel(&items));
            about.extend(key.filter(|_| !is_last || items.len() > 1).map(|first| self.named(*first)));
            if let Some(second) = items.get(1).filter(|_| self.is_channel(&items)) {
                about.push(self.written(*second).to_owned());
            }
            words
                .extend(items.iter().filter(|it| matches!(it.kind, Kind::Word | Kind::Text)).map(|it| self.named(*it)));
        }
        let first = chain.first().map(&word).unwrap_or_default();
        let is_beside = chain.last().map(&word).is_some_and(|last| last == BESIDE);
        let is_signal = self.kind == Fleet::MODEL && OF_MODEL.contains(&first.as_str()) && !is_beside;
        Stated { means: means.join(" / "), about: about.join(" "), shown: shown.join(": "), words, is_signal }
    }

    /// Whether items begin with `channel N`.
    fn is_channel(&self, items: &[Token]) -> bool {
        items.first().is_some_and(|first| self.written(*first) == "channel")
    }

    /// A name or a word under the name that the other side has.
    fn named(&self, token: Token) -> String {
        let text = self.written(token);
        let name = if token.kind == Kind::Text { text.trim_matches('"') } else { text };
        self.renames.get(name).map_or(name, String::as_str).to_owned()
    }

    /// Items as they mean.
    fn meaning(&self, items: &[Token]) -> Vec<String> {
        let mut atoms: Vec<Atom> = Vec::new();
        for token in items {
            let text = self.written(*token);
            let number = |text: &str| text.parse().unwrap_or(f64::NAN);
            match (token.kind, atoms.last_mut()) {
                (Kind::Unit(unit), Some(Atom::Number(_, of) | Atom::Range(_, _, of))) => *of = Some(unit),
                (Kind::Number, _) => atoms.push(Atom::Number(number(text), None)),
                (Kind::Range, _) => {
                    let (low, high) = text.split_once("..").unwrap_or((text, text));
                    atoms.push(Atom::Range(number(low), number(high), None));
                }
                (Kind::Comma, _) => atoms.push(Atom::Comma),
                (Kind::Word | Kind::Text, _) => atoms.push(Atom::Other(self.named(*token))),
                _ => atoms.push(Atom::Other(text.to_owned())),
            }
        }
        // In a list a number without a unit has that of the last one.
        let mut unit = None;
        for atom in atoms.iter_mut().rev() {
            match atom {
                Atom::Number(_, of) | Atom::Range(_, _, of) => {
                    *of = of.or(unit);
                    unit = *of;
                }
                Atom::Comma => {}
                Atom::Other(_) => unit = None,
            }
        }
        let mut parts: Vec<String> = Vec::new();
        let mut time: Option<f64> = None;
        for atom in &atoms {
            let (part, now) = match atom {
                Atom::Number(value, unit) => {
                    let (value, name) = in_one_unit(*value, *unit);
                    // `2 min 30 s` is one time.
                    let before = time.filter(|_| name == TIME);
                    let value = value + before.unwrap_or_default();
                    if before.is_some() {
                        parts.pop();
                    }
                    (format!("{} {name}", plain_number(value)), Some(value).filter(|_| name == TIME))
                }
                Atom::Range(low, high, unit) => {
                    let ((low, name), (high, _)) = (in_one_unit(*low, *unit), in_one_unit(*high, *unit));
                    (format!("{}..{} {name}", plain_number(low), plain_number(high)), None)
                }
                Atom::Comma => (",".to_owned(), None),
                Atom::Other(text) => (text.clone(), None),
            };
            parts.push(part.trim_end().to_owned());
            time = now;
        }
        parts
    }
}

/// An item on its way to what it means.
enum Atom {
    Number(f64, Option<Unit>),
    Range(f64, f64, Option<Unit>),
    Comma,
    Other(String),
}

/// The one unit of times.
const TIME: &str = "us";

/// A number in the one unit of its dimension.
fn in_one_unit(value: f64, unit: Option<Unit>) -> (f64, &'static str) {
    let Some(unit) = unit else { return (value, "") };
    match unit {
        Unit::Microsecond => (value, TIME),
        Unit::Millisecond => (value * 1e3, TIME),
        Unit::Second => (value * 1e6, TIME),
        Unit::Minute => (value * 6e7, TIME),
        Unit::Hertz => (value, "Hz"),
        Unit::Kilohertz => (value * 1e3, "Hz"),
        Unit::Megahertz => (value * 1e6, "Hz"),
        Unit::Gigahertz => (value * 1e9, "Hz"),
        Unit::Milliwatt => (value, "mW"),
        Unit::Watt => (value * 1e3, "mW"),
        Unit::Millivolt => (value, "mV"),
        Unit::Volt => (value * 1e3, "mV"),
        Unit::Milliampere => (value, "mA"),
        Unit::Ampere => (value * 1e3, "mA"),
        Unit::MilliampereHour => (value, "mAh"),
        Unit::AmpereHour => (value * 1e3, "mAh"),
        Unit::Metre => (value, "m"),
        Unit::Kilometre => (value * 1e3, "m"),
        Unit::Gram => (value, "g"),
        Unit::Kilogram => (value * 1e3, "g"),
        // Decibels over a milliwatt stay: most are no round number of milliwatts.
        Unit::DecibelMilliwatt | Unit::Percent | Unit::Decibel | Unit::DecibelIsotropic => (value, unit.text()),
    }
}

/// A number without needless digits; nine of them behind the point tell all apart that the language can state.
fn plain_number(value: f64) -> String {
    let text = format!("{value:.9}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
