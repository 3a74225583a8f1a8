use super::*;
use crate::findings::coverage::{Coverage, Missing};
use crate::findings::tests::finding;
use crate::findings::verdict::verdicts;
use crate::fleet::table::Block;
use crate::report::tests::{Sample, is_harmless, written};
use crate::source::Span;
use compact_str::CompactString;

const PLAIN: Style = Style { colour: false, width: 100, full: true };

#[test]
fn a_whole_report() {
    let sample = Sample::new();
    let text = written(|out| write(&sample.report(), PLAIN, out));
    assert!(is_harmless(&text), "{text:?}");
    let wanted = r#"fault: format/unreadable
  • Byte 4 is no UTF-8. [broken.rig:1]
 can happen  Nothing in the file is checked.
       mend  Save it as UTF-8.
       more  walkaround why format/unreadable

danger: arming/between-levels (d\u{1b}[31mnlin)
  • Channel 7 can't carry "\u{1b}[31mmiddle"\nof 3 positions.
   ╭─[fleet/d\u{1b}unlin é 100%.rig:4:18]
 4 │     channel 7 arm = "🪶rear"
   ·                     ────────
   ╰────
  • also: the other \u{202e}model
   ╭─[fleet/knot.rig:4:19]
 4 │   channel 7 arm = trigger
   ·                   ───────
   ╰────
 can happen  "#;
    let (start, rest) = text.split_at(wanted.len().min(text.len()));
    assert_eq!(start, wanted);
    for part in [
        "      bench  Propellers off. Put 🪶rear to middle. Set the trim of roll to 12.5 %. Channel 7 is sent\n             1500 us and arrives as 1000 us.\n",
        "       mend  Arm with a switch of two positions. Your choice: use shoulder (`walkaround mend --ask`)\n",
        "       more  walkaround why arming/between-levels\n",
        "caution: arming/momentary (knot)\n",
        "\nd\\u{1b}[31mnlin  danger          1 danger\nknot             caution         1 caution\n\
         plover           nothing found by 1 rule, 1 not asked\n    1 rule could not be asked, for want of:\n      \
         controller { valid LOW..HIGH us } (1 rule)\n      line 4 of fleet/knot.rig, which was not understood (1 rule)\n\n3 files, 3 aircraft: 1 fault, 1 danger, 1 caution; 1 finding waived; 1 aircraft not checked in full.\nwaived: arming/momentary (knot): Letting trigger go disarms in flight.\n    at fleet/knot.rig:4, until 2027-03-01, because \"the controller \\u{1b}latches it\"\n",
        "propellers off",
        "pre-flight check stays",
        "licensed practice decide",
        "\"Nothing found\" means that none of these rules spoke.",
    ] {
        assert!(rest.contains(part), "{part}\n{rest}");
    }
    assert!(rest.lines().all(|line| line.chars().count() <= PLAIN.width), "{rest}");
}

/// The end of a report about so many aircraft that all lack the same statement, and one that lacks another.
fn lacking(count: usize) -> String {
    let sample = Sample { findings: Vec::new(), waived: Vec::new(), ..Sample::new() };
    let mut coverage = Coverage::default();
    coverage.rules = vec!["arming/slow"];
    let missing = |word| Missing::Statement { block: Block::Controller, word, within: "controller".into(), form: "" };
    let names: Vec<CompactString> = (1..=count).map(|number| format!("knot {number}").into()).collect();
    names.iter().for_each(|name| coverage.row(name).note_missing(0, &[missing("valid")]));
    coverage.row("ruff").note_missing(0, &[missing("deadband")]);
    let aircraft = verdicts(names.iter().chain([&"ruff".into()]), &[], &[], &|_| None);
    written(|out| write(&Report { coverage: &coverage, aircraft: &aircraft, ..sample.report() }, PLAIN, out))
}

#[test]
fn what_many_aircraft_lack_is_said_once() {
    let line = "    1 rule could not be asked, for want of:\n      controller { valid LOW..HIGH us } (1 rule)\n";
    let few = lacking(6);
    assert_eq!(few.matches(line).count(), 6, "{few}");
    let many = lacking(7);
    assert_eq!(many.matches("valid LOW..HIGH").count(), 1, "{many}");
    let once = format!("\n7 aircraft (knot 1, knot 2, knot 3 and 4 more):\n{line}");
    assert!(many.contains(&once), "{many}");
    // What few lack stays with them.
    assert!(many.contains("ruff    nothing found by 0 rules, 1 not asked\n    1 rule could not be asked"), "{many}");
}

#[test]
fn colour_is_only_sent_when_it_is_asked_for() {
    let sample = Sample::new();
    let coloured = written(|out| write(&sample.report(), Style { colour: true, ..PLAIN }, out));
    assert!(coloured.contains("\u{1b}[1;31mdanger\u{1b}[0m: arming/between-levels"));
    // Without the sequences that set a colour it is the plain report.
    let mut stripped = String::new();
    let mut parts = coloured.split("\u{1b}[");
    stripped.push_str(parts.next().unwrap());
    parts.for_each(|part| stripped.push_str(part.split_once('m').unwrap().1));
    assert_eq!(stripped, written(|out| write(&sample.report(), PLAIN, out)));
}

/// A report with one finding in the second file and `others` at these bytes of it.
fn with_others(others: &[(u32, u32)]) -> String {
    let place = |start, end| Place::new(FileId(1), Span::new(start, end));
    let finding = Finding {
        place: place(23, 30),
        others: others.iter().map(|&(start, end)| (place(start, end), format!("byte {start}"))).collect(),
        ..finding("arming/momentary", 1, 23, "It stands there.")
    };
    let sample = Sample { findings: vec![finding], ..Sample::new() };
    written(|out| write(&sample.report(), PLAIN, out))
}

#[test]
fn places_near_each_other_share_an_excerpt() {
    let text = with_others(&[(7, 12)]);
    assert_eq!(text.matches("╭─[").count(), 1, "{text}");
    assert!(
        text.contains(" 3 │ model \"knot\" {\n   · ──┬──\n   ·   ╰── byte 7\n 4 │   channel 7 arm = trigger\n"),
        "{text}"
    );
    assert_eq!(with_others(&[(0, 5)]).matches("╭─[").count(), 1);
}

#[test]
fn many_other_places_are_counted() {
    let others: Vec<_> = (0..40).map(|at| (Place::new(FileId(0), Span::new(at, at + 1)), String::new())).collect();
    let finding = Finding { others, ..finding("arming/momentary", 1, 23, "It stands there.") };
    let sample = Sample { findings: vec![finding], ..Sample::new() };
    let text = written(|out| write(&sample.report(), PLAIN, out));
    assert_eq!(text.matches("╭─[").count(), 1 + EXCERPTS_AT_MOST, "{text}");
    assert!(text.contains("; 31 more places"), "{text}");
}

#[test]
fn what_the_book_says_is_said_once() {
    let both = ["first", "second"]
        .map(|message| Finding { severity: Severity::Danger, ..finding("arming/between-levels", 1, 23, message) });
    let sample = Sample { findings: both.to_vec(), ..Sample::new() };
    let text = written(|out| write(&sample.report(), PLAIN, out));
    for (word, count) in
        [(" can happen  ", 1), ("      bench  ", 2), ("as for the first of this rule above", 1), ("       more  ", 2)]
    {
        assert_eq!(text.matches(word).count(), count, "{word}\n{text}");
    }
}

#[test]
fn nothing_found_is_no_promise() {
    let aircraft = verdicts(&["avocet".into()], &[], &[], &|_| None);
    let sample = Sample { findings: Vec::new(), aircraft, ..Sample::new() };
    let report = Report { files: 1, waived: &[], ..sample.report() };
    let text = written(|out| write(&report, PLAIN, out));
    assert!(text.starts_with("avocet  nothing found\n\n1 file, 1 aircraft: nothing found.\n"), "{text}");
    assert!(text.contains("pre-flight check stays"));
    assert!(!text.contains("safe"), "{text}");
}
