//! Completion: what is offered is understood when it is taken.

use super::client::{Editor, Fleet, address, apply, position, usual};
use serde_json::{Value, json};
use walkaround::inspect::Workspace;

fn offered(editor: &Editor, file: &std::path::Path, text: &str, byte: usize) -> Vec<Value> {
    let params = json!({"textDocument": {"uri": address(file)}, "position": position(text, byte)});
    let answer = editor.ask("textDocument/completion", params);
    answer["items"].as_array().unwrap_or_else(|| panic!("{answer}")).clone()
}

fn labels(items: &[Value]) -> Vec<&str> {
    items.iter().map(|item| item["label"].as_str().unwrap()).collect()
}

/// The usual client, but without places to fill in: what is inserted is the whole text.
fn without_snippets() -> Value {
    let mut client = usual();
    client["textDocument"]["completion"] = json!({});
    client
}

/// How many faults a folder has.
fn faults(workspace: &mut Workspace) -> usize {
    workspace.read();
    workspace.not_understood(&|_| true).len()
}

/// The bytes at which something could be typed: the start of every statement and item, and the end of each line.
fn places(text: &str) -> Vec<usize> {
    let mut found = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let code = line.split('#').next().unwrap().trim_end();
        let words = code.match_indices(|letter: char| !letter.is_whitespace()).map(|(at, _)| at);
        let begins = words.filter(|at| *at == 0 || code.as_bytes()[at - 1] == b' ');
        found.extend(begins.map(|at| start + at + 1).filter(|at| text.is_char_boundary(*at)));
        found.push(start + code.len());
        start += line.len();
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// Takes every offer at some places of a fleet's files; each `step`th place is tried.
fn take_all(name: &str, step: usize) -> usize {
    let fleet = Fleet::of(name);
    let editor = Editor::of(fleet.path(), without_snippets());
    let mut workspace = Workspace::new();
    let files = crate::testdata::fleet(name);
    for (name, text) in &files {
        workspace.set(name, text.as_slice());
    }
    let sound = faults(&mut workspace);
    let mut taken = 0;
    for (number, (name, text)) in files.iter().enumerate() {
        let text = std::str::from_utf8(text).unwrap();
        let file = fleet.file(name);
        editor.open(&file, text);
        for at in places(text).into_iter().skip(number % step).step_by(step) {
            for item in offered(&editor, &file, text, at) {
                let new = apply(text, std::slice::from_ref(&item["textEdit"]));
                workspace.set(name, new.as_bytes());
                let line = text[..at].matches('\n').count() + 1;
                assert!(
                    faults(&mut workspace) <= sound,
                    "{name}:{line}: {} as {}",
                    item["label"],
                    item["textEdit"]["newText"]
                );
                taken += 1;
            }
        }
        workspace.set(name, text.as_bytes());
        editor.close(&file);
    }
    assert!(editor.leave());
    taken
}

#[test]
fn no_offer_is_a_fault_when_it_is_taken() {
    let taken = take_all("clean", 41);
    assert!(taken > 100, "{taken}");
}

#[test]
fn no_offer_is_a_fault_in_fleets_of_other_kinds() {
    let taken = take_all("kinds", 211) + take_all("club", 151) + take_all("newcomer", 41);
    assert!(taken > 100, "{taken}");
}

/// The offers where a line of the clean fleet stands with something else in its place.
fn where_typed(line: &str, typed: &str) -> Vec<String> {
    let fleet = Fleet::of("clean");
    let editor = Editor::of(fleet.path(), usual());
    let file = fleet.file("dunlin.rig");
    let text = fleet.text("dunlin.rig");
    let at = text.find(line).unwrap_or_else(|| panic!("no {line}"));
    let end = at + text[at..].find('\n').unwrap();
    let text = format!("{}{typed}{}", &text[..at], &text[end..]);
    editor.open(&file, &text);
    let items = offered(&editor, &file, &text, at + typed.len());
    let labels = labels(&items).into_iter().map(str::to_owned).collect();
    assert!(editor.leave());
    labels
}

#[test]
fn what_is_defined_is_offered() {
    for (line, typed, wanted, unwanted) in [
        ("handset bench-one", "handset ", vec!["bench-one"], vec!["shore-24"]),
        ("flown-at \"north", "flown-at ", vec!["\"north spit\""], vec!["bench-one"]),
        ("kind multirotor", "kind ", vec!["glider", "multirotor"], vec!["roll"]),
        ("kind multirotor", "kind gl", vec!["glider"], vec![]),
        ("link shore-24", "link ", vec!["shore-24"], vec!["bench-one"]),
        ("channel 9 finder = shoulder", "channel 9 finder = ", vec!["shoulder", "roll", "soft(roll)"], vec!["ready"]),
        ("before-start left-front up", "before-start ", vec!["left-front up"], vec!["left-front"]),
        ("before-start left-front up", "before-start left-front ", vec!["up", "down"], vec!["middle", "low"]),
        ("idle-below 1080 us", "idle-below 1080 ", vec!["us"], vec!["mW", "V"]),
        ("expect caution reachable mode level", "expect never mode ", vec!["arm", "level"], vec!["ready"]),
        (
            "expect caution reachable mode level",
            "expect never mode arm ",
            vec!["and left-front up"],
            vec!["and", "channel"],
        ),
    ] {
        let labels = where_typed(line, typed);
        for wanted in wanted {
            assert!(labels.iter().any(|label| label == wanted), "{typed}: no {wanted} in {labels:?}");
        }
        for unwanted in unwanted {
            assert!(labels.iter().all(|label| label != unwanted), "{typed}: {unwanted} in {labels:?}");
        }
    }
}

#[test]
fn statements_are_offered_with_what_they_need() {
    let labels = where_typed("deadband 6 us", "");
    let begins = |word: &str| labels.iter().any(|label| label.split(' ').next() == Some(word));
    // What may stand once and stands there is not offered again, and what belongs to other blocks is not either.
    assert!(begins("deadband") && begins("mode"), "{labels:?}");
    assert!(!begins("order") && !begins("kind") && !begins("channel"), "{labels:?}");
    let labels = where_typed("deadband 6 us", "dead");
    assert!(labels.iter().any(|label| label.starts_with("deadband ")), "{labels:?}");
}

#[test]
fn blocks_are_snippets_with_what_they_can_not_do_without() {
    let fleet = Fleet::of("clean");
    let editor = Editor::of(fleet.path(), usual());
    let file = fleet.file("new.rig");
    let text = "rig 1\n\n";
    editor.open(&file, text);
    let items = offered(&editor, &file, text, 6);
    let model = items
        .iter()
        .find(|item| item["label"].as_str().unwrap().starts_with("model "))
        .unwrap_or_else(|| panic!("{:?}", labels(&items)));
    assert_eq!(model["insertTextFormat"], 2);
    let snippet = model["textEdit"]["newText"].as_str().unwrap();
    assert!(snippet.starts_with("model ${1:new-model} {\n  handset ${2:bench-one}\n"), "{snippet}");
    // In an empty file only its first line.
    editor.change(&file, 2, "");
    assert_eq!(labels(&offered(&editor, &file, "", 0)), ["rig <version>"]);
    assert!(editor.leave());
}

#[test]
fn nothing_is_offered_in_comments() {
    let labels = where_typed("deadband 6 us", "deadband 6 us # de");
    assert!(labels.is_empty(), "{labels:?}");
}
