//! Order, and one finding where the same is said about several aircraft.

use super::{Choice, Edit, Finding, Mend, Severity, fact, fingerprint};
use crate::source::Place;
use rustc_hash::FxHashMap;
use std::cmp::Reverse;

/// Brings findings into the order in which they are read, merges those that say the same about several aircraft and
/// gives each its fingerprint; `gists_of` gives what each is known by ([`fingerprint::gist`]). The result does not depend
/// on the order they come in.
pub fn gather(findings: Vec<Finding>, gists_of: &dyn Fn(&[Finding]) -> Vec<u64>) -> Vec<Finding> {
    let mut merged = merge(sorted(findings));
    let gists = gists_of(&merged);
    fingerprint::assign(&mut merged, &gists);
    merged
}

/// The worst first, then by place.
fn sorted(findings: Vec<Finding>) -> Vec<Finding> {
    // Numbers are sorted, since findings are large to move.
    let mut order: Vec<usize> = (0..findings.len()).collect();
    order.sort_by(|&left, &right| {
        let (left, right) = (&findings[left], &findings[right]);
        key(left)
            .cmp(&key(right))
            .then_with(|| fact::compare(&left.facts, &right.facts))
            .then_with(|| left.aircraft.cmp(&right.aircraft))
    });
    let mut findings: Vec<Option<Finding>> = findings.into_iter().map(Some).collect();
    order.into_iter().filter_map(|index| findings.get_mut(index)?.take()).collect()
}

fn key(finding: &Finding) -> (Reverse<Severity>, Place, &str, &str) {
    (Reverse(finding.severity), finding.place, finding.rule, finding.key)
}

/// Merges sorted findings that agree in rule, severity, place, key and facts into one that names all their aircraft and
/// other places. Findings of different severity stay apart, so that each aircraft keeps its own verdict; so do those
/// whose mends can't be done together, so that no mend is lost.
fn merge(sorted: Vec<Finding>) -> Vec<Finding> {
    let same = |left: &Finding, right: &Finding| key(left) == key(right) && left.facts == right.facts;
    if !sorted.windows(2).any(|pair| same(&pair[0], &pair[1])) {
        return sorted;
    }
    let mut merged = Vec::with_capacity(sorted.len());
    let mut group: Vec<Finding> = Vec::new();
    for finding in sorted {
        if !group.last().is_none_or(|last| same(last, &finding)) {
            merge_group(&mut group, &mut merged);
        }
        group.push(finding);
    }
    merge_group(&mut group, &mut merged);
    merged
}

/// Merges a group of findings that differ at most in aircraft, other places, witness and mend.
fn merge_group(group: &mut Vec<Finding>, out: &mut Vec<Finding>) {
    if group.len() < 2 {
        out.append(group);
        return;
    }
    // First those whose mends speak alike and whose edits do not collide; what is left over by equal mends.
    let mut by_words: Vec<Vec<Finding>> = Vec::new();
    let mut seen: FxHashMap<Vec<String>, usize> = FxHashMap::default();
    for finding in group.drain(..) {
        let at = *seen.entry(words_of(&finding.mend)).or_insert(by_words.len());
        if at == by_words.len() {
            by_words.push(Vec::new());
        }
        by_words[at].push(finding);
    }
    for alike in by_words {
        match joined_mend(&alike) {
            Some(mend) => out.extend(join(alike).map(|finding| Finding { mend, ..finding })),
            None => {
                let mut by_mend: Vec<Vec<Finding>> = Vec::new();
                let mut seen: FxHashMap<Mend, usize> = FxHashMap::default();
                for finding in alike {
                    let at = *seen.entry(finding.mend.clone()).or_insert(by_mend.len());
                    if at == by_mend.len() {
                        by_mend.push(Vec::new());
                    }
                    by_mend[at].push(finding);
                }
                out.extend(by_mend.into_iter().filter_map(join));
            }
        }
    }
}

/// What a mend says, without its edits.
fn words_of(mend: &Mend) -> Vec<String> {
    match mend {
        Mend::Words(text) => vec!["words".to_owned(), text.clone()],
        Mend::Sure(choice) => vec!["sure".to_owned(), choice.label.clone()],
        Mend::Choices(text, choices) => {
            ["choices", text].into_iter().map(str::to_owned).chain(choices.iter().map(|c| c.label.clone())).collect()
        }
    }
}

/// One mend that does what all of them do; none if two of their edits collide. All of them say the same words.
fn joined_mend(alike: &[Finding]) -> Option<Mend> {
    match &alike.first()?.mend {
        Mend::Words(text) => Some(Mend::Words(text.clone())),
        Mend::Sure(first) => {
            let edits = alike.iter().filter_map(|finding| match &finding.mend {
                Mend::Sure(choice) => Some(choice.edits.as_slice()),
                _ => None,
            });
            Some(Mend::Sure(Choice { label: first.label.clone(), edits: joined_edits(edits)? }))
        }
        Mend::Choices(text, first) => {
            let choices = first.iter().enumerate().map(|(at, choice)| {
                let edits = alike.iter().filter_map(|finding| match &finding.mend {
                    Mend::Choices(_, choices) => choices.get(at).map(|choice| choice.edits.as_slice()),
                    _ => None,
                });
                Some(Choice { label: choice.label.clone(), edits: joined_edits(edits)? })
            });
            Some(Mend::Choices(text.clone(), choices.collect::<Option<_>>()?))
        }
    }
}

/// All edits, each once, in place order; none if two different ones touch the same bytes or insert at one place.
fn joined_edits<'f>(lists: impl Iterator<Item = &'f [Edit]>) -> Option<Vec<Edit>> {
    let mut edits: Vec<Edit> = lists.flatten().cloned().collect();
    edits.sort_by(|left, right| (left.place, &left.text).cmp(&(right.place, &right.text)));
    edits.dedup();
    let apart = edits.windows(2).all(|pair| {
        let (before, after) = (pair[0].place, pair[1].place);
        before.file != after.file || (before.span.end <= after.span.start && before.span != after.span)
    });
    apart.then_some(edits)
}

/// The first finding with the aircraft and other places of all.
fn join(alike: Vec<Finding>) -> Option<Finding> {
    let mut rest = alike.into_iter();
    let mut joined = rest.next()?;
    for finding in rest {
        joined.aircraft.extend(finding.aircraft);
        joined.others.extend(finding.others);
        joined.witness = joined.witness.or(finding.witness);
        joined.reached = joined.reached.or(finding.reached);
    }
    joined.aircraft.sort();
    joined.aircraft.dedup();
    joined.others.sort();
    joined.others.dedup();
    Some(joined)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{edit, finding};
    use super::*;

    fn of(rule: &'static str, severity: Severity, at: u32, aircraft: &str) -> Finding {
        Finding { severity, aircraft: vec![aircraft.into()], ..finding(rule, 0, at, "the same") }
    }

    fn gathered(findings: Vec<Finding>) -> Vec<Finding> {
        gather(findings, &|all| all.iter().map(|finding| fingerprint::gist(finding, "")).collect())
    }

    #[test]
    fn worst_first_then_by_place() {
        use Severity::{Caution, Danger, Fault, Note};
        let found = gathered(vec![
            of("channels/unused", Note, 1, "a"),
            of("arming/slow", Caution, 9, "a"),
            of("arming/always", Danger, 7, "a"),
            of("arming/slow", Caution, 2, "a"),
            of("format/unit", Fault, 90, "a"),
            of("arming/never", Caution, 2, "a"),
        ]);
        let order: Vec<_> = found.iter().map(|f| (f.rule, f.place.span.start)).collect();
        let wanted = [
            ("format/unit", 90),
            ("arming/always", 7),
            ("arming/never", 2),
            ("arming/slow", 2),
            ("arming/slow", 9),
            ("channels/unused", 1),
        ];
        assert_eq!(order, wanted);
    }

    #[test]
    fn the_same_about_several_aircraft_is_said_once() {
        let with_other = |aircraft, at| {
            let other = (finding("", 2, at, "").place, "this aircraft".to_owned());
            Finding { others: vec![other], ..of("modes/stuck", Severity::Caution, 5, aircraft) }
        };
        let found = gathered(vec![with_other("plover", 40), with_other("dunlin", 20), with_other("dunlin", 20)]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].aircraft, ["dunlin", "plover"]);
        assert_eq!(found[0].others.iter().map(|(place, _)| place.span.start).collect::<Vec<_>>(), [20, 40]);
    }

    #[test]
    fn another_severity_place_or_fact_stays_apart() {
        let base = of("modes/stuck", Severity::Caution, 5, "dunlin");
        for other in [
            of("modes/stuck", Severity::Danger, 5, "knot"),
            of("modes/stuck", Severity::Caution, 6, "knot"),
            of("modes/clash", Severity::Caution, 5, "knot"),
            Finding { key: "another", ..base.clone() },
            Finding { facts: vec![fact::channel(7)], ..base.clone() },
        ] {
            assert_eq!(gathered(vec![base.clone(), other.clone()]).len(), 2, "{other:?}");
        }
    }

    #[test]
    fn sure_mends_are_joined_unless_their_edits_collide() {
        let sure = |aircraft, at, text| {
            let choice = Choice { label: "lower it".to_owned(), edits: vec![edit(0, at, at + 4, text)] };
            Finding { mend: Mend::Sure(choice), ..of("throttle/too-high", Severity::Caution, 5, aircraft) }
        };
        let found = gathered(vec![sure("knot", 30, "x"), sure("dunlin", 10, "x"), sure("plover", 30, "x")]);
        assert_eq!(found.len(), 1);
        let Mend::Sure(choice) = &found[0].mend else { panic!("{found:?}") };
        assert_eq!(choice.edits, [edit(0, 10, 14, "x"), edit(0, 30, 34, "x")]);

        let found = gathered(vec![sure("knot", 30, "x"), sure("dunlin", 32, "y"), sure("plover", 30, "x")]);
        assert_eq!(found.iter().map(|f| f.aircraft.len()).collect::<Vec<_>>(), [1, 2]);
    }

    #[test]
    fn choices_are_joined_one_by_one() {
        let choose = |aircraft, at| {
            let choice = |label: &str| Choice { label: label.to_owned(), edits: vec![edit(0, at, at, label)] };
            let mend = Mend::Choices("give it a number".to_owned(), vec![choice("5"), choice("6")]);
            Finding { mend, ..of("receiver/number-differs", Severity::Caution, 5, aircraft) }
        };
        let found = gathered(vec![choose("knot", 30), choose("dunlin", 10)]);
        let [Finding { mend: Mend::Choices(_, choices), .. }] = &found[..] else { panic!("{found:?}") };
        assert_eq!(choices[1].edits, [edit(0, 10, 10, "6"), edit(0, 30, 30, "6")]);
    }

    #[test]
    fn the_order_that_findings_come_in_does_not_matter() {
        let findings: Vec<_> = (0..40)
            .map(|n| of("modes/stuck", Severity::Caution, n % 4, ["dunlin", "knot", "plover"][n as usize % 3]))
            .collect();
        let mut turned = findings.clone();
        turned.reverse();
        assert_eq!(gathered(findings), gathered(turned));
    }
}
