//! `walkaround begin`: what it writes is inspected, in full, for every kind of answer.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use walkaround::findings::Severity;
use walkaround::inspect::{Options, inspect};
use walkaround::mend::tidy;

const FILES: [&str; 4] = [".pre-commit-config.yaml", "equipment.rig", "plover.rig", "walkaround.toml"];

fn program(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    command.current_dir(folder);
    command
}

/// Runs `begin` with lines on standard input.
fn asked(folder: &Path, lines: &str) -> Output {
    let mut command = program(folder);
    let command = command.args(["begin", "new"]).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // A program that has heard enough closes its input.
    let _ = child.stdin.take().unwrap().write_all(lines.as_bytes());
    child.wait_with_output().unwrap()
}

/// Runs `begin` with a file of answers.
fn answered(folder: &Path, answers: &str) -> Output {
    fs::write(folder.join("answers.toml"), answers).unwrap();
    program(folder).args(["begin", "new", "--answers", "answers.toml"]).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// Everything in a folder, by name.
fn contents(folder: &Path) -> BTreeMap<String, String> {
    let Ok(entries) = fs::read_dir(folder) else { return BTreeMap::new() };
    let read =
        |entry: fs::DirEntry| (entry.file_name().into_string().unwrap(), fs::read_to_string(entry.path()).unwrap());
    entries.map(|entry| read(entry.unwrap())).collect()
}

/// The new folder has neither dangers nor cautions nor faults, and is laid out; notes may be there.
fn is_clean(folder: &Path, what: &str) {
    let output = program(folder).args(["inspect", "new", "--as", "json"]).output().unwrap();
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let findings = report["findings"].as_array().unwrap();
    assert!(findings.iter().all(|finding| finding["severity"] == "note"), "{what}: {findings:#?}");
    assert_eq!(output.status.code(), Some(0), "{what}");
    let output = program(folder).args(["tidy", "--check", "new"]).output().unwrap();
    assert_eq!((output.status.code(), text(&output.stdout).as_str()), (Some(0), ""), "{what}");
}

/// The answer that only an aircraft with a flight controller needs.
fn arms(kind: &str, channel: u8) -> String {
    if ["multirotor", "vtol"].contains(&kind) { format!("arm-channel = {channel}\n") } else { String::new() }
}

fn orders() -> Vec<String> {
    let mut all = Vec::new();
    for (a, b, c, d) in (0..256).map(|n| (n & 3, n >> 2 & 3, n >> 4 & 3, n >> 6)) {
        let letters: Vec<&str> = [a, b, c, d].map(|at| ["A", "E", "T", "R"][at]).to_vec();
        if letters.iter().collect::<std::collections::HashSet<_>>().len() == 4 {
            all.push(letters.join(" "));
        }
    }
    assert_eq!(all.len(), 24);
    all
}

#[test]
fn what_is_written_inspects_clean_for_every_answer() {
    let kinds = ["multirotor", "aeroplane", "flying-wing", "glider", "helicopter"];
    let regions = ["US", "DE", "GB", "AU"];
    let mut cases: Vec<(usize, &str, &str, String)> = Vec::new();
    for (at, order) in orders().into_iter().enumerate() {
        cases.extend(kinds.map(|kind| (at % 4 + 1, regions[at / 4 % 4], kind, order.clone())));
    }
    for mode in 1..=4 {
        for region in regions {
            cases.extend(kinds.map(|kind| (mode, region, kind, "A E T R".to_owned())));
        }
    }
    for (mode, region, kind, order) in cases {
        let folder = tempfile::tempdir().unwrap();
        let answers = format!(
            "stick-mode = {mode}\nregion = \"{region}\"\nkind = \"{kind}\"\norder = \"{order}\"\n{}",
            arms(kind, 5)
        );
        let output = answered(folder.path(), &answers);
        assert_eq!(output.status.code(), Some(0), "{answers}{}", text(&output.stderr));
        assert!(
            text(&output.stdout).contains("`walkaround inspect new` has nothing to say about your answers yet, by "),
            "{answers}"
        );
        let written = contents(&folder.path().join("new"));
        assert_eq!(written.keys().collect::<Vec<_>>(), FILES, "{answers}");
        assert!(written["equipment.rig"].contains(&format!("stick-mode {mode}\n")));
        assert!(written["equipment.rig"].contains(&format!("region {region} ")));
        assert!(written["plover.rig"].contains(&format!("kind {kind}\n")));
        let rigs = ["equipment.rig", "plover.rig"].map(|name| written[name].as_bytes());
        let options = Options { default_place: Some("home field".to_owned()), ..Options::default() };
        let found = inspect(&rigs, &options).findings;
        assert!(found.iter().all(|finding| finding.severity == Severity::Note), "{answers}: {found:#?}");
        assert!(rigs.iter().all(|text| tidy(text).unwrap() == *text), "{answers}");
    }
}

/// The answers that stand apart: other switches, rates, bands, domains.
#[test]
fn what_is_answered_is_what_stands_there() {
    for (answers, file, lines) in [
        (
            "switches = 'rear 3, \"trip\" 2, g 2'",
            "equipment.rig",
            &["switch \"\\\"trip\\\"\" 2 positions", "switch g "][..],
        ),
        (
            "switches = 'a b 2'",
            "plover.rig",
            &["= \"a b\"", "before-start \"a b\" up", "expect never (mode arm and \"a b\" up)"],
        ),
        (
            "switches = 'front 2'\nkind = 'aeroplane'",
            "plover.rig",
            &["set front becomes down and throttle low reset front up"],
        ),
        ("switches = 'rear 3'\nkind = 'glider'", "equipment.rig", &["switch rear 3 positions"]),
        ("update-rate = '110, 45, 190 Hz'", "equipment.rig", &["update-rate 110, 45, 190 Hz"]),
        ("update-rate = '110, 45, 190 Hz'", "plover.rig", &["update-rate 110 Hz"]),
        ("update-rate = '0.045 kHz'", "plover.rig", &["update-rate 0.045 kHz"]),
        ("band = '2.405..2.475 GHz'", "equipment.rig", &["band 2.405..2.475 GHz"]),
        ("domain = 'us'\nregion = 'us'", "equipment.rig", &["region US", "domain US"]),
        ("domain = 'eu'", "plover.rig", &["domain EU"]),
        ("domain = 'any'", "plover.rig", &["domain any"]),
        ("channels = 12", "equipment.rig", &["channels 12"]),
        ("channels = '6'\nkind = 'vtol'\narm-channel = 6", "equipment.rig", &["channels 6"]),
        (
            "channels = '6'\nkind = 'vtol'\narm-channel = 6",
            "plover.rig",
            &["mode arm channel 6 1660", "mode hover channel 5"],
        ),
        (
            "channels = 16",
            "plover.rig",
            &["mode arm channel 7 1660..2140 us", "channel 7 arm = left-front", "channel 5 level"],
        ),
        ("region = 'Germany'", "equipment.rig", &["region DE # Germany"]),
        ("region = 'UK'\ndomain = 'United Kingdom'", "equipment.rig", &["region GB", "domain GB"]),
        ("number = 9", "plover.rig", &["number 9 # check", "receiver-number 9 match on # check"]),
        (
            "number = 9",
            "equipment.rig",
            &["# check, propellers off: with a model of another number", "number-check strict"],
        ),
        ("number = 'none'", "equipment.rig", &["number-check none"]),
        ("kind = 'heli'", "plover.rig", &["kind helicopter", "channel 6 collective = throttle"]),
        ("kind = 'Flying Wing'", "plover.rig", &["kind flying-wing"]),
        (
            "kind = 'car'",
            "plover.rig",
            &["channel 1 steering = wheel", "motor channel 2 idle 1469..1555 us reversible"],
        ),
        ("kind = 'car'", "equipment.rig", &["grip pistol", "scale 1512 us plus-minus 430 us"]),
        ("kind = 'boat'\nthrottle-stick = 'sprung'", "equipment.rig", &["grip sticks", "throttle-stick sprung"]),
        ("kind = 'boat'\nthrottle-stick = 'sprung'", "plover.rig", &["value max(throttle, 0 %) when live"]),
        (
            "kind = 'boat'\nthrottle-stick = 'sprung'\nreverse = 'yes'",
            "plover.rig",
            &["idle 1450..1550 us reversible", "value throttle when live"],
        ),
        (
            "kind = 'car'\ngrip = 'sticks'",
            "plover.rig",
            &["idle 1450..1550 us reversible", "before-start throttle centre", "with the stick in the middle"],
        ),
        (
            "kind = 'car'\nreverse = 'no'",
            "plover.rig",
            &["# It runs forward only.", "value max(trigger, 0 %) when live"],
        ),
        ("kind = 'boat'\nswitches = 'live 2, live-2 3'", "plover.rig", &["condition live-3 latch", "when live-3"]),
        ("kind = 'heli'\nswitches = 'power 2'", "plover.rig", &["curve power-2 {", "value power-2(throttle)"]),
        ("order = 'tear'", "plover.rig", &["order T E A R", "channel 1 = throttle", "channel 3 = roll"]),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let region = if answers.contains("region") { "" } else { "region = 'DE'\n" };
        let arms = if answers.contains("kind") { "" } else { "\narm-channel = 7\n" };
        let output = answered(folder.path(), &format!("{region}{answers}{arms}"));
        assert_eq!(output.status.code(), Some(0), "{answers}: {}", text(&output.stderr));
        let written = contents(&folder.path().join("new"));
        for line in lines {
            let spaced = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(spaced(&written[file]).contains(&spaced(line)), "{answers}: {line} in\n{}", written[file]);
        }
        is_clean(folder.path(), answers);
    }
}

#[test]
fn any_name_is_kept_and_does_no_harm() {
    let long = "x".repeat(60);
    for (name, file) in [
        ("Red Kite 2", "red-kite-2.rig"),
        ("a\"b\\c", "a-b-c.rig"),
        ("../../outside", "outside.rig"),
        ("equipment", "aircraft.rig"),
        ("é ü", "aircraft.rig"),
        ("CON", "con-1.rig"),
        ("# } {", "aircraft.rig"),
        ("channel", "channel.rig"),
        ("when", "when.rig"),
        ("@order@ @craft@ {0}", "order-craft-0.rig"),
        ("min", "min.rig"),
        ("--", "aircraft.rig"),
        (&long, &format!("{long}.rig")),
    ] {
        for kind in ["multirotor", "aeroplane"] {
            let folder = tempfile::tempdir().unwrap();
            let answers = toml::to_string(&BTreeMap::from([("region", "NZ"), ("name", name), ("kind", kind)])).unwrap();
            let answers = answers + &arms(kind, 5);
            let output = answered(folder.path(), &answers);
            assert_eq!(output.status.code(), Some(0), "{name}: {}", text(&output.stderr));
            let written = contents(&folder.path().join("new"));
            assert!(written.contains_key(file), "{name}: {:?}", written.keys());
            is_clean(folder.path(), name);
            let path = format!("new/{file}");
            let output = program(folder.path()).args(["convert", &path]).output().unwrap();
            let value: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
            assert_eq!(value["statements"][0]["name"], name);
            assert_eq!(value["statements"][1]["body"][1]["craft"][0], name);
            assert_eq!(fs::read_dir(&folder).unwrap().count(), 2, "nothing stands outside of the folder");
        }
    }
}

#[test]
fn the_questions_are_asked_again_until_they_are_answered() {
    let folder = tempfile::tempdir().unwrap();
    let lines =
        "plan\nglider\nmy bird\r\n\nXX\nNew Zeeland\nNew Zealand\n5\n1\nfront\n\n5\n\noften\n\n\nnine\n9\nA E T T\n\n";
    let output = asked(folder.path(), lines);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let said = text(&output.stdout);
    for part in [
        "this has no default: answer the country's name in English",
        "no such country; answer its name in English, or its two letters",
        "no such country; the nearest is New Zealand",
        "there is no kind \"plan\"; the nearest is aeroplane; answer one of multirotor, aeroplane",
        "answer a whole number, such as 1, which is free, or none",
        "a whole number from 1 to 4",
        "stick-mode [2]: ",
        "`front` is no switch: write its name and how many positions it has",
        "a whole number from 6 to 64",
        "expected a number of Hz",
        "each once",
        "order [A E T R]: ",
    ] {
        assert!(said.contains(part), "{part} in {said}");
    }
    let written = contents(&folder.path().join("new"));
    assert!(written["equipment.rig"].contains("stick-mode 1\n") && written["equipment.rig"].contains("region NZ"));
    assert!(written["my-bird.rig"].contains("craft \"my bird\" {") && written["my-bird.rig"].contains("number 9 "));
    is_clean(folder.path(), "the answers of a line each");
}

#[test]
fn nothing_is_written_before_the_last_answer() {
    for lines in ["", "\n\nNZ\n\n\n", "\n\nNZ\n\n\n\n\n\n\nA E\n", "\n\nNZ\n\n\n\n\n\n\n\n4\n"] {
        let folder = tempfile::tempdir().unwrap();
        let output = asked(folder.path(), lines);
        assert_eq!(output.status.code(), Some(64), "{lines:?}");
        assert!(text(&output.stderr).contains("nothing is written"), "{lines:?}");
        assert!(!folder.path().join("new").exists());
    }
}

#[test]
fn nothing_is_written_over() {
    let all = "region = 'DE'\narm-channel = 5\n";
    for name in FILES {
        let folder = tempfile::tempdir().unwrap();
        let new = folder.path().join("new");
        fs::create_dir(&new).unwrap();
        fs::write(new.join(name), "mine").unwrap();
        let output = answered(folder.path(), all);
        assert_eq!(output.status.code(), Some(64), "{name}");
        assert!(text(&output.stderr).contains(&format!("new/{name}")), "{name}: {}", text(&output.stderr));
        assert_eq!(contents(&new), BTreeMap::from([(name.to_owned(), "mine".to_owned())]));
    }
    // A link that leads nowhere is there too.
    #[cfg(unix)]
    {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("new")).unwrap();
        std::os::unix::fs::symlink("../elsewhere", folder.path().join("new/plover.rig")).unwrap();
        assert_eq!(answered(folder.path(), all).status.code(), Some(64));
        assert!(!folder.path().join("elsewhere").exists());
    }
    // The folder may be there, with other things in it.
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("new")).unwrap();
    fs::write(folder.path().join("new/notes.txt"), "mine").unwrap();
    assert_eq!(answered(folder.path(), all).status.code(), Some(0));
    assert_eq!(contents(&folder.path().join("new")).len(), 5);
    // What can't be a folder is told.
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("new"), "a file").unwrap();
    assert_eq!(answered(folder.path(), all).status.code(), Some(2));
}

#[test]
fn answers_that_cannot_be_are_refused_with_the_reason() {
    for (answers, told) in [
        ("", "it does not answer region"),
        ("region = 'DE'", "it does not answer arm-channel"),
        (
            "region = 'DE'\narm-channel = 4",
            "arm-channel: answer a channel that the link carries beside the sticks: 5, 6, 7, 8",
        ),
        ("region = 'DE'\narm-channel = 9", "arm-channel: answer a channel"),
        ("region = 'DE'\nkind = 'glider'\narm-channel = 5", "arm-channel is not asked of a glider that is the first"),
        ("region = 'DE'\nkind = 'car'\norder = 'A E T R'", "order is not asked of a car"),
        ("region = 'DE'\ngrip = 'pistol'", "grip is not asked of a multirotor"),
        ("region = 'DE'\nkind = 'car'\ngrip = 'wheel'", "grip: answer sticks or pistol"),
        ("region = 'DE'\nlike = 'dunlin'", "like is not asked of a multirotor that is the first"),
        ("region = 'DE'\nnumber = 0", "number: answer a number from 1 to 65535"),
        ("region = 'DE'\nnumber = 'some'", "number: answer a whole number, such as 1, which is free, or none"),
        (
            "region = 'DE'\nregoin = 'DE'",
            "there is no key \"regoin\"; the nearest is region; accepted: kind, name, like, handset, module",
        ),
        ("region = 'DE'\n[more]\nx = 1", "there is no key \"more\""),
        ("region = 'DE'\nregion = 'DE'", "line 2: duplicate key"),
        ("region = DE", "line 1: "),
        ("region = 'XX'", "region: ISO 3166-1 has no such country"),
        ("region = 'EU'", "region: answer the country"),
        ("region = 'DE'\nstick-mode = 5", "stick-mode: answer a whole number from 1 to 4"),
        ("region = 'DE'\nstick-mode = 2.0", "stick-mode is a text in quotes or a whole number"),
        ("region = 'DE'\nchannels = 5", "channels: answer a whole number from 6 to 64"),
        ("region = 'DE'\nband = '2405..2475'", "band: `2405..2475` misses its unit"),
        ("region = 'DE'\nband = '2405..2475 MHz }'", "band: "),
        ("region = 'DE'\nband = '2405..2475 MHz # x'", "band: there is something behind the answer"),
        ("region = 'DE'\nband = '2405..2475 MHz\\nx'", "band: "),
        ("region = 'DE'\nband = \"2405..2475 MHz\\nchannels 3\"", "band: an answer has no control characters"),
        ("region = 'DE'\nupdate-rate = '45 Hz; channels 3'", "update-rate: there is something behind the answer"),
        ("region = 'DE'\nupdate-rate = 'often'", "update-rate: expected a number of Hz"),
        ("region = 'DE'\ndomain = 'XX'", "domain: ISO 3166-1 has no such country"),
        ("region = 'DE'\nswitches = 'left-front'", "switches: `left-front` is no switch"),
        ("region = 'DE'\nswitches = 'left-front 1'", "switches: `left-front 1` is no switch"),
        ("region = 'DE'\nswitches = 'a 2, a 3'", "switches: \"a\" stands twice"),
        ("region = 'DE'\nswitches = 'throttle 2'", "switches: "),
        ("region = 'DE'\nswitches = 'rear 3'", "switches: a multirotor needs a switch with two positions"),
        ("region = 'DE'\nkind = 'kite'", "kind: there is no kind \"kite\"; answer one of multirotor, aeroplane"),
        ("region = 'DE'\nname = ' '", "name: a name has 1 to 60 characters"),
        ("region = 'DE'\nname = \"a\\u0007b\"", "name: an answer has no control characters"),
        ("region = 'DE'\nname = \"a\\u202eb\"", "name: a name has no characters that can't be seen"),
        ("region = 'DE'\norder = 'AETA'", "order: answer the letters A, E, T and R, each once"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let output = answered(folder.path(), answers);
        assert_eq!(output.status.code(), Some(2), "{answers}");
        assert!(text(&output.stderr).contains(&format!("answers.toml: {told}")), "{answers}: {}", text(&output.stderr));
        assert!(!folder.path().join("new").exists(), "{answers}");
    }
    let folder = tempfile::tempdir().unwrap();
    let output = program(folder.path()).args(["begin", "--answers", "gone.toml"]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
}

/// An answer that a rule has something to say about is written as it is, and told.
#[test]
fn what_the_answers_lead_to_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let output = answered(folder.path(), "region = 'DE'\ndomain = 'US'\narm-channel = 5\n");
    assert_eq!(output.status.code(), Some(0));
    assert!(text(&output.stdout).contains("to say about your answers."), "{}", text(&output.stdout));
    assert_eq!(program(folder.path()).args(["inspect", "new"]).output().unwrap().status.code(), Some(1));
}

/// The hook is the one that the page about hooks shows.
#[test]
fn the_hook_is_the_one_of_the_page() {
    let folder = tempfile::tempdir().unwrap();
    answered(folder.path(), "region = 'DE'\narm-channel = 5\n");
    let written = fs::read_to_string(folder.path().join("new/.pre-commit-config.yaml")).unwrap();
    let hook: Vec<&str> = written.lines().filter(|line| !line.starts_with('#')).collect();
    assert!(include_str!("../../docs/hooks.md").contains(&hook.join("\n")), "{written}");
}
