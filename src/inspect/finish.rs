//! From what rules said to what is reported.

use super::ask::Sharing;
use super::words::Words;
use super::{Outcome, Workspace};
use crate::findings::caution::{Caution, cautions};
use crate::findings::coverage::Coverage;
use crate::findings::gather::gather;
use crate::findings::outcome::Waived;
use crate::findings::verdict::{Verdict, verdicts};
use crate::findings::waiver::{Placed, apply};
use crate::findings::{Finding, Mend, RuleId, Severity};
use crate::fleet::day::Day;
use crate::fleet::equipment::Head;
use crate::fleet::model::Model;
use crate::fleet::problem::Problem;
use crate::fleet::words::Grip;
use crate::rules::all::RULES;
use crate::rules::reading::{self, Concerned};
use crate::rules::{book, house};
use crate::setup::{Arms, handset_of};
use crate::source::{FileId, Place, Span};
use rustc_hash::{FxHashMap, FxHashSet};

/// So many findings or more are looked at in one piece of work.
const FINDINGS_OF_A_PIECE: usize = 256;

impl Workspace {
    /// Grades, waives, orders and fingerprints what was found, and gives the verdicts.
    pub(super) fn finish(&self) -> Outcome {
        let asked = || self.files.iter().flat_map(|file| file.subjects.asked());
        let arms: Vec<&Arms> = asked().flat_map(|asked| &asked.arms).collect();
        let said = self.rules.fleet(&self.context(), &arms, &self.sharing());
        let mut findings: Vec<Finding> = asked().flat_map(|asked| &asked.findings).cloned().collect();
        findings.extend(said.findings);
        let undecided = || asked().flat_map(|asked| &asked.undecided).chain(&said.undecided);
        let problems = self.problems();
        if !problems.is_empty() {
            let concerned = Concerned::new(&self.fleet);
            let found = |problem: &Problem| reading::finding(problem, &concerned, self.seen(problem.place));
            findings.extend(problems.iter().filter_map(found));
        }
        findings.extend(self.unreadable_files().chain(self.outside()).map(|fault| match fault.rule {
            // What stands in a file that could not be read may concern any of them.
            "format/unreadable" => Finding { aircraft: self.aircraft.names().cloned().collect(), ..fault },
            _ => fault,
        }));
        let secrets = self.files.iter().flat_map(|file| &file.secrets);
        findings.extend(secrets.map(|place| house::secret_found(place.file, place.span)));
        // A fault that a block has only with what it is like stands beside that block, wherever its line stands.
        let faults = findings.iter().filter(|finding| finding.severity == Severity::Fault);
        let faulty: FxHashSet<FileId> = faults.map(|fault| fault.place.file).collect();
        self.lead_to_written(&mut findings);
        self.options.grading.apply(&mut findings);
        // By the header of their block; what is not decided in a block that is like another is not in that one either.
        let blocks_of = |place: Place| [self.block_of(place), self.block_of(self.as_written(place))];
        let open: FxHashSet<(RuleId, Place)> =
            undecided().flat_map(|&(rule, place)| blocks_of(place).map(|block| (rule, block))).collect();
        // A rule may be silent because of a fault elsewhere: in the handset, in an aircraft, in a file that was not read.
        let clear = problems.is_empty() && !self.fleet.unread;
        let decided = |rule: RuleId, place: Place| {
            // A page of the book whose rule nobody asks yet has not been decided anywhere.
            (RULES.iter().any(|known| known.id == rule) || rule.starts_with("format/") || rule.starts_with("house/"))
                && self.options.grading.asks(rule)
                && clear
                && !open.contains(&(rule, self.block_of(place)))
        };
        let (mut findings, waived) = self.waive(findings, &decided);
        self.options.grading.apply(&mut findings);
        if let Some(reword) = self.options.reword {
            findings.iter_mut().for_each(|finding| finding.message = reword(finding));
        }
        let mut split = self.options.known.split(gather(findings, &|findings| self.gists(findings)));
        let in_one_hand = self.in_one_hand();
        for finding in split.findings.iter_mut().chain(&mut split.known) {
            finding.cautions = cautions(finding.aircraft.iter().filter_map(|name| self.fleet.craft(name)));
            let is_pistol = !finding.aircraft.is_empty()
                && finding.aircraft.iter().all(|name| in_one_hand.get(name.as_str()) == Some(&true));
            finding.grip = if is_pistol { Grip::Pistol } else { Grip::Sticks };
        }
        let decided = !split.findings.iter().any(|finding| finding.severity == Severity::Fault);
        let answered = |rule: &str| {
            decided && self.options.grading.asks(rule) && undecided().all(|(undecided, _)| *undecided != rule)
        };
        let unmatched = split
            .unmatched
            .iter()
            .map(|&number| (number, self.options.known.entries.get(number).is_some_and(|entry| answered(&entry.rule))));
        let unmatched = unmatched.collect();
        let coverage = self.coverage(said.coverage);
        let unearned = self.unearned(faulty, &split.findings, &waived, coverage.filtered);
        let mut aircraft = verdicts(self.aircraft.names(), &split.findings, &split.known, &unearned);
        for verdict in &mut aircraft {
            verdict.caution = self.fleet.craft(&verdict.name).map_or_else(Caution::default, Caution::of);
        }
        self.lead_back(&mut split.findings);
        self.lead_back(&mut split.known);
        let led_back = |one: &Waived| Waived { place: self.in_json(one.place).unwrap_or(one.place), ..one.clone() };
        let waived = waived.iter().map(led_back).collect();
        Outcome { findings: split.findings, aircraft, waived, known: split.known, unmatched, coverage }
    }

    /// The aircraft that are flown with a pistol grip, and whether with nothing else.
    fn in_one_hand(&self) -> FxHashMap<&str, bool> {
        let mut found = FxHashMap::default();
        let is_pistol = |model: &Model| handset_of(&self.fleet, model).is_some_and(|it| it.grip() == Grip::Pistol);
        if self.fleet.handsets.iter().any(|handset| handset.grip() == Grip::Pistol) {
            for model in &self.fleet.models {
                let is_pistol = is_pistol(model);
                for name in &model.flies {
                    *found.entry(name.value.as_str()).or_insert(true) &= is_pistol;
                }
            }
        }
        found
    }

    /// The models that share something with another.
    fn sharing(&self) -> Sharing<'_> {
        let kept = self.files.iter().flat_map(|file| &file.subjects.models);
        let mut first: FxHashMap<(usize, u64), usize> = FxHashMap::default();
        let mut sharing: FxHashMap<usize, Vec<usize>> = FxHashMap::default();
        for (at, asked) in kept.enumerate() {
            for share in asked.iter().flat_map(|asked| &asked.shares) {
                let known = *first.entry(*share).or_insert(at);
                if known != at {
                    sharing.entry(share.0).or_default().extend([known, at]);
                }
            }
        }
        let models = sharing.into_iter().map(|(rule, mut models)| {
            models.sort_unstable();
            models.dedup();
            (rule, models.into_iter().filter_map(|at| self.fleet.models.get(at)).collect())
        });
        models.collect()
    }

    /// How the rules ended for each aircraft, with what was found about the fleet as a whole.
    fn coverage(&self, mut fleet: Coverage) -> Coverage {
        fleet.each_place(&mut |place| *place = self.as_given(*place));
        let mut coverage = self.aircraft.coverage();
        coverage.add(&fleet);
        coverage.rules = self.rules.names();
        coverage.filtered = coverage.rules.len() < RULES.len();
        coverage
    }

    /// The word for an aircraft of which it would say too much that nothing was found.
    fn unearned<'f>(
        &self,
        mut faulty: FxHashSet<FileId>,
        findings: &[Finding],
        waived: &'f [Waived],
        filtered: bool,
    ) -> impl Fn(&str) -> Option<Verdict> + use<'_, 'f> {
        let about_waivers =
            |finding: &&Finding| finding.severity == Severity::Fault && !finding.rule.starts_with("format/");
        faulty.extend(findings.iter().filter(about_waivers).map(|fault| fault.place.file));
        if !faulty.is_empty() {
            let heirs = (0..).map(FileId).zip(&self.files).filter_map(|(file, one)| Some((file, one.heirs.as_ref()?)));
            let like = heirs.filter(|(_, heirs)| heirs.spelt.files().any(|file| faulty.contains(&file)));
            let like: Vec<FileId> = like.map(|(file, _)| file).collect();
            faulty.extend(like);
        }
        let mut beside: FxHashSet<&str> = FxHashSet::default();
        if !faulty.is_empty() {
            let crafts = self.fleet.crafts.iter().filter(|craft| faulty.contains(&craft.head.file));
            beside.extend(crafts.map(|craft| craft.head.name.value.as_str()));
            let models = self.fleet.models.iter().filter(|model| faulty.contains(&model.head.file));
            beside.extend(models.flat_map(|model| &model.flies).map(|name| name.value.as_str()));
        }
        let waived: FxHashSet<&str> = waived.iter().flat_map(|waived| &waived.aircraft).map(|name| &**name).collect();
        move |name| match self.aircraft.of(name)? {
            _ if beside.contains(name) => Some(Verdict::FaultBeside),
            known if !known.flown => Some(Verdict::NotFlown),
            known if !known.sent => Some(Verdict::NoModule),
            _ if waived.contains(name) => Some(Verdict::Waived),
            _ if filtered => Some(Verdict::NothingOfThese),
            _ => None,
        }
    }

    /// What could not be understood, in all files and between them.
    pub fn problems(&self) -> Vec<Problem> {
        let mut problems: Vec<Problem> = self.files.iter().flat_map(|file| &file.problems).cloned().collect();
        problems.extend(self.fleet.twice());
        // Blocks of which it is known that there is something to say: guesses at names that nobody defines are made in the
        // order of all of them, since there is an end to how many are made.
        let mut unsound: FxHashSet<Place> = FxHashSet::default();
        for (number, file) in self.files.iter().enumerate() {
            if file.subjects.asked().all(|asked| asked.is_sound) {
                continue;
            }
            let (file, number) = (&file.subjects, FileId(number as u32));
            let handsets = self.fleet.handsets_of(number).iter().map(|handset| &handset.head).zip(&file.handsets);
            let crafts = self.fleet.crafts_of(number).iter().map(|craft| &craft.head).zip(&file.crafts);
            let models = self.fleet.models_of(number).iter().map(|model| &model.head).zip(&file.models);
            let all = handsets.chain(crafts).chain(models);
            let known = all.filter(|(_, asked)| asked.as_ref().is_none_or(|asked| !asked.is_sound));
            unsound.extend(known.map(|(head, _)| head.place(head.header)));
        }
        if !unsound.is_empty() || self.files.iter().any(|file| file.heirs.is_some()) {
            problems.extend(self.fleet.check_some(&|head: &Head| unsound.contains(&head.place(head.header))));
        }
        self.each_once(problems)
    }

    /// Where something is not understood in the texts that were read, each place in the text as it was given; of names that nobody
    /// defines only those in blocks of files that are `wanted`. No rule has to be asked for that: an editor looks here before it
    /// offers a change.
    pub fn not_understood(&self, wanted: &dyn Fn(FileId) -> bool) -> Vec<Place> {
        let mut problems: Vec<Problem> = self.files.iter().flat_map(|file| &file.problems).cloned().collect();
        problems.extend(self.fleet.twice());
        problems.extend(self.fleet.check_some(&|head: &Head| wanted(head.file)));
        self.each_once(problems).iter().map(|problem| self.as_given(problem.place)).collect()
    }

    /// Leaves out what was told of the block that another is like.
    fn each_once(&self, mut problems: Vec<Problem>) -> Vec<Problem> {
        // What a block says was told there; of one that is like it only what is wrong in it alone.
        let key = |problem: &Problem| (problem.kind, self.as_written(problem.place), problem.message.clone());
        if problems.iter().any(|problem| self.is_spelt(problem.place)) {
            let own = problems.iter().filter(|problem| !self.is_spelt(problem.place));
            let told: FxHashSet<_> = own.map(key).collect();
            problems.retain(|problem| !self.is_spelt(problem.place) || !told.contains(&key(problem)));
        }
        problems
    }

    /// The faults of files that should be there and can't be read.
    pub(super) fn unreadable_files(&self) -> impl Iterator<Item = Finding> + '_ {
        let files = self.files.iter().zip(self.names()).zip(0..);
        files.filter_map(|((file, name), number)| {
            let fault = unreadable_file(name, file.unreadable.as_ref()?);
            Some(Finding { place: Place::new(FileId(number), Span::default()), ..fault })
        })
    }

    /// Takes out what waivers cover.
    fn waive(&self, findings: Vec<Finding>, decided: &dyn Fn(RuleId, Place) -> bool) -> (Vec<Finding>, Vec<Waived>) {
        // Without a day no waiver has ended.
        let Some(today) = self.options.today.or_else(|| Day::new(1, 1, 1)) else { return (findings, Vec::new()) };
        let waivers: Vec<Placed> = self.files.iter().flat_map(|file| &file.waivers).cloned().collect();
        let rules: Vec<RuleId> = book::BOOK.iter().map(|doc| doc.id).collect();
        let applied = apply(findings, &waivers, today, &rules, decided);
        let waived = applied.waived.into_iter().map(|(finding, number)| {
            let waiver = waivers.get(number).map(|placed| &placed.waiver);
            Waived {
                rule: finding.rule,
                severity: finding.severity,
                message: finding.message,
                place: finding.place,
                aircraft: finding.aircraft,
                reason: waiver
                    .and_then(|waiver| waiver.reason.as_ref())
                    .map_or_else(String::new, |why| why.value.clone()),
                until: waiver.and_then(|waiver| waiver.until.as_ref()).map(|until| until.value),
            }
        });
        (applied.findings, waived.collect())
    }

    /// What each finding is known by, by its number. Most have it from when they were found.
    fn gists(&self, findings: &[Finding]) -> Vec<u64> {
        let pieces: Vec<&[Finding]> = findings.chunks(FINDINGS_OF_A_PIECE).collect();
        let gists = self.spread.map(pieces.len(), |piece| {
            let text_of = |file| self.words_of(file);
            let mut words = Words::new(&text_of);
            let mut of = |finding: &Finding| match finding.fingerprint {
                0 => words.gist(finding),
                known => known,
            };
            pieces.get(piece).map_or_else(Vec::new, |piece| piece.iter().map(&mut of).collect())
        });
        gists.concat()
    }

    /// Leads the places of findings in JSON files back from the rig text to the JSON text. No edit is left in a JSON file
    /// then: its mends are words.
    fn lead_back(&self, findings: &mut [Finding]) {
        if self.files.iter().any(|file| file.rig.is_some()) {
            findings.iter_mut().for_each(|finding| finding.lead_back(&|place| self.in_json(place)));
        }
    }

    /// A place of a rig text in the JSON text that it was made of; `None` where it was made of none.
    fn in_json(&self, place: Place) -> Option<Place> {
        let rig = self.files.get(place.file.0 as usize)?.rig.as_ref()?;
        Some(Place::new(place.file, rig.map.place(place.span)))
    }

    /// A place that rules see in the text as it was given.
    pub(super) fn as_given(&self, place: Place) -> Place {
        let place = self.as_written(place);
        self.in_json(place).unwrap_or(place)
    }
}

/// The fault of a file that should be there and can't be read; `reason` says why, in words that can stand behind a colon.
pub fn unreadable_file(name: &str, reason: &str) -> Finding {
    let message = format!("{name} can't be read: {reason}.");
    Finding {
        mend: Mend::Words("Check the path and who may read it.".to_owned()),
        ..Finding::new("format/unreadable", Severity::Fault, Place::default(), "file", message)
    }
}
