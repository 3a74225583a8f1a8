//! The workspace: whatever came and went before, the outcome is that of the texts as they are; each is read once; and no more
//! is asked again than hangs on what changed.

use crate::{generate, program, testdata};
use std::collections::BTreeMap;
use std::fs;
use std::sync::Arc;
use walkaround::fleet::day::Day;
use walkaround::inspect::{Options, Workspace};
use walkaround::report::{Report, json, text};
use walkaround::signal::BUDGET;
use walkaround::source::FileId;
use walkaround::syntax::{Tables, parse};

/// The texts of a folder, by name.
type Folder = BTreeMap<String, Vec<u8>>;

/// Numbers that are the same in every run.
struct Dice(u64);

impl Dice {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % end.max(1)
    }

    fn pick<'a, T>(&mut self, among: &'a [T]) -> &'a T {
        &among[self.below(among.len())]
    }
}

fn options() -> Options {
    Options { today: Day::new(2026, 11, 25), ..Options::default() }
}

fn empty() -> Workspace {
    let mut workspace = Workspace::new();
    workspace.settings(options());
    workspace
}

fn fresh(folder: &Folder) -> Workspace {
    let mut workspace = empty();
    folder.iter().for_each(|(name, text)| workspace.set(name, text.as_slice()));
    workspace
}

/// What is said about a folder, as people and as programs get it.
fn said(workspace: &mut Workspace) -> (String, String) {
    let outcome = workspace.outcome();
    let text_of = &|file| workspace.text(file);
    let report = Report::of(&outcome, workspace.names(), workspace.count(), text_of);
    let (mut for_people, mut for_programs) = (Vec::new(), Vec::new());
    text::write(&report, text::Style { colour: false, width: 100, full: true }, &mut for_people).unwrap();
    json::write(&report, &mut for_programs).unwrap();
    (String::from_utf8(for_people).unwrap(), String::from_utf8(for_programs).unwrap())
}

/// The words of a text that names and numbers are made of.
fn words(text: &[u8]) -> Vec<std::ops::Range<usize>> {
    let is_word = |byte: &u8| byte.is_ascii_alphanumeric() || *byte == b'-';
    let (mut found, mut at) = (Vec::new(), 0);
    for run in text.chunk_by(|left, right| is_word(left) == is_word(right)) {
        if run.first().is_some_and(is_word) {
            found.push(at..at + run.len());
        }
        at += run.len();
    }
    found
}

/// One change of a folder: something that a pilot, a program or a disk does. `first` is how the folder was at first.
fn change(folder: &mut Folder, first: &Folder, dice: &mut Dice) {
    let names: Vec<String> = folder.keys().cloned().collect();
    let all: Vec<&String> = first.keys().collect();
    let Some(name) = (!names.is_empty()).then(|| dice.pick(&names).clone()) else {
        folder.insert(all[0].clone(), first[all[0]].clone());
        return;
    };
    let mut text = folder[&name].clone();
    match dice.below(12) {
        0 => drop(folder.remove(&name)),
        1..=3 => {
            let back = *dice.pick(&all);
            folder.insert(back.clone(), first[back].clone());
        }
        // A file of another name: everything behind it gets another number.
        4 => drop(folder.insert(format!("{}{name}", dice.pick(&["a-", "m-", "zz-"])), text)),
        // What was in one file stands in another.
        5 => {
            let other = dice.pick(&names).clone();
            let moved = folder.insert(other, text).unwrap();
            folder.insert(name, moved);
        }
        6 => {
            let mut tables = Tables::default();
            parse(&text, walkaround::fleet::table::vocabulary, &mut tables);
            if let Some(twin) = walkaround::fleet::json::from_rig(&text, &tables, Vec::new()) {
                folder.remove(&name);
                folder.insert(format!("{name}.json"), twin.into_bytes());
            }
        }
        7 => {
            text.push(0xff);
            folder.insert(name, text);
        }
        // Another word or number, from anywhere in the folder: a name that is not defined, or one that is defined twice.
        8..=10 => {
            let other = folder[dice.pick(&names)].clone();
            let (to, from) = (words(&text), words(&other));
            if !to.is_empty() && !from.is_empty() {
                text.splice(dice.pick(&to).clone(), other[dice.pick(&from).clone()].iter().copied());
                folder.insert(name, text);
            }
        }
        _ => {
            let mut lines: Vec<&[u8]> = text.split_inclusive(|byte| *byte == b'\n').collect();
            let line = lines.remove(dice.below(lines.len()));
            if dice.below(2) == 0 {
                lines.insert(dice.below(lines.len() + 1), line);
            }
            folder.insert(name, lines.concat());
        }
    }
}

/// Changes a folder again and again in one workspace, and holds its outcome against that of a new one.
fn changes_leave_no_trace(first: &Folder, start: u64, rounds: usize, changes: usize) {
    let mut dice = Dice(start);
    let mut folder = first.clone();
    let mut workspace = fresh(&folder);
    workspace.spread(|count, piece| (0..count).rev().for_each(piece));
    workspace.outcome();
    for round in 0..rounds {
        for _ in 0..changes {
            let before = folder.clone();
            change(&mut folder, first, &mut dice);
            before.keys().filter(|name| !folder.contains_key(*name)).for_each(|name| workspace.remove(name));
            folder.iter().for_each(|(name, text)| workspace.set(name, text.as_slice()));
        }
        let (changed, new) = (said(&mut workspace), said(&mut fresh(&folder)));
        assert!(changed.0 == new.0, "round {round} of {start}:\n{}", first_difference(&changed.0, &new.0));
        assert!(changed.1 == new.1, "round {round} of {start}:\n{}", first_difference(&changed.1, &new.1));
    }
}

fn first_difference(changed: &str, new: &str) -> String {
    let at = changed.lines().zip(new.lines()).position(|(left, right)| left != right).unwrap_or_default();
    let near = |text: &str| text.lines().skip(at.saturating_sub(2)).take(6).collect::<Vec<_>>().join("\n");
    format!("after the changes:\n{}\nas a new one:\n{}", near(changed), near(new))
}

#[test]
fn changes_of_the_demo_fleets_leave_no_trace() {
    for (number, fleet) in testdata::fleet_names().iter().enumerate() {
        let first: Folder = testdata::fleet(fleet).into_iter().collect();
        changes_leave_no_trace(&first, number as u64 + 1, 25, 1);
        changes_leave_no_trace(&first, number as u64 + 100, 5, 7);
    }
}

fn generated(files: u32, findings: u32) -> Folder {
    generate::files(files, 7, findings).map(|(name, text)| (name, text.into_bytes())).collect()
}

#[test]
fn changes_of_a_large_fleet_leave_no_trace() {
    changes_leave_no_trace(&generated(200, 3), 11, 4, 40);
}

#[test]
fn each_text_is_read_once() {
    let folder = generated(120, 2);
    let mut workspace = fresh(&folder);
    workspace.outcome();
    workspace.outcome();
    assert_eq!(workspace.texts_read(), folder.len());
    let (name, text) = folder.iter().next_back().unwrap();
    workspace.set(name, text.as_slice());
    workspace.outcome();
    assert_eq!(workspace.texts_read(), folder.len());
    workspace.set(name, [text.as_slice(), b"# more\n"].concat());
    workspace.outcome();
    assert_eq!(workspace.texts_read(), folder.len() + 1);
    // Files that come and go before anybody looks are not read at all.
    workspace.set("new.rig", "rig 1\n".as_bytes());
    workspace.remove("new.rig");
    workspace.outcome();
    assert_eq!(workspace.texts_read(), folder.len() + 1);
}

#[test]
fn only_what_hangs_on_a_change_is_asked_again() {
    let folder = generated(120, 0);
    let mut workspace = fresh(&folder);
    workspace.outcome();
    let all = workspace.subjects_asked();
    let (name, text) = folder.iter().find(|(name, _)| name.starts_with("aircraft-")).unwrap();
    workspace.set(name, [b"# more\n", text.as_slice()].concat());
    workspace.outcome();
    // The aircraft and its models.
    let one = workspace.subjects_asked() - all;
    assert!((2..=3).contains(&one), "{one} of {all}");
    // A file above all others gives them other numbers, and nothing else.
    workspace.set("a.rig", "rig 1\n".as_bytes());
    workspace.outcome();
    assert_eq!(workspace.subjects_asked(), all + one);
    // Everything flies on some link.
    workspace.set("links.rig", [b"# more\n", folder["links.rig"].as_slice()].concat());
    workspace.outcome();
    assert_eq!(workspace.subjects_asked(), all + one + all);
}

/// What a model shares with another is held against it again when either of them changes, or what tells what they share.
#[test]
fn models_that_come_to_share_something_are_held_against_each_other() {
    let first: Folder = testdata::fleet("clean").into_iter().collect();
    let (mut folder, mut workspace) = (first.clone(), fresh(&first));
    let found = |workspace: &mut Workspace, rule: &str| {
        workspace.outcome().findings.iter().filter(|finding| finding.rule == rule).count()
    };
    let steps = [
        ("handset/name-alike", "plover.rig", "model \"plover\"", "model \"Spit  Racers\"", 1),
        ("handset/name-alike", "dunlin.rig", "model \"spit racers\"", "model \"spit laps\"", 0),
        ("receiver/duplicate-number", "plover.rig", "receiver-number 7", "receiver-number 4", 1),
        ("receiver/duplicate-number", "dunlin.rig", "receiver-number 4", "receiver-number 5", 0),
        ("receiver/duplicate-number", "dunlin.rig", "receiver-number 5", "receiver-number 4", 1),
        // They fly on another link then, which is not defined, so that nobody knows what meets there.
        ("receiver/duplicate-number", "handset.rig", "link shore-24", "link shore-25", 0),
        ("receiver/duplicate-number", "handset.rig", "link shore-25", "link shore-24", 1),
    ];
    for (rule, file, from, to, count) in steps {
        let text = String::from_utf8(folder[file].clone()).unwrap();
        assert!(text.contains(from), "{file}: {from}");
        let text = text.replace(from, to).into_bytes();
        workspace.set(file, text.as_slice());
        folder.insert(file.to_owned(), text);
        assert_eq!(found(&mut workspace, rule), count, "{rule}: {from} became {to} in {file}");
        assert_eq!(said(&mut workspace), said(&mut fresh(&folder)), "{from} became {to} in {file}");
    }
    // A copy of a whole model, until one of both says something else.
    let text = String::from_utf8(first["plover.rig"].clone()).unwrap();
    let model = &text[text.find("model \"plover\"").unwrap()..];
    let copy = format!("rig 1\n{}", model.replace("model \"plover\"", "model \"plover two\""));
    let (before, mut workspace) = (found(&mut fresh(&first), "handset/copied-model"), fresh(&first));
    workspace.outcome();
    workspace.set("two.rig", copy.as_bytes());
    assert_eq!(found(&mut workspace, "handset/copied-model"), before + 1);
    workspace.set("plover.rig", text.replace("trims off", "trims on").into_bytes());
    assert_eq!(found(&mut workspace, "handset/copied-model"), before);
}

/// What a model is told of its aircraft's receiver hangs on the other models that fly it, wherever they stand.
#[test]
fn another_model_of_an_aircraft_changes_what_can_be_chosen() {
    let mut folder: Folder = testdata::fleet("clean").into_iter().collect();
    let knot = String::from_utf8(folder["knot.rig"].clone()).unwrap().replace("number 4", "number 5");
    folder.insert("knot.rig".to_owned(), knot.into_bytes());
    let mut workspace = fresh(&folder);
    let choices = |workspace: &mut Workspace| -> usize {
        let outcome = workspace.outcome();
        let of_racers = |file: FileId| workspace.names()[file.0 as usize] == "dunlin.rig";
        let mut findings = outcome.findings.iter().filter(|finding| of_racers(finding.place.file));
        findings.find(|finding| finding.rule == "receiver/number-differs").unwrap().mend.edits().count()
    };
    assert_eq!(choices(&mut workspace), 1);
    let alone = |number: u8| {
        format!(
            "rig 1\nmodel \"knot alone\" {{ handset bench-one; flies knot\n\
             module built-in {{ receiver-number {number}; match on; key club }}; channel 1 = roll }}\n"
        )
    };
    for (number, left) in [(5, 0), (6, 1), (5, 0)] {
        workspace.set("alone.rig", alone(number).into_bytes());
        folder.insert("alone.rig".to_owned(), alone(number).into_bytes());
        assert_eq!(choices(&mut workspace), left, "{number}");
        assert_eq!(said(&mut workspace), said(&mut fresh(&folder)), "{number}");
    }
    workspace.remove("alone.rig");
    assert_eq!(choices(&mut workspace), 1);
}

/// Aircraft that are alike but for their names, and some that are nearly so: their throttle goes over another curve.
fn alike(dice: &mut Dice) -> Folder {
    let (own, shared): (Folder, Folder) =
        generated(40, 0).into_iter().partition(|(name, _)| name.starts_with("aircraft-"));
    let is_of = |text: &[u8], words: &str| String::from_utf8_lossy(text).contains(words);
    let first = |words: &str| own.iter().find(|(_, text)| is_of(text, words)).unwrap();
    let mut folder = shared;
    for (name, text) in ["curve soft", "channel 3 motor", "left elevon", "on-loss fly-back"].map(first) {
        let name = name.split('/').next_back().unwrap().strip_suffix(".rig").unwrap();
        for number in 0..4 {
            let text = String::from_utf8(text.clone()).unwrap().replace(name, &format!("{name}-{number}"));
            let curve =
                format!("curve soft {{ points -100:-100, {}, 100:100", dice.pick(&["0:4", "0:4", "-98:60", "20:-35"]));
            let lines = text.lines().map(|line| match line.trim_start().strip_prefix("curve soft") {
                Some(rest) => format!("{curve}{}\n", if rest.contains("rounded") { "; rounded }" } else { " }" }),
                None => format!("{line}\n"),
            });
            folder.insert(format!("{name}-{number}.rig"), lines.collect::<String>().into_bytes());
        }
    }
    folder
}

/// What is found of one model is taken over only where another hangs on the same: the outcome is that of a workspace in which each
/// is asked by itself.
#[test]
fn what_alike_models_share_changes_nothing() {
    let alone = |folder: &Folder| {
        let mut workspace = Workspace::with(Options { budget: Some(BUDGET), ..options() });
        folder.iter().for_each(|(name, text)| workspace.set(name, text.as_slice()));
        workspace
    };
    let (mut jumping, mut steady) = (0, 0);
    for start in 0..6 {
        let mut dice = Dice(start);
        let first = alike(&mut dice);
        let mut folder = first.clone();
        for round in 0..6 {
            let (mut shared, mut alone) = (fresh(&folder), alone(&folder));
            let (one, other) = (said(&mut shared), said(&mut alone));
            assert!(one == other, "round {round} of {start}:\n{}", first_difference(&one.1, &other.1));
            let steps = shared.outcome().findings.iter().filter(|finding| finding.rule == "throttle/step").count();
            jumping += steps;
            steady += usize::from(steps < 4);
            (0..5).for_each(|_| change(&mut folder, &first, &mut dice));
        }
    }
    assert!(jumping > 0 && steady > 0, "{jumping} and {steady}");
}

/// A file that is passed over, when it is read or when it is judged, misses a finding.
#[test]
fn a_finding_in_every_file_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let mut planted = 0;
    for (name, text) in generated(130, 0) {
        let text = String::from_utf8(text).unwrap();
        let path = folder.path().join(&name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        // One is found while the text is read, and one when its first model is judged.
        let flies = text.find("  flies ").filter(|_| name.starts_with("aircraft-"));
        let text = match flies {
            Some(at) => format!("{}  expect always throttle low\n{}# password: hunter2x9\n", &text[..at], &text[at..]),
            None => text,
        };
        planted += usize::from(flies.is_some());
        fs::write(path, text).unwrap();
    }
    assert_eq!(planted, 130);
    let run = program::run(folder.path(), "inspect", &["--as", "lines", "--rules", "house/*", "."], "");
    let out = String::from_utf8(run.stdout).unwrap();
    for rule in ["house/secret", "house/expect-failed"] {
        let mut files: Vec<&str> =
            out.lines().filter(|line| line.contains(rule)).map(|line| line.split(':').next().unwrap()).collect();
        files.sort_unstable();
        files.dedup();
        assert_eq!(files.len(), planted, "{rule}: {out}");
    }
}

#[test]
fn texts_and_lines_are_at_hand() {
    let mut workspace = empty();
    workspace.set("knot.rig", "rig 1\ncraft knot { }\n".as_bytes());
    workspace.unreadable("dunlin.rig", "it is locked");
    workspace.note("walkaround.toml", &b"# set\n"[..], Vec::new());
    let outcome = workspace.outcome();
    assert_eq!(workspace.names(), ["dunlin.rig", "knot.rig", "walkaround.toml"]);
    assert_eq!(workspace.count(), 2);
    assert_eq!(workspace.text(FileId(0)), None);
    assert_eq!(workspace.text(FileId(2)), Some(Arc::from(&b"# set\n"[..])));
    assert_eq!(workspace.lines(FileId(1)).unwrap().position(6).line, 2);
    let fault = outcome.findings.iter().find(|finding| finding.rule == "format/unreadable").unwrap();
    assert_eq!(fault.message, "dunlin.rig can't be read: it is locked.");
    assert_eq!((fault.place.file, fault.aircraft[0].as_str()), (FileId(0), "knot"));
    workspace.set("dunlin.rig", "rig 1\n".as_bytes());
    assert!(workspace.outcome().findings.iter().all(|finding| finding.rule != "format/unreadable"));
}
