//! Sixty slips that pilots make: each is one fault at its place, and the advice taken literally is accepted.

use serde::Deserialize;
use walkaround::findings::{Finding, Mend, Severity};
use walkaround::fleet::day::Day;
use walkaround::inspect::{Options, inspect};

/// A slip of `testdata/syntax/slips.toml`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Slip {
    /// The line of `slips.rig` in whose place it stands, without its indentation; absent: a new line in the model.
    instead_of: Option<String>,
    /// What the pilot writes there.
    written: String,
    /// The words that the fault points at.
    at: String,
    /// Words of the sentence.
    says: String,
    /// The line that the first choice makes of it, or that the words of the mend quote.
    becomes: String,
}

#[derive(Deserialize)]
struct Slips {
    slip: Vec<Slip>,
}

const SOUND: &str = include_str!("../../testdata/syntax/slips.rig");
const TABLE: &str = include_str!("../../testdata/syntax/slips.toml");

/// The sound file with a line in the place of another.
fn with(slip: &Slip, line: &str) -> String {
    let old = slip.instead_of.as_deref().unwrap_or("timer 2 min 30 s");
    let at = SOUND.find(old).unwrap_or_else(|| panic!("no line {old}"));
    let new = if slip.instead_of.is_some() { line.to_owned() } else { format!("{line}\n  {old}") };
    format!("{}{new}{}", &SOUND[..at], &SOUND[at + old.len()..])
}

fn faults(text: &str) -> Vec<Finding> {
    let options = Options { today: Day::parse("2027-03-01").ok(), ..Options::default() };
    let found = inspect(&[text.as_bytes()], &options).findings;
    found.into_iter().filter(|finding| finding.severity == Severity::Fault).collect()
}

/// What is wrong with how a slip is told.
fn judge(slip: &Slip) -> Result<(), String> {
    let text = with(slip, &slip.written);
    let found = faults(&text);
    let [fault] = found.as_slice() else {
        let all: Vec<&str> = found.iter().map(|fault| fault.message.as_str()).collect();
        return Err(format!("{} faults: {all:?}", found.len()));
    };
    let at = &text[fault.place.span.start as usize..fault.place.span.end as usize];
    if at != slip.at {
        return Err(format!("it is told at {at:?}: {}", fault.message));
    }
    if !fault.message.contains(&slip.says) {
        return Err(format!("it says: {}", fault.message));
    }
    let wanted = with(slip, &slip.becomes);
    match &fault.mend {
        Mend::Words(words) if words.contains(&format!("`{}`", slip.becomes)) => {}
        Mend::Words(words) => return Err(format!("its mend says: {words}")),
        mend => {
            let mut mended = text.clone();
            let edits = &choice_of(mend).map(|choice| choice.edits.clone()).unwrap_or_default();
            for edit in edits.iter().rev() {
                mended.replace_range(edit.place.span.start as usize..edit.place.span.end as usize, &edit.text);
            }
            if mended.split_whitespace().ne(wanted.split_whitespace()) {
                let line = mended.lines().find(|line| !text.contains(*line)).unwrap_or_default();
                return Err(format!("the first choice makes {line:?}"));
            }
        }
    }
    match faults(&wanted).first() {
        Some(fault) => Err(format!("the advice is refused: {}", fault.message)),
        None => Ok(()),
    }
}

fn choice_of(mend: &Mend) -> Option<&walkaround::findings::Choice> {
    match mend {
        Mend::Words(_) => None,
        Mend::Sure(choice) => Some(choice),
        Mend::Choices(_, choices) => choices.first(),
    }
}

#[test]
fn each_slip_is_one_fault_with_advice_that_is_accepted() {
    assert!(faults(SOUND).is_empty(), "{:?}", faults(SOUND));
    let table: Slips = toml::from_str(TABLE).unwrap();
    assert!(table.slip.len() >= 60, "{} slips", table.slip.len());
    let wrong: Vec<String> = table
        .slip
        .iter()
        .filter_map(|slip| judge(slip).err().map(|why| format!("{}\n    {why}", slip.written)))
        .collect();
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), table.slip.len(), wrong.join("\n"));
}
