//! The one layout: it says the same, it settles at once, and the files of this repository are in it.

use crate::program;
use crate::testdata::rig_files;
use proptest::prelude::*;
use std::fs;
use std::path::Path;
use std::process::Output;
use walkaround::fleet;
use walkaround::mend::{Untidy, tidy};
use walkaround::rules::book::BOOK;
use walkaround::source::FileId;
use walkaround::syntax::{Tables, parse};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every rig text of the repository: of testdata, and of the rule book.
fn texts() -> Vec<(String, Vec<u8>)> {
    let files = ["testdata", "rules/examples"].into_iter().flat_map(|folder| rig_files(&root().join(folder)));
    let mut all: Vec<_> = files.map(|file| (file.display().to_string(), fs::read(&file).unwrap())).collect();
    let mut book = |name: String, text: &str| all.push((name, text.as_bytes().to_vec()));
    for doc in BOOK {
        for bad in doc.bad {
            book(format!("{} ({})", doc.id, bad.title), &bad.unmarked());
            bad.repaired.into_iter().for_each(|text| book(format!("{} ({}) repaired", doc.id, bad.title), text));
        }
        doc.good.iter().for_each(|good| book(format!("{} ({})", doc.id, good.title), good.text));
    }
    all
}

/// What a text says: the typed fleet and the problems, without their places.
fn said(text: &[u8]) -> String {
    let mut tables = Tables::default();
    parse(text, fleet::table::vocabulary, &mut tables);
    let mut read = fleet::read(FileId(0), text, &tables);
    // A fault quotes the text as it stands, with its spaces; what it is, and how many there are, stays.
    read.problems.iter_mut().for_each(|problem| {
        problem.message.clear();
        problem.mend.clear();
        problem.repairs.clear();
    });
    let debug = format!("{read:?}");
    without(&without(&debug, "Span {"), "Body {")
}

/// A text without what stands from these words to the next closing brace.
fn without(text: &str, opening: &str) -> String {
    let mut parts = text.split(opening);
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        out.push_str(part.split_once('}').unwrap().1);
    }
    out
}

/// Holds one layout against its text; false where the text is refused.
fn holds(name: &str, text: &[u8]) -> bool {
    let laid = match tidy(text) {
        Ok(laid) => laid,
        Err(Untidy::Unsure) => panic!("{name}: the layout would not read the same"),
        Err(_) => return false,
    };
    let show = || format!("{name}:\n{}\nlaid out:\n{}", String::from_utf8_lossy(text), String::from_utf8_lossy(&laid));
    assert_eq!(tidy(&laid).as_ref(), Ok(&laid), "not settled: {}", show());
    assert!(said(text) == said(&laid), "says something else: {}", show());
    true
}

#[test]
fn a_layout_says_the_same_and_settles() {
    let texts = texts();
    let taken = texts.iter().filter(|(name, text)| holds(name, text)).count();
    assert!(taken > 300, "only {taken} of {} texts are laid out", texts.len());
}

#[test]
fn line_ends_and_a_mark_make_no_difference() {
    let crlf = |text: &[u8]| String::from_utf8(text.to_vec()).unwrap().replace("\r\n", "\n").replace('\n', "\r\n");
    let mark = |text: &[u8]| [b"\xef\xbb\xbf", text].concat();
    for (name, text) in texts().iter().filter(|(_, text)| !text.starts_with(b"\xef\xbb\xbf")) {
        let Ok(laid) = tidy(text) else { continue };
        assert_eq!(tidy(crlf(text).as_bytes()), Ok(crlf(&laid).into_bytes()), "{name}");
        assert_eq!(tidy(&mark(text)), Ok(mark(&laid)), "{name}");
    }
}

#[test]
fn the_fleets_and_shared_examples_are_laid_out() {
    for file in ["testdata/fleets", "rules/examples"].iter().flat_map(|folder| rig_files(&root().join(folder))) {
        let text = fs::read(&file).unwrap();
        if let Ok(laid) = tidy(&text) {
            assert!(laid == text, "`walkaround tidy {}` would change it", file.display());
        }
    }
}

/// A text of the repository, changed in a few places.
fn changed() -> impl Strategy<Value = Vec<u8>> {
    let texts: Vec<Vec<u8>> = texts().into_iter().map(|(_, text)| text).collect();
    let pieces =
        vec![" ", "   ", "\t", "\n", "\n\n", ";", " ; ", "# x", "#\n", "}", "{", "{ }", "(", "-", ",", "\r\n", "\""];
    let change = (any::<prop::sample::Index>(), 0usize..4, prop::sample::select(pieces));
    (prop::sample::select(texts), prop::collection::vec(change, 1..8)).prop_map(|(mut text, changes)| {
        for (place, gone, new) in changes {
            let at = place.index(text.len() + 1);
            let end = (at + gone).min(text.len());
            text.splice(at..end, new.bytes());
        }
        text
    })
}

/// A text of the repository without comments behind statements, and the same with other white space.
fn respaced() -> impl Strategy<Value = (Vec<u8>, Vec<u8>)> {
    let texts = texts().into_iter().filter(|(_, text)| tidy(text).is_ok() && !text.contains(&b'\r'));
    let texts: Vec<String> = texts
        .map(|(_, text)| {
            let mut tables = Tables::default();
            parse(&text, fleet::table::vocabulary, &mut tables);
            let mut text = text;
            for comment in tables.comments.iter().rev().filter(|comment| !comment.own_line) {
                text.drain(comment.span.range());
            }
            String::from_utf8(text).unwrap()
        })
        .collect();
    let blanks = prop::collection::vec(prop::sample::select(vec!["", " ", "\t", "     "]), 200);
    (prop::sample::select(texts), blanks).prop_map(|(text, blanks)| {
        let lines = text.split('\n').zip(blanks.iter().cycle());
        let other: Vec<String> = lines.map(|(line, blank)| format!("{blank}{}{blank}", line.trim())).collect();
        (text.into_bytes(), other.join("\n").into_bytes())
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_changed_text_is_refused_or_says_the_same(text in changed()) {
        match tidy(&text) {
            // Only a comment that would begin to be a waiver, which none of the changes makes.
            Err(Untidy::Unsure) => prop_assert!(false, "unsure"),
            Err(_) => {}
            Ok(_) => { holds("changed", &text); }
        }
    }

    #[test]
    fn white_space_at_the_ends_of_lines_makes_no_difference((text, other) in respaced()) {
        prop_assert_eq!(tidy(&text), tidy(&other));
    }

    #[test]
    fn any_bytes_are_refused_or_laid_out(bytes in prop::collection::vec(any::<u8>(), 0..80)) {
        if let Ok(laid) = tidy(&bytes) {
            prop_assert_eq!(tidy(&laid), Ok(laid.clone()));
        }
    }
}

fn run(folder: &Path, arguments: &[&str], input: &str) -> Output {
    program::run(folder, "tidy", arguments, input)
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn the_command_lays_out_checks_and_filters() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name);
    fs::write(file("a.rig"), "rig 1\nplace x {\nregion AU\n}\n").unwrap();
    fs::write(file("b.rig"), "rig 1\n").unwrap();
    let out = run(folder.path(), &["--check"], "");
    assert_eq!((text(&out.stdout).as_str(), out.status.code()), ("a.rig\n", Some(1)));
    assert!(fs::read_to_string(file("a.rig")).unwrap().contains("\nregion"));
    let out = run(folder.path(), &[], "");
    assert_eq!((text(&out.stdout).as_str(), out.status.code()), ("laid out a.rig\n1 of 2 files changed.\n", Some(0)));
    assert_eq!(fs::read_to_string(file("a.rig")).unwrap(), "rig 1\nplace x {\n  region AU\n}\n");
    assert_eq!(run(folder.path(), &["--check"], "").status.code(), Some(0));

    fs::write(file("c.rig.json"), "{ }").unwrap();
    fs::write(file("b.rig"), "rig 1\n\nplace y {\nregion AU\n").unwrap();
    let out = run(folder.path(), &["--check"], "");
    assert_eq!((text(&out.stdout).as_str(), out.status.code()), ("", Some(2)));
    assert!(text(&out.stderr).contains("b.rig:3: not laid out, since the block `place y {` is not closed"));
    assert_eq!(run(folder.path(), &[], "").status.code(), Some(2));
    assert!(fs::read_to_string(file("b.rig")).unwrap().contains("\nregion"));

    assert_eq!(fs::read_to_string(file("c.rig.json")).unwrap(), "{ }");

    let out = run(folder.path(), &["-"], "place x {\nregion AU}");
    assert_eq!((text(&out.stdout).as_str(), out.status.code()), ("place x {\n  region AU\n}\n", Some(0)));
    let out = run(folder.path(), &["-", "--check"], "place x {\nregion AU}");
    assert_eq!((text(&out.stdout).as_str(), out.status.code()), ("standard input\n", Some(1)));
    let out = run(folder.path(), &["-"], "place x {");
    assert_eq!((text(&out.stdout).as_str(), out.status.code()), ("", Some(2)));
}
