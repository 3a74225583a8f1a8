//! The JSON form: the same fleet as the rig text, at the same places, and back again.

use crate::testdata;
use std::fs;
use std::path::PathBuf;
use walkaround::findings::waiver::Waiver;
use walkaround::fleet::json::{Waive, from_rig, to_rig};
use walkaround::fleet::{FileFleet, read, table};
use walkaround::rules::book::{BOOK, PREAMBLES};
use walkaround::source::{FileId, Place, Span};
use walkaround::syntax::{Tables, parse};

fn tables(text: &str) -> Tables {
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    tables
}

fn fleet(text: &str) -> FileFleet {
    read(FileId(0), text.as_bytes(), &tables(text))
}

/// What a fleet is, without where it stands.
fn without_places(text: &str) -> String {
    let shown = format!("{:#?}", fleet(text));
    let places = ["start: ", "end: ", "insert: ", "own_line: ", "indent: "];
    let lines = shown.lines().filter(|line| !places.iter().any(|place| line.trim_start().starts_with(place)));
    lines.collect::<Vec<_>>().join("\n")
}

fn waivers(text: &str, tables: &Tables) -> Vec<(Span, Waive)> {
    let own = tables.comments.iter().filter(|comment| comment.own_line);
    own.filter_map(|comment| {
        let waiver = Waiver::parse(&text[comment.span.range()], Place::new(FileId(0), comment.span))?;
        assert!(waiver.flaw.is_none());
        let waive = Waive::Parts {
            rule: waiver.rule.value,
            because: waiver.reason.map(|reason| reason.value),
            until: waiver.until.map(|until| until.value.to_string()),
        };
        Some((comment.span, waive))
    })
    .collect()
}

fn json(text: &str) -> Option<String> {
    let tables = tables(text);
    from_rig(text.as_bytes(), &tables, waivers(text, &tables))
}

/// Every rig text of the repository that can be understood as far as its statements go.
fn texts() -> Vec<(String, String)> {
    let read = |path: PathBuf| (path.display().to_string(), fs::read_to_string(&path).unwrap());
    let mut texts: Vec<(String, String)> = testdata::rig_files(&testdata::folder()).into_iter().map(read).collect();
    texts.extend(PREAMBLES.iter().map(|preamble| (preamble.name.to_owned(), preamble.text.to_owned())));
    for doc in BOOK {
        let bad = doc.bad.iter().filter(|bad| bad.file.is_none());
        texts.extend(bad.map(|bad| (format!("{} {}", doc.id, bad.title), bad.unmarked())));
        let good = doc.good.iter().filter(|good| good.file.is_none());
        texts.extend(good.map(|good| (format!("{} {}", doc.id, good.title), good.text.to_owned())));
    }
    texts.sort();
    texts
}

#[test]
fn what_is_turned_into_json_and_back_is_the_same_fleet() {
    let (mut turned, mut left) = (0, Vec::new());
    for (name, text) in texts() {
        let Some(first) = json(&text) else {
            left.push(name);
            continue;
        };
        turned += 1;
        let value: serde_json::Value = serde_json::from_str(&first).unwrap();
        assert!(value["rig"].is_u64(), "{name}");
        let back = to_rig(FileId(0), first.as_bytes());
        assert_eq!(back.problems, [], "{name}: {first}");
        assert_eq!(without_places(&back.text), without_places(&text), "{name}");
        assert_eq!(json(&back.text).as_deref(), Some(first.as_str()), "{name}");
    }
    // Only texts with something that can't be understood stay as they are.
    for name in &left {
        let broken = name.starts_with("format/") || name.ends_with("ten-broken-lines.rig");
        assert!(broken || name.contains("/newcomer/"), "{name} can't be turned into JSON");
    }
    assert!(turned > 300 && left.len() < 30, "{turned} {left:?}");
}

#[test]
fn numbers_and_names_stay_exactly_as_they_are_written() {
    let text = "rig 1\nhandset \"bench \\\"one\\\" é\" {\n  trim-range 20.50 %\n  scale 1.5 ms plus-minus 500us\n  switch \"a\\tb\" 2 positions\n}\n\
                model m {\n  handset \"bench \\\"one\\\" é\"\n  before-start \"throttle\" low\n  before-start rotary 3\n  channel 1 \"m\" = - roll*50.0 % - -5 %\n  channel 2 = roll - (pitch)\n  timer 1min  30 s\n}\n";
    let first = json(text).unwrap();
    let value: serde_json::Value = serde_json::from_str(&first).unwrap();
    let body = |block: usize, at: usize| &value["statements"][block]["body"][at];
    assert_eq!(value["statements"][0]["name"], "bench \"one\" é");
    assert_eq!(body(0, 0)["range"], "20.50 %");
    assert_eq!((&body(0, 1)["centre"], &body(0, 1)["span"]), (&"1.5 ms".into(), &"500 us".into()));
    assert_eq!(body(0, 2)["name"], "a\tb");
    assert_eq!((&body(1, 1)["control"], &body(1, 1)["position"]), (&"throttle".into(), &"low".into()));
    assert_eq!(body(1, 2)["position"], "3");
    assert_eq!((&body(1, 3)["label"], &body(1, 3)["value"]), (&"m".into(), &"- roll * 50.0 % - -5 %".into()));
    assert_eq!(body(1, 5)["time"], "1 min 30 s");
    let back = to_rig(FileId(0), first.as_bytes());
    assert!(back.text.contains("before-start throttle low\n"), "{}", back.text);
    assert!(back.text.contains("before-start rotary 3\n") && back.text.contains("channel 1 \"m\" = "), "{}", back.text);
    assert_eq!(json(&back.text).unwrap(), first);
}

#[test]
fn waivers_stay_with_the_statement_that_they_stand_before() {
    let text = "# waive format/x because \"a\\u{1f426}\"\nrig 1\n# an ordinary comment\nmodel m {\n  # waive arming/slow because \"the \\\"slow\\\" link\" until 2027-03-01\n  # waive modes/stuck\n  channel 7 arm { # waive not/one\n    value 5 %\n    # waive channels/gap because \"last\"\n  }\n}\n# waive arming/never because \"none follows\"\n";
    let first = json(text).unwrap();
    let value: serde_json::Value = serde_json::from_str(&first).unwrap();
    assert_eq!(value["waive"][0]["because"], "a🐦");
    let channel = &value["statements"][0]["body"][0];
    assert_eq!(channel["statement"], "channel");
    let slow = serde_json::json!({"rule": "arming/slow", "because": "the \"slow\" link", "until": "2027-03-01"});
    assert_eq!(channel["waive"], serde_json::json!([slow, {"rule": "modes/stuck"}]));
    assert_eq!(channel["body"][1], serde_json::json!({"waive": [{"rule": "channels/gap", "because": "last"}]}));
    assert_eq!(value["statements"][1]["waive"][0]["rule"], "arming/never");
    let back = to_rig(FileId(0), first.as_bytes());
    assert_eq!(back.problems, []);
    assert_eq!(json(&back.text).unwrap(), first);
    let kept: Vec<Waive> = waivers(&back.text, &tables(&back.text)).into_iter().map(|(_, waive)| waive).collect();
    let before: Vec<Waive> = waivers(text, &tables(text)).into_iter().map(|(_, waive)| waive).collect();
    assert_eq!(kept, before);
}

/// The program on a file's text; its answer, what it tells and its exit status.
fn convert(name: &str, text: &str, more: &[&str]) -> (String, String, i32) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join(name), text).unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_walkaround"));
    let output = command.current_dir(&folder).args(["convert", name]).args(more).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

const SMALL: &str = "rig 1\n\nplace spit {\n  region AU\n}\n";
const SMALL_JSON: &str = "{\"rig\": 1, \"statements\": [\n  {\"statement\": \"place\", \"name\": \"spit\", \"body\": [\n    \
                          {\"statement\": \"region\", \"code\": \"AU\"}\n  ]}\n]}\n";

#[test]
fn the_command_turns_each_form_into_the_other() {
    assert_eq!(convert("a.rig", SMALL, &[]), (SMALL_JSON.to_owned(), String::new(), 0));
    assert_eq!(convert("a.rig.json", SMALL_JSON, &["--to", "rig"]), (SMALL.to_owned(), String::new(), 0));
    let (_, told, status) = convert("a.rig", SMALL, &["--to", "rig"]);
    assert_eq!((told.contains("a rig file already"), status), (true, 64), "{told}");
}

#[test]
fn what_is_not_understood_is_told_and_nothing_is_written() {
    for (name, text, at) in [
        ("a.rig", "rig 1\nplace a {\n  regoin AU\n}\n", "a.rig:3:3: `regoin` is no statement of a place"),
        ("a.rig", "rig 2\n", "a.rig:1:5: the file is in version 2"),
        ("a.rig", "place a { }\n", "a.rig:1:1: the file does not begin with `rig 1`"),
        ("a.rig", "", "a.rig:1:1: the file does not begin with `rig 1`"),
        (
            "a.json",
            "{\"rig\": 1,\n \"statements\": [{\"statement\": \"palce\"}]}",
            "a.json:2:31: `palce` is no statement",
        ),
        ("a.json", "{\"rig\": 1,\n \"statements\": [}", "a.json:2:17: expected a value or `]` here, found `}`"),
        ("a.json", "{\"rig\": 3, \"statements\": []}", "a.json:1:9: the file is in version 3"),
    ] {
        let (out, told, status) = convert(name, text, &["--out", "new"]);
        assert_eq!((out.as_str(), status), ("", 2), "{text}");
        assert!(told.contains(at), "{text}: {told}");
    }
}

#[test]
fn a_file_is_written_over_only_when_that_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let run = |arguments: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_walkaround"));
        command.current_dir(&folder).arg("convert").args(arguments).output().unwrap().status.code().unwrap()
    };
    std::fs::write(path("a.rig"), SMALL).unwrap();
    std::fs::write(path("there"), "mine").unwrap();
    assert_eq!(run(&["a.rig", "-o", "there"]), 64);
    assert_eq!(std::fs::read_to_string(path("there")).unwrap(), "mine");
    assert_eq!(run(&["a.rig", "-o", "there", "--overwrite"]), 0);
    assert_eq!(std::fs::read_to_string(path("there")).unwrap(), SMALL_JSON);
    assert_eq!(run(&["a.rig", "--out", "new.rig.json"]), 0);
    assert_eq!(std::fs::read_to_string(path("new.rig.json")).unwrap(), SMALL_JSON);
    assert_eq!(run(&["a.rig", "--out", "nowhere/new.rig.json"]), 2);
    assert_eq!(run(&["a.rig", "--overwrite"]), 64);
    assert_eq!(run(&["gone.rig"]), 2);
    // Nothing is left beside the files that were asked for.
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 3);
}

#[test]
fn what_harms_a_terminal_is_escaped_and_still_the_same_name() {
    let name = "a\u{9b}31m\u{202e}b\u{7f}";
    let text = format!(
        "rig 1\nplace \"{name}\" {{\n  # waive a/b because \"\u{202e}\"\n  region AU\n}}\ncraft x {{\n  flown-at {}\n}}\n",
        "y\u{202e}z"
    );
    let (json_text, told, status) = convert("a.rig", &text, &[]);
    assert_eq!((told.as_str(), status), ("", 0));
    let value: serde_json::Value = serde_json::from_str(&json_text).unwrap();
    assert_eq!(value["statements"][0]["name"], name);
    assert_eq!(value["statements"][1]["body"][0]["place"], "y\u{202e}z");
    let (rig, told, status) = convert("a.json", &json_text, &[]);
    assert_eq!((told.as_str(), status), ("", 0));
    let harmful = |text: &str| text.chars().any(|c| c != '\n' && (c.is_control() || c == '\u{202e}'));
    assert!(!harmful(&json_text) && !harmful(&rig), "{rig}");
    assert_eq!(json(&rig).unwrap(), json(&text).unwrap());
}
