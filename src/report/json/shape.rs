//! The structs of the JSON form.

use super::VERSION;
use crate::findings::coverage::Standing;
use crate::findings::fact::{Fact, FactValue};
use crate::findings::known::Entry;
use crate::findings::verdict::{AircraftVerdict, Counts};
use crate::findings::{self, Finding, Setting, fingerprint};
use crate::report::coverage::in_words;
use crate::report::places::{Places, choices_of};
use crate::rules::book;
use crate::signal::Rational64;
use crate::source;
use compact_str::CompactString;
use serde::ser::{Serialize, SerializeMap, Serializer};

#[derive(serde::Serialize)]
pub(super) struct Report<'r> {
    version: u32,
    files: usize,
    findings: Vec<One<'r>>,
    aircraft: Vec<Aircraft<'r>>,
    counts: Totals,
    waived: usize,
    known: usize,
    known_stale: Vec<Stale<'r>>,
}

#[derive(serde::Serialize)]
struct Stale<'r> {
    rule: &'r str,
    file: &'r str,
    message: &'r str,
    fingerprint: String,
}

#[derive(serde::Serialize)]
struct One<'r> {
    rule: &'r str,
    severity: &'static str,
    key: &'static str,
    facts: Facts<'r>,
    message: &'r str,
    place: Place<'r>,
    others: Vec<Other<'r>>,
    what_can_happen: &'r str,
    reached: Option<&'r str>,
    witness: Option<Witness<'r>>,
    mend: Mend<'r>,
    aircraft: Vec<&'r str>,
    fingerprint: String,
}

#[derive(serde::Serialize)]
struct Place<'r> {
    file: &'r str,
    line: u32,
    column: u32,
    end_line: u32,
    end_column: u32,
    bytes: [u32; 2],
}

#[derive(serde::Serialize)]
struct Other<'r> {
    #[serde(flatten)]
    place: Place<'r>,
    label: &'r str,
}

#[derive(serde::Serialize)]
pub(super) struct Witness<'r> {
    controls: Settings<'r>,
    trims: Trims<'r>,
    latches: Latches<'r>,
    path: Vec<Settings<'r>>,
    channels: Vec<Channel>,
}

#[derive(serde::Serialize)]
struct Channel {
    channel: u8,
    pulse_us: f64,
    carried_us: Option<f64>,
}

#[derive(serde::Serialize)]
struct Mend<'r> {
    kind: &'static str,
    text: &'r str,
    edits: Vec<Edit<'r>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    choices: Option<Vec<Choice<'r>>>,
}

#[derive(serde::Serialize)]
struct Choice<'r> {
    label: &'r str,
    edits: Vec<Edit<'r>>,
}

#[derive(serde::Serialize)]
struct Edit<'r> {
    file: &'r str,
    bytes: [u32; 2],
    text: &'r str,
}

#[derive(serde::Serialize)]
struct Aircraft<'r> {
    name: &'r str,
    #[serde(flatten)]
    counts: Totals,
    verdict: &'static str,
    known: usize,
    rules: Standings,
    needs: Vec<Needed>,
}

/// How many rules ended how for an aircraft.
#[derive(serde::Serialize)]
struct Standings {
    found: usize,
    clear: usize,
    not_decided: usize,
    not_asked: usize,
    does_not_apply: usize,
}

/// What rules that were not asked would need.
#[derive(serde::Serialize)]
struct Needed {
    /// What to type; null where it is no statement that is missing.
    statement: Option<String>,
    words: String,
    rules: Vec<&'static str>,
}

#[derive(serde::Serialize)]
struct Totals {
    fault: usize,
    danger: usize,
    caution: usize,
    note: usize,
    not_decided: usize,
}

/// Control settings as an object, in their own order.
struct Settings<'r>(&'r [(CompactString, Setting)]);

/// Facts as an object, in their own order.
struct Facts<'r>(&'r [Fact]);

/// What a fact is.
struct Value<'r>(&'r FactValue);

/// Trims in percent as an object, in their own order.
struct Trims<'r>(&'r [(CompactString, Rational64)]);

/// Latches as an object, in their own order.
struct Latches<'r>(&'r [(CompactString, bool)]);

impl Serialize for Settings<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, setting) in self.0 {
            match setting {
                Setting::Position(position) => map.serialize_entry(name.as_str(), position.as_str())?,
                Setting::Percent(percent) => map.serialize_entry(name.as_str(), &format!("{} %", percent.text()))?,
                Setting::Wait(seconds) => map.serialize_entry(name.as_str(), &format!("{seconds} s"))?,
            }
        }
        map.end()
    }
}

impl Serialize for Facts<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|fact| (fact.name, Value(&fact.value))))
    }
}

impl Serialize for Value<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.0 {
            FactValue::Channel(channel) => serializer.serialize_u8(*channel),
            FactValue::Amount(amount, unit) => {
                let unit = Some(("unit", unit.word())).filter(|(_, word)| !word.is_empty());
                serializer.collect_map([("value", amount.full().as_str())].into_iter().chain(unit))
            }
            FactValue::Name(text) | FactValue::Text(text) => serializer.serialize_str(text),
            FactValue::Word(word) => serializer.serialize_str(word),
            FactValue::Positions(control, positions) => {
                let positions: Vec<&str> = positions.iter().map(CompactString::as_str).collect();
                serializer.collect_map([(control.as_str(), positions)])
            }
            FactValue::List(_, values) => serializer.collect_seq(values.iter().map(Value)),
        }
    }
}

impl Serialize for Trims<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|(name, percent)| (name.as_str(), format!("{} %", percent.text()))))
    }
}

impl Serialize for Latches<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|(name, on)| (name.as_str(), on)))
    }
}

impl<'r> Report<'r> {
    pub(super) fn of(report: &crate::report::Report<'r>, places: &Places) -> Self {
        Self {
            version: VERSION,
            files: report.files,
            findings: report.findings.iter().map(|finding| One::of(finding, report, places)).collect(),
            aircraft: report.aircraft.iter().map(|aircraft| Aircraft::of(aircraft, report)).collect(),
            counts: Totals::of(&Counts::of(report.findings)),
            known: report.known.len(),
            known_stale: report.stale.iter().map(Stale::of).collect(),
            waived: report.waived.len(),
        }
    }
}

impl<'r> One<'r> {
    fn of(finding: &'r Finding, report: &crate::report::Report<'r>, places: &Places) -> Self {
        let others =
            finding.others.iter().map(|(place, label)| Other { place: Place::of(*place, report, places), label });
        let book = book::find(finding.rule);
        Self {
            rule: finding.rule,
            severity: finding.severity.word(),
            key: finding.key,
            facts: Facts(&finding.facts),
            message: &finding.message,
            place: Place::of(finding.place, report, places),
            others: others.collect(),
            what_can_happen: book.map_or("", |doc| doc.what_can_happen_in(finding.case)),
            reached: finding.reached.as_deref(),
            witness: finding.witness.as_deref().map(Witness::of),
            mend: Mend::of(&finding.mend, report),
            aircraft: finding.aircraft.iter().map(CompactString::as_str).collect(),
            fingerprint: fingerprint::written(finding.fingerprint),
        }
    }
}

impl<'r> Place<'r> {
    fn of(place: source::Place, report: &crate::report::Report<'r>, places: &Places) -> Self {
        let region = places.region(place);
        Self {
            file: report.path(place.file),
            line: region.start.line,
            column: region.start.column,
            end_line: region.end.line,
            end_column: region.end.column,
            bytes: [place.span.start, place.span.end],
        }
    }
}

impl<'r> Witness<'r> {
    pub(super) fn of(witness: &'r findings::Witness) -> Self {
        Self {
            controls: Settings(&witness.controls),
            trims: Trims(&witness.trims),
            latches: Latches(&witness.latches),
            path: witness.path.iter().map(|step| Settings(step)).collect(),
            channels: witness
                .channels
                .iter()
                .map(|one| Channel { channel: one.channel, pulse_us: one.pulse_us, carried_us: one.carried_us })
                .collect(),
        }
    }
}

impl<'r> Mend<'r> {
    fn of(mend: &'r findings::Mend, report: &crate::report::Report<'r>) -> Self {
        let edits = |choice: &'r findings::Choice| -> Vec<Edit<'r>> {
            let edit = |edit: &'r findings::Edit| Edit {
                file: report.path(edit.place.file),
                bytes: [edit.place.span.start, edit.place.span.end],
                text: &edit.text,
            };
            choice.edits.iter().map(edit).collect()
        };
        match mend {
            findings::Mend::Words(text) => Self { kind: "words", text, edits: Vec::new(), choices: None },
            findings::Mend::Sure(sure) => Self { kind: "sure", text: &sure.label, edits: edits(sure), choices: None },
            findings::Mend::Choices(text, _) => {
                let choices =
                    choices_of(mend).iter().map(|choice| Choice { label: &choice.label, edits: edits(choice) });
                Self { kind: "choice", text, edits: Vec::new(), choices: Some(choices.collect()) }
            }
        }
    }
}

impl<'r> Stale<'r> {
    fn of(entry: &'r Entry) -> Self {
        let fingerprint = fingerprint::written(entry.fingerprint);
        Self { rule: &entry.rule, file: &entry.file, message: &entry.message, fingerprint }
    }
}

impl<'r> Aircraft<'r> {
    fn of(aircraft: &'r AircraftVerdict, report: &super::Report<'_>) -> Self {
        let row = report.coverage.of(&aircraft.name);
        let count = |standing| row.map_or(0, |row| row.count(standing));
        let wanted = row.map_or_else(Vec::new, |row| row.wanted());
        let needs = wanted.into_iter().map(|(missing, _)| {
            let rules = report.coverage.rules.iter().enumerate();
            let needing = |number| row.is_some_and(|row| row.missing(number).any(|known| known == missing));
            let rules = rules.filter(|(number, _)| needing(*number)).map(|(_, rule)| *rule).collect();
            Needed { statement: missing.to_type(), words: in_words(missing, report), rules }
        });
        let counts = Totals::of(&aircraft.counts);
        Self {
            name: &aircraft.name,
            counts,
            verdict: aircraft.verdict.words(),
            known: aircraft.known,
            rules: Standings {
                found: count(Standing::Found),
                clear: count(Standing::Clear),
                not_decided: count(Standing::NotDecided),
                not_asked: count(Standing::NotAsked),
                does_not_apply: count(Standing::DoesNotApply),
            },
            needs: needs.collect(),
        }
    }
}

impl Totals {
    const fn of(counts: &Counts) -> Self {
        let Counts { fault, danger, caution, note, not_decided } = *counts;
        Self { fault, danger, caution, note, not_decided }
    }
}
