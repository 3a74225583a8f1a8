//! The rules of the group `format`: what the reading of the description found, as findings.

use super::book;
use crate::findings::{Choice, Edit, Finding, Mend, RuleId, Severity};
use crate::fleet::Fleet;
use crate::fleet::problem::{Problem, ProblemKind};
use crate::source::Place;

/// The rule of a kind of problem.
pub const fn rule(kind: ProblemKind) -> RuleId {
    match kind {
        ProblemKind::Syntax => "format/syntax",
        ProblemKind::UnknownStatement => "format/unknown-statement",
        ProblemKind::MissingStatement => "format/missing-statement",
        ProblemKind::RepeatedStatement => "format/repeated-statement",
        ProblemKind::UnknownName => "format/unknown-name",
        ProblemKind::NameTwice => "format/name-twice",
        ProblemKind::Unit => "format/unit",
        ProblemKind::Range => "format/range",
        ProblemKind::Cycle => "format/cycle",
        ProblemKind::Version => "format/version",
        ProblemKind::TooLarge => "format/too-large",
        ProblemKind::Unreadable => "format/unreadable",
    }
}

/// A problem as a finding. It concerns the aircraft of the model or craft that it makes unclear; in a place, link or
/// handset it concerns those that use it.
pub(super) fn finding(problem: &Problem, fleet: &Fleet) -> Option<Finding> {
    let doc = book::find(rule(problem.kind))?;
    let edit = |span, text: &str| Edit { place: Place::new(problem.place.file, span), text: text.to_owned() };
    let choices: Vec<Choice> = problem
        .repairs
        .iter()
        .map(|repair| Choice { label: repair.label.clone(), edits: vec![edit(repair.span, &repair.text)] })
        .collect();
    let mend = match choices.is_empty() {
        true => Mend::Words(problem.mend.clone()),
        false => Mend::Choices(problem.mend.clone(), choices),
    };
    Some(Finding {
        rule: doc.id,
        severity: Severity::Fault,
        place: problem.place,
        others: problem.others.clone(),
        message: sentence(&problem.message),
        what_can_happen: None,
        witness: None,
        reached: None,
        mend,
        aircraft: concerned(problem, fleet),
        fingerprint: 0,
    })
}

/// The message as a sentence.
fn sentence(message: &str) -> String {
    let mut characters = message.chars();
    let first = characters.next().map(|first| first.to_uppercase().collect::<String>()).unwrap_or_default();
    format!("{first}{}.", characters.as_str())
}

fn concerned(problem: &Problem, fleet: &Fleet) -> Vec<compact_str::CompactString> {
    let inside = |head: &crate::fleet::equipment::Head| {
        head.file == problem.place.file && head.body.whole.holds(problem.place.span)
    };
    // What stands in a file that could not be read may concern any of them.
    let whole_file =
        matches!(problem.kind, ProblemKind::Unreadable | ProblemKind::TooLarge) || !fleet.heads().any(inside);
    if fleet.unread && whole_file {
        return fleet.crafts.iter().map(|craft| craft.head.name.value.clone()).collect();
    }
    if let Some(model) = fleet.models.iter().find(|model| inside(&model.head)) {
        return model.flies.iter().map(|name| name.value.clone()).collect();
    }
    if let Some(craft) = fleet.crafts.iter().find(|craft| inside(&craft.head)) {
        return vec![craft.head.name.value.clone()];
    }
    let handset = fleet.handsets.iter().find(|handset| inside(&handset.head)).map(|handset| &handset.head.name.value);
    let link = fleet.links.iter().find(|link| inside(&link.head)).map(|link| &link.head.name.value);
    let mut names = Vec::new();
    for model in
        fleet.models.iter().filter(|model| handset.is_some() && model.handset.as_ref().map(|h| &h.value) == handset)
    {
        names.extend(model.flies.iter().map(|name| name.value.clone()));
    }
    for craft in &fleet.crafts {
        let speaks =
            craft.receivers.iter().any(|receiver| link.is_some() && receiver.link.as_ref().map(|l| &l.value) == link);
        if speaks {
            names.push(craft.head.name.value.clone());
        }
    }
    names.sort();
    names.dedup();
    names
}
