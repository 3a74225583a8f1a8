//! The loop that looks for what nobody thought of: texts, JSON, settings, mends and models made by chance, from the files of
//! testdata. Each loop runs for a second; `WALKAROUND_FUZZ_SECONDS=1800 cargo test --test all fuzz::` runs longer, and
//! `WALKAROUND_FUZZ_FROM=1000000` looks at other cases. A case that fails is told by its number.

use crate::random_models::dice::Dice;
use crate::{patches, tangled, testdata};
use std::sync::Arc;
use std::time::{Duration, Instant};
use walkaround::findings::Finding;
use walkaround::fleet;
use walkaround::inspect::{Options, Outcome, Workspace, inspect};
use walkaround::mend::{How, mend, tidy};
use walkaround::settings;
use walkaround::signal::*;
use walkaround::source::FileId;
use walkaround::syntax::{Tables, parse};

/// Runs cases until the time is over.
fn cases(mut case: impl FnMut(&mut Dice)) {
    let number = |name: &str, otherwise| {
        std::env::var(name).map_or(otherwise, |text| text.parse().unwrap_or_else(|_| panic!("{name}={text}")))
    };
    let (from, seconds) = (number("WALKAROUND_FUZZ_FROM", 0), number("WALKAROUND_FUZZ_SECONDS", 1));
    let began = Instant::now();
    let mut at = from;
    while began.elapsed() < Duration::from_secs(seconds) {
        let told = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| case(&mut Dice::new(at))));
        assert!(told.is_ok(), "case {at}: WALKAROUND_FUZZ_FROM={at} shows it again");
        at += 1;
    }
    println!("{} cases", at - from);
}

/// Every text of testdata that a description can start from.
fn corpus() -> Vec<Vec<u8>> {
    let mut texts: Vec<Vec<u8>> = Vec::new();
    for folder in ["fleets", "syntax", "trace"] {
        texts.extend(
            testdata::rig_files(&testdata::folder().join(folder)).iter().map(|path| std::fs::read(path).unwrap()),
        );
    }
    let clean = testdata::fleet("clean");
    for case in patches::cases("mishaps").unwrap() {
        let changed = case.patched(&clean).unwrap().into_iter();
        texts.extend(
            changed
                .filter(|(name, text)| name.ends_with(".rig") && !clean.contains(&(name.clone(), text.clone())))
                .map(|it| it.1),
        );
    }
    texts
}

const PIECES: [&str; 24] = [
    "{",
    "}",
    "\n",
    "\"",
    "#",
    ";",
    "..",
    "-",
    "+",
    "*",
    "(",
    ")",
    " not ",
    " and ",
    " or ",
    " held 2 s ",
    " becomes ",
    "é",
    "\0",
    "999999999999999",
    "0.00000000000001",
    " us",
    " %",
    " channel 7 ",
];

/// What a slip of the hand, of a merge or of a disk does to a text.
fn slip(dice: &mut Dice, text: &mut Vec<u8>, other: &[u8]) {
    let place = |dice: &mut Dice, text: &[u8]| dice.below(text.len() + 1);
    let at = place(dice, text);
    let end = (at + 1 + dice.below(40)).min(text.len());
    match dice.below(8) {
        0 => drop(text.drain(at..end)),
        1 => {
            let piece = text[at..end].to_vec();
            text.splice(at..at, piece);
        }
        2 => drop(text.splice(at..at, dice.pick(&PIECES).bytes())),
        3 | 4 => {
            let digit = b'0' + dice.below(10) as u8;
            if let Some(byte) = text[at..].iter_mut().find(|byte| byte.is_ascii_digit()) {
                *byte = digit;
            }
        }
        5 => {
            let line = |dice: &mut Dice, text: &[u8]| {
                let lines: Vec<&[u8]> = text.split_inclusive(|&byte| byte == b'\n').collect();
                if lines.is_empty() { Vec::new() } else { dice.pick(&lines).to_vec() }
            };
            let line = line(dice, other);
            let at = text[..at].iter().rposition(|&byte| byte == b'\n').map_or(0, |at| at + 1);
            text.splice(at..at, line);
        }
        6 => drop(text.splice(at..at, [dice.roll() as u8])),
        _ => {
            let words: Vec<&[u8]> = other.split(|byte| !byte.is_ascii_alphanumeric() && *byte != b'-').collect();
            let word = dice.pick(&words).to_vec();
            let end =
                text[at..].iter().position(|byte| !byte.is_ascii_alphanumeric()).map_or(text.len(), |gap| at + gap);
            text.splice(at..end, word);
        }
    }
}

fn slipped(dice: &mut Dice, corpus: &[Vec<u8>]) -> Vec<u8> {
    let (mut text, other) = (dice.pick(corpus).clone(), dice.pick(corpus).clone());
    for _ in 0..=dice.below(4) {
        slip(dice, &mut text, &other);
    }
    text
}

/// The shared files of the clean fleet, with these beside them.
fn beside_shared(texts: &[(&str, &[u8])]) -> (Arc<Outcome>, u64) {
    let mut workspace = Workspace::new();
    workspace.settings(Options::default());
    for (name, text) in testdata::fleet("clean") {
        if matches!(name.as_str(), "links.rig" | "places.rig" | "handset.rig") {
            workspace.set(&name, text);
        }
    }
    texts.iter().for_each(|(name, text)| workspace.set(name, text.to_vec()));
    (workspace.outcome(), workspace.most_work())
}

#[test]
fn texts() {
    let corpus = corpus();
    cases(|dice| {
        let text = slipped(dice, &corpus);
        let (outcome, work) = beside_shared(&[("slipped.rig", &text)]);
        assert!(work <= MODEL_BUDGET, "{work} regions");
        for finding in &outcome.findings {
            assert!(finding.place.span.end as usize <= text.len().max(1 << 20), "{finding:?}");
        }
        // The layout of a text is its own layout.
        if let Ok(once) = tidy(&text) {
            assert_eq!(tidy(&once).unwrap(), once);
        }
    });
}

#[test]
fn json() {
    let written = |text: &Vec<u8>| {
        let mut tables = Tables::default();
        parse(text, fleet::table::vocabulary, &mut tables);
        fleet::json::from_rig(text, &tables, Vec::new()).map(String::into_bytes)
    };
    let files: Vec<Vec<u8>> = corpus().iter().filter_map(written).collect();
    assert!(files.len() > 10, "only {} texts become JSON", files.len());
    cases(|dice| {
        let text = slipped(dice, &files);
        beside_shared(&[("slipped.rig.json", &text)]);
    });
}

#[test]
fn settings_files() {
    let start = br#"include = ["**/*.rig"]
exclude = ["old/**"]
fail-at = "caution"
place = "north spit"
[severity]
"arming/*" = "note"
[rules."arming/thin-margin"]
margin = "20 us"
"#;
    let files = [start.to_vec()];
    cases(|dice| {
        let text = slipped(dice, &files);
        let (_, faults) = settings::read(&text, FileId(0), &|_, _| Ok(()));
        assert!(faults.iter().all(|fault: &Finding| fault.place.span.end as usize <= text.len()), "{faults:?}");
    });
}

/// Choices that were taken are taken: a second time nothing changes.
#[test]
fn mends() {
    let corpus = corpus();
    let shared = testdata::fleet("clean");
    let shared =
        shared.into_iter().filter(|(name, _)| matches!(name.as_str(), "links.rig" | "places.rig" | "handset.rig"));
    let shared: Vec<Vec<u8>> = shared.map(|(_, text)| text).collect();
    let mut look = |texts: &[Vec<u8>]| {
        let texts: Vec<&[u8]> = texts.iter().map(Vec::as_slice).collect();
        Arc::new(inspect(&texts, &Options::default()))
    };
    cases(|dice| {
        let mut texts = shared.clone();
        texts.push(slipped(dice, &corpus));
        if dice.chance(50) {
            texts.push(dice.pick(&corpus).clone());
        }
        let once = mend(texts, &mut look, &|_| true, How::First);
        let twice = mend(once.texts.clone(), &mut look, &|_| true, How::First);
        for (once, twice) in once.texts.iter().zip(&twice.texts) {
            let [once, twice] = [once, twice].map(|text| String::from_utf8_lossy(text));
            let differs = once.lines().zip(twice.lines()).find(|(one, other)| one != other);
            assert!(once == twice, "it changes again: {differs:?}");
        }
    });
}

/// Models of any kind end in the budget, and what is shown of them replays.
#[test]
fn models() {
    cases(|dice| {
        let program = tangled::model(dice);
        for _ in 0..4 {
            let question = tangled::question(dice, program.parts());
            if let Answer::Yes(witness) = program.ask(&question) {
                assert_eq!(program.holds(&witness.path, &question.state), Some(true), "{question:?}");
            }
        }
        for channel in &program.parts().channels {
            program.range(channel.number, Measure::Sent, &Within::default());
        }
        assert!(program.allowance().spent() <= MODEL_BUDGET);
    });
}
