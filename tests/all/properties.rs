//! Any text at all gives findings whose places lie in it, in bounded time and always the same ones.

use crate::testdata::fleet;
use proptest::prelude::*;
use proptest::sample::Index;
use std::sync::OnceLock;
use std::time::{Duration, Instant};
use walkaround::findings::{Edit, Finding, Mend};
use walkaround::fleet::day::Day;
use walkaround::inspect::{Options, Outcome, Workspace, inspect};
use walkaround::source::Place;

/// A text takes far less than this, also with the checks of a debug build on a busy machine.
const PATIENCE: Duration = Duration::from_secs(20);

fn options() -> Options {
    Options { today: Day::new(2026, 11, 25), ..Options::default() }
}

/// The aircraft's files of the clean and the hurried fleet.
fn aircraft() -> &'static [Vec<u8>] {
    static TEXTS: OnceLock<Vec<Vec<u8>>> = OnceLock::new();
    TEXTS.get_or_init(|| files(&["clean", "hurried", "newcomer"], |name| !shared(name)))
}

/// The files that all aircraft share.
fn shared_files() -> &'static [Vec<u8>] {
    static TEXTS: OnceLock<Vec<Vec<u8>>> = OnceLock::new();
    TEXTS.get_or_init(|| files(&["clean"], shared))
}

fn shared(name: &str) -> bool {
    matches!(name, "links.rig" | "places.rig" | "handset.rig")
}

fn files(folders: &[&str], wanted: impl Fn(&str) -> bool) -> Vec<Vec<u8>> {
    let all = folders.iter().flat_map(|folder| fleet(folder));
    let texts: Vec<Vec<u8>> = all.filter(|(name, _)| wanted(name)).map(|(_, text)| text).collect();
    assert!(texts.len() > 1);
    texts
}

/// What a slip of the hand, of a merge or of a disk does to a text.
#[derive(Clone, Debug)]
enum Slip {
    Delete(Index, usize),
    Double(Index, usize),
    Swap(Index, Index, usize),
    Insert(Index, Vec<u8>),
    /// Another digit at the digit that is nearest behind a place.
    Digit(Index, u8),
    /// The number or word nearest behind a place becomes one that stands elsewhere.
    Word(Index, Index),
    /// A whole line to another place.
    Line(Index, Index),
}

fn slips() -> impl Strategy<Value = Vec<Slip>> {
    let length = || prop_oneof![3 => 1usize..4, 2 => 1usize..40, 1 => 1usize..400];
    let pieces = prop::sample::select(vec![
        &b"{"[..],
        b"}",
        b"\n",
        b"\"",
        b"#",
        b";",
        b"..",
        b"-",
        b" not ",
        b" or ",
        b" becomes ",
        b"channel 7 ",
        b"999999999999999",
        b" us",
        b" %",
        b"\0",
        b"\xff",
        "é".as_bytes(),
        b"\xef\xbb\xbf",
        b"value throttle * roll * pitch * yaw\n",
        b"latch set ",
        b"held 2 s ",
        b"# waive arming/slow because \"x\"\n",
        b"travel -150..150 %\n",
    ]);
    let insert = prop_oneof![3 => pieces.prop_map(<[u8]>::to_vec), 1 => prop::collection::vec(any::<u8>(), 1..12)];
    let slip = prop_oneof![
        1 => (any::<Index>(), length()).prop_map(|(at, length)| Slip::Delete(at, length)),
        1 => (any::<Index>(), length()).prop_map(|(at, length)| Slip::Double(at, length)),
        1 => (any::<Index>(), any::<Index>(), length()).prop_map(|(one, other, length)| Slip::Swap(one, other, length)),
        2 => (any::<Index>(), insert).prop_map(|(at, bytes)| Slip::Insert(at, bytes)),
        4 => (any::<Index>(), b'0'..=b'9').prop_map(|(at, digit)| Slip::Digit(at, digit)),
        3 => (any::<Index>(), any::<Index>()).prop_map(|(at, from)| Slip::Word(at, from)),
        2 => (any::<Index>(), any::<Index>()).prop_map(|(from, to)| Slip::Line(from, to)),
    ];
    prop_oneof![prop::collection::vec(slip.clone(), 1), prop::collection::vec(slip, 1..6)]
}

fn apply(text: &mut Vec<u8>, slip: &Slip) {
    let end = |at: usize, length: usize| (at + length).min(text.len());
    match slip {
        Slip::Delete(at, length) => {
            let at = at.index(text.len() + 1);
            text.drain(at..end(at, *length));
        }
        Slip::Double(at, length) => {
            let at = at.index(text.len() + 1);
            let piece = text[at..end(at, *length)].to_vec();
            text.splice(at..at, piece);
        }
        Slip::Swap(one, other, length) => {
            let (one, other) = (one.index(text.len() + 1), other.index(text.len() + 1));
            let (one, other) = (one.min(other), one.max(other));
            let length = (*length).min(other - one).min(text.len() - other);
            (0..length).for_each(|at| text.swap(one + at, other + at));
        }
        Slip::Insert(at, bytes) => {
            let at = at.index(text.len() + 1);
            text.splice(at..at, bytes.iter().copied());
        }
        Slip::Digit(at, digit) => {
            let at = at.index(text.len() + 1);
            if let Some(byte) = text[at..].iter_mut().find(|byte| byte.is_ascii_digit()) {
                *byte = *digit;
            }
        }
        Slip::Word(at, from) => {
            let (at, from) = (word_behind(text, at), word_behind(text, from));
            let word = text[from].to_vec();
            text.splice(at, word);
        }
        Slip::Line(from, to) => {
            let mut lines: Vec<Vec<u8>> = text.split_inclusive(|&byte| byte == b'\n').map(<[u8]>::to_vec).collect();
            let line = lines.remove(from.index(lines.len()));
            lines.insert(to.index(lines.len() + 1), line);
            *text = lines.concat();
        }
    }
}

/// Where the first whole word or number behind a place stands.
fn word_behind(text: &[u8], at: &Index) -> std::ops::Range<usize> {
    let in_word = |byte: &u8| byte.is_ascii_alphanumeric() || *byte == b'-';
    let at = at.index(text.len());
    let gap = text[at..].iter().position(|byte| !in_word(byte)).map_or(text.len(), |gap| at + gap);
    let start = text[gap..].iter().position(in_word).map_or(text.len(), |start| gap + start);
    let end = text[start..].iter().position(|byte| !in_word(byte)).map_or(text.len(), |end| start + end);
    start..end
}

/// A file of the stories after a few slips.
fn slipped() -> impl Strategy<Value = Vec<u8>> {
    (any::<Index>(), slips()).prop_map(|(file, slips)| {
        let mut text = aircraft()[file.index(aircraft().len())].clone();
        for slip in &slips {
            if text.is_empty() {
                break;
            }
            apply(&mut text, slip);
        }
        text
    })
}

/// The inspection of a text behind the shared files, in bounded time.
fn run(text: &[u8]) -> Outcome {
    let mut texts: Vec<&[u8]> = shared_files().iter().map(Vec::as_slice).collect();
    texts.push(text);
    let began = Instant::now();
    let outcome = inspect(&texts, &options());
    assert!(began.elapsed() < PATIENCE, "it took {:?}", began.elapsed());
    outcome
}

/// The same inspection with its pieces of work in another order, as it may be on several cores.
fn run_backwards(text: &[u8]) -> Outcome {
    let mut workspace = Workspace::new();
    workspace.settings(options());
    workspace.spread(|count, piece| (0..count).rev().for_each(piece));
    let texts = shared_files().iter().map(Vec::as_slice).chain([text]);
    texts.enumerate().for_each(|(number, text)| workspace.set(&format!("{number:08}.rig"), text));
    workspace.into_outcome()
}

fn edits(finding: &Finding) -> Vec<&Edit> {
    match &finding.mend {
        Mend::Words(_) => Vec::new(),
        Mend::Sure(choice) => choice.edits.iter().collect(),
        Mend::Choices(_, choices) => choices.iter().flat_map(|choice| &choice.edits).collect(),
    }
}

/// Every place lies in its text and cuts no character.
fn places_lie_in_the_text(outcome: &Outcome, text: &[u8]) -> Result<(), TestCaseError> {
    let lies = |place: Place| {
        let text = shared_files().get(place.file.0 as usize).map_or(text, Vec::as_slice);
        let (start, end) = (place.span.start as usize, place.span.end as usize);
        let cuts =
            std::str::from_utf8(text).is_ok_and(|text| !text.is_char_boundary(start) || !text.is_char_boundary(end));
        place.file.0 as usize <= shared_files().len() && start <= end && end <= text.len() && !cuts
    };
    for finding in &outcome.findings {
        prop_assert!(lies(finding.place), "{finding:?}");
        for (other, _) in &finding.others {
            prop_assert!(lies(*other), "{finding:?}");
        }
        for edit in edits(finding) {
            prop_assert!(lies(edit.place), "{finding:?}");
        }
    }
    Ok(())
}

fn holds(text: &[u8]) -> Result<(), TestCaseError> {
    let outcome = run(text);
    places_lie_in_the_text(&outcome, text)?;
    let again = run_backwards(text);
    prop_assert_eq!(&outcome.findings, &again.findings);
    prop_assert_eq!(&outcome.aircraft, &again.aircraft);
    // A comment above everything moves what is found and changes nothing else.
    let mark = usize::from(text.starts_with(b"\xef\xbb\xbf")) * 3;
    let below = run(&[&text[..mark], b"# more and more\n", &text[mark..]].concat());
    let named = |outcome: &Outcome| -> Vec<(&str, u64)> {
        // A fault may name its byte or be about the whole text.
        outcome.findings.iter().filter(|f| f.rule != "format/unreadable").map(|f| (f.rule, f.fingerprint)).collect()
    };
    prop_assert_eq!(named(&outcome), named(&below));
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 250, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn slips_in_the_stories_are_survived(text in slipped()) {
        holds(&text)?;
    }

    #[test]
    fn any_bytes_are_survived(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        holds(&bytes)?;
    }

    #[test]
    fn any_words_are_survived(words in prop::collection::vec(word(), 0..120)) {
        holds(format!("rig 1\n{}", words.join(" ")).as_bytes())?;
    }
}

/// Words, signs and numbers of the language in any order.
fn word() -> impl Strategy<Value = String> {
    let words = walkaround::fleet::table::entries().map(|entry| entry.word.to_owned()).collect::<Vec<_>>();
    let signs =
        ["{", "}", "\n", "\n", "=", ",", "..", "(", ")", "+", "-", "*", "when", "not", "and", "or", "becomes", "up"];
    let signs = signs.map(str::to_owned).to_vec();
    prop_oneof![
        3 => prop::sample::select(words),
        4 => prop::sample::select(signs),
        2 => (-200i32..3000).prop_map(|number| number.to_string()),
        1 => prop::sample::select(vec!["%", "us", "s", "mW", "Hz", "dBm"]).prop_map(str::to_owned),
        1 => "[a-z]{1,4}",
    ]
}
