//! How a talk with the server begins, goes on and ends.

use super::client::{Editor, Fleet, address, load, rules, usual};
use lsp_server::{Connection, Message, Notification, Request};
use serde_json::{Value, json};
use std::fs;
use std::time::{Duration, Instant};
use walkaround::editor::serve;

#[test]
fn a_talk_begins_and_ends() {
    let fleet = Fleet::of("clean");
    let editor = Editor::of(fleet.path(), usual());
    assert_eq!(editor.capabilities["positionEncoding"], "utf-16");
    assert!(editor.leave());
    let editor = Editor::begun();
    assert_eq!(editor.try_ask("textDocument/hover", json!({})), Err(-32002));
    assert!(!editor.exit(), "it was not shut down");
    let editor = Editor::of(fleet.path(), usual());
    editor.ask("shutdown", Value::Null);
    assert_eq!(editor.try_ask("textDocument/hover", json!({})), Err(-32600));
}

#[test]
fn bytes_are_counted_where_the_editor_can() {
    let fleet = Fleet::of("clean");
    let mut counts_bytes = usual();
    counts_bytes["general"]["positionEncodings"] = json!(["utf-16", "utf-8"]);
    let (file, text) = (fleet.file("new.rig"), "rig 1\nlink \"é🪶\" { channels 0 }\n");
    for (client, encoding, column) in [(usual(), "utf-16", 22), (counts_bytes, "utf-8", 25)] {
        let editor = Editor::of(fleet.path(), client);
        assert_eq!(editor.capabilities["positionEncoding"], encoding);
        editor.open(&file, text);
        let found = editor.version(&file, 1);
        assert_eq!(found[0]["range"]["start"], json!({"line": 1, "character": column}), "{found:#?}");
        assert!(editor.leave());
    }
}

#[test]
fn what_can_not_be_understood_ends_nothing() {
    let fleet = Fleet::of("clean");
    let editor = Editor::of(fleet.path(), usual());
    assert_eq!(editor.try_ask("walkaround/noSuchThing", json!({"a": [1]})), Err(-32601));
    assert_eq!(editor.try_ask("textDocument/diagnostic", json!([7])), Err(-32602));
    for method in ["textDocument/didOpen", "textDocument/didChange", "$/cancelRequest", "$/setTrace", "no/such"] {
        editor.notify(method, json!({"textDocument": 7}));
        editor.notify(method, Value::Null);
    }
    // Changes of what is not open, beyond the text, and backwards.
    let file = fleet.file("dunlin.rig");
    editor.change(&file, 3, "rig 1\n");
    editor.open(&file, &fleet.text("dunlin.rig"));
    let range = json!({"start": {"line": 900, "character": 7}, "end": {"line": 2, "character": 0}});
    let change = json!({"textDocument": {"uri": address(&file), "version": 2}, "contentChanges": [{"range": range, "text": "}"}]});
    editor.notify("textDocument/didChange", change);
    assert_eq!(rules(&editor.version(&file, 2)), ["format/syntax"]);
    // Texts of any bytes.
    for (version, text) in
        (3..).zip(["", "\u{feff}", "{".repeat(5000).as_str(), "\0\u{202e}\"", &"model a like a { } ".repeat(300)])
    {
        editor.change(&file, version, text);
        editor.version(&file, version);
    }
    assert!(editor.leave());
}

#[test]
fn what_is_cancelled_before_it_was_begun_is_not_done() {
    let fleet = Fleet::of("clean");
    let (own, its) = Connection::memory();
    let folders = json!([{"uri": address(fleet.path()), "name": "fleet"}]);
    let pull = |id: i32| (Some(id), "workspace/diagnostic", json!({"previousResultIds": []}));
    // All of it is there before the server looks.
    for (id, method, params) in [
        (Some(1), "initialize", json!({"processId": null, "capabilities": {}, "workspaceFolders": folders})),
        pull(2),
        pull(3),
        pull(4),
        (None, "$/cancelRequest", json!({"id": 3})),
        (None, "$/cancelRequest", json!({"id": 77})),
        (Some(5), "shutdown", Value::Null),
        (None, "exit", Value::Null),
    ] {
        let method = method.to_owned();
        own.sender
            .send(match id {
                Some(id) => Message::Request(Request { id: id.into(), method, params }),
                None => Message::Notification(Notification { method, params }),
            })
            .unwrap();
    }
    assert!(serve(&its, &load));
    let mut answers: Vec<(i32, Option<i32>)> = Vec::new();
    while let Ok(message) = own.receiver.try_recv() {
        if let Message::Response(response) = message {
            answers.push((
                response.id.to_string().parse().unwrap(),
                response.response_result.err().map(|error| error.code),
            ));
        }
    }
    answers.sort();
    assert_eq!(answers, [(1, None), (2, None), (3, Some(-32800)), (4, None), (5, None)]);
}

/// While somebody types, a large folder is not inspected after each key. Each change has another finding, so that each would be told.
#[test]
fn in_a_large_folder_diagnostics_wait_until_nothing_is_typed() {
    const PAUSE: Duration = Duration::from_millis(150);
    let fleet = Fleet::of("clean");
    (0..100).for_each(|number| fs::write(fleet.file(&format!("more-{number}.rig")), "rig 1\n").unwrap());
    let editor = Editor::of(fleet.path(), usual());
    let file = fleet.file("typed.rig");
    editor.open(&file, "rig 1\n");
    editor.version(&file, 1);
    let before = *editor.pushes.borrow();
    // On a busy machine a key may come so late that the server had its pause.
    let (mut typed, mut late) = (Instant::now(), 0);
    for key in 2..=24 {
        editor.change(&file, key, &format!("rig 1\nlink a {{ channels 0 }}{}", "\n}".repeat(key as usize)));
        late += usize::from(typed.elapsed() >= PAUSE);
        typed = Instant::now();
        // The server has seen it, and would have time to look.
        editor.ask("textDocument/foldingRange", json!({"textDocument": {"uri": address(&file)}}));
        std::thread::sleep(Duration::from_millis(10));
    }
    assert!(!editor.version(&file, 24).is_empty());
    let pushes = *editor.pushes.borrow() - before;
    assert!(pushes <= late + 1, "{pushes} with {late} keys that came late");
    assert!(editor.leave());
}

#[test]
fn files_come_change_and_go_on_the_disk() {
    let fleet = Fleet::of("clean");
    let mut client = usual();
    client["workspace"]["didChangeWatchedFiles"] = json!({"dynamicRegistration": true});
    let editor = Editor::of(fleet.path(), client);
    let (bad, new) = ("rig 1\nlink a { channels 0 }\n", fleet.file("new.rig"));
    let changed =
        || editor.notify("workspace/didChangeWatchedFiles", json!({"changes": [{"uri": address(&new), "type": 1}]}));
    fs::write(&new, bad).unwrap();
    changed();
    let is_bad = |known: &Value| !known["diagnostics"].as_array().unwrap().is_empty();
    assert_eq!(editor.wait(&new, is_bad)["version"], Value::Null);
    // What is open counts, and what is on the disk again when it is closed.
    editor.open(&new, "rig 1\n");
    assert_eq!(editor.version(&new, 1).len(), 0);
    editor.close(&new);
    editor.wait(&new, is_bad);
    fs::remove_file(&new).unwrap();
    changed();
    editor.wait(&new, |known| !is_bad(known));
    let told = editor.told.borrow();
    assert!(told.iter().any(|(method, _)| method == "client/registerCapability"), "{told:?}");
    drop(told);
    assert!(editor.leave());
}

#[test]
fn the_settings_file_counts_and_is_watched() {
    let fleet = Fleet::of("hurried");
    let editor = Editor::of(fleet.path(), usual());
    let file = fleet.file("dunlin.rig");
    let is_any = |known: &Value| !known["diagnostics"].as_array().unwrap().is_empty();
    editor.wait(&file, is_any);
    let settings = fleet.file("walkaround.toml");
    let saved = || editor.notify("textDocument/didSave", json!({"textDocument": {"uri": address(&settings)}}));
    fs::write(&settings, "exclude = [\"dunlin.rig\"]\n").unwrap();
    saved();
    editor.wait(&file, |known| !is_any(known));
    // A file that the settings leave out is left alone when it is opened.
    editor.open(&file, "rig 1\nrubbish\n");
    fs::write(&settings, "exclude = 7\n").unwrap();
    saved();
    let found = editor.wait(&settings, is_any);
    assert_eq!(rules(found["diagnostics"].as_array().unwrap()), ["format/settings"]);
    fs::remove_file(&settings).unwrap();
    saved();
    editor.wait(&settings, |known| !is_any(known));
    assert!(editor.leave());
}

#[test]
fn a_file_without_a_folder_brings_its_own() {
    let fleet = Fleet::of("hurried");
    let editor = Editor::begun();
    editor.ask("initialize", json!({"processId": null, "rootUri": null, "capabilities": usual()}));
    editor.notify("initialized", json!({}));
    let file = fleet.file("dunlin.rig");
    editor.open(&file, &fleet.text("dunlin.rig"));
    // What it names stands in other files.
    let found = editor.version(&file, 1);
    assert!(!found.is_empty() && !rules(&found).contains(&"format/unknown-name"), "{found:#?}");
    editor.close(&file);
    editor.wait(&file, |known| known["diagnostics"] == json!([]));
    // One that is on no disk stands for itself.
    editor.open_as("untitled:Untitled-1.rig", "rig 1\nlink a { channels 0 }\n");
    let all = editor.ask("workspace/diagnostic", json!({"previousResultIds": []}));
    let at = all["items"][0]["uri"].as_str().unwrap();
    assert_eq!(at, "untitled:Untitled-1.rig");
    assert!(editor.leave());
}
