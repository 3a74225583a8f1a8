//! What waivers do to the findings of an inspection.

use super::Waiver;
use crate::findings::{Choice, Edit, Finding, Mend, RuleId, Severity, is_protected};
use crate::fleet::day::Day;
use crate::fleet::problem::nearest;
use crate::source::{FileId, Place, Span};
use rustc_hash::FxHashMap;

/// A waiver and what its reader knows about the text around it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Placed {
    /// The waiver.
    pub waiver: Waiver,
    /// Its whole line with the line end: what is deleted to take it away.
    pub line: Span,
    /// The header line of the statement below it; none where no statement follows in the same block.
    pub header: Option<Span>,
}

/// What is left after the waivers, and what they cover.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Applied {
    /// The findings that no waiver covers, and those about the waivers themselves.
    pub findings: Vec<Finding>,
    /// The covered findings, each with the index of the waiver that covers it.
    pub waived: Vec<(Finding, usize)>,
}

/// Takes out the findings that a waiver covers and adds what is wrong with the waivers.
///
/// `rules` are the names of all rules. `decided` says whether a rule was asked about the statement at a place and found
/// its answers: only then can a waiver be blamed for covering nothing.
pub fn apply(
    findings: Vec<Finding>,
    waivers: &[Placed],
    today: Day,
    rules: &[RuleId],
    decided: &dyn Fn(RuleId, Place) -> bool,
) -> Applied {
    if waivers.is_empty() {
        return Applied { findings, waived: Vec::new() };
    }
    let mut index = Index::new(&findings);
    let mut about = Vec::new();
    for (number, placed) in waivers.iter().enumerate() {
        let waiver = &placed.waiver;
        let Some(rule) = rules.iter().copied().find(|&rule| rule == waiver.rule.value) else {
            about.push(unknown_rule(placed, rules));
            continue;
        };
        if let Some(finding) = bare(placed) {
            about.push(finding);
        } else if let Some(until) = waiver.until.filter(|until| until.value < today) {
            let mut ended = stale(placed, format!("This waiver ended on {}; today is {today}.", until.value));
            // It may be given another day: what it says was meant.
            if let Mend::Sure(choice) = ended.mend {
                let words = "Look at what it covers again: give it another day, or take it away.".to_owned();
                ended.mend = Mend::Choices(words, vec![choice]);
            }
            about.push(ended);
        } else if index.cover(placed, number) == 0 && decided(rule, placed.covers().unwrap_or(waiver.place)) {
            let why = match placed.header {
                Some(_) => "This waiver covers nothing: the rule finds nothing in the statement below it.",
                None => "This waiver covers nothing: no statement stands below it.",
            };
            about.push(stale(placed, why.to_owned()));
        }
    }
    let covered_by = index.covered_by;
    let mut applied = Applied { findings: about, waived: Vec::new() };
    for (finding, by) in findings.into_iter().zip(covered_by) {
        match by {
            Some(number) => applied.waived.push((finding, number)),
            None => applied.findings.push(finding),
        }
    }
    applied
}

impl Placed {
    fn covers(&self) -> Option<Place> {
        self.header.map(|header| Place::new(self.waiver.place.file, header))
    }
}

/// The findings that can be waived, by file and rule, each list in place order.
struct Index {
    by_rule: FxHashMap<(FileId, RuleId), Vec<(u32, usize)>>,
    covered_by: Vec<Option<usize>>,
}

impl Index {
    fn new(findings: &[Finding]) -> Self {
        let mut by_rule: FxHashMap<(FileId, RuleId), Vec<(u32, usize)>> = FxHashMap::default();
        for (at, finding) in findings.iter().enumerate() {
            if finding.severity != Severity::Fault && !is_protected(finding.rule) {
                let key = (finding.place.file, finding.rule);
                by_rule.entry(key).or_default().push((finding.place.span.start, at));
            }
        }
        by_rule.values_mut().for_each(|list| list.sort_unstable());
        Self { by_rule, covered_by: vec![None; findings.len()] }
    }

    /// Marks what a waiver covers that no earlier one does, and counts it.
    fn cover(&mut self, placed: &Placed, number: usize) -> usize {
        let Some(header) = placed.header else { return 0 };
        let key = (placed.waiver.place.file, placed.waiver.rule.value.as_str());
        let list = self.by_rule.get(&key).map(Vec::as_slice).unwrap_or_default();
        let first = list.partition_point(|&(start, _)| start < header.start);
        let mut count = 0;
        for &(_, at) in list[first..].iter().take_while(|&&(start, _)| start < header.end) {
            if self.covered_by[at].is_none() {
                self.covered_by[at] = Some(number);
                count += 1;
            }
        }
        count
    }
}

/// What keeps a waiver of a known rule from counting at all.
fn bare(placed: &Placed) -> Option<Finding> {
    let waiver = &placed.waiver;
    let rule = &waiver.rule.value;
    let (span, text) = match &waiver.flaw {
        Some(flaw) => (flaw.span, format!("This waiver can't be understood: {}.", flaw.value)),
        None if is_protected(rule) => (waiver.rule.span, format!("{rule} can't be waived.")),
        None if !waiver.has_reason() => {
            let text = format!("This waiver of {rule} gives no reason, so it covers nothing.");
            (waiver.rule.span, text)
        }
        None => return None,
    };
    let words = match is_protected(rule) {
        true => "Take the waiver away and mend what the rule says.".to_owned(),
        false => format!("Write why the finding is accepted: # waive {rule} because \"…\""),
    };
    Some(finding("house/waiver-bare", Severity::Caution, placed, span, text, Mend::Words(words)))
}

fn unknown_rule(placed: &Placed, rules: &[RuleId]) -> Finding {
    let written = &placed.waiver.rule;
    let place = Place::new(placed.waiver.place.file, written.span);
    let (text, mend) = match nearest(&written.value, rules.iter().copied()) {
        _ if written.value.is_empty() => {
            let words = "Write the rule's name and the reason: # waive group/rule because \"…\"".to_owned();
            ("This waiver names no rule.".to_owned(), Mend::Words(words))
        }
        Some(rule) => {
            let edit = Edit { place, text: rule.to_owned() };
            let choice = Choice { label: format!("write {rule}"), edits: vec![edit] };
            let text = format!("No rule is called \"{}\"; the nearest is {rule}.", written.value);
            (text, Mend::Choices("Name the rule as the finding shows it.".to_owned(), vec![choice]))
        }
        None => {
            let words = "Name the rule as the finding shows it; `walkaround why` lists them all.".to_owned();
            (format!("No rule is called \"{}\".", written.value), Mend::Words(words))
        }
    };
    finding("house/waiver-bare", Severity::Caution, placed, written.span, text, mend)
}

fn stale(placed: &Placed, text: String) -> Finding {
    let edit = Edit { place: Place::new(placed.waiver.place.file, placed.line), text: String::new() };
    let mend = Mend::Sure(Choice { label: "take the waiver away".to_owned(), edits: vec![edit] });
    let span = placed.waiver.place.span;
    let mut finding = finding("house/waiver-stale", Severity::Note, placed, span, text, mend);
    if let Some(header) = placed.covers() {
        finding.others.push((header, "the statement it stands for".to_owned()));
    }
    finding
}

fn finding(rule: RuleId, severity: Severity, placed: &Placed, span: Span, message: String, mend: Mend) -> Finding {
    Finding { mend, ..Finding::new(rule, severity, Place::new(placed.waiver.place.file, span), "waiver", message) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::tests::finding as found;

    const RULES: &[RuleId] =
        &["arming/momentary", "arming/slow", "channels/gap", "format/unit", "house/waiver-bare", "house/waiver-stale"];

    /// A waiver at bytes 0..50 for the header at 60..90.
    fn placed(comment: &str) -> Placed {
        let waiver = Waiver::parse(comment, Place::new(FileId(0), Span::new(0, 50))).unwrap();
        Placed { waiver, line: Span::new(0, 51), header: Some(Span::new(60, 90)) }
    }

    fn day(text: &str) -> Day {
        Day::parse(text).unwrap()
    }

    fn run(findings: Vec<Finding>, waivers: &[Placed]) -> Applied {
        apply(findings, waivers, day("2027-03-01"), RULES, &|_, _| true)
    }

    fn rules(findings: &[Finding]) -> Vec<&str> {
        findings.iter().map(|finding| finding.rule).collect()
    }

    #[test]
    fn a_waiver_covers_its_rule_in_the_next_header() {
        let waiver = placed("# waive arming/slow because \"a slow link is meant\" until 2027-03-01");
        let findings = vec![
            found("arming/slow", 0, 60, "in the header"),
            found("arming/slow", 0, 89, "at its end"),
            found("arming/slow", 0, 90, "below it"),
            found("arming/slow", 0, 59, "above it"),
            found("arming/slow", 1, 60, "in another file"),
            found("channels/gap", 0, 60, "of another rule"),
        ];
        let applied = run(findings, &[waiver]);
        let messages: Vec<_> = applied.findings.iter().map(|f| f.message.as_str()).collect();
        assert_eq!(messages, ["below it", "above it", "in another file", "of another rule"]);
        assert_eq!(applied.waived.len(), 2);
    }

    #[test]
    fn a_waiver_that_does_not_count_suppresses_nothing_and_is_found() {
        for (comment, rule, words) in [
            ("# waive arming/slow", "house/waiver-bare", "no reason"),
            ("# waive arming/slow because \"\"", "house/waiver-bare", "no reason"),
            ("# waive arming/slow because \"a\" until 2027-02-30", "house/waiver-bare", "no day 2027-02-30"),
            ("# waive arming/slow because \"a\" until 2027-02-28", "house/waiver-stale", "ended on 2027-02-28"),
            ("# waive arming/slwo because \"a\"", "house/waiver-bare", "nearest is arming/slow"),
            ("# waive slow because \"a\"", "house/waiver-bare", "No rule is called \"slow\""),
            ("# waive", "house/waiver-bare", "names no rule"),
        ] {
            let applied = run(vec![found("arming/slow", 0, 60, "")], &[placed(comment)]);
            assert_eq!(rules(&applied.findings), [rule, "arming/slow"], "{comment}");
            assert!(applied.findings[0].message.contains(words), "{comment}: {}", applied.findings[0].message);
            assert!(applied.waived.is_empty());
        }
    }

    #[test]
    fn faults_and_findings_on_waivers_cannot_be_waived() {
        for rule in ["format/unit", "house/waiver-stale", "house/waiver-bare"] {
            let applied = run(vec![found(rule, 0, 60, "")], &[placed(&format!("# waive {rule} because \"a\""))]);
            assert_eq!(rules(&applied.findings), ["house/waiver-bare", rule]);
        }
        let fault = Finding { severity: Severity::Fault, ..found("arming/slow", 0, 60, "") };
        assert!(run(vec![fault], &[placed("# waive arming/slow because \"a\"")]).waived.is_empty());
    }

    #[test]
    fn stale_only_if_the_rule_ran_and_decided() {
        let waiver = placed("# waive arming/slow because \"a\"");
        let ran = run(Vec::new(), std::slice::from_ref(&waiver));
        assert_eq!(rules(&ran.findings), ["house/waiver-stale"]);
        let Mend::Sure(choice) = &ran.findings[0].mend else { panic!("{ran:?}") };
        assert_eq!(choice.edits, [Edit { place: Place::new(FileId(0), Span::new(0, 51)), text: String::new() }]);
        let not_asked = apply(Vec::new(), &[waiver], day("2027-03-01"), RULES, &|_, _| false);
        assert_eq!(not_asked, Applied::default());
    }

    #[test]
    fn a_second_waiver_for_the_same_finding_covers_nothing() {
        let waiver = placed("# waive arming/slow because \"a\"");
        let applied = run(vec![found("arming/slow", 0, 60, "")], &[waiver.clone(), waiver]);
        assert_eq!(rules(&applied.findings), ["house/waiver-stale"]);
        assert_eq!(applied.waived.len(), 1);
    }
}
