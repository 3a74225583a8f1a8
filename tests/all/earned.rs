//! A rule is clear only where it looked. Each mishap is found by its rule; without any one statement of its files the rule has
//! to find it still, or say that it was not asked, or that it does not apply. Where it is clear then, either the statement was
//! the mistake itself, or `testdata/earned.toml` says why a pilot may read it so.

use crate::patches::{Case, cases};
use crate::statements::{Statement, statements};
use crate::testdata::{self, File, fleet};
use rayon::prelude::*;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use walkaround::findings::coverage::Standing;
use walkaround::findings::grading::Grading;
use walkaround::findings::outcome::Outcome;
use walkaround::fleet::day::Day;
use walkaround::inspect::{Options, Workspace};
use walkaround::rules::book::{self, Asks};

/// Statements without which a rule may be clear, though it found its mistake with them.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Allowed {
    /// The rule.
    rule: String,
    /// The statements, each `block/word`.
    statements: Vec<String>,
    /// Why.
    because: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct List {
    allowed: Vec<Allowed>,
}

/// A rule and the statement without which it is clear.
type Pair = (String, String);

/// A text without a statement.
fn without(text: &[u8], statement: &Statement) -> Vec<u8> {
    let mut rest = text.to_vec();
    statement.blank(&mut rest);
    rest
}

/// Where the lines of a text are that the clean fleet does not have: the mistake.
fn changed(text: &[u8], clean: Option<&[u8]>) -> Vec<(usize, usize)> {
    let known: BTreeSet<&[u8]> = clean.unwrap_or_default().split(|byte| *byte == b'\n').collect();
    let (mut at, mut found) = (0, Vec::new());
    for line in text.split(|byte| *byte == b'\n') {
        if !known.contains(line) {
            found.push((at, at + line.len()));
        }
        at += line.len() + 1;
    }
    found
}

/// How many statements were taken out, and those without which the rule of a case is clear for an aircraft that it found
/// something of, each with where.
fn unearned(case: &Case, clean: &[File]) -> (usize, Vec<(Pair, String)>) {
    let files: Vec<File> = case.patched(clean).unwrap();
    let files: Vec<&File> = files.iter().filter(|(name, _)| name.ends_with(".rig")).collect();
    let mut workspace = Workspace::new();
    workspace.settings(Options {
        today: Some(Day::parse("2027-03-01").unwrap()),
        grading: Grading::new(std::slice::from_ref(&case.rule), &[]).unwrap(),
        ..Options::default()
    });
    for (name, text) in &files {
        workspace.set(name, text.as_slice());
    }
    // Other aircraft than those that were found something of have no say, and go.
    let whole = workspace.outcome();
    let findings = whole.findings.iter().filter(|finding| finding.rule == case.rule);
    let places = findings.flat_map(|finding| finding.others.iter().map(|(place, _)| *place).chain([finding.place]));
    let named: BTreeSet<&String> = places.map(|place| &files[place.file.0 as usize].0).collect();
    let is_shared = |text: &[u8]| !statements(text).iter().any(|one| one.name() == "the file/craft");
    let (kept, gone): (Vec<&File>, Vec<&File>) =
        files.iter().copied().partition(|(name, text)| named.contains(name) || is_shared(text));
    gone.iter().for_each(|(name, _)| workspace.remove(name));
    let whole = workspace.outcome();
    let Some(number) = whole.coverage.rules.iter().position(|rule| *rule == case.rule) else { return (0, Vec::new()) };
    let standing = |outcome: &Outcome, name: &str| outcome.coverage.of(name).map(|row| row.standing(number));
    let names: Vec<String> = whole.aircraft.iter().map(|aircraft| aircraft.name.to_string()).collect();
    let found: Vec<&String> = names.iter().filter(|name| standing(&whole, name) == Some(Standing::Found)).collect();
    if found.is_empty() {
        return (0, Vec::new());
    }
    let (mut count, mut pairs) = (0, Vec::new());
    for (name, text) in kept {
        let clean = clean.iter().find(|(known, _)| known == name).map(|(_, text)| text.as_slice());
        let mistakes = changed(text, clean);
        for statement in statements(text) {
            if mistakes.iter().any(|&(start, end)| start < statement.end && statement.start < end) {
                continue;
            }
            workspace.set(name, without(text, &statement));
            let now = workspace.outcome();
            count += 1;
            for aircraft in &found {
                if standing(&now, aircraft) == Some(Standing::Clear) {
                    let line = text[..statement.start].iter().filter(|byte| **byte == b'\n').count() + 1;
                    let example = format!("{aircraft}, {}, without {name}:{line}", case.name);
                    pairs.push(((case.rule.clone(), statement.name()), example));
                }
            }
        }
        workspace.set(name, text.as_slice());
    }
    (count, pairs)
}

#[test]
fn no_rule_is_clear_for_want_of_a_statement() {
    let clean = fleet("clean");
    let cases: Vec<Case> = cases("mishaps").unwrap();
    let asking = |case: &&Case| {
        let asks = book::find(&case.rule).and_then(|doc| doc.asks);
        asks.is_some_and(|asks| asks != Asks::Text) && case.files.iter().all(|file| file.name.ends_with(".rig"))
    };
    let cases: Vec<&Case> = cases.iter().filter(asking).collect();
    let tried: Vec<_> = cases.par_iter().map(|case| unearned(case, &clean)).collect();
    let count: usize = tried.iter().map(|(count, _)| count).sum();
    let pairs: BTreeMap<Pair, String> = tried.into_iter().flat_map(|(_, pairs)| pairs).collect();
    println!("{count} statements taken out, {} pairs of a rule and a statement without which it is clear", pairs.len());
    assert!(count > 10_000, "only {count} statements were taken out");
    let text = std::fs::read_to_string(testdata::folder().join("earned.toml")).unwrap();
    let list: List = toml::from_str(&text).unwrap();
    assert!(list.allowed.iter().all(|one| !one.because.trim().is_empty()));
    let allowed: BTreeSet<Pair> = list
        .allowed
        .iter()
        .flat_map(|one| one.statements.iter().map(|statement| (one.rule.clone(), statement.clone())))
        .collect();
    let unearned: Vec<_> = pairs.iter().filter(|(pair, _)| !allowed.contains(*pair)).collect();
    assert!(unearned.is_empty(), "clear without a statement, though nothing was looked at: {unearned:#?}");
    let idle: Vec<&Pair> = allowed.iter().filter(|pair| !pairs.contains_key(*pair)).collect();
    assert!(idle.is_empty(), "these are not clear any more: {idle:#?}");
}
