//! Every rule of the book against the clean fleet with one mistake in it, and against one that looks wrong and is right.
//! The mistake must be found at its place, and nothing else may be found.

use crate::patches::{Case, Expected, cases};
use crate::testdata::{File, fleet};
use rayon::prelude::*;
use std::collections::BTreeSet;
use walkaround::findings::Finding;
use walkaround::findings::grading::Grading;
use walkaround::fleet::day::Day;
use walkaround::inspect::{Options, inspect};
use walkaround::rules::book::{self, BOOK};
use walkaround::rules::parameters::{self, Parameters};
use walkaround::settings;
use walkaround::source::{FileId, Lines};

/// The day on which all of them are inspected.
const TODAY: &str = "2027-03-01";

/// What one case came to.
#[derive(Default)]
struct Judged {
    expected: usize,
    caught: usize,
    /// What was not found, what was found in addition, and what does not fit in the case itself.
    missed: Vec<String>,
    false_alarms: Vec<String>,
    broken: Vec<String>,
}

/// A finding in the words of a case.
fn tell(finding: &Finding, files: &[File]) -> String {
    let (name, bytes) = &files[finding.place.file.0 as usize];
    let line = Lines::new(bytes).position(finding.place.span.start).line;
    format!("{} {} at {name}:{line}: {}", finding.severity.word(), finding.rule, finding.message)
}

/// Whether a finding is the expected one.
fn fits(finding: &Finding, expected: &Expected, rule: &str, files: &[File], line: usize) -> bool {
    let (name, bytes) = &files[finding.place.file.0 as usize];
    finding.rule == expected.rule.as_deref().unwrap_or(rule)
        && finding.severity.word() == expected.severity
        && *name == expected.file
        && Lines::new(bytes).position(finding.place.span.start).line as usize == line
        && expected.says.iter().all(|words| finding.message.contains(words.as_str()))
}

/// Everything that the rules say about files. A settings file among them is obeyed.
fn found(files: &[File]) -> Vec<Finding> {
    found_as(files, None)
}

/// The same with every message in other words.
fn found_as(files: &[File], reword: Option<fn(&Finding) -> String>) -> Vec<Finding> {
    let mut options = Options { today: Some(Day::parse(TODAY).unwrap()), reword, ..Options::default() };
    let mut faults = Vec::new();
    if let Some(at) = files.iter().position(|(name, _)| name == settings::FILE_NAME) {
        let check = |doc: &'static book::ParameterDoc, value: &str| {
            let rule = BOOK.iter().find(|rule| rule.parameters.iter().any(|known| std::ptr::eq(known, doc))).unwrap();
            parameters::check(rule.id, doc.name, value)
        };
        let (settings, found) = settings::read(&files[at].1, FileId(at as u32), &check);
        faults = found;
        options.grading = Grading::new(&[], &[]).unwrap();
        settings.grades.iter().for_each(|(name, grade)| options.grading.grade(name, *grade));
        options.parameters = settings.parameters.iter().fold(Parameters::default(), |mut all, one| {
            all.set(one.rule, one.name, &one.value.value);
            all
        });
        options.default_place = settings.place.map(|place| place.value);
    }
    if faults.is_empty() {
        let rig = |(name, bytes): &File| if name.ends_with(".rig") { bytes.clone() } else { b"rig 1\n".to_vec() };
        let texts: Vec<Vec<u8>> = files.iter().map(rig).collect();
        let texts: Vec<&[u8]> = texts.iter().map(Vec::as_slice).collect();
        return inspect(&texts, &options).findings;
    }
    faults
}

fn judge(case: &Case, clean: &[File]) -> Judged {
    let mut judged = Judged::default();
    let files = match case.patched(clean) {
        Ok(files) => files,
        Err(why) => {
            judged.broken.push(why);
            return judged;
        }
    };
    let mut findings = found(&files);
    for (expected, counts) in case.findings.iter().map(|e| (e, true)).chain(case.also.iter().map(|e| (e, false))) {
        let rule = expected.rule.as_deref().unwrap_or(&case.rule);
        let text = files.iter().find(|(name, _)| *name == expected.file).map(|(_, bytes)| bytes.as_slice());
        let line = match expected.number(&String::from_utf8_lossy(text.unwrap_or_default())) {
            Ok(line) => line,
            Err(why) => {
                judged.broken.push(format!("{}: {why}", case.name));
                continue;
            }
        };
        judged.expected += usize::from(counts);
        match findings.iter().position(|finding| fits(finding, expected, &case.rule, &files, line)) {
            Some(at) => {
                findings.remove(at);
                judged.caught += usize::from(counts);
            }
            None => judged.missed.push(format!(
                "{}: no {} {rule} at {}:{line} {:?}",
                case.name, expected.severity, expected.file, expected.says
            )),
        }
    }
    let alarms = findings.iter().map(|finding| format!("{}: {}", case.name, tell(finding, &files)));
    judged.false_alarms.extend(alarms);
    judged
}

/// Judges all cases of a folder on all cores and prints the count.
fn judge_all(folder: &str) -> Judged {
    let clean = fleet("clean");
    let cases = cases(folder).unwrap();
    let judged: Vec<Judged> = cases.par_iter().map(|case| judge(case, &clean)).collect();
    let number = judged.len();
    let all = judged.into_iter().fold(Judged::default(), |mut all, one| {
        all.expected += one.expected;
        all.caught += one.caught;
        all.missed.extend(one.missed);
        all.false_alarms.extend(one.false_alarms);
        all.broken.extend(one.broken);
        all
    });
    println!(
        "{folder}: {number} fleets, {} of {} findings caught, {} false alarms",
        all.caught,
        all.expected,
        all.false_alarms.len()
    );
    all
}

fn assert_perfect(judged: &Judged) {
    let lines = |title: &str, list: &[String]| match list.is_empty() {
        true => String::new(),
        false => format!("\n{title} ({}):\n  {}", list.len(), list.join("\n  ")),
    };
    let wrong =
        [lines("broken", &judged.broken), lines("missed", &judged.missed), lines("false alarms", &judged.false_alarms)];
    assert!(wrong.iter().all(String::is_empty), "{}", wrong.concat());
}

#[test]
fn every_mishap_is_found_at_its_place_and_nothing_else() {
    let judged = judge_all("mishaps");
    assert_perfect(&judged);
    assert_eq!(judged.caught, judged.expected);
    assert!(judged.caught > 0);
}

#[test]
fn nothing_is_found_in_the_near_misses() {
    assert_perfect(&judge_all("near-misses"));
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
