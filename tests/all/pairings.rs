//! `walkaround pairings` through the program.

use crate::program::run;
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Output};

fn pairings(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    command.arg("pairings").args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).output().unwrap()
}

fn cells(folder: &str) -> BTreeMap<(String, String), Value> {
    let output = pairings(&[folder, "--all", "--as", "json"]);
    let whole: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(whole["version"], 1);
    let list = whole["pairings"].as_array().unwrap().clone();
    list.into_iter()
        .map(|cell| {
            let name = |key: &str| cell[key].as_str().unwrap().to_owned();
            ((name("model"), name("craft")), cell)
        })
        .collect()
}

fn cell<'c>(cells: &'c BTreeMap<(String, String), Value>, model: &str, craft: &str) -> &'c Value {
    &cells[&(model.to_owned(), craft.to_owned())]
}

#[test]
fn in_the_clean_fleet_each_model_answers_its_own_aircraft_and_no_other() {
    let cells = cells("testdata/fleets/clean");
    // Eight models, seven aircraft.
    assert_eq!(cells.len(), 56);
    for ((model, craft), cell) in &cells {
        let connects = cell["pairing"] == "connects";
        assert_eq!(connects, cell["listed"] == true, "{model} and {craft}: {}", cell["decides"]);
        assert_eq!(cell["would"], Value::Null);
    }
    assert_eq!(cell(&cells, "rain", "dunlin")["decides"], "the model is for a simulator");
}

#[test]
fn a_number_given_twice_shows_what_the_wrong_model_would_do() {
    let cells = cells("testdata/fleets/hurried");
    let wrong = cell(&cells, "sanderling survey", "whimbrel");
    assert_eq!((&wrong["pairing"], &wrong["listed"]), (&"connects".into(), &false.into()));
    assert_eq!(wrong["would"], "channel 1 (roll + pitch) would follow roll");
    let other = cell(&cells, "turnstone", "whimbrel");
    assert_eq!(other["pairing"], "does not");
    assert_eq!(other["decides"], "the model has number 11, the receiver is locked to 6");
}

const OPEN: &str = r#"rig 1
link shore-24 { channels 10; receiver-number 1..40; number-check strict; firmware-check none }
handset bench-one {
  stick-mode 2
  switch left-front 2 positions
  scale 1500 us plus-minus 500 us
  module built-in { link shore-24; chains 1; power 10 mW; domain any }
}
craft knot { kind multirotor; receiver { link shore-24; key club; domain any } }
craft "red knot" { kind multirotor; receiver { link shore-24; key club; domain any; number any } }
craft stint { kind multirotor; receiver { link shore-24; key guest; domain any; number 9 } }
model "knot dusk" {
  handset bench-one
  flies knot
  module built-in { receiver-number 9; match on; key club }
  channel 1 = roll
}
"#;

fn from_stdin(text: &str, form: &str) -> (String, String, i32) {
    use std::io::Write;
    use std::process::Stdio;
    let mut child = Command::new(env!("CARGO_BIN_EXE_walkaround"))
        .args(["pairings", "-", "--all", "--as", form])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

#[test]
fn what_is_not_stated_is_what_it_depends_on() {
    let (text, error, status) = from_stdin(OPEN, "text");
    assert_eq!((status, error.as_str()), (0, ""), "{text}");
    for line in [
        "knot dusk [depends]        -               -",
        "  may connect to knot, which it lists: the receiver's number is not stated",
        "  does not connect to red knot: match is on, and the receiver is not locked",
        "  does not connect to stint: the model has key \"club\", the receiver \"guest\"",
    ] {
        assert!(text.lines().any(|known| known == line), "{line}\nis not in\n{text}");
    }
    assert!(text.contains("propellers off"));
}

#[test]
fn a_link_that_only_blocks_the_outputs_comes_up() {
    let (text, _, status) = from_stdin(&OPEN.replace("strict", "blocks-outputs"), "text");
    assert_eq!(status, 0);
    let line = "  does not connect to red knot: the radio link comes up, and the numbers keep the outputs from moving";
    assert!(text.lines().any(|known| known == line), "{text}");
}

#[test]
fn a_module_that_is_off_and_has_the_link_is_told() {
    let off = OPEN.replace("match on; key club }", "match on; key club; }\n  module plug-in off").replace(
        "domain any }\n}\ncraft knot",
        "domain any }\n  module plug-in { link tidal }\n}\nlink tidal { channels 10 }\ncraft knot",
    );
    let (text, _, _) = from_stdin(
        &off.replace(
            "craft stint { kind multirotor; receiver { link shore-24;",
            "craft stint { kind multirotor; receiver { link tidal;",
        ),
        "text",
    );
    assert!(
        text.contains("stint: ") && text.contains("; module plug-in has the aircraft's link, and is off"),
        "{text}"
    );
}

#[test]
fn a_fault_is_told_and_is_the_status() {
    let (text, error, status) = from_stdin(&OPEN.replace("chains 1", "chainz 1"), "text");
    assert_eq!(status, 2);
    assert!(error.contains("1 fault in the description"), "{error}");
    assert!(text.contains("knot dusk"));
    let (_, error, status) = from_stdin("", "json");
    assert_eq!(status, 2, "{error}");
}

/// What a run says, and its status.
fn said(arguments: &[&str]) -> (String, Option<i32>) {
    let output = pairings(arguments);
    (String::from_utf8([output.stdout, output.stderr].concat()).unwrap(), output.status.code())
}

#[test]
fn only_what_surprises_is_shown_until_all_is_asked_for() {
    let (text, _) = said(&["testdata/fleets/clean"]);
    assert!(text.starts_with("All 56 pairs of model and aircraft are as their models say.\n"), "{text}");
    let (text, _) = said(&["testdata/fleets/hurried"]);
    assert!(text.contains("CONNECTS to whimbrel, which it does not list") && !text.contains("curlew"), "{text}");
    assert!(text.contains("54 other pairs are as their models say."), "{text}");
    let (text, _) = said(&["testdata/fleets/hurried", "--as", "json"]);
    let whole: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(whole["pairings"].as_array().unwrap().len(), 2, "{text}");
}

#[test]
fn models_and_aircraft_can_be_chosen() {
    let clean = "testdata/fleets/clean";
    let (text, _) = said(&["--all", "--aircraft", "knot,dunlin", "--model", "spit racers", clean]);
    assert!(text.contains("spit racers [connects]      [connects]"), "{text}");
    assert!(!text.contains("curlew"), "{text}");
    let (text, status) = said(&["--aircraft", "knit", clean]);
    assert_eq!((text.contains("there are curlew, dunlin, knot"), status), (true, Some(64)), "{text}");
    let (text, status) = said(&["--model", "knot", clean]);
    assert_eq!((text.contains("no model is called \"knot\""), status), (true, Some(64)), "{text}");
}

/// Where every model reaches every aircraft, what is written grows with the models and not with the pairs.
#[test]
fn many_models_of_one_number_are_told_in_a_few_lines_each() {
    let lines = |count: usize| {
        let head = OPEN.split("craft knot").next().unwrap();
        let alike = |number: usize| {
            format!(
                "craft knot{number} {{ kind multirotor; receiver {{ link shore-24; key club; domain any; number 9 }} }}\n\
                 model \"m{number}\" {{ handset bench-one; flies knot{number}; channel 1 = roll\n\
                 module built-in {{ receiver-number 9; match on; key club }} }}\n"
            )
        };
        let text = head.to_owned() + &(0..count).map(alike).collect::<String>();
        let output = run(Path::new(env!("CARGO_MANIFEST_DIR")), "pairings", &["-"], &text);
        let text = String::from_utf8(output.stdout).unwrap();
        assert!(text.contains(&format!(" and {} more, which it does not list", count - 7)), "{text}");
        text.lines().count()
    };
    let (few, many) = (lines(40), lines(160));
    assert!(many <= 4 * few, "{few} lines became {many}");
}

#[test]
fn names_are_shown_and_not_sent() {
    let (text, _, _) = from_stdin(&OPEN.replace("\"red knot\"", "\"red\\u{1b}[31mknot\""), "text");
    assert!(!text.contains('\u{1b}'), "{text:?}");
}
