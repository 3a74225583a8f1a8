//! What people read, kept as a whole: the texts of the demo fleets, so that a change of words is seen and approved. The
//! numbers in them are checked elsewhere; a snapshot only approves what is there.
#![cfg(feature = "command-line")]
#![allow(clippy::unwrap_used)]

use std::process::Command;

/// What the program writes on standard output.
fn said(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_walkaround"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_reports_of_the_stories() {
    for story in ["clean", "hurried", "mixed", "newcomer"] {
        let folder = format!("testdata/fleets/{story}");
        insta::assert_snapshot!(format!("inspect-{story}"), said(&["inspect", &folder, "--today", "2027-03-01"]));
    }
}

#[test]
fn what_the_controllers_receive() {
    for (name, model) in
        [("racers", "spit racers"), ("survey", "sanderling survey"), ("elevons", "whimbrel"), ("tail", "curlew")]
    {
        insta::assert_snapshot!(format!("trace-{name}"), said(&["trace", model, "--in", "testdata/fleets/clean"]));
    }
}

#[test]
fn which_model_answers_which_aircraft() {
    insta::assert_snapshot!("pairings-hurried", said(&["pairings", "testdata/fleets/hurried"]));
}

#[test]
fn pages_of_the_rule_book() {
    for rule in ["arming/undecided-position", "throttle/hidden-high", "spectrum/power"] {
        insta::assert_snapshot!(format!("why-{}", rule.replace('/', "-")), said(&["why", rule]));
    }
    insta::assert_snapshot!("why", said(&["why"]));
}

#[test]
fn the_mends_of_the_hurried_evening() {
    let preview = ["mend", "--preview", "--take-choices", "testdata/fleets/hurried", "--today", "2027-03-01"];
    insta::assert_snapshot!("mend-hurried", said(&preview));
}
