//! Runs the rules over a fleet and brings what they say into the form that reports take.
//!
//! The work comes in steps that a caller may spread over threads: [`read`] each file, [`Inspection::new`], [`Inspection::model`]
//! for each model, [`Inspection::rest`], [`Inspection::finish`]. [`inspect`] does it all on one thread.

mod contexts;
mod finish;
mod texts;

pub use contexts::Spread;
pub use texts::{Desk, ReadFile, Texts, read, read_json, read_outline};

use super::all::{Check, RULES};
use super::book::RuleDoc;
use super::out::{Out, Undecided, page};
use super::parameters::Parameters;
use super::reading;
use super::standing::{self, Asked, Subject};
use crate::findings::coverage::{Coverage, Standing};
use crate::findings::day::Day;
use crate::findings::fact;
use crate::findings::grading::Grading;
use crate::findings::known::Known;
use crate::findings::verdict::{AircraftVerdict, NOT_DECIDED};
use crate::findings::waiver::Placed;
use crate::findings::{Finding, Mend, RuleId, Severity};
use crate::fleet::model::Model;
use crate::fleet::problem::{Problem, ProblemKind};
use crate::fleet::{self, FileFleet, Fleet};
use crate::setup::{Arms, Context, ModelSetup, Setup, UsedNumbers};
use crate::signal::{Answers, Why};
use crate::source::{FileId, Place, Span};
use crate::syntax::{Tables, parse_part};
use compact_str::CompactString;
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Mutex;

/// How an inspection is done.
#[derive(Debug, Default)]
pub struct Options {
    /// Which rules are asked, and their grades.
    pub grading: Grading,
    /// The rules' parameters.
    pub parameters: Parameters,
    /// The day that waivers are held against; `None`: none has ended.
    pub today: Option<Day>,
    /// The place of aircraft that name none.
    pub default_place: Option<String>,
    /// The analysis budget of one question; `None`: the program's own.
    pub budget: Option<u64>,
    /// What is known already, and left out.
    pub known: Known,
    /// Another wording of every message; nothing else of an outcome hangs on it.
    pub reword: Option<fn(&Finding) -> String>,
}

/// What an inspection found.
#[derive(Debug, Default)]
pub struct Outcome {
    /// The findings in the order in which they are read.
    pub findings: Vec<Finding>,
    /// A verdict for each aircraft, the worst first.
    pub aircraft: Vec<AircraftVerdict>,
    /// The findings that were known.
    pub known: Vec<Finding>,
    /// The numbers of entries of the record that no finding has, and whether the rule of each was asked and found all its
    /// answers, so that the entry can be blamed.
    pub unmatched: Vec<(usize, bool)>,
    /// The findings that waivers cover.
    pub waived: Vec<(RuleId, Place)>,
    /// How each rule ended for each aircraft.
    pub coverage: Coverage,
}

/// The fleet of an inspection, ready to be judged.
#[derive(Debug)]
pub struct Inspection<'o> {
    fleet: Fleet,
    problems: Vec<Problem>,
    waivers: Vec<Placed>,
    secrets: Vec<Place>,
    options: &'o Options,
    /// The rules that are asked, with their pages.
    asked: Vec<(Check, &'static RuleDoc)>,
    texts: Option<Texts<'o>>,
    /// By file, the number of the first model that stands in it or behind it.
    firsts: Vec<u32>,
    /// Answers that models share; each thread takes one set and puts it back.
    answers: Mutex<Vec<Answers>>,
    spread: Spread<'o>,
    used: UsedNumbers,
}

/// What was found about one part of the fleet.
#[derive(Debug, Default)]
pub struct Found {
    findings: Vec<Finding>,
    undecided: Vec<(RuleId, Place)>,
    arms: Vec<Arms>,
    /// How the rules ended, by their numbers among those asked.
    coverage: Coverage,
    /// What could not be understood inside of models that were read again.
    problems: Vec<Problem>,
    /// The models in which something could not be understood, by their headers.
    unclear: Vec<Place>,
}

impl Found {
    /// Takes in what was found elsewhere.
    pub fn add(&mut self, other: Self) {
        self.findings.extend(other.findings);
        self.undecided.extend(other.undecided);
        self.arms.extend(other.arms);
        self.coverage.add(other.coverage);
        self.problems.extend(other.problems);
        self.unclear.extend(other.unclear);
    }

    /// Whether a rule is asked about a subject; notes what that means for its aircraft.
    fn is_asked(
        &mut self,
        (rule, doc): (usize, &'static RuleDoc),
        subject: &Subject<'_>,
        aircraft: &[CompactString],
    ) -> bool {
        let asked = standing::asked(doc, subject);
        for name in aircraft {
            let row = self.coverage.row(name);
            match &asked {
                Asked::Yes(missing) if missing.is_empty() => row.note(rule, Standing::Clear),
                Asked::Yes(missing) | Asked::No(missing) => row.note_missing(rule, missing.clone()),
                Asked::DoesNotApply => row.note(rule, Standing::DoesNotApply),
            }
        }
        matches!(asked, Asked::Yes(_))
    }

    /// Notes how a rule ended that was asked.
    fn ends(&mut self, rule: usize, out: &Out<'_>) {
        for name in out.findings.iter().flat_map(|finding| &finding.aircraft) {
            self.coverage.row(name).note(rule, Standing::Found);
        }
        for name in out.undecided.iter().flat_map(|undecided| &undecided.aircraft) {
            self.coverage.row(name).note(rule, Standing::NotDecided);
        }
    }

    fn take(&mut self, out: Out<'_>) {
        if out.findings.is_empty() && out.undecided.is_empty() {
            return;
        }
        let doc = out.doc;
        self.findings.extend(out.findings.into_iter().map(|mut finding| {
            if matches!(&finding.mend, Mend::Words(words) if words.is_empty()) {
                let words = doc.mend.split("\n\n").next().unwrap_or_default().replace('\n', " ");
                finding.mend = Mend::Words(words.trim().to_owned());
            }
            finding
        }));
        for Undecided { place, why, aircraft } in out.undecided {
            self.undecided.push((doc.id, place));
            self.findings.push(Finding {
                facts: vec![fact::text("rule", doc.id), fact::text("why", why.as_str())],
                mend: Mend::Words(
                    "make the conditions and values of this channel simpler, and check it on the bench, propellers off"
                        .into(),
                ),
                aircraft,
                ..Finding::new(
                    NOT_DECIDED,
                    doc.severity.min(Severity::Caution),
                    place,
                    doc.id,
                    format!("It was not decided whether {} holds here: {why}.", doc.id),
                )
            });
        }
    }
}

impl<'o> Inspection<'o> {
    /// Puts the files together.
    pub fn new(files: Vec<ReadFile>, options: &'o Options) -> Self {
        let (mut waivers, mut secrets) = (Vec::new(), Vec::new());
        let fleets: Vec<FileFleet> = files
            .into_iter()
            .map(|file| {
                waivers.extend(file.waivers);
                secrets.extend(file.secrets);
                file.fleet
            })
            .collect();
        let (fleet, mut problems) = Fleet::gather(fleets);
        problems.extend(fleet.check());
        problems.extend(reading::codes(&fleet));
        let asked = RULES.iter().filter(|rule| options.grading.asks(rule.id));
        let asked = asked.filter_map(|rule| Some((rule.check, page(rule.id)?))).collect();
        Self {
            fleet,
            problems,
            waivers,
            secrets,
            options,
            asked,
            texts: None,
            firsts: Vec::new(),
            answers: Mutex::default(),
            spread: Spread::default(),
            used: UsedNumbers::default(),
        }
    }

    /// With the texts from which models are read again, where files were reduced.
    pub fn with_texts(self, texts: Texts<'o>) -> Self {
        let mut firsts = Vec::new();
        for (index, model) in self.fleet.models.iter().enumerate() {
            firsts.resize(firsts.len().max(model.head.file.0 as usize + 1), index as u32);
        }
        Self { texts: Some(texts), firsts, ..self }
    }

    /// With a way to do the work at the end on several threads.
    pub fn with_spread(self, spread: Spread<'o>) -> Self {
        Self { spread, ..self }
    }

    /// The fleet.
    pub fn fleet(&self) -> &Fleet {
        &self.fleet
    }

    /// How many faults the description has.
    pub fn faults(&self) -> usize {
        self.problems.len()
    }

    /// How many models there are.
    pub fn models(&self) -> usize {
        self.fleet.models.len()
    }

    /// What holds for the whole inspection.
    pub fn setup(&self) -> Context<'_> {
        Context {
            fleet: &self.fleet,
            default_place: self.options.default_place.as_deref(),
            budget: self.options.budget,
            texts: self.texts,
            unclear: None,
            used: &self.used,
            answers: None,
        }
    }

    /// Asks the rules about the models of a file, which are read again where they were reduced.
    pub fn file(&self, file: FileId, desk: &mut Desk) -> Found {
        let mut found = Found::default();
        let from = |file: usize| self.firsts.get(file).map_or(self.fleet.models.len(), |&first| first as usize);
        let own = from(file.0 as usize)..from(file.0 as usize + 1);
        let own = self.fleet.models.get(own).unwrap_or_default();
        if !own.iter().any(|model| model.reduced) {
            own.iter().for_each(|model| self.judge(model, &mut found));
            return found;
        }
        let spent = std::mem::take(&mut desk.text);
        let Some(text) = self.texts.and_then(|texts| texts.again(file, spent)) else {
            found.problems.push(Problem::new(
                ProblemKind::Unreadable,
                Place::new(file, Span::default()),
                "the file changed while it was inspected",
                "inspect again",
            ));
            return found;
        };
        // Outlines are only made of texts without a fault in their syntax: there the models' own lines are enough.
        let spans = own.iter().map(|model| model.head.body.whole);
        let part = spans.reduce(Span::to).unwrap_or_default();
        parse_part(&text, part, fleet::table::vocabulary, &mut desk.tables);
        found.problems.extend(fleet::read_models_again(file, &text, &desk.tables, &mut desk.models));
        for model in &desk.models {
            if !model.head.lost.is_empty() {
                found.unclear.push(model.head.place(model.head.header));
            }
            found.problems.extend(self.fleet.check_inside(model));
            self.judge(model, &mut found);
        }
        // The words around what was found are at hand now.
        let own =
            found.findings.iter_mut().filter(|finding| finding.place.file == file && part.holds(finding.place.span));
        own.for_each(|finding| finding.fingerprint = contexts::gist_in(finding, &text, &desk.tables));
        desk.text = text;
        found
    }

    /// Asks the rules about one model and its aircraft.
    pub fn model(&self, index: usize) -> Found {
        let mut found = Found::default();
        if let Some(model) = self.fleet.models.get(index) {
            self.judge(model, &mut found);
        }
        found
    }

    fn judge(&self, model: &Model, found: &mut Found) {
        let answers = self.answers.lock().ok().and_then(|mut all| all.pop()).unwrap_or_default();
        let setup = Context { answers: Some(&answers), ..self.setup() };
        self.judge_with(&setup, model, found);
        if let Ok(mut all) = self.answers.lock() {
            all.push(answers.clone());
        }
    }

    fn judge_with(&self, setup: &Context<'_>, model: &Model, found: &mut Found) {
        let view = ModelSetup::new(setup, model);
        let all = names(&view);
        let alone = view.setups.is_empty().then(|| Subject::of_model(&view));
        let subjects: Vec<Subject<'_>> = view.setups.iter().map(|pair| Subject::of_setup(&view, pair)).collect();
        for (rule, &(check, doc)) in self.asked.iter().enumerate() {
            let asked = |at: usize, found: &mut Found| -> bool {
                let (Some(subject), Some(name)) = (subjects.get(at), all.get(at)) else { return false };
                found.is_asked((rule, doc), subject, std::slice::from_ref(name))
            };
            match check {
                Check::Model(check) => {
                    let some = (0..all.len()).fold(false, |some, at| asked(at, found) | some);
                    let alone = alone.as_ref().is_some_and(|subject| found.is_asked((rule, doc), subject, &[]));
                    if some || alone {
                        self.run((rule, doc), &all, found, |out| check(&view, out));
                    }
                }
                Check::Setup(check) => {
                    for (at, pair) in view.setups.iter().enumerate() {
                        if asked(at, found) {
                            let name = std::slice::from_ref(&pair.craft.head.name.value);
                            self.run((rule, doc), name, found, |out| check(pair, out));
                        }
                    }
                }
                Check::Signals(check) => {
                    for (at, setup) in view.setups.iter().enumerate() {
                        let name = std::slice::from_ref(&setup.craft.head.name.value);
                        if !asked(at, found) {
                            continue;
                        }
                        for path in setup.paths() {
                            let Some(signals) = path.signals() else { continue };
                            self.run((rule, doc), name, found, |out| check(setup, signals, out.over(setup, path)));
                        }
                    }
                }
                Check::Way(check) => {
                    for (at, setup) in view.setups.iter().enumerate() {
                        let name = std::slice::from_ref(&setup.craft.head.name.value);
                        if !asked(at, found) {
                            continue;
                        }
                        for way in setup.ways() {
                            self.run((rule, doc), name, found, |out| check(setup, way, out));
                        }
                    }
                }
                // What they find is found when all models are known; what they need of this one is known now.
                Check::Arms(_) | Check::Fleet(_) => {
                    for at in 0..all.len() {
                        asked(at, found);
                    }
                }
                Check::Craft(_) | Check::Handset(_) | Check::Text => {}
            }
        }
        if !self.asked.iter().any(|(check, _)| matches!(check, Check::Arms(_))) {
            return;
        }
        for pair in &view.setups {
            match pair.arms() {
                Ok(arms) => found.arms.extend(arms),
                Err(why) => self.arms_not_decided(pair, why, found),
            }
        }
    }

    /// Notes that the rules about what the arming controls of all models do miss one of them.
    fn arms_not_decided(&self, pair: &Setup<'_>, why: Why, found: &mut Found) {
        let name = [pair.craft.head.name.value.clone()];
        let place =
            pair.arm_channels().first().map_or(pair.model.head.header, |&channel| pair.channel_place(channel).span);
        for (rule, &(check, doc)) in self.asked.iter().enumerate() {
            if matches!(check, Check::Arms(_)) {
                self.run((rule, doc), &name, found, |out| out.why(why, pair.in_model(place)));
            }
        }
    }

    /// Asks the rules about handsets, aircraft and the fleet as a whole, with what was found about all models.
    pub fn rest(&self, mut found: Found) -> Found {
        let mut arms = std::mem::take(&mut found.arms);
        arms.sort_by_key(|arms| arms.place);
        let unclear: FxHashSet<Place> = found.unclear.iter().copied().collect();
        let setup = Context { unclear: Some(&unclear), ..self.setup() };
        let crafts: Vec<Subject<'_>> = self.fleet.crafts.iter().map(|craft| Subject::of_craft(&setup, craft)).collect();
        let flown = self.flown_by_handset();
        let all_flown: FxHashSet<&CompactString> = flown.values().flatten().collect();
        for (number, &(check, doc)) in self.asked.iter().enumerate() {
            let rule = (number, doc);
            match check {
                Check::Arms(check) => self.run(rule, &[], &mut found, |out| check(&setup, &arms, out)),
                Check::Fleet(check) => self.run(rule, &[], &mut found, |out| check(&setup, out)),
                Check::Craft(check) => {
                    for (craft, subject) in self.fleet.crafts.iter().zip(&crafts) {
                        let name = std::slice::from_ref(&craft.head.name.value);
                        if found.is_asked(rule, subject, name) {
                            self.run(rule, name, &mut found, |out| check(&setup, craft, out));
                        }
                    }
                }
                Check::Handset(check) => {
                    for handset in &self.fleet.handsets {
                        let subject = Subject::of_handset(&setup, handset);
                        let names = flown.get(handset.head.name.value.as_str()).map_or(&[][..], Vec::as_slice);
                        if found.is_asked(rule, &subject, names) {
                            let before = found.findings.len();
                            self.run(rule, &[], &mut found, |out| check(&setup, handset, out));
                            // Its findings name no aircraft: they concern all that are flown with it.
                            if found.findings.len() > before {
                                names.iter().for_each(|name| found.coverage.row(name).note(number, Standing::Found));
                            }
                        }
                    }
                }
                Check::Model(_) | Check::Setup(_) | Check::Signals(_) | Check::Way(_) | Check::Text => {}
            }
            // What no model flies is asked what can be asked of an aircraft alone.
            if !matches!(check, Check::Craft(_) | Check::Handset(_) | Check::Text) {
                for (craft, subject) in self.fleet.crafts.iter().zip(&crafts) {
                    let name = &craft.head.name.value;
                    if !all_flown.contains(name) {
                        found.is_asked(rule, subject, std::slice::from_ref(name));
                    }
                }
            }
        }
        found
    }

    /// The aircraft that are flown with the models of each handset, by its name; under an empty name those of models that name
    /// none.
    fn flown_by_handset(&self) -> FxHashMap<&str, Vec<CompactString>> {
        let mut flown: FxHashMap<&str, Vec<CompactString>> = FxHashMap::default();
        for model in &self.fleet.models {
            let handset = model.handset.as_ref().map_or("", |name| name.value.as_str());
            let crafts = model.flies.iter().map(|name| name.value.clone());
            flown.entry(handset).or_default().extend(crafts.filter(|name| self.fleet.craft(name).is_some()));
        }
        flown
    }

    fn run(
        &self,
        (rule, doc): (usize, &'static RuleDoc),
        aircraft: &[CompactString],
        found: &mut Found,
        check: impl FnOnce(&mut Out<'_>),
    ) {
        let mut out = Out::new(doc, aircraft, &self.options.parameters);
        check(&mut out);
        found.ends(rule, &out);
        found.take(out);
    }
}

fn names(view: &ModelSetup<'_>) -> Vec<CompactString> {
    view.setups.iter().map(|pair| pair.craft.head.name.value.clone()).collect()
}

/// Inspects texts on one thread.
pub fn inspect(texts: &[&[u8]], options: &Options) -> Outcome {
    let mut tables = Tables::default();
    let files = texts.iter().enumerate().map(|(index, bytes)| read(FileId(index as u32), bytes, &mut tables)).collect();
    let inspection = Inspection::new(files, options);
    let mut found = Found::default();
    (0..inspection.models()).for_each(|index| found.add(inspection.model(index)));
    let found = inspection.rest(found);
    inspection.finish(found, Vec::new(), &|file| texts.get(file.0 as usize).map(|text| text.to_vec()))
}
