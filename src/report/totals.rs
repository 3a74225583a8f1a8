//! What a report comes to, in the words that all forms for people share.

use super::Report;
use crate::findings::coverage::Standing;
use crate::findings::verdict::{Counts, Verdict};

/// All of it in a sentence: `11 files, 7 aircraft: 3 dangers, 1 caution; 2 findings waived.`
pub fn totals(report: &Report<'_>) -> String {
    let found = counted(&Counts::of(report.findings));
    let unearned = |verdict| !matches!(verdict, Verdict::NothingFound | Verdict::NothingNew);
    let nothing = match () {
        () if !report.known.is_empty() => "nothing new".to_owned(),
        () if report.coverage.filtered => {
            format!("nothing found by the {} asked", several(report.coverage.rules.len(), "rule"))
        }
        () if report.aircraft.iter().any(|aircraft| unearned(aircraft.verdict)) => "no finding".to_owned(),
        () => "nothing found".to_owned(),
    };
    let found = if found.is_empty() { nothing } else { found };
    let known = match report.known.len() {
        0 => String::new(),
        count => format!("; {} known", several(count, "finding")),
    };
    let waived = match report.waived.len() {
        0 => String::new(),
        count => format!("; {} waived", several(count, "finding")),
    };
    let rows = report.aircraft.iter().filter_map(|aircraft| report.coverage.of(&aircraft.name));
    let open = match rows.filter(|row| row.count(Standing::NotAsked) > 0).count() {
        0 => String::new(),
        count => format!("; {count} aircraft not checked in full"),
    };
    format!("{}, {} aircraft: {found}{known}{waived}{open}.", several(report.files, "file"), report.aircraft.len())
}

/// `1 danger, 2 cautions`, without what there is none of.
pub(super) fn counted(counts: &Counts) -> String {
    let words = [
        (counts.fault, "fault"),
        (counts.not_decided, "question not decided"),
        (counts.danger, "danger"),
        (counts.caution, "caution"),
        (counts.note, "note"),
    ];
    let counted: Vec<String> =
        words.into_iter().filter(|&(count, _)| count > 0).map(|(count, word)| several(count, word)).collect();
    counted.join(", ")
}

/// So many of something: `1 rule`, `2 rules`, `2 questions not decided`.
pub(super) fn several(count: usize, word: &str) -> String {
    match (count, word.split_once(' ')) {
        (1, _) => format!("1 {word}"),
        (_, Some((noun, rest))) => format!("{count} {noun}s {rest}"),
        (_, None) => format!("{count} {word}s"),
    }
}
