//! The JSON Schema of the JSON form, held against validators that know nothing of the program.

use crate::testdata;
use serde_json::{Value, json};
use std::fs;
use std::path::PathBuf;
use walkaround::fleet::json::{from_rig, schema, to_rig};
use walkaround::fleet::{read, table};
use walkaround::rules::book::{BOOK, PREAMBLES};
use walkaround::source::FileId;
use walkaround::syntax::{Tables, parse};

/// A rig text in the JSON form; none where something in it can't be understood.
fn turned(text: &str) -> Option<Value> {
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    if !read(FileId(0), text.as_bytes(), &tables).problems.is_empty() {
        return None;
    }
    Some(serde_json::from_str(&from_rig(text.as_bytes(), &tables, Vec::new()).unwrap()).unwrap())
}

/// The JSON form of every rig text of the repository that can be understood.
fn good() -> Vec<(String, Value)> {
    let read = |path: PathBuf| (path.display().to_string(), fs::read_to_string(&path).unwrap());
    let mut texts: Vec<(String, String)> = testdata::rig_files(&testdata::folder()).into_iter().map(read).collect();
    texts.extend(PREAMBLES.iter().map(|preamble| (preamble.name.to_owned(), preamble.text.to_owned())));
    for doc in BOOK {
        texts.extend(doc.bad.iter().map(|bad| (format!("{} {}", doc.id, bad.title), bad.unmarked())));
        texts.extend(doc.good.iter().map(|good| (format!("{} {}", doc.id, good.title), good.text.to_owned())));
    }
    let list: Vec<_> = texts.into_iter().filter_map(|(name, text)| Some((name, turned(&text)?))).collect();
    assert!(list.len() > 300, "only {} texts", list.len());
    list
}

/// A document with one statement in a craft.
fn in_craft(statement: Value) -> Value {
    json!({"rig": 1, "statements": [{"statement": "craft", "name": "plover", "body": [statement]}]})
}

/// Documents that the program and the schema both refuse, and why.
fn bad() -> Vec<(&'static str, Value)> {
    let in_model = |statement: Value| {
        let handset = json!({"statement": "handset", "handset": "bench-one"});
        json!({"rig": 1, "statements": [{"statement": "model", "name": "plover", "body": [handset, statement]}]})
    };
    vec![
        ("a list", json!([])),
        ("no version", json!({"statements": []})),
        ("a newer version", json!({"rig": 2, "statements": []})),
        ("no statements", json!({"rig": 1})),
        ("statements in an object", json!({"rig": 1, "statements": {}})),
        ("a key too much at the top", json!({"rig": 1, "statements": [], "note": ""})),
        ("an unknown statement", json!({"rig": 1, "statements": [{"statement": "blimp", "name": "x", "body": []}]})),
        ("a statement of another block", in_craft(json!({"statement": "stick-mode", "mode": "2"}))),
        ("no word", in_craft(json!({"kind": "boat"}))),
        ("a word that is a number", in_craft(json!({"statement": 7}))),
        ("no statement but a text", in_craft(json!("kind boat"))),
        ("no name", json!({"rig": 1, "statements": [{"statement": "craft", "body": []}]})),
        ("a name that is a number", json!({"rig": 1, "statements": [{"statement": "craft", "name": 7, "body": []}]})),
        ("no body", json!({"rig": 1, "statements": [{"statement": "craft", "name": "plover"}]})),
        ("a body that is no list", json!({"rig": 1, "statements": [{"statement": "craft", "name": "x", "body": {}}]})),
        ("a body that is not asked for", in_craft(json!({"statement": "kind", "kind": "boat", "body": []}))),
        ("a key too much", in_craft(json!({"statement": "kind", "kind": "boat", "colour": "red"}))),
        ("a word that is none of the choice", in_craft(json!({"statement": "kind", "kind": "blimp"}))),
        ("a missing value", in_craft(json!({"statement": "kind"}))),
        ("a number without its unit", in_craft(json!({"statement": "weight", "mass": "780"}))),
        ("a number with another unit", in_craft(json!({"statement": "weight", "mass": "780 m"}))),
        ("a bare number that needs a unit", in_craft(json!({"statement": "weight", "mass": 780}))),
        ("a decimal comma", in_craft(json!({"statement": "weight", "mass": "0,78 kg"}))),
        ("a statement that may stand once, twice", {
            let kind = json!({"statement": "kind", "kind": "boat"});
            json!({"rig": 1, "statements": [{"statement": "craft", "name": "plover", "body": [kind, kind]}]})
        }),
        ("a needed statement that is missing", in_craft(json!({"statement": "receiver", "body": []}))),
        ("a number too large", in_model(json!({"statement": "channel", "channel": 65, "value": "roll"}))),
        ("a number that is not whole", in_model(json!({"statement": "channel", "channel": 1.5, "value": "roll"}))),
        ("a value that is no text", in_model(json!({"statement": "channel", "channel": 1, "value": 50}))),
        ("an empty value", in_model(json!({"statement": "channel", "channel": 1, "value": ""}))),
        ("value and body", {
            let line = json!({"statement": "value", "value": "yaw"});
            in_model(json!({"statement": "channel", "channel": 1, "value": "roll", "body": [line]}))
        }),
        ("an empty list", in_model(json!({"statement": "flies", "craft": []}))),
        ("a list that is a text", in_model(json!({"statement": "flies", "craft": "plover"}))),
        ("no form", in_model(json!({"statement": "telemetry"}))),
        ("an unknown form", in_model(json!({"statement": "trims", "form": "all off"}))),
        ("a flag that is false", in_model(json!({"statement": "alarm", "voltage": "3.4 V", "per-cell": false}))),
        ("a time without a unit", in_model(json!({"statement": "timer", "time": "150"}))),
        ("a waiver of no rule", in_model(json!({"statement": "trims", "state": "off", "waive": [{"because": "x"}]}))),
        ("a waiver with a key too much", in_model(json!({"waive": [{"rule": "a/b", "by": "me"}]}))),
        ("a point of one number", {
            let points = json!({"statement": "points", "points": [["0", "0"], ["5"]]});
            in_model(json!({"statement": "curve", "name": "soft", "body": [points]}))
        }),
    ]
}

#[test]
fn the_schema_is_one_and_accepts_what_is_understood() {
    let schema = schema();
    jsonschema::draft202012::meta::validate(&schema).unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    for (name, value) in good() {
        let errors: Vec<String> = validator.iter_errors(&value).map(|error| error.to_string()).collect();
        assert!(errors.is_empty(), "{name}: {errors:?}");
    }
    // Whole numbers may be numbers, waivers may stand behind the last statement, and keys may come in any order.
    let more = json!({"waive": ["slow, it is meant"], "statements": [
        {"name": "bench-one", "body": [{"mode": 2, "statement": "stick-mode"}], "statement": "handset"},
        {"waive": [{"rule": "arming/slow", "because": "tried", "until": "2027-03-01"}]},
    ], "rig": 1});
    assert!(validator.is_valid(&more));
    assert_eq!(to_rig(FileId(0), more.to_string().as_bytes()).problems, []);
}

#[test]
fn the_schema_and_the_program_refuse_the_same() {
    let validator = jsonschema::draft202012::new(&schema()).unwrap();
    for (why, value) in bad() {
        assert!(!validator.is_valid(&value), "the schema accepts {why}");
        let turned = to_rig(FileId(0), value.to_string().as_bytes());
        let mut tables = Tables::default();
        parse(turned.text.as_bytes(), table::vocabulary, &mut tables);
        tables.mark_broken(turned.broken());
        let found = read(FileId(0), turned.text.as_bytes(), &tables).problems.len() + turned.problems.len();
        assert_eq!(found, 1, "{why}: {}", turned.text);
    }
}

#[test]
#[cfg(feature = "outside-tools")]
fn outside_validator_agrees() {
    use std::io::Write;
    use std::process::{Command, Stdio};
    const SCRIPT: &str = "import json, sys\n\
                          from jsonschema import Draft202012Validator\n\
                          schema, documents = json.load(sys.stdin)\n\
                          Draft202012Validator.check_schema(schema)\n\
                          validator = Draft202012Validator(schema)\n\
                          json.dump([validator.is_valid(document) for document in documents], sys.stdout)\n";
    let (good, bad) = (good(), bad());
    let documents: Vec<&Value> =
        good.iter().map(|(_, value)| value).chain(bad.iter().map(|(_, value)| value)).collect();
    let mut python =
        Command::new("python3").args(["-c", SCRIPT]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    let input = serde_json::to_vec(&(schema(), documents)).unwrap();
    python.stdin.take().unwrap().write_all(&input).unwrap();
    let output = python.wait_with_output().unwrap();
    assert!(output.status.success(), "`.ci/install-outside-tools` installs the Python package jsonschema");
    let verdicts: Vec<bool> = serde_json::from_slice(&output.stdout).unwrap();
    let wanted: Vec<bool> = good.iter().map(|_| true).chain(bad.iter().map(|_| false)).collect();
    assert_eq!(verdicts, wanted);
}
