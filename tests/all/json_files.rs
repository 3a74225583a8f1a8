//! Settings in the JSON form are inspected like rig files: the same findings, at the bytes of the JSON text.

use crate::testdata::{fleet_folder, rig_files};
use proptest::prelude::*;
use serde_json::Value;
use std::path::Path;
use std::process::Command;
use walkaround::fleet::json::{MAX_DEPTH, to_rig};
use walkaround::inspect::Workspace;
use walkaround::source::FileId;
use walkaround::syntax::Tables;

/// Inspects a folder; the findings and the exit status.
fn inspect(folder: &Path) -> (Vec<Value>, i32) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    let output =
        command.current_dir(folder).args(["inspect", "--as", "json", "--today", "2027-03-01"]).output().unwrap();
    let report: Value = serde_json::from_slice(&output.stdout).unwrap();
    (report["findings"].as_array().unwrap().clone(), output.status.code().unwrap())
}

/// What stands at a finding's primary place.
fn at(folder: &Path, finding: &Value) -> String {
    let place = &finding["place"];
    let text = std::fs::read_to_string(folder.join(place["file"].as_str().unwrap())).unwrap();
    let byte = |index: usize| place["bytes"][index].as_u64().unwrap() as usize;
    text[byte(0)..byte(1)].to_owned()
}

#[test]
fn a_fleet_in_json_gives_the_same_findings() {
    for story in ["clean", "hurried", "mixed"] {
        let rigs = fleet_folder(story);
        let folder = tempfile::tempdir().unwrap();
        for path in rig_files(&rigs) {
            let to = folder.path().join(path.file_name().unwrap()).with_extension("rig.json");
            let status =
                Command::new(env!("CARGO_BIN_EXE_walkaround")).arg("convert").arg(&path).arg("-o").arg(to).status();
            assert!(status.unwrap().success(), "{}", path.display());
        }
        let (wanted, wanted_status) = inspect(&rigs);
        let (found, status) = inspect(folder.path());
        assert_eq!(status, wanted_status, "{story}");
        let told = |finding: &Value| {
            let keys = ["rule", "severity", "message", "aircraft", "witness", "fingerprint"];
            keys.map(|key| finding[key].to_string())
        };
        let sorted = |findings: &[Value]| {
            let mut list: Vec<_> = findings.iter().map(told).collect();
            list.sort();
            list
        };
        assert_eq!(sorted(&found), sorted(&wanted), "{story}");
        assert_eq!(found.is_empty(), story == "clean", "{story}");
        for finding in &found {
            // A place never begins or ends inside a string or a number of the JSON text, but in those of conditions.
            let text = at(folder.path(), finding);
            assert!(!text.is_empty(), "{finding}");
            assert_eq!(finding["mend"]["kind"], "words", "{finding}");
        }
    }
}

#[test]
fn findings_point_into_the_json_text() {
    let folder = tempfile::tempdir().unwrap();
    let text = r#"{"statements": [
  {"body": [
      {"statement": "stick-mode", "mode": 9},
      {"count": 2, "statement": "switch", "name": "le\u0066t"},
      {"statement": "trim-range", "range": "20"},
      {"statement": "stick-filter", "state": "onn"},
      {"statement": "swich", "name": "rear", "count": "2"},
      {"statement": "module", "bay": "plug-in", "form": "emty"},
      {"statement": "scale", "centre": "1500 us"},
      {"statement": "knob", "name": 5},
      {"statement": "slider", "nme": "side", "name": "side"},
      {"statement": "button", "name": "a", "name": "b"},
      {"name": "b"},
      7,
      {"statement": "battery", "chemistry": "li-po"},
      {"statement": "two words"}
   ], "name": "bench-one", "statement": "handset"},
  {"statement": "model", "name": "dunlin", "body": [
      {"statement": "handset", "handset": "bench-two"},
      {"statement": "condition", "name": "idle", "when": "throttle below \u002d95 us"},
      {"statement": "condition", "name": "on", "when": "throttle below -95 % } # {"},
      {"statement": "timer", "time": "2 min while idle"},
      {"statement": "timer", "time": "2,5 min"},
      {"statement": "channel", "channel": 70, "value": "roll"},
      {"statement": "channel", "channel": "1", "value": "roll\n"},
      {"statement": "channel", "channel": 2, "value": "rol"},
      {"statement": "alarm", "voltage": "3 V", "per-cell": false},
      {"statement": "expect", "kind": "never", "condition": "mode hom"},
      {"statement": "curve", "name": "soft", "body": [{"statement": "points", "points": [[0, 0], ["5"]]}]},
      {"statement": "trainer"}
  ], "waive": [{"rule": "arming/slwo", "because": "\u00e9"}, {"because": "x"}]}
], "rig": 1}"#;
    std::fs::write(folder.path().join("a.rig.json"), text).unwrap();
    let (findings, status) = inspect(folder.path());
    assert_eq!(status, 2);
    let mut found: Vec<(u64, String, String)> = findings
        .iter()
        .filter(|finding| finding["severity"] == "fault" || finding["rule"] == "house/waiver-bare")
        .map(|finding| {
            let rule = finding["rule"].as_str().unwrap().to_owned();
            (finding["place"]["line"].as_u64().unwrap(), rule, at(folder.path(), finding))
        })
        .collect();
    found.sort();
    let wanted = [
        (3, "format/range", "9"),
        (5, "format/unit", "20"),
        (6, "format/unknown-word", "\"onn\""),
        (7, "format/unknown-statement", "\"swich\""),
        (8, "format/syntax", "\"emty\""),
        (9, "format/syntax", "\"scale\""),
        (10, "format/syntax", "5"),
        (11, "format/syntax", "\"nme\""),
        (12, "format/syntax", "\"name\""),
        (13, "format/syntax", "{"),
        (14, "format/syntax", "7"),
        (15, "format/syntax", "\"battery\""),
        (16, "format/unknown-statement", "\"two words\""),
        (19, "format/unknown-name", "\"bench-two\""),
        (20, "format/unit", "us"),
        (21, "format/syntax", "}"),
        (22, "format/syntax", "while"),
        (23, "format/syntax", "2,5"),
        (24, "format/range", "70"),
        (25, "format/syntax", "\\n"),
        (27, "format/syntax", "false"),
        (29, "format/syntax", "[\"5\"]"),
        (30, "format/syntax", "\"trainer\""),
        (31, "format/syntax", "{\"because\": \"x\"}"),
        (31, "house/waiver-bare", "\"arming/slwo\""),
    ];
    let wanted: Vec<(u64, String, String)> =
        wanted.map(|(line, rule, text)| (line, rule.to_owned(), text.to_owned())).into();
    for want in &wanted {
        assert!(found.contains(want), "missing {want:?} in {found:#?}");
    }
    // Nothing else is told: what lies in an unclear part is not asked about.
    found.retain(|found| !wanted.contains(found));
    let rest: Vec<(u64, &str)> = found.iter().map(|(line, _, text)| (*line, text.as_str())).collect();
    assert_eq!(rest, [], "{found:#?}");
    // No edit is offered for JSON text.
    assert!(findings.iter().all(|finding| finding["mend"]["kind"] == "words"), "{findings:#?}");
}

#[test]
fn mends_of_json_files_stay_words() {
    let folder = tempfile::tempdir().unwrap();
    let text = "{\"rig\": 1, \"statements\": [{\"statement\": \"place\", \"name\": \"spit\", \"body\": [{\"statement\": \"regoin\"}]}]}";
    std::fs::write(folder.path().join("a.rig.json"), text).unwrap();
    let rig = "rig 1\nplace quay {\n  regoin AU\n}\n";
    std::fs::write(folder.path().join("b.rig"), rig).unwrap();
    let (findings, status) = inspect(folder.path());
    assert_eq!((findings.len(), status), (2, 2));
    assert!(findings.iter().all(|finding| finding["message"].as_str().unwrap().contains("the nearest is `region`")));
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    let output = command.current_dir(&folder).args(["mend", "--take-choices"]).output().unwrap();
    assert_eq!(output.status.code(), Some(2), "{}", String::from_utf8_lossy(&output.stderr));
    // The rig file is mended, the JSON file is as it was.
    assert_eq!(std::fs::read_to_string(folder.path().join("b.rig")).unwrap(), rig.replace("regoin", "region"));
    assert_eq!(std::fs::read_to_string(folder.path().join("a.rig.json")).unwrap(), text);
}

#[test]
fn a_file_that_is_no_json_hides_nothing_and_concerns_every_aircraft() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.rig.json"), "{\"rig\": 1,").unwrap();
    std::fs::write(folder.path().join("b.rig"), "rig 1\ncraft knot {\n  flown-at spit\n}\n").unwrap();
    let (findings, status) = inspect(folder.path());
    // The place may be described in the broken file: it is not told to be unknown.
    assert_eq!((findings.len(), status), (1, 2), "{findings:#?}");
    assert_eq!((&findings[0]["rule"], &findings[0]["aircraft"][0]), (&"format/syntax".into(), &"knot".into()));
}

#[test]
fn bad_json_is_a_fault_at_its_byte() {
    let deep = format!("{{\"rig\": 1, \"statements\": {}", "[".repeat(10_000));
    let large = " ".repeat(walkaround::syntax::MAX_BYTES + 1);
    for (text, rule, byte) in [
        ("", "format/syntax", 0),
        ("[]", "format/syntax", 0),
        ("{\"rig\": 1, \"statements\": [], }", "format/syntax", 29),
        ("{\"rig\": 1, \"statements\": [}", "format/syntax", 26),
        ("{\"rig\": 01, \"statements\": []}", "format/syntax", 8),
        ("{\"rig\": 1, 'statements': []}", "format/syntax", 11),
        ("{\"rig\": 1, \"statements\": [\"a\\q\"]}", "format/syntax", 28),
        ("{\"rig\": 1, \"statements\": [\"\\ud800\"]}", "format/syntax", 27),
        ("{\"rig\": 1, \"statements\": [\"a\n\"]}", "format/syntax", 26),
        ("{\"rig\": 1, \"statements\": [\"a\tb\"]}", "format/syntax", 28),
        ("{\"rig\": 1, \"statements\": [\"a", "format/syntax", 26),
        ("{\"rig\": 1, \"statements\": [nul]}", "format/syntax", 26),
        ("{\"rig\": 1, \"statements\": []} {}", "format/syntax", 29),
        ("{\"rig\": 1, // comment\n \"statements\": []}", "format/syntax", 11),
        ("{\"rig\": 1, \"statements\": [", "format/syntax", 25),
        ("{\"statements\": []}", "format/version", 0),
        ("{\"rig\": \"one\", \"statements\": []}", "format/version", 8),
        ("{\"rig\": 1.5, \"statements\": []}", "format/version", 8),
        ("{\"rig\": 2, \"statements\": []}", "format/version", 8),
        ("{\"rig\": 1}", "format/syntax", 0),
        ("{\"rig\": 1, \"statements\": {}}", "format/syntax", 25),
        (&deep, "format/too-large", 25 + MAX_DEPTH - 1),
        (&large, "format/too-large", 0),
    ] {
        let mut workspace = Workspace::new();
        workspace.set("knot.rig.json", text.as_bytes());
        let outcome = workspace.outcome();
        let shown = &text[..text.len().min(60)];
        assert_eq!(outcome.findings.len(), 1, "{shown}: {:?}", outcome.findings);
        let place = outcome.findings[0].place.span;
        assert_eq!((outcome.findings[0].rule, place.start as usize), (rule, byte), "{shown}: {:?}", outcome.findings);
    }
}

/// A fleet in the JSON form, to be damaged.
fn whole() -> &'static str {
    static TEXT: std::sync::OnceLock<String> = std::sync::OnceLock::new();
    TEXT.get_or_init(|| {
        let text = include_str!("../../testdata/syntax/every-statement.rig");
        let mut tables = Tables::default();
        walkaround::syntax::parse(text.as_bytes(), walkaround::fleet::table::vocabulary, &mut tables);
        walkaround::fleet::json::from_rig(text.as_bytes(), &tables, Vec::new()).unwrap()
    })
}

fn damaged() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop::sample::select(vec![
        "{",
        "}",
        "[",
        "]",
        ",",
        ":",
        "\"",
        "\\",
        "null",
        "true",
        "-1e9",
        "\"statement\"",
        "\"body\"",
        "\"waive\"",
        "\"form\"",
        "é",
        "\u{202e}",
        "\n",
        "\\u0000",
        "#",
        "when",
        " ",
    ]);
    let cut = (any::<prop::sample::Index>(), 0..40usize, piece);
    prop::collection::vec(cut, 1..6).prop_map(|cuts| {
        let mut text = whole().as_bytes().to_vec();
        for (at, length, piece) in cuts {
            let from = at.index(text.len());
            let to = (from + length).min(text.len());
            text.splice(from..to, piece.bytes());
        }
        text
    })
}

/// Reads bytes as JSON and leads every problem back into them.
fn read_any(bytes: &[u8]) {
    let turned = to_rig(FileId(0), bytes);
    assert!(turned.text.len() <= bytes.len() + 2 * walkaround::syntax::MAX_PROBLEMS + 64, "{}", turned.text);
    for problem in &turned.problems {
        let place = turned.map.place(problem.place.span);
        assert!(place.start <= place.end && place.end as usize <= bytes.len(), "{place:?} {problem:?}");
    }
    let mut workspace = Workspace::new();
    workspace.set("knot.rig.json", bytes);
    workspace.read();
}

proptest! {
    #[test]
    fn any_bytes_are_read(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        read_any(&bytes);
    }

    #[test]
    fn any_damage_is_read(bytes in damaged()) {
        read_any(&bytes);
    }
}
