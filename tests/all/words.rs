//! What a pilot reads of a finding, over every mishap: sentences that are whole, and a report that is short.

use crate::patches::cases;
use crate::testdata::{File, fleet};
use rayon::prelude::*;
use walkaround::fleet::day::Day;
use walkaround::inspect::{Options, Outcome, inspect};
use walkaround::report::{Report, text, witness};
use walkaround::rules::book::BOOK;

/// Every mishap, with what is found in it.
fn mishaps() -> Vec<(String, Vec<File>, Outcome)> {
    let clean = fleet("clean");
    let all = cases("mishaps").unwrap();
    let outcome = |files: &[File]| {
        let texts: Vec<&[u8]> = files.iter().map(|(_, bytes)| bytes.as_slice()).collect();
        inspect(&texts, &Options { today: Day::parse("2027-03-01").ok(), ..Options::default() })
    };
    let of = |case: &crate::patches::Case| {
        let files = case.patched(&clean).ok()?;
        let found = outcome(&files);
        Some((case.rule.clone(), files, found))
    };
    all.par_iter().filter_map(of).collect()
}

/// What is wrong with a text of whole sentences.
fn slips(text: &str) -> Vec<String> {
    let mut slips = Vec::new();
    let sentences: Vec<&str> =
        text.split(". ").map(|part| part.trim().trim_end_matches('.')).filter(|part| !part.is_empty()).collect();
    for pair in sentences.windows(2) {
        if pair[0] == pair[1] {
            slips.push(format!("twice: {}", pair[0]));
        }
    }
    for part in &sentences {
        let first = part.trim_start_matches(['"', '`', '(', '-', ' ']).chars().next();
        if first.is_some_and(char::is_lowercase) && !part.starts_with(['"', '`']) {
            slips.push(format!("begins small: {part}"));
        }
    }
    for bad in ["put .", "with .", "  ", " a a", " a e", " a i", " a o", "..", " ,", "of .", "Put .", " and ."] {
        let ends = |at: usize| text[at + bad.len()..].chars().next().is_none_or(|next| next.is_lowercase());
        let article = bad.starts_with(" a ");
        for (at, _) in text.match_indices(bad) {
            let one_letter = article && text[at + bad.len()..].chars().next().is_none_or(|next| !next.is_alphabetic());
            if !article
                || (ends(at) && !one_letter && !text[at..].starts_with(" a one") && !text[at..].starts_with(" a us"))
            {
                slips.push(format!("{bad:?} in {}", &text[at.saturating_sub(20)..(at + 30).min(text.len())]));
            }
        }
    }
    slips
}

#[test]
fn every_bench_sentence_is_whole() {
    let mut told = 0;
    let mut wrong = Vec::new();
    for (rule, _, outcome) in mishaps() {
        for finding in &outcome.findings {
            if let Some(state) = &finding.witness {
                let text = witness::in_words(state, &finding.channels());
                told += 1;
                wrong.extend(slips(&text).into_iter().map(|slip| format!("{rule}, {}: {slip}", finding.rule)));
            }
        }
    }
    for doc in BOOK {
        for line in doc.bench.lines().map(|line| line.trim_start_matches("- ")).filter(|line| line.ends_with('.')) {
            let slips = slips(line).into_iter().filter(|slip| !slip.starts_with("begins small"));
            wrong.extend(slips.map(|slip| format!("{}: {slip}", doc.id)));
        }
    }
    assert!(told > 40, "only {told} states were told");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_check_of_sentences_can_fail() {
    assert!(slips("Start with roll at -100 %. Put left up. Channel 7 arrives as 1000 us.").is_empty());
    for text in ["Start with roll. Then put .", "Put a up. Put a up.", "Put it up. then read.", "It is a instructor."] {
        assert!(!slips(text).is_empty(), "{text}");
    }
}

/// Beside its excerpt, over which the sentence stands, a finding has at most six lines: its name, other places, what can happen, the
/// mend.
#[test]
fn a_finding_in_short_has_six_lines_beside_its_excerpt() {
    let style = text::Style { colour: false, width: 100, full: false };
    let mut longest = 0;
    for (rule, files, outcome) in mishaps() {
        let paths: Vec<String> = files.iter().map(|(name, _)| name.clone()).collect();
        let text_of =
            |file: walkaround::source::FileId| files.get(file.0 as usize).map(|(_, text)| text.as_slice().into());
        let whole = Report::of(&outcome, &paths, files.len(), &text_of);
        for finding in &outcome.findings {
            let report = Report { findings: std::slice::from_ref(finding), aircraft: &[], waived: &[], ..whole };
            let mut out = Vec::new();
            text::write(&report, style, &mut out).unwrap();
            let said = String::from_utf8(out).unwrap();
            let page: Vec<&str> = said.lines().take_while(|line| !line.is_empty()).collect();
            let is_excerpt = |line: &&&str| {
                let sign = line.trim_start().trim_start_matches(|sign: char| sign.is_ascii_digit() || sign == ' ');
                sign.starts_with(['╭', '╰', '·', '│', '─', '┆', '•'])
            };
            let lines = page.iter().filter(|line| !is_excerpt(line)).count();
            longest = longest.max(lines);
            assert!(lines <= 6, "{rule} takes {lines} lines:\n{}", page.join("\n"));
        }
    }
    assert!(longest > 2, "nothing was measured");
}
