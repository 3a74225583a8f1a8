//! Diagnostics: pushed and pulled, of the file that is edited and of others.

use super::client::{Editor, Fleet, address, rules, usual};
use serde_json::{Value, json};
use walkaround::inspect::{Options, Workspace};
use walkaround::source::FileId;

/// What an inspection finds in the files of a folder: name, line and column from 0, rule.
fn inspected(fleet: &Fleet) -> Vec<(String, u64, u64, String)> {
    let mut workspace = Workspace::new();
    let today = walkaround::fleet::day::Day::parse("2026-11-28").ok();
    workspace.settings(Options { today, ..Options::default() });
    for path in crate::testdata::rig_files(fleet.path()) {
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        workspace.set(&name, std::fs::read(&path).unwrap());
    }
    let outcome = workspace.outcome();
    let place = |file: FileId, byte| workspace.lines(file).unwrap().position(byte);
    let found = outcome.findings.iter().map(|finding| {
        let at = place(finding.place.file, finding.place.span.start);
        let name = workspace.names()[finding.place.file.0 as usize].clone();
        (name, u64::from(at.line) - 1, u64::from(at.utf16), finding.rule.to_owned())
    });
    let mut found: Vec<_> = found.collect();
    found.sort();
    found
}

fn told(all: &[(String, Vec<Value>)]) -> Vec<(String, u64, u64, String)> {
    let one = |name: &str, found: &Value| {
        let start = &found["range"]["start"];
        let rule = found["code"].as_str().unwrap().to_owned();
        (name.to_owned(), start["line"].as_u64().unwrap(), start["character"].as_u64().unwrap(), rule)
    };
    let mut told: Vec<_> =
        all.iter().flat_map(|(name, found)| found.iter().map(move |found| one(name, found))).collect();
    told.sort();
    told
}

fn name_of(at: &str) -> String {
    at.rsplit('/').next().unwrap().to_owned()
}

#[test]
fn all_that_an_inspection_finds_is_pushed() {
    for name in crate::testdata::fleet_names() {
        let fleet = Fleet::of(&name);
        let wanted = inspected(&fleet);
        let editor = Editor::of(fleet.path(), usual());
        let (file, text) = crate::testdata::fleet(&name).swap_remove(0);
        editor.open(&fleet.file(&file), &String::from_utf8(text).unwrap());
        editor.version(&fleet.file(&file), 1);
        let pushed = editor.pushed.borrow().clone();
        let pushed: Vec<(String, Vec<Value>)> =
            pushed.iter().map(|(at, known)| (name_of(at), known["diagnostics"].as_array().unwrap().clone())).collect();
        // Files behind the one that is open may still be on their way.
        let told = told(&pushed);
        let wanted: Vec<_> =
            wanted.into_iter().filter(|(name, ..)| pushed.iter().any(|(known, _)| known == name)).collect();
        assert_eq!(told, wanted, "{name}");
        assert!(editor.leave());
    }
}

#[test]
fn a_finding_has_its_severity_its_page_and_its_other_places() {
    let fleet = Fleet::of("hurried");
    let options = json!({"ruleBook": "https://example.org/rules.md"});
    let editor = Editor::with(fleet.path(), usual(), options);
    let file = fleet.file("dunlin.rig");
    editor.open(&file, &fleet.text("dunlin.rig"));
    let found = editor.version(&file, 1);
    let mut related = 0;
    for one in &found {
        let message = one["message"].as_str().unwrap();
        let severity = match message.split(':').next().unwrap() {
            "fault" | "danger" => 1,
            "caution" => 2,
            "note" => 3,
            other => panic!("{other}"),
        };
        assert_eq!(one["severity"], severity);
        assert_eq!(one["source"], "walkaround");
        let anchor = one["code"].as_str().unwrap().replace('/', "");
        assert_eq!(one["codeDescription"]["href"], format!("https://example.org/rules.md#{anchor}"));
        let others = one["relatedInformation"].as_array();
        related += others.map_or(0, Vec::len);
        for other in others.into_iter().flatten() {
            assert!(other["location"]["uri"].as_str().unwrap().starts_with("file:///"));
        }
        if message.contains("To see it on the bench") {
            assert!(message.contains("Propellers off."), "{message}");
        }
    }
    assert!(related > 0);
    assert!(editor.leave());
}

#[test]
fn every_rule_has_an_anchor_in_the_book() {
    let book = include_str!("../../../docs/rules.md");
    for doc in walkaround::rules::book::BOOK {
        assert!(book.contains(&format!("\n### {}\n", doc.id)), "{}", doc.id);
    }
}

#[test]
fn pages_are_shown_by_an_editor_that_can() {
    let fleet = Fleet::of("hurried");
    let mut client = usual();
    client["workspace"]["textDocumentContent"] = json!({});
    let editor = Editor::of(fleet.path(), client);
    let file = fleet.file("dunlin.rig");
    editor.open(&file, &fleet.text("dunlin.rig"));
    let found = editor.version(&file, 1);
    let page = found[0]["codeDescription"]["href"].as_str().unwrap();
    let text = editor.ask("workspace/textDocumentContent", json!({"uri": page}));
    assert!(text["text"].as_str().unwrap().starts_with(found[0]["code"].as_str().unwrap()), "{text}");
    let none = editor.try_ask("workspace/textDocumentContent", json!({"uri": "walkaround:/rules/arming/no-such.txt"}));
    assert_eq!(none, Err(-32803));
    assert!(editor.leave());
}

#[test]
fn what_has_no_effect_is_faded() {
    let fleet = Fleet::of("clean");
    let editor = Editor::of(fleet.path(), usual());
    let file = fleet.file("dunlin.rig");
    let text = fleet.text("dunlin.rig").replace("  channel 4 = yaw\n", "  channel 4 = yaw\n  channel 10 = dial\n");
    editor.open(&file, &text);
    let found = editor.version(&file, 1);
    let unused = found.iter().find(|one| one["code"] == "channels/unused").unwrap_or_else(|| panic!("{found:#?}"));
    assert_eq!(unused["tags"], json!([1]));
    assert!(editor.leave());
}

#[test]
fn a_change_shows_in_other_files_too() {
    let fleet = Fleet::of("clean");
    let editor = Editor::of(fleet.path(), usual());
    let (handset, dunlin) = (fleet.file("handset.rig"), fleet.file("dunlin.rig"));
    editor.open(&handset, &fleet.text("handset.rig"));
    assert_eq!(editor.version(&handset, 1).len(), 0);
    editor.change(&handset, 2, &fleet.text("handset.rig").replace("left-front", "left-fore"));
    let found = editor.wait(&dunlin, |known| known["diagnostics"] != json!([]));
    assert!(rules(found["diagnostics"].as_array().unwrap()).contains(&"format/unknown-name"));
    editor.change(&handset, 3, &fleet.text("handset.rig"));
    editor.wait(&dunlin, |known| known["diagnostics"] == json!([]));
    assert_eq!(editor.version(&handset, 3).len(), 0);
    assert!(editor.leave());
}

#[test]
fn diagnostics_are_pulled_with_those_of_other_files() {
    let fleet = Fleet::of("hurried");
    let mut client = usual();
    client["textDocument"]["diagnostic"] = json!({"relatedDocumentSupport": true});
    client["workspace"]["diagnostics"] = json!({"refreshSupport": true});
    let editor = Editor::of(fleet.path(), client);
    assert_eq!(editor.capabilities["diagnosticProvider"]["interFileDependencies"], true);
    let (file, handset) = (fleet.file("dunlin.rig"), fleet.file("handset.rig"));
    editor.open(&file, &fleet.text("dunlin.rig"));
    let pull = |known: &Value| {
        let mut params = json!({"textDocument": {"uri": address(&file)}});
        if known.is_string() {
            params["previousResultId"] = known.clone();
        }
        editor.ask("textDocument/diagnostic", params)
    };
    let first = pull(&Value::Null);
    assert_eq!(first["kind"], "full");
    let mut all = vec![("dunlin.rig".to_owned(), first["items"].as_array().unwrap().clone())];
    let related = first["relatedDocuments"].as_object().unwrap();
    all.extend(related.iter().map(|(at, report)| (name_of(at), report["items"].as_array().unwrap().clone())));
    assert_eq!(told(&all), inspected(&fleet));
    // The same again is not sent again.
    let again = pull(&first["resultId"]);
    assert_eq!((&again["kind"], &again["relatedDocuments"]), (&json!("unchanged"), &Value::Null));
    let whole = editor.ask("workspace/diagnostic", json!({"previousResultIds": []}));
    let items = whole["items"].as_array().unwrap();
    let all: Vec<_> = items
        .iter()
        .map(|item| (name_of(item["uri"].as_str().unwrap()), item["items"].as_array().unwrap().clone()))
        .collect();
    assert_eq!(told(&all), inspected(&fleet));
    let known: Vec<Value> = items
        .iter()
        .map(|item| json!({"uri": item["uri"], "value": item["resultId"]}))
        .chain([json!({"uri": "file:///gone.rig", "value": "x"})])
        .collect();
    let again = editor.ask("workspace/diagnostic", json!({"previousResultIds": known}));
    let (gone, same): (Vec<_>, Vec<_>) =
        again["items"].as_array().unwrap().iter().partition(|item| item["uri"] == "file:///gone.rig");
    assert_eq!(gone[0]["items"], json!([]));
    assert!(same.iter().all(|item| item["kind"] == "unchanged"), "{same:#?}");
    // Nothing is pushed beside it, and after a change the editor is told to ask again.
    editor.open(&handset, &fleet.text("handset.rig").replace("left-front", "left-fore"));
    let before = pull(&first["resultId"]);
    assert_eq!(before["kind"], "full");
    assert!(editor.pushed.borrow().is_empty());
    assert!(editor.leave());
}
