//! What is shown in and between the lines: colours by meaning, hints, verdicts.

use super::client::{Editor, Fleet, address, usual};
use serde_json::{Value, json};

#[test]
fn every_word_is_coloured_by_its_meaning() {
    for name in crate::testdata::fleet_names() {
        let fleet = Fleet::of(&name);
        let editor = Editor::of(fleet.path(), usual());
        let legend = &editor.capabilities["semanticTokensProvider"]["legend"]["tokenTypes"];
        let kinds: Vec<&str> = legend.as_array().unwrap().iter().map(|kind| kind.as_str().unwrap()).collect();
        for (name, text) in crate::testdata::fleet(&name) {
            let text = String::from_utf8(text).unwrap();
            let file = fleet.file(&name);
            editor.open(&file, &text);
            let answer =
                editor.ask("textDocument/semanticTokens/full", json!({"textDocument": {"uri": address(&file)}}));
            let data: Vec<usize> =
                answer["data"].as_array().unwrap().iter().map(|one| one.as_u64().unwrap() as usize).collect();
            let (mut line, mut column, mut end) = (0, 0, (0, 0));
            let lines: Vec<Vec<u16>> = text.lines().map(|line| line.encode_utf16().collect()).collect();
            for token in data.chunks(5) {
                let [down, on, length, kind, _] = token else { panic!() };
                column = if *down == 0 { column + on } else { *on };
                line += down;
                assert!((line, column) >= end, "{name}:{line}");
                end = (line, column + length);
                let word = String::from_utf16(&lines[line][column..column + length]).unwrap();
                match word.as_str() {
                    "craft" | "model" if column == 0 => assert_eq!(kinds[*kind], "keyword"),
                    word if word.starts_with('#') => assert_eq!(kinds[*kind], "comment"),
                    _ => {}
                }
            }
            assert!(data.len() > 5 * text.lines().count() / 2, "{name}");
            editor.close(&file);
        }
        assert!(editor.leave());
    }
}

fn hints(editor: &Editor, fleet: &Fleet, name: &str) -> Vec<(u64, String)> {
    let file = fleet.file(name);
    let text = fleet.text(name);
    editor.open(&file, &text);
    let whole = json!({"start": {"line": 0, "character": 0}, "end": {"line": text.lines().count(), "character": 0}});
    let answer = editor.ask("textDocument/inlayHint", json!({"textDocument": {"uri": address(&file)}, "range": whole}));
    editor.close(&file);
    let one = |hint: &Value| (hint["position"]["line"].as_u64().unwrap(), hint["label"].as_str().unwrap().to_owned());
    answer.as_array().unwrap().iter().map(one).collect()
}

#[test]
fn hints_are_shown_where_they_are_wanted() {
    let fleet = Fleet::of("clean");
    let editor = Editor::of(fleet.path(), usual());
    assert!(hints(&editor, &fleet, "dunlin.rig").is_empty());
    editor.notify("workspace/didChangeConfiguration", json!({"settings": {"walkaround": {"inlayHints": true}}}));
    let found = hints(&editor, &fleet, "dunlin.rig");
    let text = fleet.text("dunlin.rig");
    for (line, hint) in &found {
        let line = text.lines().nth(*line as usize).unwrap().trim();
        assert!(line.starts_with("channel "), "{line}: {hint}");
    }
    let of = |words: &str| {
        let number = text.lines().position(|line| line.trim().starts_with(words)).unwrap() as u64;
        found.iter().find(|(line, _)| *line == number).unwrap_or_else(|| panic!("{words}: {found:?}")).1.clone()
    };
    assert_eq!(of("channel 1 = roll"), "arrives as 1000 to 2000 us");
    assert!(editor.leave());
    let fleet = Fleet::of("club");
    let editor = Editor::with(fleet.path(), usual(), json!({"inlayHints": true}));
    let all: Vec<String> = crate::testdata::fleet("club")
        .iter()
        .flat_map(|(name, _)| hints(&editor, &fleet, name))
        .map(|(_, hint)| hint)
        .collect();
    assert!(all.iter().any(|hint| hint.starts_with("has from there: ")), "{all:?}");
    assert!(editor.leave());
}

#[test]
fn each_model_has_its_verdicts_and_its_trace() {
    let fleet = Fleet::of("hurried");
    let editor = Editor::of(fleet.path(), usual());
    let file = fleet.file("dunlin.rig");
    editor.open(&file, &fleet.text("dunlin.rig"));
    let lenses = editor.ask("textDocument/codeLens", json!({"textDocument": {"uri": address(&file)}}));
    let titles: Vec<&str> =
        lenses.as_array().unwrap().iter().map(|lens| lens["command"]["title"].as_str().unwrap()).collect();
    assert_eq!(titles, ["dunlin: caution (1 caution)", "knot: danger (1 danger, 1 caution)", "trace"], "{titles:?}");
    let trace = &lenses[2]["command"];
    let answer =
        editor.ask("workspace/executeCommand", json!({"command": trace["command"], "arguments": trace["arguments"]}));
    let told = answer.as_str().unwrap();
    assert!(
        told.starts_with("spit racers flies dunlin\n")
            && told.contains("left-rear up")
            && told.contains("propellers off"),
        "{told}"
    );
    assert_eq!(editor.try_ask("workspace/executeCommand", json!({"command": "walkaround.no"})), Err(-32602));
    let unknown = json!({"command": trace["command"], "arguments": [address(&file), "no such"]});
    assert_eq!(editor.try_ask("workspace/executeCommand", unknown), Err(-32803));
    assert!(editor.leave());
}
