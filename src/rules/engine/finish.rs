//! From what was found to what is reported.

use super::contexts::gists;
use super::{Found, Inspection, Outcome};
use crate::findings::day::Day;
use crate::findings::gather::gather;
use crate::findings::verdict::{Verdict, verdicts};
use crate::findings::waiver::apply;
use crate::findings::{Finding, RuleId, Severity};
use crate::fleet::blocks::Blocks;
use crate::fleet::craft::Craft;
use crate::rules::all::RULES;
use crate::rules::reading::{self, Concerned};
use crate::rules::{book, house};
use crate::source::{FileId, Place};
use compact_str::CompactString;
use rustc_hash::{FxHashMap, FxHashSet};

impl Inspection<'_> {
    /// The aircraft of which it would say too much that nothing was found, each with the word for it.
    fn unearned(&self, findings: &[Finding], waived: &[Finding], filtered: bool) -> FxHashMap<CompactString, Verdict> {
        let faults = findings.iter().filter(|finding| finding.severity == Severity::Fault);
        let faulty: FxHashSet<FileId> = faults.map(|fault| fault.place.file).collect();
        let (mut flown, mut sent, mut beside) = (FxHashSet::default(), FxHashSet::default(), FxHashSet::default());
        for model in &self.fleet.models {
            for name in model.flies.iter().map(|name| name.value.as_str()) {
                flown.insert(name);
                if model.simulator.is_some() || model.modules_on().next().is_some() {
                    sent.insert(name);
                }
                if faulty.contains(&model.head.file) {
                    beside.insert(name);
                }
            }
        }
        let waived: FxHashSet<&str> = waived.iter().flat_map(|finding| &finding.aircraft).map(|name| &**name).collect();
        let word = |craft: &Craft| {
            let name = craft.head.name.value.as_str();
            Some(match () {
                () if beside.contains(name) || faulty.contains(&craft.head.file) => Verdict::FaultBeside,
                () if !flown.contains(name) => Verdict::NotFlown,
                () if !sent.contains(name) => Verdict::NoModule,
                () if waived.contains(name) => Verdict::Waived,
                () if filtered => Verdict::NothingOfThese,
                () => return None,
            })
        };
        let crafts = self.fleet.crafts.iter();
        crafts.filter_map(|craft| Some((craft.head.name.value.clone(), word(craft)?))).collect()
    }

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
        let (findings, waived): (Vec<Finding>, Vec<Finding>) = match today {
            Some(today) => {
                let applied = apply(findings, &self.waivers, today, &rules, &decided);
                (applied.findings, applied.waived.into_iter().map(|(finding, _)| finding).collect())
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
        let mut coverage = found.coverage;
        coverage.rules = self.asked.iter().map(|(_, doc)| doc.id).collect();
        coverage.filtered = self.asked.len() < RULES.len();
        let unearned = self.unearned(&split.findings, &waived, coverage.filtered);
        let aircraft = verdicts(&aircraft, &split.findings, &split.known, &|name| unearned.get(name).copied());
        let waived = waived.iter().map(|finding| (finding.rule, finding.place)).collect();
        Outcome { findings: split.findings, aircraft, waived, known: split.known, unmatched, coverage }
    }
}
