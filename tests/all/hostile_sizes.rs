//! Texts as long as they may be, made so that looking at everything for everything would take minutes: the time and the
//! findings stay in bounds.

use std::time::{Duration, Instant};
use walkaround::findings::grading::Grading;
use walkaround::inspect::{Options, inspect};

/// A tenth of the longest text: in a debug build on a busy machine each takes a second or two, and what grows with the
/// square takes a minute.
const BYTES: usize = 400 << 10;
const PATIENCE: Duration = Duration::from_secs(30);

/// A text that says many times the same, with a number in place of every `@`.
fn many(line: &str) -> String {
    let mut text = String::from("rig 1\n");
    let mut number = 0;
    while text.len() < BYTES {
        text += &line.replace('@', &number.to_string());
        number += 1;
    }
    text
}

#[track_caller]
fn ends(text: &str, rule: &str) {
    ends_with(text, rule, &Options::default());
}

#[track_caller]
fn ends_with(text: &str, rule: &str, options: &Options) {
    let began = Instant::now();
    let outcome = inspect(&[text.as_bytes()], options);
    let start = &text[..text.len().min(60)];
    assert!(began.elapsed() < PATIENCE, "{start:?} took {:?}", began.elapsed());
    assert!(outcome.findings.iter().any(|finding| finding.rule == rule), "{start:?} has no {rule}");
}

#[test]
fn names_that_nobody_defines() {
    ends(&many("model a@ { flies b@ }\ncraft c@ { }\n"), "format/unknown-name");
    ends(&many("link a@ { }\nhandset b@ { module c { link d@ } }\n"), "format/unknown-name");
    ends(&many("place a@ { }\ncraft b@ { flown-at c@ }\n"), "format/unknown-name");
}

#[test]
fn blocks_of_one_name_and_blocks_that_never_end() {
    ends(&many("craft a { }\n"), "format/name-twice");
    ends(&many("craft a {\n"), "format/syntax");
    ends(&many("craft a@ { kind boot }; "), "format/syntax");
    ends(&format!("rig 1\n{}{}", " ".repeat(BYTES / 2), "craft a { ".repeat(BYTES / 20)), "format/syntax");
}

#[test]
fn blocks_with_far_too_many_statements() {
    let inside = |line: &str| many(line).replacen("rig 1\n", "rig 1\nmodel a {\n", 1) + "}\n";
    ends(&inside("condition c@ when throttle low\n"), "format/too-large");
    ends(&inside("channel 1 = roll\n"), "format/too-large");
    let modes = many("mode m@ channel 5 870..1210 us\n").replacen("rig 1\n", "rig 1\ncraft a {\ncontroller {\n", 1);
    ends(&(modes + "}\n}\n"), "format/too-large");
}

#[test]
fn waivers_beyond_counting() {
    ends(&many("# waive arming/slow because \"tide\"\ncraft a { }\n"), "format/name-twice");
    ends(&(many("# waive arming/slwo because \"tide\"\n") + "craft a { }\n"), "house/waiver-bare");
}

#[test]
fn models_that_may_answer_each_other() {
    let fleet = |check: &str, craft: &str, module: &str| {
        let shared = "handset h { scale 1500 us plus-minus 500 us; module b { link l } }\n";
        let link = format!("rig 1\nlink l {{ receiver-number 1..60000; number-check {check} }}\n{shared}");
        let model = format!("model m@ {{ handset h; flies {craft}; module b {{ {module} }} }}\n");
        many(&format!("craft c@ {{ receiver {{ link l; number 1@ }} }}\n{model}")).replacen("rig 1\n", &link, 1)
    };
    // All on one number, each with an aircraft of its own, and with a key of its own.
    let ends = |text: &str, rule: &str| {
        let grading = Grading::new(&["receiver/*".to_owned()], &[]).unwrap();
        ends_with(text, rule, &Options { grading, ..Options::default() });
    };
    ends(&fleet("strict", "c@", "receiver-number 1; match on"), "receiver/duplicate-number");
    ends(&fleet("strict", "c@", "receiver-number 1; match on; key k@"), "receiver/number-differs");
    ends(&fleet("strict", "c0", "receiver-number 1; match on"), "receiver/orphan-craft");
    // Each may answer all, which is more than are looked at; and none may answer another.
    ends(&fleet("none", "c@", "receiver-number 1@; match on"), "format/not-decided");
    ends(&fleet("strict", "c@", "receiver-number 1@; match off"), "receiver/locked-elsewhere");
}
