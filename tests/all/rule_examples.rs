//! The examples of the rule book: every bad one fires its rule at the marked place and no other rule of danger, every
//! good one is silent, and what a mend makes of a bad one is what the page says.

use walkaround::findings::{Finding, Mend, Severity};
use walkaround::inspect::{Options, inspect};
use walkaround::mend::{ready, splice};
use walkaround::rules::book::{BOOK, preamble};
use walkaround::source::{FileId, Lines, Place, Span};
use walkaround::syntax::{Tables, parse};

fn run(text: &str, with: &[&str]) -> Vec<Finding> {
    // The example stands behind the shared files, as the newest of the folder.
    let mut texts: Vec<&[u8]> = with.iter().map(|name| preamble(name).unwrap().text.as_bytes()).collect();
    texts.push(text.as_bytes());
    let options = Options { today: Some("2026-11-25".parse_day()), ..Options::default() };
    let mut findings = inspect(&texts, &options).findings;
    // The example is file 0 for the rest of this test, the shared files follow.
    let last = with.len() as u32;
    let turn = |place: &mut Place| place.file = FileId(if place.file.0 == last { 0 } else { place.file.0 + 1 });
    for finding in &mut findings {
        turn(&mut finding.place);
        let choices = match &mut finding.mend {
            Mend::Words(_) => &mut [],
            Mend::Sure(choice) => std::slice::from_mut(choice),
            Mend::Choices(_, choices) => choices.as_mut_slice(),
        };
        choices.iter_mut().flat_map(|choice| &mut choice.edits).for_each(|edit| turn(&mut edit.place));
    }
    findings
}

trait ParseDay {
    fn parse_day(&self) -> walkaround::fleet::day::Day;
}

impl ParseDay for str {
    fn parse_day(&self) -> walkaround::fleet::day::Day {
        walkaround::fleet::day::Day::parse(self).unwrap()
    }
}

fn describe(findings: &[Finding], text: &str) -> String {
    let lines = Lines::new(text.as_bytes());
    let line = |finding: &Finding| match finding.place.file {
        FileId(0) => lines.position(finding.place.span.start).line.to_string(),
        FileId(other) => format!("(shared file {other})"),
    };
    findings.iter().map(|f| format!("\n    {} {} {}: {}", line(f), f.severity.word(), f.rule, f.message)).collect()
}

/// What the mend, or the first of several, makes of a text.
fn mended(text: &str, finding: &Finding) -> Option<String> {
    let edits = match &finding.mend {
        Mend::Sure(choice) => &choice.edits,
        Mend::Choices(_, choices) => &choices.first()?.edits,
        Mend::Words(_) => return None,
    };
    let edits = edits.iter().filter(|edit| edit.place.file == FileId(0));
    let edits: Vec<(Span, &str)> = edits.map(|edit| (edit.place.span, edit.text.as_str())).collect();
    let mut tables = Tables::default();
    parse(text.as_bytes(), walkaround::fleet::table::vocabulary, &mut tables);
    let changes = ready(text.as_bytes(), &tables, &edits).ok()?;
    Some(String::from_utf8(splice(text.as_bytes(), &changes)).unwrap())
}

#[test]
fn every_bad_example_fires_at_its_mark() {
    let mut wrong = Vec::new();
    for doc in BOOK {
        for bad in doc.bad {
            if bad.file.is_some() {
                continue;
            }
            let text = bad.unmarked();
            let found = run(&text, bad.with);
            let lines = Lines::new(text.as_bytes());
            let name = format!("{} ({})", doc.id, bad.title);
            for (line, rule) in bad.marks() {
                let hit = found.iter().any(|f| {
                    f.rule == rule
                        && f.severity == bad.severity
                        && f.place.file == FileId(0)
                        && lines.position(f.place.span.start).line as usize == line
                });
                if !hit {
                    wrong.push(format!(
                        "{name}: no {} {rule} at line {line}:{}",
                        bad.severity.word(),
                        describe(&found, &text)
                    ));
                }
            }
            let others: Vec<Finding> =
                found.iter().filter(|f| f.severity >= Severity::Danger && f.rule != doc.id).cloned().collect();
            if !others.is_empty() {
                wrong.push(format!("{name}: other dangers or faults:{}", describe(&others, &text)));
            }
            if let Some(repaired) = bad.repaired {
                let mine = found.iter().find(|f| f.rule == doc.id && f.severity == bad.severity);
                let made = mine.and_then(|finding| mended(&text, finding));
                if made.as_deref() != Some(repaired) {
                    wrong.push(format!(
                        "{name}: the mend makes\n{}\ninstead of\n{repaired}",
                        made.unwrap_or("nothing".into())
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn every_good_example_is_silent() {
    let mut wrong = Vec::new();
    for doc in BOOK {
        for good in doc.good.iter().filter(|_| doc.id != "format/settings") {
            let found = run(good.text, good.with);
            let bad: Vec<Finding> =
                found.iter().filter(|f| f.rule == doc.id || f.severity >= Severity::Danger).cloned().collect();
            if !bad.is_empty() {
                wrong.push(format!("{} ({}):{}", doc.id, good.title, describe(&bad, good.text)));
            }
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}
