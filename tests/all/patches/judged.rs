//! What the program finds in a fleet with a patch on it, beside what it should find.

use super::{Case, Expected, cases};
use crate::testdata::{File, fleet};
use rayon::prelude::*;
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
pub(crate) struct Judged {
    pub(crate) expected: usize,
    pub(crate) caught: usize,
    /// What was not found, what was found in addition, and what does not fit in the case itself.
    pub(crate) missed: Vec<String>,
    pub(crate) false_alarms: Vec<String>,
    pub(crate) broken: Vec<String>,
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
pub(crate) fn found(files: &[File]) -> Vec<Finding> {
    found_as(files, None)
}

/// The same with every message in other words.
pub(crate) fn found_as(files: &[File], reword: Option<fn(&Finding) -> String>) -> Vec<Finding> {
    let (options, faults) = options(files);
    let options = Options { reword, ..options };
    if faults.is_empty() {
        let rig = |(name, bytes): &File| if name.ends_with(".rig") { bytes.clone() } else { b"rig 1\n".to_vec() };
        let texts: Vec<Vec<u8>> = files.iter().map(rig).collect();
        let texts: Vec<&[u8]> = texts.iter().map(Vec::as_slice).collect();
        return inspect(&texts, &options).findings;
    }
    faults
}

/// How files are inspected, and what is wrong in a settings file among them.
pub(crate) fn options(files: &[File]) -> (Options, Vec<Finding>) {
    let mut options = Options { today: Some(Day::parse(TODAY).unwrap()), ..Options::default() };
    let Some(at) = files.iter().position(|(name, _)| name == settings::FILE_NAME) else { return (options, Vec::new()) };
    let check = |doc: &'static book::ParameterDoc, value: &str| {
        let rule = BOOK.iter().find(|rule| rule.parameters.iter().any(|known| std::ptr::eq(known, doc))).unwrap();
        parameters::check(rule.id, doc.name, value)
    };
    let (settings, faults) = settings::read(&files[at].1, FileId(at as u32), &check);
    options.grading = Grading::new(&[], &[]).unwrap();
    settings.grades.iter().for_each(|(name, grade)| options.grading.grade(name, *grade));
    options.parameters = settings.parameters.iter().fold(Parameters::default(), |mut all, one| {
        all.set(one.rule, one.name, &one.value.value);
        all
    });
    options.tested = settings.tested;
    options.default_place = settings.place.map(|place| place.value);
    (options, faults)
}

pub(crate) fn judge(case: &Case, clean: &[File]) -> Judged {
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

/// Judges all cases of a folder, patches on the fleet `base`, on all cores and prints the count.
pub(crate) fn judge_all(folder: &str, base: &str) -> Judged {
    let clean = fleet(base);
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

pub(crate) fn assert_perfect(judged: &Judged) {
    let lines = |title: &str, list: &[String]| match list.is_empty() {
        true => String::new(),
        false => format!("\n{title} ({}):\n  {}", list.len(), list.join("\n  ")),
    };
    let wrong =
        [lines("broken", &judged.broken), lines("missed", &judged.missed), lines("false alarms", &judged.false_alarms)];
    assert!(wrong.iter().all(String::is_empty), "{}", wrong.concat());
}
