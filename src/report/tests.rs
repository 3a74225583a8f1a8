//! One small inspection that every form is tried on, and the checks of the two plainest forms.

use super::*;
use crate::findings::coverage::{Coverage, Missing, Standing};
use crate::findings::tests::{edit, finding};
use crate::findings::verdict::verdicts;
use crate::findings::{Choice, Mend, Setting, Severity, Witness, WitnessChannel};
use crate::fleet::table::Block;
use crate::source::{Place, Span};
use serde_json::Value;
use std::sync::Arc;

/// A text with a byte-order mark, CRLF, tabs, characters outside ASCII and outside UTF-16's first plane, and an escape
/// sequence in a name.
pub(crate) const DUNLIN: &str =
    "\u{feff}rig 1\r\nmodel \"d\u{1b}[31mnlin\" {\r\n\t# é🪶 level\r\n\tchannel 7 arm = \"🪶rear\"\r\n}\r\n";
pub(crate) const KNOT: &str = "rig 1\n\nmodel \"knot\" {\n  channel 7 arm = trigger\n}";

/// An inspection of two files and one that can't be read.
pub(crate) struct Sample {
    pub(crate) paths: Vec<String>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) aircraft: Vec<AircraftVerdict>,
    pub(crate) waived: Vec<Waived>,
    pub(crate) coverage: Coverage,
}

pub(crate) fn text_of(file: FileId) -> Option<Arc<[u8]>> {
    [DUNLIN, KNOT].get(file.0 as usize).map(|text| text.as_bytes().into())
}

impl Sample {
    pub(crate) fn new() -> Self {
        let at = |file: u32, words: &str| {
            let start = [DUNLIN, KNOT][file as usize].find(words).unwrap() as u32;
            Place::new(FileId(file), Span::new(start, start + words.len() as u32))
        };
        let witness = Witness {
            hands: crate::fleet::words::Hands::default(),
            controls: vec![
                ("🪶rear".into(), Setting::Position("middle".into())),
                ("throttle".into(), Setting::Percent(crate::signal::whole(-100))),
            ],
            trims: vec![("roll".into(), crate::signal::Rational64::new(25, 2).unwrap())],
            latches: vec![("ready".into(), true)],
            path: vec![vec![], vec![("🪶rear".into(), Setting::Position("middle".into()))]],
            channels: vec![WitnessChannel { channel: 7, pulse_us: 1500.0, carried_us: Some(1000.0) }],
        };
        let primary = at(0, "\"🪶rear\"");
        let undecided = Finding {
            severity: Severity::Danger,
            place: primary,
            others: vec![(at(1, "trigger"), "the other \u{202e}model".to_owned())],
            witness: Some(Box::new(witness)),
            mend: Mend::Choices(
                "Arm with a switch of two positions.".to_owned(),
                vec![Choice {
                    label: "use shoulder".to_owned(),
                    edits: vec![edit(0, primary.span.start, primary.span.end, "shoulder")],
                }],
            ),
            aircraft: vec!["d\u{1b}[31mnlin".into()],
            fingerprint: 0x0123_4567_89ab_cdef,
            ..finding("arming/between-levels", 0, 0, "Channel 7 can't carry \"\u{1b}[31mmiddle\"\nof 3 positions.")
        };
        let momentary = Finding {
            place: at(1, "channel 7 arm = trigger"),
            mend: Mend::Sure(Choice {
                label: "take the line away".to_owned(),
                edits: vec![edit(1, at(1, "  channel").span.start, KNOT.len() as u32 - 1, "")],
            }),
            aircraft: vec!["knot".into()],
            ..finding("arming/momentary", 1, 0, "Letting trigger go disarms in flight.")
        };
        let unreadable = Finding {
            severity: Severity::Fault,
            mend: Mend::Words("Save it as UTF-8.".to_owned()),
            place: Place::new(FileId(2), Span::new(4, 4)),
            ..finding("format/unreadable", 2, 0, "Byte 4 is no UTF-8.")
        };
        let findings = vec![unreadable, undecided, momentary];
        let names = ["d\u{1b}[31mnlin", "knot", "plover"].map(Into::into);
        let aircraft = verdicts(&names, &findings, &[], &|_| None);
        let paths = ["fleet/d\u{1b}unlin é 100%.rig", "fleet/knot.rig", "broken.rig"].map(str::to_owned).to_vec();
        let waived = vec![Waived {
            rule: "arming/momentary",
            severity: Severity::Danger,
            message: "Letting trigger go disarms in flight.".to_owned(),
            place: at(1, "channel 7 arm = trigger"),
            aircraft: vec!["knot".into()],
            reason: "the controller \u{1b}latches it".to_owned(),
            until: crate::fleet::day::Day::new(2027, 3, 1),
        }];
        let mut coverage = Coverage::default();
        coverage.rules = vec!["arming/momentary", "arming/slow"];
        coverage.row("plover").note(0, Standing::Clear);
        let within = "controller".into();
        let missing = Missing::Statement { block: Block::Controller, word: "valid", within, form: "" };
        coverage.row("plover").note_missing(1, &[missing, Missing::Line(at(1, "channel 7"))]);
        Self { paths, findings, aircraft, waived, coverage }
    }

    pub(crate) fn report(&self) -> Report<'_> {
        Report {
            paths: &self.paths,
            files: self.paths.len(),
            findings: &self.findings,
            aircraft: &self.aircraft,
            coverage: &self.coverage,
            known: &[],
            stale: &[],
            waived: &self.waived,
            text_of: &text_of,
        }
    }
}

pub(crate) fn written(write: impl Fn(&mut Vec<u8>) -> std::io::Result<()>) -> String {
    let mut out = Vec::new();
    write(&mut out).unwrap();
    String::from_utf8(out).unwrap()
}

/// What no form may send: control characters but the line feed, and what turns or hides text.
pub(crate) fn is_harmless(text: &str) -> bool {
    !text.chars().any(|c| (c.is_control() && c != '\n') || matches!(c, '\u{202a}'..='\u{202e}' | '\u{feff}'))
}

#[test]
fn one_line_a_finding() {
    let sample = Sample::new();
    let text = written(|out| lines::write(&sample.report(), lines::Columns::Characters, out));
    let wanted = "broken.rig:1:1: fault format/unreadable Byte 4 is no UTF-8.\n\
        fleet/d\\u{1b}unlin é 100%.rig:4:18: danger arming/between-levels Channel 7 can't carry \
        \"\\u{1b}[31mmiddle\"\\nof 3 positions.\n\
        fleet/knot.rig:4:3: caution arming/momentary Letting trigger go disarms in flight.\n";
    assert_eq!(text, wanted);
}

/// Line and column of a byte, written without the program's own code: characters since the last line feed.
fn recomputed(text: &str, byte: usize) -> (u64, u64) {
    let before = std::str::from_utf8(&text.as_bytes()[..byte]).unwrap();
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap().chars().filter(|&c| c != '\u{feff}').count() + 1;
    (line as u64, column as u64)
}

#[test]
fn json_says_the_same_as_the_bytes() {
    let sample = Sample::new();
    let text = written(|out| json::write(&sample.report(), out));
    assert!(is_harmless(&text), "{text}");
    let value: Value = serde_json::from_str(&text).unwrap();
    assert_eq!((&value["version"], &value["files"]), (&1.into(), &3.into()));
    let findings = value["findings"].as_array().unwrap();
    assert_eq!(findings.len(), 3);
    let others = findings.iter().flat_map(|finding| finding["others"].as_array().unwrap());
    let places: Vec<&Value> = findings.iter().map(|finding| &finding["place"]).chain(others).collect();
    assert_eq!(places.len(), 4);
    for place in places {
        let number = sample.paths.iter().position(|path| place["file"] == path.as_str()).unwrap();
        let Some(text) = [DUNLIN, KNOT].get(number) else { continue };
        for (byte, line, column) in [(0, "line", "column"), (1, "end_line", "end_column")] {
            let byte = place["bytes"][byte].as_u64().unwrap() as usize;
            let found = (place[line].as_u64().unwrap(), place[column].as_u64().unwrap());
            assert_eq!(found, recomputed(text, byte), "{place}");
        }
    }
}

#[test]
fn json_has_the_promised_shape() {
    let sample = Sample::new();
    let value: Value = serde_json::from_str(&written(|out| json::write(&sample.report(), out))).unwrap();
    let undecided = &value["findings"][1];
    let wanted = serde_json::json!({
        "controls": {"🪶rear": "middle", "throttle": "-100 %"},
        "trims": {"roll": "12.5 %"},
        "latches": {"ready": true},
        "path": [{}, {"🪶rear": "middle"}],
        "channels": [{"channel": 7, "pulse_us": 1500.0, "carried_us": 1000.0}],
    });
    assert_eq!(undecided["witness"], wanted);
    let start = DUNLIN.find("\"🪶rear\"").unwrap();
    let edits = serde_json::json!([{"file": sample.paths[0], "bytes": [start, start + 10], "text": "shoulder"}]);
    let wanted = serde_json::json!({
        "kind": "choice",
        "text": "Arm with a switch of two positions.",
        "edits": [],
        "choices": [{"label": "use shoulder", "edits": edits}],
    });
    assert_eq!(undecided["mend"], wanted);
    assert_eq!(undecided["fingerprint"], "0123456789abcdef");
    assert_eq!(undecided["aircraft"], serde_json::json!(["d\u{1b}[31mnlin"]));
    assert_eq!(undecided["others"][0]["label"], "the other \u{202e}model");
    assert!(!undecided["what_can_happen"].as_str().unwrap().is_empty());
    assert_eq!(value["findings"][2]["witness"], Value::Null);
    assert_eq!(value["findings"][2]["mend"]["kind"], "sure");
    let words = serde_json::json!({"kind": "words", "text": "Save it as UTF-8.", "edits": []});
    assert_eq!(value["findings"][0]["mend"], words);
    let verdicts: Vec<_> = value["aircraft"].as_array().unwrap().iter().map(|one| one["verdict"].clone()).collect();
    assert_eq!(verdicts, ["danger", "caution", "nothing found"]);
    assert_eq!(
        value["aircraft"][1],
        serde_json::json!({
            "name": "knot", "fault": 0, "danger": 0, "caution": 1, "note": 0, "not_decided": 0, "verdict": "caution",
            "known": 0, "rules": {"found": 0, "clear": 0, "not_decided": 0, "not_asked": 0, "does_not_apply": 0},
            "needs": [],
        })
    );
}
