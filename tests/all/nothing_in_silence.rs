//! Whatever keeps a model, or a part of it, from being put together is told: each reason is made to happen once in the clean fleet,
//! and the whole inspection has to speak of it. It may be a fault at its line, or "not asked" with that line beside the rules that it
//! silences, or "not decided" where a limit of this program is passed; never "nothing found" as if all had been asked.

use crate::testdata::fleet;
use std::collections::BTreeSet;
use walkaround::findings::Severity;
use walkaround::findings::coverage::{Missing, Standing};
use walkaround::findings::outcome::Outcome;
use walkaround::findings::verdict::{NOT_DECIDED, Verdict};
use walkaround::fleet::day::Day;
use walkaround::fleet::{self, Fleet};
use walkaround::inspect::{Options, inspect};
use walkaround::rules::book::{BOOK, Need, Special};
use walkaround::signal::{LONGEST_CHAIN, MOST_HELD, MOST_PARTS, Over, Reason, Refused, Unknown, lower};
use walkaround::source::{FileId, Place};
use walkaround::syntax::{Tables, parse};

/// The aircraft that is looked at; its model flies another one too.
const AIRCRAFT: &str = "dunlin";

/// Which reason it is; `None` for what no text comes to. A new one does not compile until it is here, and the test fails until it has a
/// case.
fn kind(reason: &Reason) -> Option<usize> {
    Some(match reason {
        Reason::NoHandset => 0,
        Reason::NoScale => 1,
        Reason::ScaleNotUnderstood => 2,
        Reason::FlatScale => 3,
        Reason::TooManyParts(_) => 4,
        Reason::Line => 5,
        Reason::NoControl(_) => 6,
        Reason::NoPosition(_) => 7,
        Reason::NoCondition(_) => 8,
        Reason::NoCurve(_) => 9,
        Reason::NoMode(_) => 10,
        Reason::NoChannel(_) => 11,
        Reason::Cycle(_) => 12,
        Reason::TooDeep => 13,
        Reason::TooLong => 14,
        Reason::TooManyFactors => 15,
        Reason::TooManyHeld => 16,
        Reason::Number => 17,
        // Its references are sound.
        Reason::Malformed(_) => return None,
    })
}

const REASONS: usize = 18;

/// The texts of the clean fleet, with one of them changed.
#[derive(Clone)]
struct Case {
    name: &'static str,
    /// What it comes to, where it comes to something.
    expected: Option<usize>,
    texts: Vec<String>,
}

fn case(name: &'static str, expected: Option<usize>, changes: &[(&str, &str)]) -> Case {
    let texts = fleet("clean").into_iter().map(|(_, text)| String::from_utf8(text).unwrap());
    let mut texts: Vec<String> = texts.collect();
    for (from, to) in changes {
        let found: Vec<usize> = (0..texts.len()).filter(|&at| texts[at].contains(from)).collect();
        let file = *found.iter().find(|&&at| texts[at].contains("craft dunlin")).or(found.first()).expect(name);
        texts[file] = texts[file].replacen(from, to, 1);
    }
    Case { name, expected, texts }
}

const ROLL: &str = "  channel 1 = roll\n";
const SCALE: &str = "plus-minus 500 us";
const ARMS: &str = "  channel 7 arm {\n    value 100 % when ready\n    value -100 %\n  }\n";

/// Conditions each of which names the one before.
fn chain(count: usize) -> String {
    let first = format!("{ROLL}  condition c0 when left-front down\n");
    (1..count).fold(first, |text, at| format!("{text}  condition c{at} when c{}\n", at - 1))
}

fn cases() -> Vec<Case> {
    let roll =
        |name, expected: usize, value: &str| case(name, Some(expected), &[(ROLL, &format!("  channel 1 = {value}\n"))]);
    let when = |name, expected: usize, when: &str| {
        let lines = format!("  channel 1 {{\n    value roll when {when}\n    value 0 %\n  }}\n");
        case(name, Some(expected), &[(ROLL, &lines)])
    };
    let many =
        (0..=MOST_PARTS).fold(ROLL.to_owned(), |text, at| format!("{text}  condition c{at} when left-front down\n"));
    let deep = (0..28).fold("roll".to_owned(), |inner, _| format!("min(0 %, {}{inner})", "roll + ".repeat(15)));
    let held = (1..=usize::from(MOST_HELD) + 1)
        .fold(ROLL.to_owned(), |text, at| format!("{text}  condition h{at} when held {at} s left-front down\n"));
    vec![
        case("no handset", Some(0), &[("  handset bench-one\n", "\n")]),
        case("a handset that is not there", Some(0), &[("  handset bench-one\n", "  handset bench-ten\n")]),
        case("no scale", Some(1), &[(&format!("  scale 1500 us {SCALE}"), "")]),
        case("a scale that is not understood", Some(2), &[(SCALE, "plusminus 500 us")]),
        case("a flat scale", Some(3), &[(SCALE, "plus-minus 0 us")]),
        case("many conditions", Some(4), &[(ROLL, &many)]),
        roll("a line that is not understood", 5, "roll roll"),
        case("a channel without a value", Some(5), &[(ROLL, "  channel 1 {\n    reversed\n  }\n")]),
        roll("an unknown control", 6, "flipper"),
        when("an unknown position", 7, "left-front sideways"),
        when("an unknown condition", 8, "prepared"),
        roll("an unknown curve", 9, "hard(roll)"),
        when("an unknown mode", 10, "mode glide"),
        case(
            "a mode whose channel is not defined",
            Some(11),
            &[(ARMS, ""), (ROLL, "  channel 1 {\n    value roll when mode arm\n    value 0 %\n  }\n")],
        ),
        case(
            "channels that feed each other",
            Some(12),
            &[(ROLL, "  channel 1 = channel 8\n  channel 8 = channel 1\n")],
        ),
        case("a mode that feeds itself", Some(12), &[(ARMS, &ARMS.replace("when ready", "when mode arm"))]),
        roll("a value that is too deep", 13, &deep),
        case("a long chain", Some(14), &[(ROLL, &chain(LONGEST_CHAIN + 1))]),
        roll("many factors", 15, "soft(soft(soft(soft(soft(roll)))))"),
        case("many held conditions", Some(16), &[(ROLL, &held)]),
        when("a large number", 17, "channel 2 above 123456789012345 ms"),
        case("a large scale", Some(17), &[(SCALE, "plus-minus 123456789012345 ms")]),
    ]
}

/// Why the model, or parts of it, can't be put together, as the signal path says, with the places.
fn reasons(texts: &[String]) -> Vec<(Reason, Place)> {
    let read = texts.iter().enumerate().map(|(number, text)| {
        let (file, mut tables) = (FileId(number as u32), Tables::default());
        parse(text.as_bytes(), fleet::table::vocabulary, &mut tables);
        (file, fleet::read(file, text.as_bytes(), &tables))
    });
    let fleet = Fleet::gather(read).0;
    let model = fleet.models.iter().find(|model| model.flies.iter().any(|name| name.value == AIRCRAFT)).unwrap();
    let handset = model.handset.as_ref().and_then(|name| fleet.handset(&name.value));
    let link = fleet.links.iter().find(|link| link.head.name.value == "shore-24").unwrap();
    match lower(model, handset, Over::Link(link), fleet.craft(AIRCRAFT)) {
        Err(Refused { reason, place }) => vec![(reason, place)],
        Ok(lowered) => {
            let unknown = lowered.program.parts().unknown.iter();
            let reasons = unknown.filter_map(|unknown| match unknown {
                Unknown::NotUnderstood(place, reason) => Some((reason.clone(), *place)),
                Unknown::NotStated(_) => None,
            });
            reasons.collect()
        }
    }
}

fn outcome(texts: &[String]) -> Outcome {
    let texts: Vec<&[u8]> = texts.iter().map(String::as_bytes).collect();
    inspect(&texts, &Options { today: Day::new(2026, 11, 25), ..Options::default() })
}

fn standings(outcome: &Outcome) -> Vec<Standing> {
    let row = outcome.coverage.of(AIRCRAFT).unwrap();
    (0..outcome.coverage.rules.len()).map(|rule| row.standing(rule)).collect()
}

/// The lines that a place touches, as file and number.
fn lines(texts: &[String], place: Place) -> BTreeSet<(usize, usize)> {
    let file = place.file.0 as usize;
    let line = |at: u32| texts[file].get(..at as usize).unwrap().matches('\n').count();
    (line(place.span.start)..=line(place.span.end)).map(|line| (file, line)).collect()
}

/// Whether a rule needs the signal path as a whole.
fn needs_signal(rule: &str) -> bool {
    let doc = BOOK.iter().find(|doc| doc.id == rule).unwrap();
    doc.needs.iter().any(|list| matches!(list, [Need::Special(Special::Signal)]))
}

#[test]
fn every_reason_is_told_by_the_inspection() {
    let before = outcome(&case("the clean fleet", None, &[]).texts);
    assert!(before.findings.is_empty());
    let sound = standings(&before);
    let mut seen = [false; REASONS];
    let mut wrong = Vec::new();
    for Case { name, expected, texts } in cases() {
        let reasons = reasons(&texts);
        let found = reasons.iter().find(|(reason, _)| kind(reason) == expected);
        let Some((reason, place)) = found else { panic!("{name}: {reasons:?}") };
        seen[expected.unwrap()] = true;
        let at = lines(&texts, *place);
        let here = |place: Place| !lines(&texts, place).is_disjoint(&at);
        let after = outcome(&texts);
        let is_told = after.findings.iter().any(|finding| {
            let mut places = finding.others.iter().map(|(place, _)| *place).chain([finding.place]);
            finding.severity == Severity::Fault && places.any(here)
        });
        let row = after.coverage.of(AIRCRAFT).unwrap();
        let names = |missing: &Missing| match missing {
            Missing::Line(place) | Missing::SignalPath { place, .. } => here(*place),
            Missing::Statement { word, .. } => {
                matches!((reason, *word), (Reason::NoScale, "scale") | (Reason::NoHandset, "handset"))
            }
            Missing::UnreadFile | Missing::NoTable { .. } => false,
        };
        // Rules that were asked of the clean fleet.
        let rules = after.coverage.rules.iter().enumerate();
        let of_signal: Vec<(usize, &str)> = rules
            .filter(|&(rule, name)| needs_signal(name) && sound[rule] == Standing::Clear)
            .map(|(rule, name)| (rule, *name))
            .collect();
        assert!(of_signal.len() > 25);
        let not_asked = |rule: usize| row.standing(rule) == Standing::NotAsked && row.missing(rule).any(names);
        let asked: Vec<&str> = of_signal.iter().filter(|(rule, _)| !not_asked(*rule)).map(|(_, name)| *name).collect();
        if is_whole(reason) && !asked.is_empty() {
            wrong.push(format!("{name}: these are asked: {asked:?}"));
        }
        if !SPARES_ROLL.contains(&name) && OF_ROLL.iter().any(|rule| asked.contains(rule)) {
            wrong.push(format!("{name}: what is read from channel 1 is taken for known"));
        }
        if !is_told && asked.len() == of_signal.len() {
            wrong.push(format!("{name}: nothing tells"));
        }
        let verdict = after.aircraft.iter().find(|aircraft| aircraft.name == AIRCRAFT).unwrap().verdict;
        if is_told != (verdict == Verdict::NotUnderstood) && verdict < Verdict::FaultBeside && !is_whole(reason) {
            wrong.push(format!("{name}: {verdict:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(seen.iter().position(|seen| !seen), None, "a reason without a case");
}

/// Rules that look at what roll is read from.
const OF_ROLL: [&str; 2] = ["channels/off-centre", "channels/short-travel"];

/// Cases that leave the channel of roll as it is.
const SPARES_ROLL: [&str; 3] = ["a mode that feeds itself", "a long chain", "many held conditions"];

/// Whether there is no program at all then: no rule that needs one can be asked.
fn is_whole(reason: &Reason) -> bool {
    matches!(
        reason,
        Reason::NoHandset | Reason::NoScale | Reason::ScaleNotUnderstood | Reason::FlatScale | Reason::TooManyParts(_)
    )
}

/// What once kept a model from being put together and no longer does: all rules are asked as before.
#[test]
fn what_is_long_but_allowed_is_asked_as_ever() {
    let before = standings(&outcome(&case("the clean fleet", None, &[]).texts));
    let sum = format!("  channel 10 = {}\n{ROLL}", ["roll * 1 %"; 66].join(" + "));
    let nested = format!("  channel 10 = soft(soft(soft(roll)))\n{ROLL}");
    for (name, text) in [("66 terms", sum), ("100 conditions", chain(100)), ("nested curves", nested)] {
        let after = outcome(&case(name, None, &[(ROLL, &text)]).texts);
        let faults: Vec<_> = after
            .findings
            .iter()
            .filter(|finding| finding.severity == Severity::Fault || finding.rule == NOT_DECIDED)
            .collect();
        assert!(faults.is_empty(), "{name}: {faults:?}");
        for (rule, (old, new)) in after.coverage.rules.iter().zip(before.iter().zip(standings(&after))) {
            assert!(*old == new || new == Standing::Found, "{name}: {rule}: {old:?}, {new:?}");
        }
    }
}

/// Rules about what arrives, by their names.
const OF_WHAT_ARRIVES: [&str; 4] = ["arming/always", "arming/thin-margin", "throttle/too-high", "channels/off-centre"];

/// What arrives hangs on the link. Where none is known it may be anything, and the rules say which statement they miss.
#[test]
fn what_arrives_over_a_link_that_is_not_known_is_not_known() {
    let built_in = ("  module built-in {\n    link shore-24\n", "  module built-in {\n");
    let receiver = "  receiver {\n    link shore-24\n    chains 1\n    number 4\n";
    let spare = "  receiver spare {\n    link marsh-900\n    number 4\n  }\n";
    let named = receiver.replace("receiver {", "receiver main {");
    let unknown = case("no link", None, &[built_in, (receiver, &receiver.replace("    link shore-24\n", ""))]);
    let differ = case("two links", None, &[built_in, (receiver, &format!("{spare}{named}"))]);
    for Case { name, texts, .. } in [unknown, differ] {
        let after = outcome(&texts);
        let row = after.coverage.of(AIRCRAFT).unwrap();
        for (rule, name_of) in after.coverage.rules.iter().enumerate().filter(|(_, it)| OF_WHAT_ARRIVES.contains(it)) {
            let missing: Vec<&Missing> = row.missing(rule).collect();
            let is_link = |missing: &&Missing| matches!(missing, Missing::Statement { word: "link", .. });
            assert_eq!(row.standing(rule), Standing::NotAsked, "{name}: {name_of}");
            assert!(missing.iter().any(is_link), "{name}: {name_of} {missing:?}");
        }
    }
    // One that is known on either side is the one that is used.
    for changes in [&[built_in][..], &[(receiver, &*receiver.replace("    link shore-24\n", ""))]] {
        let after = outcome(&case("one side", None, changes).texts);
        let row = after.coverage.of(AIRCRAFT).unwrap();
        for (rule, name) in after.coverage.rules.iter().enumerate().filter(|(_, it)| OF_WHAT_ARRIVES.contains(it)) {
            assert_eq!(row.standing(rule), Standing::Clear, "{name}");
        }
    }
}

/// A number that is fine enough to be kept, and too fine for a limit that is made of it.
#[test]
fn the_finest_numbers_are_computed_with() {
    for (from, to) in [
        ("full-above 1880 us", "full-above 0.00000000000001 us"),
        ("deadband 6 us", "deadband 0.00000000000001 us"),
        ("mode level  channel 6 1290..2140 us", "mode level  channel 6 1250.00000000001..2140 us"),
        (SCALE, "plus-minus 500.000000000001 us"),
    ] {
        let before = standings(&outcome(&case(to, None, &[]).texts));
        let after = outcome(&case(to, None, &[(from, to)]).texts);
        assert!(after.findings.iter().all(|finding| finding.severity != Severity::Fault), "{to}");
        for (rule, (old, new)) in after.coverage.rules.iter().zip(before.iter().zip(standings(&after))) {
            assert!((*old == Standing::DoesNotApply) == (new == Standing::DoesNotApply), "{to}: {rule}");
            assert!(*old != Standing::Clear || new != Standing::NotAsked, "{to}: {rule}");
        }
    }
}
