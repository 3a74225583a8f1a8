//! Every rule of the book against the clean fleet with one mistake in it, and against one that looks wrong and is right.
//! The mistake must be found at its place, and nothing else may be found.

use crate::patches::judged::{assert_perfect, found, found_as, judge, judge_all};
use crate::patches::{Case, cases};
use crate::testdata::{File, fleet};
use rayon::prelude::*;
use std::collections::BTreeSet;
use walkaround::findings::Finding;
use walkaround::rules::book::BOOK;

#[test]
fn every_mishap_is_found_at_its_place_and_nothing_else() {
    let judged = judge_all("mishaps", "clean");
    assert_perfect(&judged);
    assert_eq!(judged.caught, judged.expected);
    assert!(judged.caught > 0);
}

#[test]
fn nothing_is_found_in_the_near_misses() {
    assert_perfect(&judge_all("near-misses", "clean"));
}

#[test]
fn every_rule_has_a_mishap_for_each_severity_and_a_near_miss() {
    let (mishaps, misses) = (cases("mishaps").unwrap(), cases("near-misses").unwrap());
    let mut wrong = Vec::new();
    for doc in BOOK {
        let mut severities: BTreeSet<&str> = doc.bad.iter().map(|bad| bad.severity.word()).collect();
        severities.insert(doc.severity.word());
        for severity in severities {
            let told = mishaps.iter().any(|case| {
                case.rule == doc.id && case.findings.iter().any(|e| e.rule.is_none() && e.severity == severity)
            });
            if !told {
                wrong.push(format!("{}: no mishap of severity {severity}", doc.id));
            }
        }
        if !misses.iter().any(|case| case.rule == doc.id) {
            wrong.push(format!("{}: no near miss", doc.id));
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

/// What a page says of a case is said of some mistake, so that it is read where it is true.
#[test]
fn every_case_of_a_page_is_told_by_a_mistake() {
    let folders = [
        ("mishaps", "clean"),
        ("mistakes/kinds", "kinds"),
        ("mistakes/neighbours", "neighbours"),
        ("mistakes/visitors", "visitors"),
    ];
    let mut told = BTreeSet::new();
    for (folder, of) in folders {
        let sound = fleet(of);
        let cases = cases(folder).unwrap();
        let findings = cases.par_iter().flat_map_iter(|case| found(&case.patched(&sound).unwrap()));
        told.extend(findings.map(|finding| (finding.rule, finding.case)).collect::<Vec<_>>());
    }
    let stated = BOOK.iter().flat_map(|doc| doc.cases.iter().map(|(case, _)| (doc.id, *case)));
    let missed: Vec<_> = stated.filter(|case| !told.contains(case)).collect();
    assert!(missed.is_empty(), "{missed:?}");
}

#[test]
fn every_case_is_well_formed() {
    let clean = fleet("clean");
    let mut wrong = Vec::new();
    for folder in ["mishaps", "near-misses"] {
        let mut seen: Vec<(Vec<File>, String)> = Vec::new();
        for case in cases(folder).unwrap() {
            let mut say = |what: &str| wrong.push(format!("{}: {what}", case.name));
            let below = case.name.strip_prefix(folder).unwrap().trim_start_matches('/');
            if below != case.rule && below.strip_prefix(&case.rule).is_none_or(|rest| !rest.starts_with('-')) {
                say("its file is not named for its rule");
            }
            if (folder == "near-misses") != case.findings.is_empty() {
                say("a mishap says what is found, a near miss does not");
            }
            for expected in &case.also {
                if expected.severity != "note" || expected.reason.as_deref().is_none_or(|why| why.trim().is_empty()) {
                    say("only a note comes along, and only with a reason");
                }
            }
            if case.findings.iter().any(|expected| expected.reason.is_some()) {
                say("a finding needs no reason");
            }
            if case.unseen.is_some() {
                say("what nobody can see in a text is no mishap");
            }
            if case.story.trim().is_empty() {
                say("it has no story");
            }
            match case.patched(&clean) {
                Ok(files) if files == clean => say("it changes nothing"),
                Ok(files) => match seen.iter().find(|(known, _)| *known == files) {
                    Some((_, other)) => say(&format!("the same fleet as {other}")),
                    None => seen.push((files, case.name.clone())),
                },
                Err(why) => say(&why),
            }
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

/// A case made of one edit in `sanderling.rig`, expected at a line of it.
fn one_edit(find: &str, replace: &str, severity: &str, line: &str) -> Case {
    let text = format!(
        "rule = \"channels/order\"\nstory = \"a test\"\n[[edit]]\nfile = \"sanderling.rig\"\nfind = {find:?}\nreplace = {replace:?}\n\
         [[finding]]\nseverity = {severity:?}\nfile = \"sanderling.rig\"\nline = {line:?}\n"
    );
    toml::from_str(&text).unwrap()
}

/// The counts can go wrong: another severity, another line, a mistake that is not there, and one too many.
#[test]
fn what_is_missed_and_what_is_too_much_is_counted() {
    let clean = fleet("clean");
    let count = |case: &Case| {
        let judged = judge(case, &clean);
        (judged.caught, judged.missed.len(), judged.false_alarms.len(), judged.broken.len())
    };
    let (find, wrong, line) = ("order A E T R", "order A T E R", "channel 2 = pitch");
    assert_eq!(count(&one_edit(find, wrong, "danger", line)), (1, 0, 0, 0));
    assert_eq!(count(&one_edit(find, wrong, "caution", line)), (0, 1, 1, 0));
    assert_eq!(count(&one_edit(find, wrong, "danger", "kind multirotor")), (0, 1, 1, 0));
    assert_eq!(count(&one_edit(find, "order A E T R  # by heart", "danger", "kind multirotor")), (0, 1, 0, 0));
    assert_eq!(count(&one_edit(find, wrong, "danger", "order Q")), (0, 0, 1, 1));
    assert_eq!(count(&one_edit("order Q", wrong, "danger", line)).3, 1);
    assert_eq!(count(&one_edit("channel", wrong, "danger", line)).3, 1);
}

/// Some other sentence for each finding: the same for many of one rule, so that what tells them apart is not the message.
fn other_words(finding: &Finding) -> String {
    format!("Said in {} words.", finding.message.len() % 3)
}

#[test]
fn no_wording_moves_a_fingerprint_or_merges_findings() {
    let clean = fleet("clean");
    let known = |findings: Vec<Finding>| -> Vec<_> {
        findings.into_iter().map(|it| (it.place, it.rule, it.key, it.facts, it.aircraft, it.fingerprint)).collect()
    };
    let compared: usize = cases("mishaps")
        .unwrap()
        .par_iter()
        .map(|case| {
            let files = case.patched(&clean).unwrap();
            let straight = known(found(&files));
            assert_eq!(straight, known(found_as(&files, Some(other_words))), "{}", case.name);
            straight.len()
        })
        .sum();
    assert!(compared > 100, "only {compared} findings were compared");
}
