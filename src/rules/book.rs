//! The rule book as static tables: every rule's texts, parameters and examples, as `rules/<group>/<name>.toml` has them.
//!
//! `build.rs` reads the data files and writes the tables; nothing is parsed when the program runs.

use crate::findings::Severity;
use crate::fleet::table::Block;

include!(concat!(env!("OUT_DIR"), "/book.rs"));

/// What starts a marker in a bad example. The rule's name follows, to the end of the line.
pub const MARK: &str = "# <- ";

/// One rule, in plain words. In every text a paragraph is one line and paragraphs stand apart by an empty line; a
/// line that starts with "- " is an item of a list.
#[derive(Debug)]
pub struct RuleDoc {
    /// The rule's only name, `group/name`.
    pub id: &'static str,
    /// The part of `id` before the slash.
    pub group: &'static str,
    /// The part of `id` behind the slash.
    pub name: &'static str,
    /// One line, no full stop.
    pub title: &'static str,
    /// The usual severity.
    pub severity: Severity,
    /// How the severity differs by case, where it does.
    pub severities: Option<&'static str>,
    /// What the rule's verdict rests on.
    pub basis: Basis,
    /// What the rule offers to do about it.
    pub mend_kind: MendKind,
    /// Whether it asks something, rather than being found while a text is read.
    pub asks: Option<Asks>,
    /// The aircraft that it is about.
    pub applies: Applies,
    /// What it can't be asked without: of each list one.
    pub needs: &'static [&'static [Need]],
    /// What it needs besides for silence to mean that all is well: without it the rule is asked all the same, and where it finds
    /// nothing it counts as not asked. Of a block that is not there nothing is needed.
    pub clear_needs: &'static [&'static [Need]],
    /// Statements that it looks at where they are stated: a line that may have been one of them and was not understood
    /// leaves open what it would find.
    pub looks_at: &'static [(Block, &'static str)],
    /// What it finds.
    pub what_is_it: &'static str,
    /// What can happen with it in the air or on the bench.
    pub what_can_happen: &'static str,
    /// What can happen instead in a case that a finding names: the case, and the text.
    pub cases: &'static [(&'static str, &'static str)],
    /// How to see it on the bench, propellers off.
    pub bench: &'static str,
    /// How to mend it.
    pub mend: &'static str,
    /// When it may stay as it is.
    pub when_fine: &'static str,
    /// The published source, or that there is none.
    pub source: &'static str,
    /// Why there is no bad example, where there is none.
    pub no_example: Option<&'static str>,
    /// What the settings file can change.
    pub parameters: &'static [ParameterDoc],
    /// Examples in which the rule speaks, one a case of its severities.
    pub bad: &'static [BadExample],
    /// Examples in which it is silent.
    pub good: &'static [GoodExample],
}

/// What a rule's verdict rests on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Basis {
    /// Decided by the query over all reachable states.
    Signal,
    /// Which model and which receiver connect.
    Pairing,
    /// A regional or chemistry table with its sources.
    Table,
    /// Read off the description.
    Facts,
    /// A rule of thumb of the trade, without a source.
    Practice,
    /// Found while the text is read.
    Reading,
}

/// What a rule looks at, one after the other.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Asks {
    /// A model with one of its aircraft, over each link that reaches it.
    Signals,
    /// A model with one of its aircraft.
    Setup,
    /// One way from a bay to a receiver.
    Way,
    /// A model.
    Model,
    /// An aircraft.
    Craft,
    /// A handset.
    Handset,
    /// What the arming controls of all models do.
    Arms,
    /// The models that share something with another.
    Sharing,
    /// The whole fleet.
    Fleet,
    /// The text of a file.
    Text,
}

/// The aircraft that a rule is about. What is absent leaves nothing out.
#[derive(Clone, Copy, Debug)]
pub struct Applies {
    /// Only these kinds of craft; empty: all.
    pub kinds: &'static [&'static str],
    /// Not these kinds of craft.
    pub not_kinds: &'static [&'static str],
    /// Only with a flight controller, or only without.
    pub controller: Option<bool>,
    /// Only with surfaces, or only without.
    pub surfaces: Option<bool>,
    /// Only with something that drives it, or only without.
    pub powered: Option<bool>,
    /// Only with an engine that burns fuel, or only without.
    pub combustion: Option<bool>,
    /// Only with a model for a simulator, or only with others.
    pub simulator: Option<bool>,
    /// Only where one of each list is stated, since the rule is about that.
    pub has: &'static [&'static [Need]],
}

/// Something that a rule needs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Need {
    /// A statement, by its block and word.
    Stated(Block, &'static str),
    /// Something that no single statement says.
    Special(Special),
}

/// What no single statement says. Each is there, is not there (then the rule does not apply), or is not known.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Special {
    /// The signal path can be put together: controls, scale, channels.
    Signal,
    /// The pulses that ask to arm are stated; not there on an aircraft that is armed by sticks.
    ArmMode,
    /// What the controller asks for before it arms is stated; not there on an aircraft that is armed by sticks.
    ArmNeeds,
    /// A mode other than the request to arm.
    OtherMode,
    /// A mode that excludes another.
    ExcludingMode,
    /// A mode for the ground, or one that stops the motors.
    GroundMode,
    /// A mode that flies home, lands or stops the motors.
    EndingMode,
    /// A mode that flies home or stops the motors.
    HeldMode,
    /// A mode that allows arming.
    EnableMode,
    /// A mode that flies home, or a controller that flies back when the link is lost.
    FliesHome,
    /// The channels that drive motors are stated.
    Motor,
    /// The same, with a motor that runs one way only.
    ForwardMotor,
    /// The same, with a motor that can run backwards.
    ReversibleMotor,
    /// The same, with more than one motor.
    SeveralMotors,
    /// It is stated where each motor idles.
    Idle,
    /// Two surfaces that mix two sticks each.
    MixedSurfaces,
    /// What speaks in a bay that is on and what the aircraft hears is stated, whether they agree or not.
    Links,
    /// A bay is on.
    BayOn,
    /// More than one bay is on.
    SeveralBays,
    /// How many chains of a module send at once is stated, or it has only one.
    Chains,
    /// Only receivers of the model's number are to answer.
    MatchOn,
    /// The model flies more than one aircraft.
    SeveralAircraft,
    /// Every model says what it flies.
    AllFlies,
    /// What the receiver does when the link is lost is known.
    Failsafe,
    /// It gives out stored pulses then.
    Preset,
    /// It repeats the last commands then.
    Hold,
    /// It sends nothing then.
    OutputStops,
    /// An alarm for the flight battery.
    BatteryAlarm,
    /// An alarm for the whole pack.
    PackAlarm,
    /// An alarm for the link.
    LinkAlarm,
    /// No alarm for the strength of the signal.
    NoSignalAlarm,
    /// What one cell has when the alarm sounds can be told.
    CellVoltage,
    /// Functions are handed over to a pupil.
    HandOver,
    /// The throttle is among them.
    ThrottleGiven,
    /// Some channel is slowed down.
    FullSweep,
    /// The rates of a stick have expo.
    RateExpo,
    /// The figure at the update rate of the bay can be told from those that the link states.
    Sensitivity,
    /// The aircraft has no flight controller.
    NoController,
    /// The handset moves no surface of the aircraft.
    NoSurfaces,
    /// A battery of its own feeds the receiver.
    ReceiverBattery,
    /// The height of the antenna is stated, on a craft that stays on the ground or the water.
    AntennaHeight,
    /// The settings ask for tests of the aircraft, and the day of the inspection is known.
    TestsAsked,
    /// This program has a table of radio rules for the region.
    RegionTable,
    /// The same, and the table says something of the whole band of the link.
    BandTable,
    /// Everything that decides the power that is radiated.
    PowerFacts,
    /// Everything that decides how long the link is on the air.
    DutyFacts,
}

impl Special {
    /// How many there are.
    pub const COUNT: usize = Self::DutyFacts as usize + 1;
}

impl RuleDoc {
    /// What can happen in a case that a finding names, or in general.
    pub fn what_can_happen_in(&self, case: &str) -> &'static str {
        self.cases.iter().find(|(known, _)| *known == case).map_or(self.what_can_happen, |(_, text)| text)
    }

    /// What can happen in general, and then in each case that differs.
    pub fn all_that_can_happen(&self) -> String {
        let texts: Vec<&str> =
            std::iter::once(self.what_can_happen).chain(self.cases.iter().map(|(_, text)| *text)).collect();
        texts.join("\n\n")
    }

    /// Whether something that no single statement says is all that one of its needs asks for.
    pub fn needs_special(&self, special: Special) -> bool {
        self.needs.contains(&[Need::Special(special)].as_slice())
    }
}

impl Basis {
    /// The word of the data file.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Signal => "signal",
            Self::Pairing => "pairing",
            Self::Table => "table",
            Self::Facts => "facts",
            Self::Practice => "practice",
            Self::Reading => "reading",
        }
    }
}

/// What a rule offers to do about its findings.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum MendKind {
    /// Edits that keep the pilot's intent.
    Sure,
    /// Edits that pick for the pilot.
    Choice,
    /// Words only.
    Words,
}

impl MendKind {
    /// The word of the data file.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sure => "sure",
            Self::Choice => "choice",
            Self::Words => "words",
        }
    }
}

/// A number that the settings file can change.
#[derive(Debug)]
pub struct ParameterDoc {
    /// Its key.
    pub name: &'static str,
    /// Its default, with its unit.
    pub default: &'static str,
    /// What it decides.
    pub help: &'static str,
}

/// A text in which the rule speaks, at the line that carries its mark.
#[derive(Debug)]
pub struct BadExample {
    /// What is wrong in it.
    pub title: &'static str,
    /// The severity of the finding.
    pub severity: Severity,
    /// Names of the shared files that are read together with it.
    pub with: &'static [&'static str],
    /// The file's name, where it matters; else any name that ends in `.rig`.
    pub file: Option<&'static str>,
    /// The text with its marks.
    pub text: &'static str,
    /// What the mend makes of the text without its marks; of several mends the first.
    pub repaired: Option<&'static str>,
}

impl BadExample {
    /// The text without its marks, as a mend would find it.
    pub fn unmarked(&self) -> String {
        self.text.lines().flat_map(|line| [split_mark(line).0, "\n"]).collect()
    }

    /// Every mark: the line it stands in, from 1, and the rule it names.
    pub fn marks(&self) -> impl Iterator<Item = (usize, &'static str)> {
        (1..).zip(self.text.lines()).filter_map(|(line, text)| Some((line, split_mark(text).1?)))
    }
}

/// A text in which the rule is silent, and nothing else is a danger.
#[derive(Debug)]
pub struct GoodExample {
    /// What is right in it.
    pub title: &'static str,
    /// Names of the shared files that are read together with it.
    pub with: &'static [&'static str],
    /// The file's name, where it matters; else any name that ends in `.rig`.
    pub file: Option<&'static str>,
    /// The text.
    pub text: &'static str,
}

/// A file that examples share.
#[derive(Debug)]
pub struct Preamble {
    /// Its name, as `with` has it.
    pub name: &'static str,
    /// A whole file, from its first line.
    pub text: &'static str,
}

/// A group of rules, in the order of the book.
#[derive(Debug)]
pub struct Group {
    /// The part of a rule's name before the slash.
    pub name: &'static str,
    /// What the group's rules are about.
    pub about: &'static str,
}

const GROUPS: &[Group] = &[
    Group { name: "format", about: "The description itself: what can't be read or understood." },
    Group { name: "arming", about: "How the motors are made live, and how they are made dead again." },
    Group { name: "throttle", about: "What the motors are told when nobody wants them to turn." },
    Group { name: "channels", about: "What travels to the aircraft, and how far." },
    Group { name: "surfaces", about: "Which way the surfaces go, and whether both sides agree." },
    Group { name: "modes", about: "What the flight controller is asked to do beyond flying." },
    Group { name: "failsafe", about: "What happens when the radio link is lost." },
    Group { name: "module", about: "The part of the handset that transmits." },
    Group { name: "receiver", about: "Which model and which aircraft find each other." },
    Group { name: "spectrum", about: "Radio rules, by region, and reach." },
    Group { name: "alarms", about: "What warns the pilot in time." },
    Group { name: "handset", about: "The handset's own settings." },
    Group { name: "house", about: "Rules of this folder and its club." },
];

/// The groups in the order of the book.
pub fn groups() -> &'static [Group] {
    GROUPS
}

/// The rules of a group, by name.
pub fn in_group(group: &str) -> impl Iterator<Item = &'static RuleDoc> {
    BOOK.iter().filter(move |rule| rule.group == group)
}

/// The rule with exactly this name.
pub fn find(id: &str) -> Option<&'static RuleDoc> {
    BOOK.binary_search_by(|rule| rule.id.cmp(id)).ok().and_then(|at| BOOK.get(at))
}

/// The rule whose name is most like `id`, with or without its group; nothing where none is near.
pub fn nearest(id: &str) -> Option<&'static RuleDoc> {
    /// How alike two names must be to be taken for a slip, from 0 to 1.
    const ALIKE: f64 = 0.6;
    let likeness = |rule: &RuleDoc| {
        let whole = strsim::normalized_damerau_levenshtein(rule.id, id);
        whole.max(strsim::normalized_damerau_levenshtein(rule.name, id))
    };
    let nearest = BOOK.iter().map(|rule| (likeness(rule), rule)).max_by(|a, b| a.0.total_cmp(&b.0));
    nearest.filter(|(alike, _)| *alike >= ALIKE).map(|(_, rule)| rule)
}

/// The shared file with exactly this name.
pub fn preamble(name: &str) -> Option<&'static Preamble> {
    PREAMBLES.iter().find(|preamble| preamble.name == name)
}

/// A line without its mark, and the rule that the mark names.
fn split_mark(line: &str) -> (&str, Option<&str>) {
    match line.split_once(MARK) {
        Some((before, rule)) => (before.trim_end(), Some(rule.trim_end())),
        None => (line, None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_are_found_by_their_name_and_by_a_slip_of_it() {
        for rule in BOOK {
            assert_eq!(find(rule.id).map(|found| found.id), Some(rule.id));
            assert_eq!(nearest(rule.id).map(|found| found.id), Some(rule.id));
        }
        assert!(find("arming").is_none());
        assert_eq!(nearest("arming/between-levls").map(|found| found.id), Some("arming/between-levels"));
        assert_eq!(nearest("between-levels").map(|found| found.id), Some("arming/between-levels"));
        assert!(nearest("zzzzzzzz").is_none());
    }

    /// The build script does not know the table of statements.
    #[test]
    fn what_rules_need_can_be_stated() {
        for rule in BOOK {
            let needs = rule.needs.iter().chain(rule.clear_needs).chain(rule.applies.has).copied().flatten();
            let stated = needs.filter_map(|need| match need {
                Need::Stated(block, word) => Some((*block, *word)),
                Need::Special(_) => None,
            });
            for (block, word) in stated.chain(rule.looks_at.iter().copied()) {
                let known = crate::fleet::table::find(block, word.as_bytes()).is_some();
                assert!(known, "{}: {} has no statement `{word}`", rule.id, block.name());
            }
            for kind in rule.applies.kinds.iter().chain(rule.applies.not_kinds) {
                assert!(crate::fleet::words::CraftKind::find(kind).is_some(), "{}: {kind}", rule.id);
            }
        }
    }

    #[test]
    fn the_book_is_sorted_and_every_rule_is_in_a_known_group() {
        assert!(BOOK.is_sorted_by(|a, b| a.id < b.id));
        for rule in BOOK {
            assert!(groups().iter().any(|group| group.name == rule.group), "{}", rule.id);
            assert_eq!(rule.id, format!("{}/{}", rule.group, rule.name));
        }
    }

    #[test]
    fn every_mark_names_a_rule_and_leaves_no_trace_when_taken_off() {
        for (rule, bad) in BOOK.iter().flat_map(|rule| rule.bad.iter().map(move |bad| (rule, bad))) {
            assert!(bad.marks().any(|(_, named)| named == rule.id), "{}: {}", rule.id, bad.title);
            for (line, named) in bad.marks() {
                assert!(find(named).is_some(), "{}: {}: line {line} names {named}", rule.id, bad.title);
            }
            let plain = bad.unmarked();
            assert!(!plain.contains(MARK));
            assert_eq!(plain.lines().count(), bad.text.lines().count());
        }
    }

    #[test]
    fn texts_read_as_paragraphs() {
        for rule in BOOK {
            for text in [rule.what_is_it, &rule.all_that_can_happen(), rule.bench, rule.mend, rule.when_fine] {
                for paragraph in text.split('\n').filter(|line| !line.is_empty()) {
                    assert!(paragraph.ends_with(['.', ':', '?', '!']), "{}: {paragraph}", rule.id);
                }
            }
        }
    }
}
