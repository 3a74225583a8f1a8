//! The report as test results in XML, which most CI services show: a suite an aircraft, a case a rule that applies to it. A case
//! fails where a finding makes the run fail; it is skipped where the rule was not asked or not decided. Findings that belong to no
//! such case, faults among them, stand in a suite of their own, a case each.

use super::coverage::in_words;
use super::places::Places;
use super::plain::plain;
use super::{Report, words};
use crate::findings::coverage::{Row, Standing};
use crate::findings::{Finding, RuleId};
use rustc_hash::{FxHashMap, FxHashSet};
use std::fmt::Write as _;
use std::io::{self, Write};

/// How a case ended.
enum End {
    Passed,
    /// It passed, and has something to say.
    Said(String),
    Skipped(String),
    /// In short, and in full.
    Failed(String, String),
}

struct Case {
    class: String,
    name: String,
    end: End,
}

struct Suite {
    name: String,
    cases: Vec<Case>,
}

impl Suite {
    /// How many cases there are, how many failed, and how many were skipped.
    fn counts(&self) -> [usize; 3] {
        let count = |is: fn(&End) -> bool| self.cases.iter().filter(|case| is(&case.end)).count();
        [self.cases.len(), count(|end| matches!(end, End::Failed(..))), count(|end| matches!(end, End::Skipped(_)))]
    }
}

/// Writes the results; `fails` says which findings make a run fail.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(report: &Report<'_>, fails: &dyn Fn(&Finding) -> bool, out: &mut dyn Write) -> io::Result<()> {
    let mut found: FxHashMap<(&str, RuleId), Vec<&Finding>> = FxHashMap::default();
    for finding in report.findings {
        for name in &finding.aircraft {
            found.entry((name, finding.rule)).or_default().push(finding);
        }
    }
    let suites = Suites { report, places: Places::of(report), fails, found };
    let mut all: Vec<Suite> = vec![suites.others()];
    all.extend(report.aircraft.iter().filter_map(|aircraft| {
        let row = report.coverage.of(&aircraft.name)?;
        Some(suites.of_aircraft(&aircraft.name, row))
    }));
    let mut sum = [0; 3];
    for suite in &all {
        sum.iter_mut().zip(suite.counts()).for_each(|(sum, count)| *sum += count);
    }
    writeln!(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>")?;
    writeln!(out, "<testsuites name=\"walkaround\" {}>", attributes(sum))?;
    for suite in &all {
        writeln!(out, "  <testsuite name=\"{}\" {}>", escaped(&suite.name), attributes(suite.counts()))?;
        suite.cases.iter().try_for_each(|case| one(case, out))?;
        writeln!(out, "  </testsuite>")?;
    }
    writeln!(out, "</testsuites>")
}

fn attributes([tests, failures, skipped]: [usize; 3]) -> String {
    format!("tests=\"{tests}\" failures=\"{failures}\" errors=\"0\" skipped=\"{skipped}\"")
}

fn one(case: &Case, out: &mut dyn Write) -> io::Result<()> {
    let head = format!("    <testcase classname=\"{}\" name=\"{}\"", escaped(&case.class), escaped(&case.name));
    match &case.end {
        End::Passed => writeln!(out, "{head}/>"),
        End::Said(words) => writeln!(out, "{head}><system-out>{}</system-out></testcase>", escaped(words)),
        End::Skipped(why) => writeln!(out, "{head}><skipped message=\"{}\"/></testcase>", escaped(why)),
        End::Failed(short, full) => {
            writeln!(out, "{head}><failure message=\"{}\">{}</failure></testcase>", escaped(short), escaped(full))
        }
    }
}

struct Suites<'r> {
    report: &'r Report<'r>,
    places: Places,
    fails: &'r dyn Fn(&Finding) -> bool,
    /// By aircraft and rule.
    found: FxHashMap<(&'r str, RuleId), Vec<&'r Finding>>,
}

impl Suites<'_> {
    fn of_aircraft(&self, name: &str, row: &Row) -> Suite {
        let rules = self.report.coverage.rules.iter().enumerate();
        let cases = rules.filter_map(|(number, rule)| {
            let end = match (self.found.get(&(name, *rule)), row.standing(number)) {
                (Some(found), _) => self.end(found),
                (None, Standing::DoesNotApply) => return None,
                (None, Standing::Clear) => End::Passed,
                (None, Standing::Found) => End::Said("What was found is waived or known.".to_owned()),
                (None, Standing::NotDecided) => End::Skipped("not decided".to_owned()),
                (None, Standing::NotAsked) => {
                    let needs: Vec<String> =
                        row.missing(number).map(|missing| in_words(missing, self.report)).collect();
                    End::Skipped(format!("not asked, for want of: {}", needs.join("; ")))
                }
            };
            Some(Case { class: name.to_owned(), name: (*rule).to_owned(), end })
        });
        Suite { name: name.to_owned(), cases: cases.collect() }
    }

    /// The findings that no aircraft's suite has.
    fn others(&self) -> Suite {
        let coverage = self.report.coverage;
        let with_suite: FxHashSet<&str> =
            self.report.aircraft.iter().map(|of| &*of.name).filter(|name| coverage.of(name).is_some()).collect();
        let placed = |finding: &Finding| {
            coverage.rules.contains(&finding.rule)
                && finding.aircraft.iter().any(|name| with_suite.contains(name.as_str()))
        };
        let others = self.report.findings.iter().filter(|finding| !placed(finding));
        let case = |finding: &Finding| Case {
            class: self.report.path(finding.place.file).to_owned(),
            name: finding.rule.to_owned(),
            end: self.end(&[finding]),
        };
        Suite { name: "files".to_owned(), cases: others.map(case).collect() }
    }

    /// How a case ends of which this was found.
    fn end(&self, found: &[&Finding]) -> End {
        let mut full = String::new();
        for finding in found {
            let start = self.places.region(finding.place).start;
            let (path, severity) = (self.report.path(finding.place.file), finding.severity.word());
            // Writing to a string can't fail.
            let _ = writeln!(full, "{path}:{}:{}: {severity}: {}", start.line, start.column, plain(&finding.message));
            if let Some(bench) = words::bench(finding) {
                let _ = writeln!(full, "bench: {bench}");
            }
            let _ = writeln!(full, "mend: {}", words::mend(&finding.mend));
        }
        match found.iter().find(|finding| (self.fails)(finding)) {
            Some(first) => End::Failed(format!("{}: {}", first.severity.word(), first.message), full),
            None => End::Said(full),
        }
    }
}

/// A text as XML holds it, in an attribute too; what must not be sent is shown, line by line.
fn escaped(text: &str) -> String {
    let lines: Vec<String> = text.split('\n').map(|line| plain(line).into_owned()).collect();
    let text = lines.join("\n");
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => shown.push_str("&amp;"),
            '<' => shown.push_str("&lt;"),
            '>' => shown.push_str("&gt;"),
            '"' => shown.push_str("&quot;"),
            // No XML holds them, as escapes neither.
            '\u{fffe}' | '\u{ffff}' => shown.push('\u{fffd}'),
            _ => shown.push(character),
        }
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_ends_an_attribute_or_an_element() {
        assert_eq!(escaped("a\"b<c>&d\u{1b}\u{ffff}\ne"), "a&quot;b&lt;c&gt;&amp;d\\u{1b}\u{fffd}\ne");
    }
}
