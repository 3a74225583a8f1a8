//! What holds of every mend, over the rule book's examples, the stories of testdata and its mishaps: its finding is gone
//! afterwards, no fault and no danger is new, every comment is there, and a second time nothing changes.

use crate::{patches, testdata};
use proptest::prelude::*;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::sync::Arc;
use walkaround::findings::waiver::Waiver;
use walkaround::findings::{Finding, Mend, Severity};
use walkaround::fleet;
use walkaround::fleet::day::Day;
use walkaround::inspect::{Options, Outcome, inspect};
use walkaround::mend::{Asked, How, Mended, Why, mend};
use walkaround::rules::book::{self, BOOK, MendKind, preamble};
use walkaround::source::{FileId, Place};
use walkaround::syntax::{Tables, parse};

/// Some texts that are inspected together.
#[derive(Clone, Debug)]
struct Setup {
    name: String,
    texts: Vec<Vec<u8>>,
}

/// Mends that bring a danger which is not theirs, so that they are not done unasked: the setup, the rule, and why.
const REFUSED: &[(&str, &str, &str)] = &[
    ("hurried", "arming/between-levels", EXPECTED),
    ("mishaps/arming/between-levels", "arming/between-levels", EXPECTED),
    (
        "mishaps/module/none-on",
        "module/none-on",
        "nothing is stated yet of the bay that is turned on, so that it may reach another aircraft",
    ),
];

const EXPECTED: &str = "the pilot's own `expect` names the switch that armed before";

fn look(texts: &[Vec<u8>]) -> Outcome {
    let texts: Vec<&[u8]> = texts.iter().map(Vec::as_slice).collect();
    let today = Some(Day::parse("2027-03-01").unwrap());
    inspect(&texts, &Options { today, ..Options::default() })
}

fn examples() -> Vec<Setup> {
    let mut found = Vec::new();
    for doc in BOOK {
        for bad in doc.bad.iter().filter(|bad| bad.file.is_none()) {
            let shared = bad.with.iter().map(|name| preamble(name).unwrap().text.as_bytes().to_vec());
            let texts = shared.chain([bad.unmarked().into_bytes()]).collect();
            found.push(Setup { name: format!("{} ({})", doc.id, bad.title), texts });
        }
    }
    found
}

fn stories() -> Vec<Setup> {
    testdata::fleet_names().into_iter().map(|name| Setup { texts: testdata::fleet_texts(&name), name }).collect()
}

fn mishaps() -> Vec<Setup> {
    let clean = testdata::fleet("clean");
    let cases = patches::cases("mishaps").unwrap();
    let setups = cases.iter().map(|case| {
        let files = case.patched(&clean).unwrap();
        let texts = files.into_iter().filter(|(name, _)| name.ends_with(".rig")).map(|(_, text)| text).collect();
        Setup { name: case.name.clone(), texts }
    });
    setups.collect()
}

/// The comments of a text, sorted, without waivers.
fn comments(text: &[u8]) -> Vec<String> {
    let mut tables = Tables::default();
    parse(text, fleet::table::vocabulary, &mut tables);
    let all = tables.comments.iter().map(|one| String::from_utf8_lossy(one.span.of(text)).trim_end().to_owned());
    let place = Place::new(FileId(0), Default::default());
    let mut kept: Vec<String> = all.filter(|comment| Waiver::parse(comment, place).is_none()).collect();
    kept.sort();
    kept
}

/// Rule and aircraft of every danger.
fn dangers(findings: &[Finding]) -> BTreeSet<(&str, Vec<&str>)> {
    let dangers = findings.iter().filter(|finding| finding.severity == Severity::Danger);
    dangers.flat_map(|one| one.aircraft.iter().map(|name| (one.rule, vec![name.as_str()]))).collect()
}

fn faults(findings: &[Finding]) -> usize {
    findings.iter().filter(|finding| finding.severity == Severity::Fault).count()
}

/// Mends a setup; gives what was found before too.
fn mend_it(setup: &Setup, wanted: &dyn Fn(&Finding) -> bool, how: How<'_>) -> (Outcome, Mended) {
    let mut before = None;
    let mut look = |texts: &[Vec<u8>]| {
        let outcome = Arc::new(look(texts));
        // The first look is at the texts as they were.
        before.get_or_insert_with(|| Outcome { findings: outcome.findings.clone(), ..Outcome::default() });
        outcome
    };
    let mended = mend(setup.texts.clone(), &mut look, wanted, how);
    (before.unwrap(), mended)
}

/// What is wrong with what came of mending a setup.
fn wrong(setup: &Setup, (before, mended): &(Outcome, Mended), after: &Outcome) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut say = |what: String| wrong.push(format!("{}: {what}", setup.name));
    if faults(&after.findings) > faults(&before.findings) {
        say("a new fault".to_owned());
    }
    if faults(&after.findings) == faults(&before.findings) {
        let known = dangers(&before.findings);
        dangers(&after.findings).iter().filter(|new| !known.contains(new)).for_each(|new| say(format!("new: {new:?}")));
    }
    for (old, new) in setup.texts.iter().zip(&mended.texts) {
        if comments(old) != comments(new) {
            say(format!("comments: {:?} became {:?}", comments(old), comments(new)));
        }
    }
    for finding in &before.findings {
        let kind = book::find(finding.rule).unwrap().mend_kind;
        let told = match &finding.mend {
            Mend::Words(_) => true,
            Mend::Choices(..) => kind != MendKind::Words,
            Mend::Sure(_) => kind == MendKind::Sure,
        };
        if !told {
            say(format!("the page of {} says that its mend is {}", finding.rule, kind.word()));
        }
    }
    for left in &mended.left {
        let rule = mended.outcome.findings[left.finding].rule;
        let told = REFUSED.iter().any(|(name, known, _)| *name == setup.name && *known == rule);
        match &left.why {
            Why::Refused(why) => say(format!("{rule} is refused: {why}")),
            Why::Danger(danger) if !told => say(format!("{rule} would bring {danger}")),
            Why::Unsettled => say(format!("{rule} does not settle")),
            _ => {}
        }
    }
    wrong
}

#[test]
fn every_refusal_is_of_a_setup_that_is_there() {
    let all: Vec<Setup> = examples().into_iter().chain(stories()).chain(mishaps()).collect();
    for (name, rule, why) in REFUSED {
        let told = !why.is_empty() && (all.iter().any(|setup| setup.name == *name) || mishaps().is_empty());
        assert!(told, "{name} {rule}");
    }
}

fn first_choices(setup: &Setup) -> Vec<String> {
    let done = mend_it(setup, &|_| true, How::First);
    let second = Setup { name: setup.name.clone(), texts: done.1.texts.clone() };
    let (after, again) = mend_it(&second, &|_| true, How::First);
    let mut found = wrong(setup, &done, &after);
    if again.texts != done.1.texts {
        found.push(format!("{}: a second time something changes", setup.name));
    }
    found
}

fn none(wrong: Vec<String>) {
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn first_choices_of_the_examples() {
    none(examples().par_iter().flat_map(first_choices).collect());
}

#[test]
fn first_choices_of_the_stories() {
    none(stories().par_iter().flat_map(first_choices).collect());
}

#[test]
fn first_choices_of_the_mishaps() {
    none(mishaps().par_iter().flat_map(first_choices).collect());
}

/// Every choice of every finding, on its own.
#[test]
fn each_choice_of_the_examples() {
    let one = |setup: &Setup| {
        let mut found = Vec::new();
        for finding in look(&setup.texts).findings {
            let count = match &finding.mend {
                Mend::Words(_) => 0,
                Mend::Sure(_) => 1,
                Mend::Choices(_, choices) => choices.len().min(3),
            };
            for number in 0..count {
                let wanted = |other: &Finding| (other.rule, other.fingerprint) == (finding.rule, finding.fingerprint);
                let mut answer = |asked: &Asked<'_>| asked.warning.is_none().then_some(number);
                let done = mend_it(setup, &wanted, How::Ask(&mut answer));
                let wrong = wrong(setup, &done, &look(&done.1.texts));
                found.extend(wrong.into_iter().map(|wrong| format!("{} {number}: {wrong}", finding.rule)));
                let mended = done.1;
                let near = mended.left.iter().any(|left| matches!(left.why, Why::Fault(_)));
                if mended.done.len() != 1 && !near {
                    found.push(format!("{}: {} {number}: {} mends done", setup.name, finding.rule, mended.done.len()));
                }
            }
        }
        found
    };
    none(examples().par_iter().flat_map(one).collect());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Up to five choices of one setup, at random; what is not chosen is left.
    #[test]
    fn mends_in_any_combination(
        pick in any::<prop::sample::Index>(),
        choices in prop::collection::vec(prop::option::of(0usize..4), 5),
    ) {
        let mut all = examples();
        all.extend(stories());
        let setup = pick.get(&all);
        let mut choices = choices.into_iter();
        let mut answer = |asked: &Asked<'_>| match asked.warning {
            None => choices.next().flatten().filter(|number| *number < asked.choices.len()),
            Some(_) => None,
        };
        let done = mend_it(setup, &|_| true, How::Ask(&mut answer));
        prop_assert_eq!(wrong(setup, &done, &look(&done.1.texts)), Vec::<String>::new());
    }

    /// Texts that were changed anywhere: what can be mended of them is, and nothing is lost or made worse.
    #[test]
    fn mends_of_broken_texts(
        pick in any::<prop::sample::Index>(),
        changes in prop::collection::vec(
            (any::<prop::sample::Index>(), 0usize..6, prop::sample::select(vec!["", " ", "\n", "}", "{", ";", "#", "x", "9", ","])),
            1..4,
        ),
    ) {
        let mut setup = pick.get(&examples()).clone();
        let text = setup.texts.last_mut().unwrap();
        for (place, gone, new) in changes {
            let at = place.index(text.len() + 1);
            let end = (at + gone).min(text.len());
            text.splice(at..end, new.bytes());
        }
        let done = mend_it(&setup, &|_| true, How::First);
        let wrong: Vec<String> = wrong(&setup, &done, &look(&done.1.texts));
        // A mend of a broken text may be refused; it is then not done.
        let wrong: Vec<String> = wrong.into_iter().filter(|one| !one.contains("refused") && !one.contains("would bring")).collect();
        prop_assert_eq!(wrong, Vec::<String>::new());
    }
}

/// A racer that is also flown with a model of its own, under the number that its receiver has, while the shared model has the
/// number of the other racer: whichever receiver or model got another number, something else would no longer connect.
#[test]
fn an_aircraft_of_two_numbers_is_left_to_the_pilot() {
    let mut texts = testdata::fleet_texts("clean");
    let at = |texts: &[Vec<u8>], words: &str| {
        texts.iter().position(|text| String::from_utf8_lossy(text).contains(words)).unwrap()
    };
    let changed = |text: &[u8], from: &str, to: &str| {
        let text = String::from_utf8(text.to_vec()).unwrap();
        assert!(text.contains(from), "{from}");
        text.replacen(from, to, 1)
    };
    let (knot, racers) = (at(&texts, "craft knot"), at(&texts, "model \"spit racers\""));
    texts[knot] = changed(&texts[knot], "    number 4", "    number 5").into_bytes();
    let shared = String::from_utf8(texts[racers].clone()).unwrap();
    let alone = changed(&texts[racers], "receiver-number 4", "receiver-number 5");
    let alone = alone[alone.find("model \"spit racers\"").unwrap()..].replace("\"spit racers\"", "\"knot alone\"");
    texts.push(format!("rig 1\n{}", alone.replace("flies dunlin, knot", "flies knot")).into_bytes());
    let setup = Setup { name: "two numbers".to_owned(), texts: texts.clone() };
    let (before, mended) = mend_it(&setup, &|finding| finding.rule.starts_with("receiver/"), How::First);
    let differs = before.findings.iter().filter(|finding| finding.rule == "receiver/number-differs");
    let mends: Vec<&Mend> = differs.map(|finding| &finding.mend).collect();
    assert!(matches!(mends[..], [Mend::Words(words)] if words.contains("one number for all")), "{mends:?}");
    assert_eq!(mended.texts, texts);
    // With the model alone gone the receiver can be locked to the number of the shared one.
    texts.pop();
    let setup = Setup { name: "one number".to_owned(), texts };
    let (_, mended) = mend_it(&setup, &|finding| finding.rule.starts_with("receiver/"), How::First);
    assert!(String::from_utf8_lossy(&mended.texts[knot]).contains("    number 4"));
    assert_eq!(mended.texts[racers], shared.into_bytes());
}
