//! The texts while they are mended.

use super::super::near::Faults;
use super::super::ready::{Refusal, ready};
use super::super::splice::{Change, back, splice};
use super::verdict::{Bad, Careful, Key, Pick, Rejected, judge, key};
use super::{Asked, Done, How, Left, Mended, Warning, Why};
use crate::findings::outcome::Outcome;
use crate::findings::{Finding, Mend, RuleId};
use crate::fleet;
use crate::source::{FileId, Place, Span};
use crate::syntax::{Tables, parse};
use rustc_hash::{FxHashMap, FxHashSet, FxHasher};
use std::collections::{BTreeMap, BTreeSet};
use std::hash::{Hash, Hasher};
use std::sync::Arc;

pub(super) struct State {
    texts: Vec<Vec<u8>>,
    pub(super) outcome: Arc<Outcome>,
    done: Vec<Done>,
    /// What was found at first.
    first: Arc<Outcome>,
    /// By what the findings that were mended are known.
    mended: FxHashSet<Key>,
    /// The changes of each round, by file, to find places in the first texts again.
    trails: Vec<Vec<Vec<Change>>>,
    /// The states of the texts that were there already, so that two mends can't undo each other for ever.
    seen: FxHashSet<u64>,
    refused: FxHashMap<Key, Why>,
    /// How many rounds were not kept.
    trials: usize,
    /// The tables and faults of the files that edits touch, as they are now.
    faults: FxHashMap<FileId, (Tables, Faults)>,
}

/// More rounds than this are not tried in vain. Only a large fleet in which hundreds of mends stand in each other's way
/// comes so far; what is then left is told.
const MOST_TRIALS: usize = 100;

/// So many first choices that are left to the pilot are tried, to say what they would bring.
const MOST_TRIED: usize = 24;

/// So many aircraft are judged again for that: a try may judge all of them.
const MOST_JUDGED: usize = 1_000;

/// The lines that a round's mends touch, by file; no two of them overlap.
type Taken = FxHashMap<FileId, BTreeSet<Span>>;

/// The changes of a round, by file.
type Changes = BTreeMap<FileId, Vec<Change>>;

impl State {
    pub(super) fn new(texts: Vec<Vec<u8>>, look: &mut dyn FnMut(&[Vec<u8>]) -> Arc<Outcome>) -> Self {
        let outcome = look(&texts);
        Self {
            trails: vec![Vec::new(); texts.len()],
            seen: FxHashSet::from_iter([digest(&texts)]),
            texts,
            first: Arc::clone(&outcome),
            outcome,
            done: Vec::new(),
            mended: FxHashSet::default(),
            refused: FxHashMap::default(),
            trials: 0,
            faults: FxHashMap::default(),
        }
    }

    /// The mends of the wanted findings of which `choose` takes a choice, but for those that are refused.
    pub(super) fn picks(
        &self,
        wanted: &dyn Fn(&Finding) -> bool,
        choose: impl Fn(&Mend) -> Option<usize>,
    ) -> Vec<Pick> {
        let open = self.outcome.findings.iter().filter(|finding| !self.refused.contains_key(&key(finding)));
        let picks = open.filter(|finding| wanted(finding)).filter_map(|finding| {
            let choice = match &finding.mend {
                Mend::Words(_) => None,
                Mend::Sure(choice) => choose(&finding.mend).map(|_| choice),
                Mend::Choices(_, choices) => choices.get(choose(&finding.mend)?),
            };
            choice.map(|choice| Pick::new(finding, choice))
        });
        picks.collect()
    }

    /// The first finding that the pilot has to be asked about, with a first choice that can be done.
    pub(super) fn next_question(&mut self, wanted: &dyn Fn(&Finding) -> bool, left: &FxHashSet<Key>) -> Option<usize> {
        for index in 0..self.outcome.findings.len() {
            let finding = &self.outcome.findings[index];
            let open = !left.contains(&key(finding)) && !self.refused.contains_key(&key(finding)) && wanted(finding);
            let Some(choice) = (match &finding.mend {
                Mend::Choices(_, choices) if open => choices.first(),
                _ => None,
            }) else {
                continue;
            };
            let pick = Pick::new(finding, choice);
            match self.ready(&pick) {
                Ok(_) => return Some(index),
                Err(why) => {
                    self.refused.insert(pick.key, why);
                }
            }
        }
        None
    }

    /// Asks the pilot about a finding and does what is chosen. Where that would bring a danger, it is asked about again.
    pub(super) fn question(
        &mut self,
        index: usize,
        ask: &mut dyn FnMut(&Asked<'_>) -> Option<usize>,
        look: &mut dyn FnMut(&[Vec<u8>]) -> Arc<Outcome>,
    ) {
        let finding = &self.outcome.findings[index];
        let Mend::Choices(words, choices) = &finding.mend else { return };
        let asked = Asked { finding, words, choices, texts: &self.texts, warning: None };
        let Some(choice) = ask(&asked).and_then(|answer| choices.get(answer)) else { return };
        let pick = Pick::new(finding, choice);
        if self.round(vec![pick.clone()], Careful::Always, look)
            && let Some(Why::Danger(danger)) = self.refused.get(&pick.key)
        {
            let danger = danger.clone();
            self.refused.remove(&pick.key);
            let finding = &self.outcome.findings[index];
            let choices = std::slice::from_ref(&pick.choice);
            let asked = Asked { finding, words: "", choices, texts: &self.texts, warning: Some(&danger) };
            if ask(&asked).is_some() {
                self.round(vec![pick], Careful::Told, look);
            }
        }
    }

    /// Does as many of the mends as can be done at once. Whether any was, or was refused after a trial.
    pub(super) fn round(
        &mut self,
        picks: Vec<Pick>,
        careful: Careful,
        look: &mut dyn FnMut(&[Vec<u8>]) -> Arc<Outcome>,
    ) -> bool {
        let mut round: Vec<(Pick, Changes)> = Vec::new();
        let mut taken: Taken = FxHashMap::default();
        for pick in picks {
            match self.ready(&pick) {
                Ok(changes) if self.is_apart(&changes, &taken) => {
                    for (file, changes) in &changes {
                        let lines = changes.iter().map(|change| self.lines_of(*file, change));
                        taken.entry(*file).or_default().extend(lines);
                    }
                    round.push((pick, changes));
                }
                // It touches lines of another mend, and waits for the next round.
                Ok(_) => {}
                Err(why) => {
                    self.refused.insert(pick.key, why);
                }
            }
        }
        while !round.is_empty() {
            let Err(Rejected { bad, blamed, certain }) = self.attempt(&round, careful, look) else { return true };
            self.trials += 1;
            let alike = |pick: &Pick| (pick.key.0, &pick.choice.label) == (round[0].0.key.0, &round[0].0.choice.label);
            let all = blamed.len() == round.len();
            if self.trials > MOST_TRIALS
                || (all && (certain || round.len() == 1) && round.iter().all(|(pick, _)| alike(pick)))
            {
                // One alone, or the same said for each of several: it is not done.
                let why = match bad {
                    _ if self.trials > MOST_TRIALS => Why::Unsettled,
                    Bad::Danger(_, danger) => Why::Danger(danger),
                    Bad::Other(why) => Why::Refused(why),
                };
                self.refused.extend(round.iter().map(|(pick, _)| (pick.key, why.clone())));
                return true;
            }
            if all && !round.iter().all(|(pick, _)| alike(pick)) {
                let like = round[0].0.clone();
                round.retain(|(pick, _)| (pick.key.0, &pick.choice.label) == (like.key.0, &like.choice.label));
            } else if all {
                round.truncate(round.len().div_ceil(2));
            } else {
                // Those that are not to blame are done now, and the others on their own afterwards.
                let mut number = 0..;
                round.retain(|_| number.next().is_some_and(|number| blamed.binary_search(&number).is_err()));
            }
        }
        false
    }

    /// Does a round and keeps it if it is good.
    fn attempt(
        &mut self,
        round: &[(Pick, Changes)],
        careful: Careful,
        look: &mut dyn FnMut(&[Vec<u8>]) -> Arc<Outcome>,
    ) -> Result<(), Rejected> {
        let mut all: Changes = BTreeMap::new();
        for (file, changes) in round.iter().flat_map(|(_, changes)| changes) {
            all.entry(*file).or_default().extend(changes.iter().cloned());
        }
        let mut before: Vec<(FileId, Vec<u8>)> = Vec::new();
        for (file, changes) in &mut all {
            changes.sort();
            let text = &mut self.texts[file.0 as usize];
            before.push((*file, std::mem::replace(text, splice(text, changes))));
        }
        let state = digest(&self.texts);
        let verdict = if self.seen.contains(&state) {
            let bad = Bad::Other("it would undo another mend".to_owned());
            Err(Rejected { bad, blamed: (0..round.len()).collect(), certain: false })
        } else {
            let outcome = look(&self.texts);
            let picks: Vec<Pick> = round.iter().map(|(pick, _)| self.with_lines(pick, &before, &all)).collect();
            let picks: Vec<&Pick> = picks.iter().collect();
            judge(&self.outcome, &picks, careful, &outcome).map(|()| outcome)
        };
        match verdict {
            Ok(outcome) => {
                for (pick, changes) in round {
                    let place = Place::new(pick.place.file, self.first_place(pick.place));
                    let files = changes.keys().copied().collect();
                    self.mended.insert(pick.key);
                    self.done.push(Done { rule: pick.key.0, place, label: pick.choice.label.clone(), files });
                }
                let lines = self.changed_lines(&all);
                for (file, changes) in all {
                    self.trails[file.0 as usize].push(changes);
                }
                self.outcome = outcome;
                self.seen.insert(state);
                self.faults.clear();
                // What stood in the way of a mend may be gone: a fault, or what else its lines said.
                let findings = self.outcome.findings.iter();
                let is_in =
                    |place: &Place| lines.iter().any(|line| line.file == place.file && line.span.holds(place.span));
                let hangs =
                    |finding: &Finding| is_in(&finding.place) || finding.mend.edits().any(|edit| is_in(&edit.place));
                let changed = findings.filter(|finding| hangs(finding));
                let changed: FxHashSet<Key> = changed.map(key).collect();
                self.refused.retain(|key, why| match why {
                    Why::Fault(_) => false,
                    Why::Unsettled => true,
                    _ => !changed.contains(key),
                });
                Ok(())
            }
            Err(why) => {
                for (file, text) in before {
                    self.texts[file.0 as usize] = text;
                }
                Err(why)
            }
        }
    }

    /// The dangers that choices of the wanted findings would bring, as far as they are tried.
    pub(super) fn warnings(
        mut self,
        wanted: &dyn Fn(&Finding) -> bool,
        look: &mut dyn FnMut(&[Vec<u8>]) -> Arc<Outcome>,
    ) -> Vec<Warning> {
        let (mut warnings, mut left) = (Vec::new(), self.most_tried());
        for finding in 0..self.outcome.findings.len() {
            let found = &self.outcome.findings[finding];
            let Mend::Choices(_, choices) = &found.mend else { continue };
            if !wanted(found) {
                continue;
            }
            let picks: Vec<Pick> = choices.iter().map(|choice| Pick::new(found, choice)).collect();
            for (choice, pick) in picks.iter().enumerate() {
                let Ok(changes) = self.ready(pick) else { continue };
                if left == 0 {
                    return warnings;
                }
                left -= 1;
                if let Some((rule, _)) = self.try_out(pick, &changes, look) {
                    warnings.push(Warning { finding, choice, rule });
                }
            }
        }
        warnings
    }

    /// How many choices may be tried. Each try may judge every aircraft again.
    fn most_tried(&self) -> usize {
        MOST_TRIED.min(MOST_JUDGED / self.outcome.aircraft.len().max(1))
    }

    /// The danger that a mend would bring, with its rule and in words, if it were done; it is not.
    fn try_out(
        &mut self,
        pick: &Pick,
        changes: &Changes,
        look: &mut dyn FnMut(&[Vec<u8>]) -> Arc<Outcome>,
    ) -> Option<(RuleId, String)> {
        let mut texts = self.texts.clone();
        for (file, changes) in changes {
            let text = texts.get_mut(file.0 as usize)?;
            *text = splice(text, changes);
        }
        let outcome = look(&texts);
        match judge(&self.outcome, &[pick], Careful::Always, &outcome) {
            Err(Rejected { bad: Bad::Danger(rule, danger), .. }) => Some((rule, danger)),
            _ => None,
        }
    }

    /// What was found at first, was wanted, and is gone with the mends of other findings.
    fn gone(&self, wanted: &dyn Fn(&Finding) -> bool) -> Vec<(RuleId, Place)> {
        let stays = |finding: &Finding| {
            self.outcome.findings.iter().any(|now| now.rule == finding.rule && now.aircraft == finding.aircraft)
        };
        let gone = self.first.findings.iter().filter(|finding| wanted(finding));
        let gone = gone.filter(|finding| !self.mended.contains(&key(finding)) && !stays(finding));
        gone.map(|finding| (finding.rule, finding.place)).collect()
    }

    /// A mend with the lines that it touches in the file of its finding, before the round and after it.
    fn with_lines(&self, pick: &Pick, before: &[(FileId, Vec<u8>)], all: &Changes) -> Pick {
        use super::super::lines::{line_end, line_start};
        let file = pick.place.file;
        let Some((_, text)) = before.iter().find(|(changed, _)| *changed == file) else { return pick.clone() };
        let edits = pick.choice.edits.iter().filter(|edit| edit.place.file == file);
        let whole = edits.fold(pick.place.span, |whole, edit| whole.to(edit.place.span));
        let lines = Span::new(line_start(text, whole.start), line_end(text, whole.end));
        let changes = all.get(&file).map(Vec::as_slice).unwrap_or_default();
        let grown = |until: u32| {
            let ahead = changes.iter().take_while(|change| change.span.end <= until);
            ahead.map(|change| change.text.len() as i64 - i64::from(change.span.end - change.span.start)).sum::<i64>()
        };
        let moved = |at: u32, grown: i64| u32::try_from(i64::from(at) + grown).unwrap_or_default();
        let start = lines.start.checked_sub(1).map_or(0, grown);
        let after = Span::new(moved(lines.start, start), moved(lines.end, grown(lines.end)));
        Pick { lines: (lines, after), ..pick.clone() }
    }

    /// The changes of a mend, by file.
    fn ready(&mut self, pick: &Pick) -> Result<Changes, Why> {
        let mut by_file: BTreeMap<FileId, Vec<(Span, &str)>> = BTreeMap::new();
        for edit in &pick.choice.edits {
            by_file.entry(edit.place.file).or_default().push((edit.place.span, &edit.text));
        }
        let mut changes = Changes::new();
        for (file, edits) in by_file {
            let Some(text) = self.texts.get(file.0 as usize) else {
                return Err(Why::Refused("the edit is in a file that is no rig file".to_owned()));
            };
            let findings = &self.outcome.findings;
            let (tables, faults) = self.faults.entry(file).or_insert_with(|| {
                let mut tables = Tables::default();
                parse(text, fleet::table::vocabulary, &mut tables);
                let faults = Faults::of(file, &tables, findings);
                (tables, faults)
            });
            let own = (pick.fault && pick.place.file == file).then_some(pick.place.span);
            if let Some(fault) = edits.iter().find_map(|(span, _)| faults.near(*span, own)) {
                return Err(Why::Fault(Place::new(file, fault)));
            }
            let ready = ready(text, tables, &edits).map_err(|refusal| Why::Refused(in_words(refusal)))?;
            if !ready.is_empty() {
                changes.insert(file, ready);
            }
        }
        if changes.is_empty() { Err(Why::Refused("it changes nothing".to_owned())) } else { Ok(changes) }
    }

    /// Whether none of the lines that changes touch is taken.
    fn is_apart(&self, changes: &Changes, taken: &Taken) -> bool {
        changes.iter().all(|(file, changes)| {
            let Some(taken) = taken.get(file) else { return true };
            changes.iter().all(|change| {
                let own = self.lines_of(*file, change);
                let before = taken.range(..own).next_back();
                let after = taken.range(own..).next();
                before.is_none_or(|before| before.end <= own.start)
                    && after.is_none_or(|after| *after != own && own.end <= after.start)
            })
        })
    }

    /// The lines that a round changed, in the texts as they are after it.
    fn changed_lines(&self, all: &Changes) -> Vec<Place> {
        use super::super::lines::{line_end, line_start};
        let mut lines = Vec::new();
        for (file, changes) in all {
            let text = self.texts.get(file.0 as usize).map(Vec::as_slice).unwrap_or_default();
            let mut grown = 0i64;
            for change in changes {
                let start = u32::try_from(i64::from(change.span.start) + grown).unwrap_or_default();
                let end = start + change.text.len() as u32;
                grown += change.text.len() as i64 - i64::from(change.span.end - change.span.start);
                lines.push(Place::new(*file, Span::new(line_start(text, start), line_end(text, end))));
            }
        }
        lines
    }

    /// The lines that a change touches; a new line of its own touches only the place between two.
    fn lines_of(&self, file: FileId, change: &Change) -> Span {
        use super::super::lines::{line_end, line_start};
        let text = self.texts.get(file.0 as usize).map(Vec::as_slice).unwrap_or_default();
        let start = line_start(text, change.span.start);
        if change.span.start == change.span.end && start == change.span.start && change.text.ends_with('\n') {
            return change.span;
        }
        let whole_lines = change.span.end > start && text.get(change.span.end as usize - 1) == Some(&b'\n');
        Span::new(start, if whole_lines { change.span.end } else { line_end(text, change.span.end) })
    }

    /// A place of the texts as they are now, in the texts as they were at first.
    fn first_place(&self, place: Place) -> Span {
        let trail = self.trails.get(place.file.0 as usize).map(Vec::as_slice).unwrap_or_default();
        let to_first = |at| trail.iter().rev().fold(at, |at, changes| back(changes, at));
        let start = to_first(place.span.start);
        Span::new(start, to_first(place.span.end).max(start))
    }

    pub(super) fn finish(
        mut self,
        wanted: &dyn Fn(&Finding) -> bool,
        how: &How<'_>,
        answered: &FxHashSet<Key>,
        settled: bool,
        look: &mut dyn FnMut(&[Vec<u8>]) -> Arc<Outcome>,
    ) -> Mended {
        let (mut left, mut tried) = (Vec::new(), 0);
        let most = self.most_tried();
        for index in 0..self.outcome.findings.len() {
            let finding = &self.outcome.findings[index];
            if !wanted(finding) {
                continue;
            }
            let key = key(finding);
            let why = match (&finding.mend, self.refused.get(&key)) {
                (Mend::Words(words), _) => Why::Words(words.clone()),
                (_, Some(why)) => why.clone(),
                (Mend::Choices(words, choices), None) if matches!(how, How::Sure) => {
                    // It is said now what would stand in the way of the choice.
                    let pick = choices.first().map(|choice| Pick::new(finding, choice));
                    let words = words.clone();
                    match pick.map(|pick| (self.ready(&pick), pick)) {
                        Some((Err(why), _)) => why,
                        Some((Ok(changes), pick)) if tried < most => {
                            tried += 1;
                            match self.try_out(&pick, &changes, look) {
                                Some((_, danger)) => Why::ChoiceBrings(words, danger),
                                None => Why::Choice(words),
                            }
                        }
                        _ => Why::Choice(words),
                    }
                }
                (Mend::Choices(..), None) if answered.contains(&key) => Why::Left,
                (Mend::Choices(words, _), None) if settled => Why::Choice(words.clone()),
                _ => Why::Unsettled,
            };
            let place = self.outcome.findings[index].place;
            let first = Place::new(place.file, self.first_place(place));
            left.push(Left { finding: index, first, why });
        }
        let gone = self.gone(wanted);
        Mended { texts: self.texts, done: self.done, left, gone, outcome: self.outcome }
    }
}

fn in_words(refusal: Refusal) -> String {
    match refusal {
        Refusal::Unfit => "its edits overlap each other in the text".to_owned(),
        Refusal::Waiver(_) => "the comment behind the line would become a waiver".to_owned(),
    }
}

fn digest(texts: &[Vec<u8>]) -> u64 {
    let mut hasher = FxHasher::default();
    texts.hash(&mut hasher);
    hasher.finish()
}
