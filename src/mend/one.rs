//! The changes of one mend, without asking what they bring.

use super::near::Faults;
use super::ready::ready;
use super::splice::Change;
use crate::findings::{Choice, Finding, Severity};
use crate::fleet;
use crate::source::{FileId, Span};
use crate::syntax::{Tables, parse};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The changes of a choice, by file. `text_of` gives the texts that describe the fleet, and `findings` are all that is found in
/// them: a fault near an edit keeps it from being made. `None` where they can't be made, or change nothing.
pub fn changes(
    finding: &Finding,
    choice: &Choice,
    text_of: &dyn Fn(FileId) -> Option<Arc<[u8]>>,
    findings: &[Finding],
) -> Option<BTreeMap<FileId, Vec<Change>>> {
    let mut by_file: BTreeMap<FileId, Vec<(Span, &str)>> = BTreeMap::new();
    for edit in &choice.edits {
        by_file.entry(edit.place.file).or_default().push((edit.place.span, &edit.text));
    }
    let mut all = BTreeMap::new();
    for (file, edits) in by_file {
        let text = text_of(file)?;
        let mut tables = Tables::default();
        parse(&text, fleet::table::vocabulary, &mut tables);
        let faults = Faults::of(file, &tables, findings);
        let repairs = finding.severity == Severity::Fault && finding.place.file == file;
        let own = repairs.then_some(finding.place.span);
        if edits.iter().any(|(span, _)| faults.near(*span, own).is_some()) {
            return None;
        }
        let ready = ready(&text, &tables, &edits).ok()?;
        if !ready.is_empty() {
            all.insert(file, ready);
        }
    }
    (!all.is_empty()).then_some(all)
}
