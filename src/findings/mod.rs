//! What the rules say: findings, their mends, their order, their fingerprints, and the waivers that cover them.

use crate::source::Place;
use compact_str::CompactString;

/// How bad a finding is, after the signal words of safety labels. The order is from the least to the worst.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Severity {
    /// Untidy, confusing.
    Note,
    /// An aircraft can be lost or will not work.
    Caution,
    /// Someone can be hurt, or a law is broken.
    Danger,
    /// A description that can't be understood.
    Fault,
}

impl Severity {
    /// The word that every output uses.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Caution => "caution",
            Self::Danger => "danger",
            Self::Fault => "fault",
        }
    }
}

/// The name of a rule, `group/name`. Its text is the one in the rule's data file.
pub type RuleId = &'static str;

/// A replacement of bytes in a file; an empty range inserts, an empty text deletes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Edit {
    /// The bytes to replace.
    pub place: Place,
    /// What stands there afterwards.
    pub text: String,
}

/// One way to mend a finding, with the edits that do it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Choice {
    /// What the pilot would say to choose it.
    pub label: String,
    /// The edits, in any order; they do not overlap.
    pub edits: Vec<Edit>,
}

/// How a finding can be mended.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Mend {
    /// Words only: the choice is the pilot's, or the mend is not in the text.
    Words(String),
    /// Edits that keep the pilot's intent.
    Sure(Choice),
    /// Edits that pick for the pilot; the first is the likeliest.
    Choices(String, Vec<Choice>),
}

/// One concrete state of the handset that shows a finding, and how to get there. Names are sorted by the order of
/// the handset's description.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Witness {
    /// Every control with its setting in the last state.
    pub controls: Vec<(CompactString, Setting)>,
    /// Trims that are not centred, in percent.
    pub trims: Vec<(CompactString, f64)>,
    /// Latched conditions with their state.
    pub latches: Vec<(CompactString, bool)>,
    /// The start state's settings that differ from rest, then one entry a movement.
    pub path: Vec<Vec<(CompactString, Setting)>>,
    /// Every channel in the last state.
    pub channels: Vec<WitnessChannel>,
}

/// Where a control stands.
#[derive(Clone, PartialEq, Debug)]
pub enum Setting {
    /// A switch position or a button state, by its name.
    Position(CompactString),
    /// An axis, in percent.
    Percent(f64),
}

/// One channel of a witness.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct WitnessChannel {
    /// Channel number, from 1.
    pub channel: u8,
    /// The pulse before the link, in microseconds.
    pub pulse_us: f64,
    /// The pulse received; absent where the link does not carry the channel.
    pub carried_us: Option<f64>,
}

/// One thing a rule found.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding {
    /// The rule.
    pub rule: RuleId,
    /// How bad it is in this case.
    pub severity: Severity,
    /// The primary place.
    pub place: Place,
    /// Other places, each with a few words on what stands there.
    pub others: Vec<(Place, String)>,
    /// One sentence that states the fact with its numbers.
    pub message: String,
    /// What can happen here; absent: what the rule's data file says.
    pub what_can_happen: Option<String>,
    /// A state that shows it.
    pub witness: Option<Witness>,
    /// For a proved absence: the range that is reached, in words.
    pub reached: Option<String>,
    /// The way to mend it.
    pub mend: Mend,
    /// Names of the aircraft it concerns.
    pub aircraft: Vec<CompactString>,
    /// Survives edits elsewhere in the file; 0 until the findings are gathered.
    pub fingerprint: u64,
}
