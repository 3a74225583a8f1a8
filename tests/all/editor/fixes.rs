//! Quick fixes, waivers, all sure mends at once, and the layout: what the client applies is what the program would have done.

use super::client::{Editor, Fleet, address, apply, edit_of, rules, usual};
use serde_json::{Value, json};

fn actions(editor: &Editor, params: Value) -> Vec<Value> {
    editor.ask("textDocument/codeAction", params).as_array().unwrap().clone()
}

fn at(file: &std::path::Path, finding: &Value) -> Value {
    json!({"textDocument": {"uri": address(file)}, "range": finding["range"], "context": {"diagnostics": [finding]}})
}

#[test]
fn every_fix_does_away_with_its_finding() {
    let fleet = Fleet::of("hurried");
    let editor = Editor::of(fleet.path(), usual());
    let mut fixed = 0;
    for (name, text) in crate::testdata::fleet("hurried") {
        let text = String::from_utf8(text).unwrap();
        let file = fleet.file(&name);
        editor.open(&file, &text);
        let mut version = 1;
        for finding in editor.version(&file, 1) {
            let asked = version;
            for action in actions(&editor, at(&file, &finding)) {
                let title = action["title"].as_str().unwrap();
                if action["kind"] != "quickfix" || title.starts_with("waive ") || action["diagnostics"] == json!([]) {
                    continue;
                }
                assert_eq!(action["diagnostics"], json!([finding]), "{title}");
                let edits = edit_of(&action["edit"]);
                let [(at, edited, edits)] = edits.as_slice() else { continue };
                if *at != address(&file) {
                    assert_eq!(*edited, None, "{title}: {at} is not open");
                    continue;
                }
                assert_eq!(*edited, Some(asked), "{title}");
                version += 1;
                editor.change(&file, version, &apply(&text, edits));
                let left = editor.version(&file, version);
                let same = |other: &&Value| other["code"] == finding["code"] && other["message"] == finding["message"];
                assert!(left.iter().find(same).is_none(), "{title}: {finding:#}");
                version += 1;
                editor.change(&file, version, &text);
                editor.version(&file, version);
                fixed += 1;
            }
        }
        editor.close(&file);
    }
    assert!(fixed > 3, "{fixed}");
    assert!(editor.leave());
}

#[test]
fn sure_mends_are_preferred_and_choices_come_one_by_one() {
    let fleet = Fleet::of("clean");
    let editor = Editor::of(fleet.path(), usual());
    let file = fleet.file("dunlin.rig");
    // A misspelt word with one near meaning, and a control with several positions.
    let text = fleet.text("dunlin.rig").replace("  channel 9 finder = shoulder", "  channel 9 finder = sholder");
    editor.open(&file, &text);
    let found = editor.version(&file, 1);
    let unknown = found.iter().find(|one| one["code"] == "format/unknown-name").unwrap_or_else(|| panic!("{found:#?}"));
    let all = actions(&editor, at(&file, unknown));
    let fixes: Vec<&Value> = all.iter().filter(|one| one["kind"] == "quickfix").collect();
    assert!(!fixes.is_empty());
    let fixed = apply(&text, &edit_of(&fixes[0]["edit"])[0].2);
    assert_eq!(fixed, fleet.text("dunlin.rig"));
    // A fault can't be waived.
    assert!(all.iter().all(|one| !one["title"].as_str().unwrap().starts_with("waive ")));
    assert!(editor.leave());
}

#[test]
fn what_is_found_can_be_waived() {
    let fleet = Fleet::of("hurried");
    let mut snippets = usual();
    snippets["workspace"]["workspaceEdit"]["snippetEditSupport"] = json!(true);
    for (client, has_snippets) in [(usual(), false), (snippets, true)] {
        let editor = Editor::of(fleet.path(), client);
        let file = fleet.file("sanderling.rig");
        let text = fleet.text("sanderling.rig");
        editor.open(&file, &text);
        let found = editor.version(&file, 1);
        let danger = found.iter().find(|one| one["code"] == "arming/between-levels").unwrap();
        let all = actions(&editor, at(&file, danger));
        let waive =
            all.iter().find(|one| one["title"].as_str().unwrap().starts_with("waive arming/between-levels")).unwrap();
        let change = &waive["edit"]["documentChanges"][0]["edits"][0];
        let waived = if has_snippets {
            assert_eq!(change["snippet"]["kind"], "snippet");
            let snippet = change["snippet"]["value"].as_str().unwrap();
            let filled = snippet.replace("${1:the reason}", "seen on the bench");
            let (front, rest) = filled.split_once("${2:").unwrap();
            let text = format!("{front}{}", rest.replacen('}', "", 1));
            json!({"range": change["range"], "newText": text})
        } else {
            change.clone()
        };
        let waived = apply(&text, &[waived]);
        editor.change(&file, 2, &waived);
        let left = editor.version(&file, 2);
        let left = rules(&left);
        // Without a reason it waives nothing, so that a click alone silences nobody.
        assert_eq!(left.contains(&"arming/between-levels"), !has_snippets, "{left:?}");
        assert_eq!(left.contains(&"house/waiver-bare"), !has_snippets, "{left:?}");
        assert!(editor.leave());
    }
}

#[test]
fn all_that_is_sure_is_mended_at_once() {
    let fleet = Fleet::of("clean");
    let file = fleet.file("dunlin.rig");
    let text = fleet.text("dunlin.rig").replace("  stick-filter off\n", "").replace("  trims off\n", "  trims on\n");
    assert_ne!(text, fleet.text("dunlin.rig"));
    let editor = Editor::of(fleet.path(), usual());
    editor.open(&file, &text);
    editor.version(&file, 1);
    let whole = json!({"start": {"line": 0, "character": 0}, "end": {"line": 0, "character": 0}});
    let ask = |only: Value| {
        let params = json!({"textDocument": {"uri": address(&file)}, "range": whole, "context": {"diagnostics": [], "only": only}});
        actions(&editor, params)
    };
    assert!(ask(json!(["refactor"])).is_empty());
    assert!(ask(json!(["quickfix"])).is_empty(), "nothing stands there");
    let all = ask(json!(["source.fixAll"]));
    assert_eq!(all.len(), 1, "{all:#?}");
    assert_eq!(all[0]["kind"], "source.fixAll.walkaround");
    let edits = edit_of(&all[0]["edit"]);
    assert_eq!(edits.len(), 1);
    let mended = apply(&text, &edits[0].2);
    // The diagnostics are still those of the text that is open.
    editor.change(&file, 2, &text);
    assert!(!editor.version(&file, 2).is_empty());
    // It is what the command makes of it.
    std::fs::write(&file, &text).unwrap();
    let mut program = std::process::Command::new(env!("CARGO_BIN_EXE_walkaround"));
    let output = program.args(["mend", ".", "--today", "2026-11-28"]).current_dir(fleet.path()).output().unwrap();
    assert!(output.status.code().is_some());
    assert_eq!(mended, fleet.text("dunlin.rig"));
    assert!(editor.leave());
}

#[test]
fn the_layout_is_that_of_tidy() {
    let fleet = Fleet::of("clean");
    let editor = Editor::of(fleet.path(), usual());
    let file = fleet.file("dunlin.rig");
    let laid = fleet.text("dunlin.rig");
    let options = json!({"tabSize": 2, "insertSpaces": true});
    let format = || {
        let params = json!({"textDocument": {"uri": address(&file)}, "options": options});
        editor.ask("textDocument/formatting", params)
    };
    editor.open(&file, &laid);
    assert_eq!(format(), json!([]));
    for (version, text) in (2..).zip([
        laid.replace("  ", "\t"),
        laid.replace('\n', "\n\n\n"),
        laid.replace("\n  ", "\n    "),
        laid.replace('\n', "\r\n").replace("kind multirotor", "kind   multirotor"),
        format!("# é🪶\n{}", laid.replace("  kind multirotor", "kind multirotor # é🪶")),
    ]) {
        editor.change(&file, version, &text);
        let edits = format();
        let tidy = walkaround::mend::tidy(text.as_bytes()).unwrap();
        assert_eq!(apply(&text, edits.as_array().unwrap()), String::from_utf8(tidy).unwrap());
    }
    // A text that can't be read is left as it is.
    editor.change(&file, 20, &laid.replace('}', ""));
    assert_eq!(format(), Value::Null);
    // Behind a `}` only the block that it closes is laid out.
    let text = format!("{laid}\ncraft  knot-two {{\nkind   glider\n}}");
    let text = text.replacen("craft dunlin", "craft   dunlin", 1);
    editor.change(&file, 21, &text);
    let end = json!({"line": text.lines().count() - 1, "character": 1});
    let params = json!({"textDocument": {"uri": address(&file)}, "position": end, "ch": "}", "options": options});
    let edits = editor.ask("textDocument/onTypeFormatting", params);
    let applied = apply(&text, edits.as_array().unwrap());
    assert!(applied.trim_end().ends_with("\ncraft knot-two {\n  kind glider\n}"), "{applied}");
    assert!(applied.contains("craft   dunlin"));
    assert!(editor.leave());
}
