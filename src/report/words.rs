//! Parts of a finding as sentences, for the forms that people read.

use super::plain::plain;
use super::witness;
use crate::findings::{Finding, Mend};

/// Choices that are named; the rest are counted.
const CHOICES_AT_MOST: usize = 3;

/// How the witness of a finding is seen on the bench, behind the caution that belongs to every check there.
pub(super) fn bench(finding: &Finding) -> Option<String> {
    let witness = finding.witness.as_deref()?;
    let mut words: Vec<&str> = finding.cautions.iter().map(|caution| caution.words()).collect();
    let shown = witness::in_words(witness, &finding.channels());
    words.push(&shown);
    Some(words.join(" "))
}

/// The same in short: the first of several choices, and how many more there are.
#[cfg(feature = "command-line")]
pub(super) fn mend_in_short(mend: &Mend) -> String {
    match mend {
        Mend::Words(text) => super::paragraphs::sentences(&plain(text), 2).to_owned(),
        Mend::Sure(_) => self::mend(mend),
        Mend::Choices(_, choices) => {
            let first = choices.first().map_or_else(String::new, |choice| plain(&choice.label).into_owned());
            let more = match choices.len() {
                0 | 1 => String::new(),
                2 => ", or another".to_owned(),
                more => format!(", or one of {} others", more - 1),
            };
            format!("your choice: {first}{more} (`walkaround mend --ask`)")
        }
    }
}

/// What can be done, and which command does it.
pub(super) fn mend(mend: &Mend) -> String {
    match mend {
        Mend::Words(text) => plain(text).into_owned(),
        Mend::Sure(choice) => format!("{} (`walkaround mend` does this)", plain(&choice.label)),
        Mend::Choices(text, choices) => {
            let mut labels: Vec<String> =
                choices.iter().take(CHOICES_AT_MOST).map(|choice| plain(&choice.label).into_owned()).collect();
            if let Some(more @ 1..) = choices.len().checked_sub(CHOICES_AT_MOST) {
                labels.push(format!("{more} more"));
            }
            let text = plain(text);
            let stop = if text.is_empty() || text.ends_with(['.', '!', '?', ':']) { "" } else { "." };
            format!("{text}{stop} Your choice: {} (`walkaround mend --ask`)", labels.join("; or "))
                .trim_start()
                .to_owned()
        }
    }
}
