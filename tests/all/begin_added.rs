//! `walkaround begin` in a folder that holds a fleet: an aircraft is added, of every kind, and what is there stays as it is.

use crate::testdata;
use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use walkaround::findings::Severity;
use walkaround::inspect::{Options, inspect};
use walkaround::mend::tidy;

const KINDS: [&str; 11] = [
    "multirotor",
    "aeroplane",
    "flying-wing",
    "glider",
    "helicopter",
    "autogyro",
    "vtol",
    "car",
    "tracked",
    "boat",
    "hovercraft",
];

fn program(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_walkaround")).current_dir(folder).args(arguments).output().unwrap()
}

/// Runs `begin` in the folder `fleet` with a file of answers.
fn answered(folder: &Path, answers: &str) -> Output {
    fs::write(folder.join("answers.toml"), answers).unwrap();
    program(folder, &["begin", "fleet", "--answers", "answers.toml"])
}

/// Runs `begin` in the folder `fleet` with lines on standard input.
fn asked(folder: &Path, lines: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    command.current_dir(folder).args(["begin", "fleet"]);
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    // A program that has heard enough closes its input.
    let _ = child.stdin.take().unwrap().write_all(lines.as_bytes());
    child.wait_with_output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// Every file of the fleet, by name.
fn contents(folder: &Path) -> BTreeMap<String, String> {
    let entries = fs::read_dir(folder.join("fleet")).unwrap().map(Result::unwrap);
    let read =
        |entry: fs::DirEntry| (entry.file_name().into_string().unwrap(), fs::read_to_string(entry.path()).unwrap());
    entries.map(read).collect()
}

/// A folder with a fleet of the test data in it.
fn with_fleet(name: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("fleet")).unwrap();
    for (file, bytes) in testdata::fleet(name) {
        fs::write(folder.path().join("fleet").join(file), bytes).unwrap();
    }
    folder
}

/// What is found above a note, in the words of a line each, and the verdict of each aircraft.
fn judged(files: &BTreeMap<String, String>) -> (Vec<String>, BTreeMap<String, String>) {
    let rigs: Vec<&[u8]> =
        files.iter().filter(|(name, _)| name.ends_with(".rig")).map(|(_, text)| text.as_bytes()).collect();
    let place = files.contains_key("walkaround.toml").then(|| "home field".to_owned());
    let outcome = inspect(&rigs, &Options { default_place: place, ..Options::default() });
    let found = outcome.findings.iter().filter(|finding| finding.severity != Severity::Note);
    let found = found.map(|finding| format!("{} {:?}: {}", finding.rule, finding.aircraft, finding.message));
    let verdicts = outcome.aircraft.iter().map(|aircraft| (aircraft.name.clone(), format!("{:?}", aircraft.verdict)));
    (found.collect(), verdicts.map(|(name, verdict)| (name.to_string(), verdict)).collect())
}

/// Nothing is found above a note, and each aircraft has a verdict that says so.
#[track_caller]
fn is_clean(folder: &Path, what: &str) {
    let (found, verdicts) = judged(&contents(folder));
    assert_eq!(found, Vec::<String>::new(), "{what}");
    let is_sound = |verdict: &String| ["NothingFound", "Note", "Waived"].contains(&verdict.as_str());
    assert!(verdicts.values().all(is_sound), "{what}: {verdicts:?}");
}

/// Adds an aircraft by a file of answers, and looks at all that is so of every one that is added: one new file, laid out, about
/// which the program says that nothing is found. Gives its text.
#[track_caller]
fn adds(folder: &Path, name: &str, answers: &str) -> String {
    let before = contents(folder);
    let output = answered(folder, &format!("name = '{name}'\n{answers}"));
    let what = format!("{name}: {answers}{}", text(&output.stderr));
    assert_eq!(output.status.code(), Some(0), "{what}");
    let said = text(&output.stdout);
    assert!(
        said.starts_with("wrote fleet/") && said.contains(&format!("has nothing to say about \"{name}\" yet")),
        "{said}"
    );
    let mut after = contents(folder);
    after.retain(|file, _| !before.contains_key(file));
    assert_eq!(after.len(), 1, "{what}");
    for (file, text) in &before {
        assert_eq!(&contents(folder)[file], text, "{what}");
    }
    let written = after.into_values().next().unwrap();
    assert_eq!(tidy(written.as_bytes()).unwrap(), written.as_bytes(), "{what}");
    written
}

fn arms(kind: &str, channel: u8) -> String {
    if ["multirotor", "vtol"].contains(&kind) { format!("arm-channel = {channel}\n") } else { String::new() }
}

/// Words in a text, whatever the layout.
fn has(text: &str, words: &str) -> bool {
    let spaced = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    spaced(text).contains(&spaced(words))
}

/// All kinds, each as the first aircraft, added to one of another kind, and like one that is there.
#[test]
fn every_kind_is_clean_as_the_first_as_another_and_like_one() {
    let held = [
        "",
        "grip = 'pistol'\n",
        "grip = 'sticks'\nthrottle-stick = 'stays'\nreverse = 'no'\n",
        "grip = 'sticks'\nthrottle-stick = 'stays'\nreverse = 'yes'\n",
        "grip = 'sticks'\nthrottle-stick = 'sprung'\nreverse = 'no'\n",
        "grip = 'sticks'\nthrottle-stick = 'sprung'\nreverse = 'yes'\n",
    ];
    for kind in KINDS {
        let stays_down = ["car", "tracked", "boat", "hovercraft"].contains(&kind);
        for held in held.iter().filter(|held| held.is_empty() || stays_down) {
            let folder = tempfile::tempdir().unwrap();
            let first = format!("region = 'Germany'\nkind = '{kind}'\n{held}{}", arms(kind, 5));
            let output = answered(folder.path(), &first);
            assert_eq!(output.status.code(), Some(0), "{first}{}", text(&output.stderr));
            assert!(text(&output.stdout).contains("has nothing to say about your answers yet"), "{first}");
            is_clean(folder.path(), &first);
            let written = adds(folder.path(), "knot", &format!("kind = '{kind}'\n"));
            assert!(written.contains("craft knot like plover {") && written.contains("number 2"), "{written}");
            adds(folder.path(), "dunlin", &format!("kind = '{kind}'\nlike = 'no'\n{}", arms(kind, 6)));
            let of = ["multirotor", "glider", "helicopter"];
            let others = of.iter().filter(|_| held.is_empty() && !stays_down).chain(["boat", "tracked"].iter());
            for (other, name) in
                others.filter(|other| **other != kind).zip(["ruff", "stint", "snipe", "curlew", "stilt"])
            {
                adds(folder.path(), name, &format!("kind = '{other}'\n{}", arms(other, 8)));
            }
            is_clean(folder.path(), &first);
        }
    }
}

/// The same in the fleets of the test data, whose handsets, links and places are others.
#[test]
fn every_kind_is_added_to_a_fleet_that_is_there() {
    for name in ["kinds", "club", "clean"] {
        let folder = with_fleet(name);
        for kind in KINDS {
            let there: String = contents(folder.path()).into_values().collect();
            let is_there = there.contains(&format!("  kind {kind}\n"));
            if is_there {
                let written = adds(folder.path(), &format!("new {kind}"), &format!("kind = '{kind}'\n"));
                let statements = written.lines().filter(|line| line.contains("number ") || line.contains("flies "));
                assert!(statements.count() >= 3 && written.lines().count() <= 16, "{written}");
            }
            let no = if is_there { "like = 'no'\n" } else { "" };
            adds(folder.path(), &format!("other {kind}"), &format!("kind = '{kind}'\n{no}{}", arms(kind, 7)));
        }
        is_clean(folder.path(), name);
    }
}

/// A first fleet, then a second and a third aircraft, in under 20 answers.
#[test]
fn three_aircraft_take_fewer_than_twenty_answers() {
    let folder = tempfile::tempdir().unwrap();
    let dialogs = ["\ndunlin\nNZ\n\n\n\n\n\n\n\n5\n", "multirotor\nknot\n\n\n", "multirotor\nstint\nknot\n\n"];
    for lines in dialogs {
        let output = asked(folder.path(), lines);
        assert_eq!(output.status.code(), Some(0), "{}{}", text(&output.stdout), text(&output.stderr));
    }
    assert!(dialogs.iter().map(|lines| lines.lines().count()).sum::<usize>() < 20);
    let (found, verdicts) = judged(&contents(folder.path()));
    assert_eq!(found, Vec::<String>::new());
    assert_eq!(verdicts.keys().collect::<Vec<_>>(), ["dunlin", "knot", "stint"]);
    let stint = &contents(folder.path())["stint.rig"];
    assert!(stint.contains("craft stint like knot {") && stint.contains("receiver { number 3 }"), "{stint}");
    assert!(stint.contains("module built-in { receiver-number 3 }") && stint.contains("flies stint"), "{stint}");
}

/// Each of several receivers gets the number, and so does each bay; what was seen to work on the other was not seen on this one.
#[test]
fn what_belongs_to_one_aircraft_is_written_anew() {
    let folder = with_fleet("kinds");
    let turnstone = folder.path().join("fleet/turnstone.rig");
    let there = fs::read_to_string(&turnstone).unwrap();
    fs::write(
        &turnstone,
        there.replacen(
            "  servo-voltage",
            "  tested failsafe 2027-02-01\n  tested range 2027-02-01\n  servo-voltage",
            1,
        ),
    )
    .unwrap();
    let written = adds(folder.path(), "bar-tailed", "kind = 'aeroplane'\nlike = 'turnstone'\n");
    for line in [
        "receiver main { number 1 }",
        "receiver spare { number 1 }",
        "module inner { receiver-number 1 }",
        "module outer { receiver-number 1 }",
    ] {
        assert!(has(&written, line), "{line} in {written}");
    }
    let output = program(folder.path(), &["convert", "--spelled-out", "fleet/bar-tailed.rig"]);
    let whole = text(&output.stdout);
    assert!(whole.contains("servo-voltage") && !whole.contains("tested"), "{whole}{}", text(&output.stderr));
    // A model without match on gets it: its number would not keep it apart else.
    let file = folder.path().join("fleet/stint.rig");
    let there = fs::read_to_string(&file).unwrap();
    fs::write(&file, there.replacen("    match on\n", "    match off\n", 1).replacen("number 2\n", "number any\n", 1))
        .unwrap();
    let output = answered(folder.path(), "kind = 'aeroplane'\nname = 'wader'\nlike = 'stint'\n");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let written = &contents(folder.path())["wader.rig"];
    assert!(has(written, "receiver { number 3 }") && has(written, "receiver-number 3; match on }"), "{written}");
}

/// The switch, and which of its positions means "off", are those of the aircraft that are there.
#[test]
fn the_switch_that_stops_is_that_of_the_others() {
    let folder = with_fleet("clean");
    let turned = |text: &str| {
        text.replace("left-front becomes down", "left-front becomes 1")
            .replace("left-front up", "left-front down")
            .replace("left-front becomes 1", "left-front becomes up")
    };
    assert_eq!(
        turned("set left-front becomes down reset left-front up"),
        "set left-front becomes up reset left-front down"
    );
    // A fleet of one, whose pilot means "off" by the lower position of the second switch.
    let fleet = folder.path().join("fleet");
    for file in contents(folder.path())
        .keys()
        .filter(|file| !["handset.rig", "links.rig", "places.rig", "whimbrel.rig"].contains(&file.as_str()))
    {
        fs::remove_file(fleet.join(file)).unwrap();
    }
    let handset = fs::read_to_string(fleet.join("handset.rig")).unwrap();
    fs::write(
        fleet.join("handset.rig"),
        handset.replacen("  switch left-front", "  switch spare-one 2 positions\n  switch left-front", 1),
    )
    .unwrap();
    let whimbrel = fs::read_to_string(fleet.join("whimbrel.rig")).unwrap();
    assert!(whimbrel.contains("before-start left-front up"), "{whimbrel}");
    fs::write(fleet.join("whimbrel.rig"), turned(&whimbrel)).unwrap();
    let written = adds(folder.path(), "wader", "kind = 'aeroplane'\n");
    for line in [
        "before-start left-front down",
        "set left-front becomes up and throttle low reset left-front down",
        "expect never (left-front down and channel 3 above",
    ] {
        assert!(has(&written, line), "{line} in {written}");
    }
    let written = adds(folder.path(), "other", "kind = 'multirotor'\narm-channel = 7\n");
    assert!(
        has(&written, "channel 7 arm = left-front * -100 %") && has(&written, "mode arm and left-front down"),
        "{written}"
    );
    let written = adds(folder.path(), "third", "kind = 'autogyro'\nswitch = 'spare-one'\n");
    assert!(has(&written, "before-start spare-one up"), "{written}");
}

/// What there is to choose is asked, and only then; what can't be is asked again with what can.
#[test]
fn what_there_is_to_choose_is_asked_and_asked_again() {
    let folder = with_fleet("kinds");
    let lines = "\nbout\nboat\npratincole\nSpoon Bill\n\nwader\nspon\nno\nbench-tow\npit-one\nnowhere\nmere\nperhaps\nyes\nmany\n23\n99\n27\n";
    let output = asked(folder.path(), lines);
    let said = text(&output.stdout);
    assert_eq!(output.status.code(), Some(0), "{said}{}", text(&output.stderr));
    for part in [
        "The folder holds a fleet of 22 aircraft. Another is added, in a file of its own; no other file is touched.",
        "this has no default: answer one of multirotor, aeroplane",
        "there is no kind \"bout\"; the nearest is boat; answer one of multirotor",
        "there is an aircraft or a model \"pratincole\" already; answer another name",
        "there is an aircraft or a model \"spoonbill\" already; answer another name",
        "this has no default: a name has 1 to 60 characters",
        "but for a few values? Its name, or no. There: pratincole, spoonbill.",
        "like [pratincole]: ",
        "there is no \"spon\"; answer one of pratincole, spoonbill, or no",
        "handset [pit-one]: ",
        "there is no \"bench-tow\"; the nearest is bench-two; answer one of pit-one, bench-two, bench-three",
        "There: shingle field, long marsh, mere, hall.\nplace [mere]: ",
        "there is no \"nowhere\"; answer one of shingle field",
        "Does its motor also run backwards? yes or no.\nreverse [no]: answer yes or no\n",
        "number [1]: ",
        "answer a whole number, such as 1, which is free",
        "number 23 is that of \"pratincole\"; 1 is free",
        "answer a number from 1 to 30: link fen-24 has no other; 1 is free",
        "wrote fleet/wader.rig",
    ] {
        assert!(said.contains(part), "{part} in {said}");
    }
    for part in ["region", "module", "order", "arm-channel", "switch"] {
        assert!(!said.contains(&format!("\n{part}: ")) && !said.contains(&format!("\n{part} [")), "{part} in {said}");
    }
    let written = &contents(folder.path())["wader.rig"];
    assert!(has(written, "handset pit-one") && has(written, "flown-at mere") && has(written, "number 27"), "{written}");
    assert!(written.contains(" us reversible"), "{written}");
    is_clean(folder.path(), lines);
}

#[test]
fn nothing_is_written_before_the_last_answer() {
    for lines in [
        "",
        "multirotor\n",
        "multirotor\nwader\n",
        "multirotor\nwader\ndunlin\n",
        "multirotor\nwader\nno\n\n\n\n\nA E T R\n",
    ] {
        let folder = with_fleet("kinds");
        let before = contents(folder.path());
        let output = asked(folder.path(), lines);
        assert_eq!(output.status.code(), Some(64), "{lines:?}");
        assert!(text(&output.stderr).contains("nothing is written"), "{lines:?}");
        assert_eq!(contents(folder.path()), before);
    }
}

/// What can't be added, and why.
#[test]
fn what_cannot_be_added_is_told() {
    for (answers, told) in [
        ("kind = 'boat'", "it does not answer name"),
        ("name = 'wader'", "it does not answer kind"),
        ("kind = 'boat'\nname = 'dunlin'", "name: there is an aircraft or a model \"dunlin\" already"),
        ("kind = 'boat'\nname = 'wader'\nregion = 'DE'", "region is not asked of a boat that is like \"pratincole\""),
        (
            "kind = 'boat'\nname = 'wader'\norder = 'A E T R'",
            "order is not asked of a boat that is like \"pratincole\"",
        ),
        (
            "kind = 'boat'\nname = 'wader'\nlike = 'dunlin'",
            "like: there is no \"dunlin\"; answer one of pratincole, spoonbill, or no",
        ),
        ("kind = 'boat'\nname = 'wader'\nnumber = 23", "number: number 23 is that of \"pratincole\"; 1 is free"),
        ("kind = 'boat'\nname = 'wader'\nnumber = 'none'", "number: answer a whole number, such as 1, which is free"),
        (
            "kind = 'autogyro'\nname = 'wader'\nlike = 'no'\nhandset = 'pit-one'",
            "handset: there is no \"pit-one\"; answer one of",
        ),
        (
            "kind = 'vtol'\nname = 'wader'\nlike = 'no'\narm-channel = 13",
            "arm-channel: answer a channel that the link carries",
        ),
    ] {
        let folder = with_fleet("kinds");
        let before = contents(folder.path());
        let output = answered(folder.path(), answers);
        assert_eq!(output.status.code(), Some(2), "{answers}");
        assert!(text(&output.stderr).contains(&format!("answers.toml: {told}")), "{answers}: {}", text(&output.stderr));
        assert_eq!(contents(folder.path()), before, "{answers}");
    }
    for (file, change, told) in [
        // A number or a name in use may stand in what is not understood.
        (
            "links.rig",
            ("receiver-number 1..30", "receiver-number 1 to 30"),
            "nothing is added, since fleet/links.rig is not understood",
        ),
        ("handsets.rig", ("    link ", "    # link "), "nothing is added, since "),
    ] {
        let folder = with_fleet("kinds");
        let path = folder.path().join("fleet").join(file);
        let there = fs::read_to_string(&path).unwrap();
        assert!(there.contains(change.0));
        fs::write(&path, there.replace(change.0, change.1)).unwrap();
        let output = answered(folder.path(), "kind = 'boat'\nname = 'wader'\n");
        assert_eq!(output.status.code(), Some(64), "{file}");
        assert!(text(&output.stderr).contains(told), "{file}: {}", text(&output.stderr));
        assert!(!contents(folder.path()).contains_key("wader.rig"));
    }
}

/// A file of another name stays, and one that the settings leave out is told.
#[test]
fn the_file_comes_beside_what_is_there() {
    let folder = with_fleet("club");
    let fleet = folder.path().join("fleet");
    fs::write(fleet.join("boats.rig"), "rig 1\n").unwrap();
    let before = contents(folder.path());
    adds(folder.path(), "boats", "kind = 'boat'\n");
    let after = contents(folder.path());
    assert_eq!(after["boats.rig"], before["boats.rig"]);
    assert!(after["boats-2.rig"].contains("craft boats {"));
    fs::write(fleet.join("walkaround.toml"), "exclude = [\"new-*.rig\"]\n").unwrap();
    let output = answered(folder.path(), "kind = 'boat'\nname = 'new one'\n");
    assert_eq!(output.status.code(), Some(0));
    assert!(text(&output.stdout).contains("leaves the new file out"), "{}", text(&output.stdout));
}

/// A fleet in the JSON form, and one whose handset has it from another.
#[test]
fn a_fleet_in_json_gets_an_aircraft_too() {
    let folder = with_fleet("clean");
    for (name, _) in contents(folder.path()) {
        let output = program(folder.path(), &["convert", &format!("fleet/{name}")]);
        assert!(output.status.success());
        fs::write(folder.path().join(format!("fleet/{name}.json")), &output.stdout).unwrap();
        fs::remove_file(folder.path().join(format!("fleet/{name}"))).unwrap();
    }
    let output = answered(folder.path(), "kind = 'multirotor'\nname = 'wader'\n");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(text(&output.stdout).contains("has nothing to say about \"wader\" yet"), "{}", text(&output.stdout));
}
