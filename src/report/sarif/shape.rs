//! The structs of a log.

use super::address::{ArtifactLocation, BASE};
use super::fixes::{self, Fix};
use super::rules::{self, Rules};
use crate::findings::coverage::Standing;
use crate::findings::known::Entry;
use crate::findings::outcome::Waived;
use crate::findings::verdict::{AircraftVerdict, Counts};
use crate::findings::{Finding, Severity, fingerprint};
use crate::report::coverage::in_words;
use crate::report::places::Places;
use crate::report::plain::plain;
use crate::report::{Report, words};
use crate::rules::book;
use crate::source::Place;
use std::collections::BTreeMap;

/// A whole log (section 3.13).
#[derive(serde::Serialize)]
pub(super) struct Log<'r> {
    version: &'static str,
    #[serde(rename = "$schema")]
    schema: &'static str,
    runs: [Run<'r>; 1],
}

#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
struct Run<'r> {
    tool: Tool,
    column_kind: &'static str,
    original_uri_base_ids: BTreeMap<&'static str, Base>,
    results: Vec<One<'r>>,
    properties: RunProperties,
}

#[derive(serde::Serialize)]
struct Tool {
    driver: Driver,
}

#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
struct Driver {
    name: &'static str,
    version: &'static str,
    semantic_version: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    information_uri: Option<&'static str>,
    rules: Vec<rules::Descriptor>,
}

/// A folder that only the reader can place: its full path would tell of the machine (section 3.14.14).
#[derive(serde::Serialize)]
struct Base {
    description: Message,
}

#[derive(serde::Serialize)]
struct RunProperties {
    files: usize,
    waived: usize,
    known: usize,
    #[serde(rename = "knownStale")]
    stale: Vec<Stale>,
    aircraft: Vec<Aircraft>,
}

#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
struct Aircraft {
    name: String,
    verdict: &'static str,
    fault: usize,
    danger: usize,
    caution: usize,
    note: usize,
    not_decided: usize,
    known: usize,
    /// How many rules were asked and what they look for is not there, and how many apply.
    clear: usize,
    applicable: usize,
    /// What the rules that were not asked would need.
    needs: Vec<String>,
}

#[derive(serde::Serialize)]
struct Stale {
    rule: String,
    file: String,
    message: String,
    fingerprint: String,
}

/// A finding (section 3.27).
#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
struct One<'r> {
    rule_id: &'r str,
    #[serde(skip_serializing_if = "Option::is_none")]
    rule_index: Option<usize>,
    level: &'static str,
    message: Message,
    locations: [Location; 1],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<Location>,
    #[serde(skip_serializing_if = "Option::is_none")]
    partial_fingerprints: Option<Fingerprints>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    suppressions: Vec<Suppression>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fixes: Vec<Fix<'r>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    properties: Option<Properties>,
}

/// Why a result is not to be acted on (section 3.35).
#[derive(serde::Serialize, Clone)]
struct Suppression {
    kind: &'static str,
    justification: String,
}

#[derive(serde::Serialize)]
struct Fingerprints {
    #[serde(rename = "walkaround/v1")]
    v1: String,
}

#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
struct Properties {
    severity: &'static str,
    aircraft: Vec<String>,
    what_can_happen: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    reached: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    bench: Option<String>,
    mend: String,
}

#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
struct Location {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<usize>,
    physical_location: PhysicalLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Message>,
}

#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
struct PhysicalLocation {
    artifact_location: ArtifactLocation,
    #[serde(skip_serializing_if = "Option::is_none")]
    region: Option<Region>,
}

/// A part of a file, by its characters and by its bytes (section 3.30).
#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Region {
    start_line: u32,
    start_column: u32,
    end_line: u32,
    end_column: u32,
    byte_offset: u32,
    byte_length: u32,
}

/// A sentence (section 3.11).
#[derive(serde::Serialize)]
pub(super) struct Message {
    text: String,
}

/// How a log grades a severity (section 3.27.10).
pub(super) const fn level_of(severity: Severity) -> &'static str {
    match severity {
        Severity::Fault | Severity::Danger => "error",
        Severity::Caution => "warning",
        Severity::Note => "note",
    }
}

impl<'r> Log<'r> {
    pub(super) fn of(report: &Report<'r>, places: &Places) -> Self {
        let rules = Rules::of(report);
        let found = report.findings.iter().map(|finding| One::of(finding, None, report, places, &rules));
        let known = Suppression { kind: "external", justification: "It is in the record of known findings.".into() };
        let known = report.known.iter().map(|finding| One::of(finding, Some(known.clone()), report, places, &rules));
        let waived = report.waived.iter().map(|waived| One::waived(waived, report, places, &rules));
        let base = Base { description: Message::fixed("The folder in which walkaround was run.") };
        let version = env!("CARGO_PKG_VERSION");
        let driver = Driver {
            name: "walkaround",
            version,
            semantic_version: version,
            information_uri: rules::home(),
            rules: rules.descriptors(),
        };
        let run = Run {
            tool: Tool { driver },
            column_kind: "unicodeCodePoints",
            original_uri_base_ids: BTreeMap::from([(BASE, base)]),
            results: found.chain(known).chain(waived).collect(),
            properties: RunProperties {
                files: report.files,
                known: report.known.len(),
                stale: report.stale.iter().map(Stale::of).collect(),
                waived: report.waived.len(),
                aircraft: report.aircraft.iter().map(|aircraft| Aircraft::of(aircraft, report)).collect(),
            },
        };
        Self {
            version: "2.1.0",
            schema: "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
            runs: [run],
        }
    }
}

impl Aircraft {
    fn of(aircraft: &AircraftVerdict, report: &Report<'_>) -> Self {
        let row = report.coverage.of(&aircraft.name);
        let (clear, applicable) = row.map_or((0, 0), |row| (row.count(Standing::Clear), row.applicable()));
        let wanted = row.map_or_else(Vec::new, |row| row.wanted());
        let needs = wanted.into_iter().map(|(missing, _)| without_link(&in_words(missing, report))).collect();
        let Counts { fault, danger, caution, note, not_decided } = aircraft.counts;
        let name = plain(&aircraft.name).into_owned();
        let (verdict, known) = (aircraft.verdict.words(), aircraft.known);
        Self { name, verdict, fault, danger, caution, note, not_decided, known, clear, applicable, needs }
    }
}

impl Stale {
    fn of(entry: &Entry) -> Self {
        let [rule, file, message] = [&entry.rule, &entry.file, &entry.message].map(|text| plain(text).into_owned());
        Self { rule, file, message, fingerprint: fingerprint::written(entry.fingerprint) }
    }
}

impl<'r> One<'r> {
    fn of(
        finding: &'r Finding,
        suppressed: Option<Suppression>,
        report: &Report<'r>,
        places: &Places,
        rules: &Rules,
    ) -> Self {
        let related = finding.others.iter().enumerate().map(|(number, (place, label))| Location {
            id: Some(number + 1),
            physical_location: PhysicalLocation::of(*place, report, places),
            message: Message::of(label),
        });
        let here = PhysicalLocation::of(finding.place, report, places);
        Self {
            rule_id: finding.rule,
            rule_index: rules.index_of(finding.rule),
            level: level_of(finding.severity),
            message: Message::of(&finding.message).unwrap_or_else(|| Message::fixed(finding.rule)),
            locations: [Location { id: None, physical_location: here, message: None }],
            related_locations: related.collect(),
            partial_fingerprints: Some(Fingerprints { v1: fingerprint::written(finding.fingerprint) }),
            suppressions: suppressed.into_iter().collect(),
            fixes: fixes::of(finding, report, places),
            properties: Some(Properties::of(finding)),
        }
    }

    /// What is kept of a finding that a waiver covers.
    fn waived(waived: &'r Waived, report: &Report<'r>, places: &Places, rules: &Rules) -> Self {
        let until = waived.until.map_or_else(String::new, |day| format!(" (until {day})"));
        let justification = format!("{}{until}", without_link(&plain(&waived.reason)));
        let here = PhysicalLocation::of(waived.place, report, places);
        Self {
            rule_id: waived.rule,
            rule_index: rules.index_of(waived.rule),
            level: level_of(waived.severity),
            message: Message::of(&waived.message).unwrap_or_else(|| Message::fixed(waived.rule)),
            locations: [Location { id: None, physical_location: here, message: None }],
            related_locations: Vec::new(),
            partial_fingerprints: None,
            suppressions: vec![Suppression { kind: "inSource", justification }],
            fixes: Vec::new(),
            properties: None,
        }
    }
}

impl Properties {
    fn of(finding: &Finding) -> Self {
        let shown = |text: &str| plain(text).into_owned();
        let book = book::find(finding.rule).map(|doc| doc.what_can_happen_in(finding.case).trim_end());
        Self {
            severity: finding.severity.word(),
            aircraft: finding.aircraft.iter().map(|name| shown(name)).collect(),
            // The book's own paragraphs keep their line ends.
            what_can_happen: book.unwrap_or_default().to_owned(),
            reached: finding.reached.as_deref().map(shown),
            bench: words::bench(finding),
            mend: words::mend(&finding.mend),
        }
    }
}

impl PhysicalLocation {
    /// A place without its region where the text can't be read again: it then means the whole file.
    fn of(place: Place, report: &Report<'_>, places: &Places) -> Self {
        let artifact_location = ArtifactLocation::of(report.path(place.file));
        Self { artifact_location, region: Region::of(place, places) }
    }
}

impl Region {
    pub(super) fn of(place: Place, places: &Places) -> Option<Self> {
        let region = places.read(place)?;
        Some(Self {
            start_line: region.start.line,
            start_column: region.start.column,
            end_line: region.end.line,
            end_column: region.end.column,
            byte_offset: place.span.start,
            byte_length: place.span.end.saturating_sub(place.span.start),
        })
    }
}

impl Message {
    /// A message of a text; none of an empty one, which would be no message. The text can hold names from files, so
    /// it is made plain. Its braces are doubled, since single ones stand for arguments (section 3.11.5), and a space
    /// keeps a name from making a link (section 3.11.6).
    pub(super) fn of(text: &str) -> Option<Self> {
        let text = without_link(&plain(text).replace('{', "{{").replace('}', "}}"));
        (!text.is_empty()).then_some(Self { text })
    }

    fn fixed(text: &str) -> Self {
        Self { text: text.to_owned() }
    }
}

/// A text in which no name can make a link: a space parts what would be one.
fn without_link(text: &str) -> String {
    text.replace("](", "] (")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_can_make_neither_arguments_nor_links() {
        for (text, written) in [
            ("the model \"{0}\"", "the model \"{{0}}\""),
            ("[press here](http://example.org)", "[press here] (http://example.org)"),
            ("an \u{1b}[31m escape", "an \\u{{1b}}[31m escape"),
        ] {
            assert_eq!(Message::of(text).unwrap().text, written);
        }
        assert!(Message::of("").is_none());
    }
}
