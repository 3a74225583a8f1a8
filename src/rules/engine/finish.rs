//! From what was found to what is reported.

use super::contexts::gists;
use super::{Found, Inspection, Outcome};
use crate::findings::day::Day;
use crate::findings::gather::gather;
use crate::findings::verdict::{leave_out, verdicts};
use crate::findings::waiver::apply;
use crate::findings::{Finding, RuleId, Severity};
use crate::fleet::blocks::Blocks;
use crate::rules::all::RULES;
use crate::rules::reading::{self, Concerned};
use crate::rules::{book, house};
use crate::source::{FileId, Place};
use compact_str::CompactString;
use rustc_hash::FxHashSet;

impl Inspection<'_> {
    /// Grades, waives, orders and fingerprints what was found, and gives the verdicts. `more` are faults found outside
    /// the fleet's texts; `text_of` gives a file's text again.
    pub fn finish(
        &self,
        found: Found,
        more: Vec<Finding>,
        text_of: &(dyn Fn(FileId) -> Option<Vec<u8>> + Sync),
    ) -> Outcome {
        let mut findings = found.findings;
        let blocks = Blocks::of(&self.fleet);
        let problems = || self.problems.iter().chain(&found.problems);
        if problems().next().is_some() {
            let concerned = Concerned::new(&self.fleet, &blocks);
            findings.extend(problems().filter_map(|problem| reading::finding(problem, &concerned)));
        }
        let crafts = || self.fleet.crafts.iter().map(|craft| craft.head.name.value.clone()).collect();
        findings.extend(more.into_iter().map(|fault| match fault.rule {
            // What stands in a file that could not be read may concern any of them.
            "format/unreadable" => Finding { aircraft: crafts(), ..fault },
            _ => fault,
        }));
        findings.extend(self.secrets.iter().map(|place| house::secret::finding(place.file, place.span)));
        self.options.grading.apply(&mut findings);
        // By its header; a place outside of all blocks stands for itself.
        let block_of =
            |place: Place| blocks.around(place).map_or(place, |block| block.head().place(block.head().header));
        let undecided: FxHashSet<(RuleId, Place)> =
            found.undecided.iter().map(|&(rule, place)| (rule, block_of(place))).collect();
        // A rule may be silent because of a fault elsewhere: in the handset, in an aircraft, in a file that was not read.
        let clear = problems().next().is_none() && !self.fleet.unread;
        let decided = |rule: RuleId, place: Place| {
            // A page of the book whose rule nobody asks yet has not been decided anywhere.
            (RULES.iter().any(|known| known.id == rule) || rule.starts_with("format/") || rule.starts_with("house/"))
                && self.options.grading.asks(rule)
                && clear
                && !undecided.contains(&(rule, block_of(place)))
        };
        let rules: Vec<RuleId> = book::BOOK.iter().map(|doc| doc.id).collect();
        // Without a day no waiver has ended.
        let today = self.options.today.or_else(|| Day::new(1, 1, 1));
        let (findings, waived) = match today {
            Some(today) => {
                let applied = apply(findings, &self.waivers, today, &rules, &decided);
                (applied.findings, applied.waived.iter().map(|(finding, _)| (finding.rule, finding.place)).collect())
            }
            None => (findings, Vec::new()),
        };
        let mut findings = findings;
        self.options.grading.apply(&mut findings);
        if let Some(reword) = self.options.reword {
            findings.iter_mut().for_each(|finding| finding.message = reword(finding));
        }
        let gists = |findings: &[Finding]| gists(findings, text_of, self.spread);
        let split = self.options.known.split(gather(findings, &gists));
        let decided = !split.findings.iter().any(|finding| finding.severity == Severity::Fault);
        let answered = |rule: &str| {
            decided
                && self.options.grading.asks(rule)
                && found.undecided.iter().all(|(undecided, _)| *undecided != rule)
        };
        let unmatched = split
            .unmatched
            .iter()
            .map(|&number| (number, self.options.known.entries.get(number).is_some_and(|entry| answered(&entry.rule))));
        let unmatched = unmatched.collect();
        let aircraft: Vec<CompactString> =
            self.fleet.crafts.iter().map(|craft| craft.head.name.value.clone()).collect();
        let mut aircraft = verdicts(&aircraft, &split.findings, &split.known, &|_| false);
        let mut unstated = found.unstated;
        unstated.sort_by_key(|(place, _)| *place);
        leave_out(&mut aircraft, unstated.into_iter().map(|(_, unstated)| unstated).collect());
        Outcome { findings: split.findings, aircraft, waived, known: split.known, unmatched }
    }
}
