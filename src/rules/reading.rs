//! The rules of the group `format`: what the reading of the description found, as findings.

use super::book;
use crate::findings::fact;
use crate::findings::{Choice, Edit, Finding, Mend, RuleId, Severity};
use crate::fleet::blocks::TopBlock;
use crate::fleet::condition::Name;
use crate::fleet::equipment::Head;
use crate::fleet::problem::{Problem, ProblemKind};
use crate::fleet::{FileFleet, Fleet};
use crate::radio::regions::{Domain, RegionCode};
use crate::signal::Reason;
use crate::source::Place;
use compact_str::CompactString;
use rustc_hash::FxHashMap;

/// The rule of a kind of problem.
pub const fn rule(kind: ProblemKind) -> RuleId {
    match kind {
        ProblemKind::Syntax => "format/syntax",
        ProblemKind::UnknownStatement => "format/unknown-statement",
        ProblemKind::MissingStatement => "format/missing-statement",
        ProblemKind::RepeatedStatement => "format/repeated-statement",
        ProblemKind::UnknownName => "format/unknown-name",
        ProblemKind::UnknownWord => "format/unknown-word",
        ProblemKind::NameTwice => "format/name-twice",
        ProblemKind::Unit => "format/unit",
        ProblemKind::Range => "format/range",
        ProblemKind::Cycle => "format/cycle",
        ProblemKind::Version => "format/version",
        ProblemKind::TooLarge => "format/too-large",
        ProblemKind::Unreadable => "format/unreadable",
    }
}

/// Regions and domains of a file whose codes nobody assigned. What the radio rules say hangs on them, and no check of theirs
/// would speak.
pub fn codes(file: &FileFleet) -> Vec<Problem> {
    let mut problems = Vec::new();
    for site in &file.sites {
        if let Some(region) = site.region.as_ref().filter(|region| RegionCode::parse(&region.value).is_none()) {
            problems.push(no_code(&site.head, region, "region", "two capital letters of ISO 3166-1, such as AU"));
        }
    }
    let modules = file
        .handsets
        .iter()
        .flat_map(|handset| handset.modules.iter().filter_map(|module| Some((&handset.head, module.domain.as_ref()?))));
    let receivers = file
        .crafts
        .iter()
        .flat_map(|craft| craft.receivers.iter().filter_map(|receiver| Some((&craft.head, receiver.domain.as_ref()?))));
    for (head, domain) in modules.chain(receivers).filter(|(_, domain)| Domain::parse(&domain.value).is_none()) {
        let accepted = "`any`, or two capital letters of ISO 3166-1, such as AU";
        problems.push(no_code(head, domain, "domain", accepted));
    }
    problems
}

fn no_code(head: &Head, name: &Name, what: &str, accepted: &str) -> Problem {
    // ISO 3166-1 keeps UK free for the United Kingdom, whose code is GB.
    let upper = name.value.to_uppercase();
    let meant = if upper == "UK" { "GB".into() } else { upper };
    let near = RegionCode::parse(&meant).map(|code| code.to_string());
    let message = match &near {
        Some(near) => format!("there is no {what} \"{}\"; the nearest is {near}", name.value),
        None => format!("there is no {what} \"{}\"", name.value),
    };
    let place = head.place(name.span);
    let problem = Problem::new(ProblemKind::UnknownWord, place, message, format!("write {accepted}, or EU"));
    match near {
        Some(near) => problem.repair(format!("write {near}"), name.span, near),
        None => problem,
    }
}

/// A problem as a finding; `seen` is a place by which the fleet finds the block that it stands in. It concerns the aircraft of the model or craft that it makes unclear; in a place, link or
/// handset it concerns those that use it.
pub fn finding(problem: &Problem, concerned: &Concerned<'_>, seen: Place) -> Option<Finding> {
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
        others: problem.others.clone(),
        mend,
        aircraft: concerned.by(problem, seen),
        // What a reader says of a text is its own fact.
        facts: vec![fact::text("text", problem.message.as_str())],
        ..Finding::new(doc.id, Severity::Fault, problem.place, "text", sentence(&problem.message))
    })
}

/// What keeps a signal path, or a part of it, from being put together, as a finding about an aircraft: a limit of the program, or a
/// scale that spans nothing. `None` for what reading tells, and for what is not stated.
pub fn not_put_together(reason: &Reason, place: Place, aircraft: &CompactString) -> Option<Finding> {
    let (kind, mend) = match reason {
        Reason::FlatScale => {
            (ProblemKind::Range, "write how far ±100 % lies from the centre, as the handset's screen shows it")
        }
        Reason::Number => (ProblemKind::TooLarge, "write a number with fewer digits"),
        limit if limit.is_limit() => (ProblemKind::TooLarge, "make it simpler: no handset computes so much"),
        _ => return None,
    };
    let message = reason.to_string();
    Some(Finding {
        mend: Mend::Words(mend.to_owned()),
        aircraft: vec![aircraft.clone()],
        facts: vec![fact::text("text", message.as_str())],
        ..Finding::new(rule(kind), Severity::Fault, place, "text", sentence(&message))
    })
}

/// The message as a sentence.
fn sentence(message: &str) -> String {
    let mut characters = message.chars();
    let first = characters.next().map(|first| first.to_uppercase().collect::<String>()).unwrap_or_default();
    format!("{first}{}.", characters.as_str())
}

/// The aircraft that a problem concerns, by the block that it stands in. What uses a shared block is looked up once.
#[derive(Debug)]
pub struct Concerned<'f> {
    fleet: &'f Fleet,
    by_user: FxHashMap<(Shared, &'f str), Vec<CompactString>>,
}

/// What aircraft share.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
enum Shared {
    Site,
    Link,
    Handset,
}

impl<'f> Concerned<'f> {
    /// Looks up what uses each shared block.
    pub fn new(fleet: &'f Fleet) -> Self {
        let mut by_user: FxHashMap<_, Vec<CompactString>> = FxHashMap::default();
        for model in &fleet.models {
            if let Some(handset) = &model.handset {
                let users = by_user.entry((Shared::Handset, handset.value.as_str())).or_default();
                users.extend(model.flies.iter().map(|name| name.value.clone()));
            }
        }
        for craft in &fleet.crafts {
            let links = craft.receivers.iter().filter_map(|receiver| receiver.link.as_ref());
            let links = links.map(|link| (Shared::Link, link.value.as_str()));
            let site = craft.flown_at.iter().map(|site| (Shared::Site, site.value.as_str()));
            for shared in links.chain(site) {
                by_user.entry(shared).or_default().push(craft.head.name.value.clone());
            }
        }
        for users in by_user.values_mut() {
            users.sort();
            users.dedup();
        }
        Self { fleet, by_user }
    }

    fn by(&self, problem: &Problem, seen: Place) -> Vec<CompactString> {
        let users = |shared, head: &'f Head| self.by_user.get(&(shared, head.name.value.as_str())).cloned();
        let around = self.fleet.around(seen);
        let whole_file = matches!(problem.kind, ProblemKind::Unreadable | ProblemKind::TooLarge) || around.is_none();
        if self.fleet.unread && whole_file {
            // What stands in a file that could not be read may concern any of them.
            return self.fleet.crafts.iter().map(|craft| craft.head.name.value.clone()).collect();
        }
        match around {
            None => Vec::new(),
            Some(TopBlock::Model(model)) => model.flies.iter().map(|name| name.value.clone()).collect(),
            Some(TopBlock::Craft(craft)) => vec![craft.head.name.value.clone()],
            Some(TopBlock::Site(site)) => users(Shared::Site, &site.head).unwrap_or_default(),
            Some(TopBlock::Link(link)) => users(Shared::Link, &link.head).unwrap_or_default(),
            Some(TopBlock::Handset(handset)) => users(Shared::Handset, &handset.head).unwrap_or_default(),
        }
    }
}
