//! Names: where they are defined and used, and given others; what is told about them; outlines.

use super::client::{Editor, Fleet, address, apply, edit_of, position, usual};
use serde_json::{Value, json};
use std::path::Path;

/// The request for a place in a text: where these words stand, some bytes on.
fn at(file: &Path, text: &str, words: &str, on: usize) -> Value {
    let byte = text.find(words).unwrap_or_else(|| panic!("no {words}")) + on;
    json!({"textDocument": {"uri": address(file)}, "position": position(text, byte)})
}

/// The lines that answers lead to: file name and words.
fn shown(fleet: &Fleet, answer: &Value) -> Vec<(String, String)> {
    let one = |location: &Value| {
        let name = location["uri"].as_str().unwrap().rsplit('/').next().unwrap().to_owned();
        let text = fleet.text(&name);
        let line = text.lines().nth(location["range"]["start"]["line"].as_u64().unwrap() as usize).unwrap();
        (name, line.trim().split("  ").next().unwrap().to_owned())
    };
    answer.as_array().unwrap_or_else(|| panic!("{answer}")).iter().map(one).collect()
}

fn opened(fleet: &Fleet, name: &str) -> (Editor, std::path::PathBuf, String) {
    let editor = Editor::of(fleet.path(), usual());
    let (file, text) = (fleet.file(name), fleet.text(name));
    editor.open(&file, &text);
    (editor, file, text)
}

#[test]
fn names_lead_to_where_they_are_defined() {
    let fleet = Fleet::of("clean");
    let (editor, file, text) = opened(&fleet, "dunlin.rig");
    for (words, on, name, line) in [
        ("condition idle", 11, "dunlin.rig", "condition idle"),
        ("link shore-24", 6, "links.rig", "link shore-24 {"),
        ("handset bench-one", 9, "handset.rig", "handset bench-one {"),
        ("flown-at \"north", 12, "places.rig", "place \"north spit\" {"),
        ("set left-front", 5, "handset.rig", "switch left-front 2 positions"),
        ("soft(throttle)", 1, "dunlin.rig", "curve soft { points -100:-100, 0:-10, 100:100; rounded }"),
        (
            "when ready",
            6,
            "dunlin.rig",
            "condition ready latch set left-front becomes down and idle reset left-front up",
        ),
        ("module built-in", 8, "handset.rig", "module built-in {"),
    ] {
        let answer = editor.ask("textDocument/definition", at(&file, &text, words, on));
        assert_eq!(shown(&fleet, &answer), [(name.to_owned(), line.to_owned())], "{words}");
    }
    // A mode of both aircraft that the model flies.
    let answer = editor.ask("textDocument/definition", at(&file, &text, "reachable mode level", 16));
    let line = || "mode level".to_owned();
    assert_eq!(shown(&fleet, &answer), [("dunlin.rig".to_owned(), line()), ("knot.rig".to_owned(), line())]);
    // A stick is defined nowhere, and a number is no name.
    assert_eq!(editor.ask("textDocument/definition", at(&file, &text, "channel 1 = roll", 13)), json!([]));
    assert_eq!(editor.ask("textDocument/definition", at(&file, &text, "number 4", 7)), Value::Null);
    assert!(editor.leave());
}

#[test]
fn all_uses_are_found_over_files() {
    let fleet = Fleet::of("clean");
    let (editor, file, text) = opened(&fleet, "handset.rig");
    let mut params = at(&file, &text, "switch left-front", 8);
    params["context"] = json!({"includeDeclaration": false});
    let found = shown(&fleet, &editor.ask("textDocument/references", params.clone()));
    let wanted: usize = crate::testdata::fleet("clean")
        .into_iter()
        .filter(|(name, _)| name != "handset.rig")
        .map(|(_, text)| {
            let text = String::from_utf8(text).unwrap();
            text.lines().map(|line| line.split('#').next().unwrap().matches("left-front").count()).sum::<usize>()
        })
        .sum();
    assert_eq!(found.len(), wanted, "{found:#?}");
    params["context"] = json!({"includeDeclaration": true});
    assert_eq!(shown(&fleet, &editor.ask("textDocument/references", params)).len(), wanted + 1);
    let marked = editor.ask("textDocument/documentHighlight", at(&file, &text, "switch left-front", 8));
    assert_eq!(marked.as_array().unwrap().len(), 1);
    assert!(editor.leave());
}

#[test]
fn names_are_given_others_over_files_and_nothing_is_lost() {
    for (fleet_name, name, words, on) in [
        ("clean", "handset.rig", "switch left-front", 8),
        ("clean", "dunlin.rig", "condition ready", 11),
        ("clean", "dunlin.rig", "curve soft", 7),
        ("clean", "dunlin.rig", "mode level", 6),
        ("clean", "dunlin.rig", "craft dunlin", 7),
        ("clean", "links.rig", "link shore-24", 6),
        ("clean", "places.rig", "place \"north spit\"", 9),
        ("clean", "handset.rig", "module built-in", 8),
        ("club", "handsets.rig", "switch ", 8),
        ("club", "racers.rig", "model ", 8),
        ("club", "racers.rig", "craft ", 7),
    ] {
        let fleet = Fleet::of(fleet_name);
        let (editor, file, text) = opened(&fleet, name);
        let ready = editor.ask("textDocument/prepareRename", at(&file, &text, words, on));
        assert!(ready["placeholder"].is_string(), "{words}: {ready}");
        let mut params = at(&file, &text, words, on);
        params["newName"] = json!("quite new é");
        let edit = editor.ask("textDocument/rename", params);
        let edits = edit_of(&edit);
        let before = findings(&fleet);
        for (at, version, edits) in &edits {
            let path = Path::new(at.strip_prefix("file://").unwrap());
            assert_eq!(*version, (path == file).then_some(1), "{at}");
            let text = std::fs::read_to_string(path).unwrap();
            std::fs::write(path, apply(&text, edits)).unwrap();
        }
        let after = findings(&fleet);
        assert_eq!(before, after, "{fleet_name} {words}");
        assert!(editor.leave());
    }
}

/// The rules that an inspection finds, with their places.
fn findings(fleet: &Fleet) -> Vec<String> {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_walkaround"))
        .args(["inspect", "--as", "lines", "--today", "2026-11-28"])
        .current_dir(fleet.path())
        .output()
        .unwrap();
    let all = String::from_utf8(output.stdout).unwrap();
    all.lines()
        .map(|line| {
            let mut parts = line.split(' ');
            let place: Vec<&str> = parts.next().unwrap().split(':').take(2).collect();
            format!("{} {} {}", place.join(":"), parts.next().unwrap(), parts.next().unwrap())
        })
        .collect()
}

#[test]
fn a_name_that_would_be_a_fault_is_refused() {
    let fleet = Fleet::of("clean");
    let (editor, file, text) = opened(&fleet, "handset.rig");
    for name in ["left-rear", "roll", "and", "", "ready"] {
        let mut params = at(&file, &text, "switch left-front", 8);
        params["newName"] = json!(name);
        assert_eq!(editor.try_ask("textDocument/rename", params), Err(-32803), "{name}");
    }
    // Refusing it changed nothing.
    editor.change(&file, 2, &text);
    assert_eq!(editor.version(&file, 2).len(), 0);
    assert!(editor.leave());
}

#[test]
fn what_stands_under_the_cursor_is_told() {
    let fleet = Fleet::of("clean");
    let (editor, file, text) = opened(&fleet, "dunlin.rig");
    let told = |words: &str, on: usize| {
        let answer = editor.ask("textDocument/hover", at(&file, &text, words, on));
        answer["contents"]["value"].as_str().unwrap_or_default().to_owned()
    };
    for (words, on, wanted) in [
        ("idle-below 1080", 3, "The throttle counts as idle under this pulse."),
        ("channel 6 level", 1, "left-rear up"),
        ("channel 7 arm {", 8, "mode arm"),
        ("condition ready", 12, "It can hold."),
        ("value 100 % when ready", 18, "from left-front becomes down and idle until left-front up"),
        ("handset bench-one", 10, "handset `bench-one`, in handset.rig"),
        ("before-start left-front", 14, "up, down"),
    ] {
        assert!(told(words, on).contains(wanted), "{words}: {}", told(words, on));
    }
    assert!(told("channel 6 level", 1).contains("propellers off"));
    let waiver = "# waive receiver/several-answer because";
    if text.contains(waiver) {
        assert!(told(waiver, 12).contains("receiver/several-answer"));
    }
    assert!(editor.leave());
}

#[test]
fn a_rule_in_a_waiver_has_its_page() {
    let fleet = Fleet::of("hurried");
    let (editor, file, text) = opened(&fleet, "dunlin.rig");
    let answer = editor.ask("textDocument/hover", at(&file, &text, "# waive receiver/several-answer", 12));
    let page = answer["contents"]["value"].as_str().unwrap();
    assert!(page.starts_with("receiver/several-answer\n"), "{page}");
    assert!(editor.leave());
}

#[test]
fn texts_have_an_outline() {
    let fleet = Fleet::of("clean");
    let (editor, file, text) = opened(&fleet, "dunlin.rig");
    let document = json!({"textDocument": {"uri": address(&file)}});
    let symbols = editor.ask("textDocument/documentSymbol", document.clone());
    let names: Vec<&str> = symbols.as_array().unwrap().iter().map(|one| one["name"].as_str().unwrap()).collect();
    assert!(names.contains(&"dunlin"), "{names:?}");
    let inner: Vec<&str> = symbols
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|one| one["children"].as_array().unwrap())
        .map(|one| one["name"].as_str().unwrap())
        .collect();
    assert!(inner.contains(&"condition ready") && inner.contains(&"channel 3"), "{inner:?}");
    let found = editor.ask("workspace/symbol", json!({"query": "SHORE"}));
    assert_eq!(
        shown(&fleet, &json!(found.as_array().unwrap().iter().map(|one| one["location"].clone()).collect::<Vec<_>>())),
        [("links.rig".to_owned(), "link shore-24 {".to_owned())]
    );
    let folds = editor.ask("textDocument/foldingRange", document);
    for fold in folds.as_array().unwrap() {
        let line = |key: &str| text.lines().nth(fold[key].as_u64().unwrap() as usize).unwrap();
        assert!(line("startLine").split('#').next().unwrap().trim_end().ends_with('{') || fold["kind"] == "comment");
    }
    let mut params = at(&file, &text, "left-front becomes", 3);
    params["positions"] = json!([params["position"]]);
    let mut range = &editor.ask("textDocument/selectionRange", params)[0];
    let mut depth = 0;
    while range.is_object() {
        depth += 1;
        range = &range["parent"];
    }
    assert!(depth >= 4, "{depth}");
    assert!(editor.leave());
}
