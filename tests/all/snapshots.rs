//! What people read, kept as a whole: the texts of the demo fleets, so that a change of words is seen and approved. The
//! numbers in them are checked elsewhere; a snapshot only approves what is there.

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

/// Holds a text against the one that was approved, `snapshots/NAME.snap`.
fn approved(name: &str, text: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.bind(|| insta::assert_snapshot!(name, text));
}

#[test]
fn the_reports_of_the_stories() {
    for story in ["clean", "hurried", "mixed", "newcomer"] {
        let folder = format!("testdata/fleets/{story}");
        approved(&format!("inspect-{story}"), &said(&["inspect", &folder, "--today", "2027-03-01"]));
    }
}

#[test]
fn what_the_controllers_receive() {
    for (name, model) in
        [("racers", "spit racers"), ("survey", "sanderling survey"), ("elevons", "whimbrel"), ("tail", "curlew")]
    {
        approved(&format!("trace-{name}"), &said(&["trace", model, "--in", "testdata/fleets/clean"]));
    }
    approved("trace-glider", &said(&["trace", "avocet", "--in", "testdata/fleets/kinds"]));
}

#[test]
fn which_model_answers_which_aircraft() {
    approved("pairings-hurried", &said(&["pairings", "testdata/fleets/hurried"]));
}

#[test]
fn pages_of_the_rule_book() {
    for rule in ["arming/between-levels", "throttle/hidden-high", "spectrum/power"] {
        approved(&format!("why-{}", rule.replace('/', "-")), &said(&["why", rule]));
    }
    approved("why", &said(&["why"]));
}

#[test]
fn the_mends_of_the_hurried_evening() {
    let preview = ["mend", "--preview", "--take-choices", "testdata/fleets/hurried", "--today", "2027-03-01"];
    approved("mend-hurried", &said(&preview));
}
