//! What looks otherwise and does the same gives *same*: edits by chance, blocks that are `like` others against written out ones.

use crate::compare::{compared, told};
use crate::testdata::{File, fleet};
use proptest::prelude::*;

/// Whether a letter may stand in a word.
fn is_part(letter: char) -> bool {
    letter.is_alphanumeric() || letter == '-' || letter == '_'
}

/// A text with a whole word replaced wherever it stands.
fn with_word(text: &str, old: &str, new: &str) -> String {
    let (mut made, mut rest) = (String::new(), text);
    while let Some(at) = rest.find(old) {
        let (before, behind) = (&rest[..at], &rest[at + old.len()..]);
        let is_whole = !before.ends_with(is_part) && !behind.starts_with(is_part);
        made += before;
        made += if is_whole { new } else { old };
        rest = behind;
    }
    made + rest
}

/// Things that have a name in the clean fleet, and another one. Words of the language are none of them.
const RENAMED: [(&str, &str); 9] = [
    ("left-front", "front-toggle"),
    ("rotary", "\"five way\""),
    ("trigger", "thumb"),
    ("finder", "beacon"),
    ("ready", "set-to-go"),
    ("soft", "gentle"),
    ("knot", "ruddy-knot"),
    ("\"spit racers\"", "\"both racers\""),
    ("\"north spit\"", "\"northern spit\""),
];

/// The same said in other words.
const REWRITTEN: [(&str, &str); 14] = [
    ("120 mW", "0.12 W"),
    ("1300 mAh", "1.3 Ah"),
    ("after 1 s", "after 1000 ms"),
    ("1080 us", "1.08 ms"),
    ("2 min 30 s", "150 s"),
    ("7.0 V", "7000 mV"),
    ("left-rear * -100 %", "left-rear * 50 % * -100 % * 200 %"),
    ("channel 1 = roll\n", "channel 1 { value roll * 100 % }\n"),
    ("channel 4 = yaw\n", "channel 4 { value -(-yaw); travel -100..100 % }\n"),
    ("value 100 % when ready", "value 50 % + 50 % when not not ready"),
    ("channels 1, 2", "channels 1..2"),
    ("trim-range 20 %", "trim-range 20.0 %"),
    ("(mode arm and not left-front down)", "(not left-front down and mode arm)"),
    ("0.12 W", "120 mW"),
];

/// One edit: which kind, which file, and where in it.
type Edit = (u8, usize, usize);

fn apply(files: &mut [File], (kind, file, at): Edit) {
    let texts: Vec<String> = files.iter().map(|(_, text)| String::from_utf8(text.clone()).unwrap()).collect();
    let mut set = |number: usize, text: String| files[number].1 = text.into_bytes();
    let file = file % texts.len();
    let text = &texts[file];
    match kind % 8 {
        // A comment, an empty line, blanks.
        0 => {
            let lines: Vec<&str> = text.lines().collect();
            let place = 1 + at % (lines.len() - 1);
            let (head, tail) = lines.split_at(place);
            let all = [head, &["", "     # Looked at again.", ""], tail].concat();
            set(file, all.join("\n") + "\n");
        }
        1 => set(file, text.replace('\n', "\r\n").replace("\r\r", "\r")),
        2 => set(file, text.replace("\n  ", "\n\t   ")),
        // Two lines whose order counts for nothing.
        3 => {
            let mut lines: Vec<&str> = text.lines().collect();
            let is_free = |line: &str| {
                let words =
                    ["  channel ", "  before-start ", "  expect ", "  alarm ", "    mode ", "    number ", "    key "];
                let starts = words.iter().any(|word| line.starts_with(word));
                starts && !line.ends_with('{') && (!line.contains('{') || line.trim_end().ends_with('}'))
            };
            let pairs: Vec<usize> =
                (1..lines.len()).filter(|&at| is_free(lines[at - 1]) && is_free(lines[at])).collect();
            if !pairs.is_empty() {
                let place = pairs[at % pairs.len()];
                lines.swap(place - 1, place);
                set(file, lines.join("\n") + "\n");
            }
        }
        // A thing with another name, wherever it is named.
        4 | 5 => {
            let (old, new) = RENAMED[at % RENAMED.len()];
            texts.iter().enumerate().for_each(|(number, text)| set(number, with_word(text, old, new)));
        }
        6 => {
            let (old, new) = REWRITTEN[at % REWRITTEN.len()];
            texts.iter().enumerate().for_each(|(number, text)| set(number, text.replace(old, new)));
        }
        // A file with another name.
        _ => {
            let name = format!("moved-{}", files[file].0);
            files[file].0 = name;
        }
    }
}

fn is_same(old: &[File], new: &[File]) -> Result<(), String> {
    let found = compared(old, new);
    let is_same = found.subjects.is_empty() && found.came.is_empty() && found.went.is_empty();
    if is_same && found.same > 3 && found.faults == (0, 0) { Ok(()) } else { Err(told(&found)) }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn edits_that_keep_behaviour_give_the_same(edits in prop::collection::vec((any::<u8>(), any::<usize>(), any::<usize>()), 1..7)) {
        let clean = fleet("clean");
        let mut files = clean.clone();
        edits.iter().for_each(|edit| apply(&mut files, *edit));
        if let Err(told) = is_same(&clean, &files) {
            prop_assert!(false, "{told}");
        }
        if let Err(told) = is_same(&files, &clean) {
            prop_assert!(false, "backwards: {told}");
        }
    }
}

/// Each of them by itself, so that none hides behind what chance draws.
#[test]
fn each_edit_that_keeps_behaviour_gives_the_same() {
    let clean = fleet("clean");
    let renamed = (0..RENAMED.len()).map(|at| (4, 0, at));
    let rewritten = (0..REWRITTEN.len()).map(|at| (6, 0, at));
    let others = [0, 3, 5].into_iter().flat_map(|file| [0, 1, 2, 3, 7].map(|kind| (kind, file, 3)));
    let (mut wrong, mut made) = (Vec::new(), 0);
    for edit in renamed.chain(rewritten).chain(others) {
        let mut files = clean.clone();
        apply(&mut files, edit);
        made += usize::from(files != clean);
        if let Err(told) = is_same(&clean, &files) {
            wrong.push(format!("{edit:?}: {told}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(made > 30, "{made}");
}

#[test]
fn what_is_like_another_is_the_same_written_out() {
    is_same(&fleet("club"), &fleet("club-spelled-out")).unwrap();
    is_same(&fleet("club-spelled-out"), &fleet("club")).unwrap();
}

/// What is nearly the same is not: each of these turns one thing of a kept edit into another.
#[test]
fn what_changes_behaviour_is_not_the_same() {
    let clean = fleet("clean");
    for (old, new) in [
        ("left-rear * -100 %", "left-rear * 50 % * -100 %"),
        ("120 mW", "0.06 W"),
        ("after 1 s", "after 1001 ms"),
        ("2 min 30 s", "151 s"),
        ("value 100 % when ready", "value 100 % when not ready"),
        ("channel 4 = yaw\n", "channel 4 { value -yaw }\n"),
        ("trim-range 20 %", "trim-range 20.1 %"),
        ("-100:-100, 0:-10, 100:100", "-100:-100, 0:-11, 100:100"),
        ("points -100:-100, 0:-10, 100:100; rounded", "points -100:-100, 0:-10, 100:100"),
        ("expo 35 %", "expo 36 %"),
        ("scale 1500 us plus-minus 500 us", "scale 1500 us plus-minus 501 us"),
        ("flies dunlin, knot", "flies dunlin"),
        ("sprung-to up", "sprung-to down"),
        ("fall-accepted", ""),
    ] {
        let replace = |(name, text): &File| {
            (name.clone(), String::from_utf8(text.clone()).unwrap().replace(old, new).into_bytes())
        };
        let files: Vec<File> = clean.iter().map(replace).collect();
        assert_ne!(files, clean, "{old}");
        let found = compared(&clean, &files);
        assert!(!found.subjects.is_empty(), "{old} and {new}: {}", told(&found));
    }
}
