//! Faults near an edit. What a broken block says is not known, so nothing in it is changed for a pilot.

use crate::findings::{Finding, Severity};
use crate::source::{FileId, Span};
use crate::syntax::{Tables, Trouble};

/// The faults of one text.
#[derive(Debug)]
pub(super) struct Faults {
    /// What makes the nesting of the whole text uncertain.
    structure: Vec<Span>,
    /// The blocks at the top level, in text order.
    blocks: Vec<Span>,
    /// The places of all faults found in the file, in text order.
    places: Vec<Span>,
}

impl Faults {
    pub(super) fn of(file: FileId, tables: &Tables, findings: &[Finding]) -> Self {
        let structural = tables.problems.iter().filter(|problem| {
            matches!(
                problem.trouble,
                Trouble::StrayBrace
                    | Trouble::OpenBlock
                    | Trouble::MissingBrace
                    | Trouble::BraceAlone
                    | Trouble::AfterBlock
                    | Trouble::TooDeep
                    | Trouble::TooMany
                    | Trouble::TooLong
                    | Trouble::NotUtf8
                    | Trouble::TooManyProblems
            )
        });
        let faults =
            findings.iter().filter(|finding| finding.severity == Severity::Fault && finding.place.file == file);
        // Past a limit there may be faults that nobody lists.
        let whole = |fault: &&Finding| matches!(fault.rule, "format/version" | "format/too-large");
        let whole = faults.clone().filter(whole).map(|fault| fault.place.span);
        let mut places: Vec<Span> = faults.map(|fault| fault.place.span).collect();
        places.sort();
        Self {
            structure: structural.map(|problem| problem.span).chain(whole).collect(),
            blocks: tables.body(None).map(|index| tables.whole(index)).collect(),
            places,
        }
    }

    /// The fault that keeps an edit at `span` from being made. `own` is the place of the fault that the edit repairs, if
    /// it repairs one: another fault in the same block does not keep it from that, but an uncertain nesting does.
    pub(super) fn near(&self, span: Span, own: Option<Span>) -> Option<Span> {
        if let Some(&fault) = self.structure.iter().find(|&&fault| Some(fault) != own) {
            return Some(fault);
        }
        if own.is_some() {
            return None;
        }
        let at = self.blocks.partition_point(|block| block.start <= span.start);
        let block = self.blocks.get(at.checked_sub(1)?).filter(|block| span.end <= block.end)?;
        let at = self.places.partition_point(|fault| fault.start < block.start);
        self.places.get(at).copied().filter(|fault| fault.start <= block.end)
    }
}
