//! The rules asked about one subject.

use super::Options;
use super::keep::{Asked, Need};
use crate::findings::coverage::{Coverage, Row, Standing};
use crate::findings::verdict::NOT_DECIDED;
use crate::findings::{Finding, Mend, RuleId, Severity, fact};
use crate::fleet::craft::Craft;
use crate::fleet::equipment::Handset;
use crate::fleet::model::Model;
use crate::rules::all::{Check, RULES};
use crate::rules::book::{self, RuleDoc, Special};
use crate::rules::out::{Out, Undecided};
use crate::rules::parameters::Parameters;
use crate::rules::reading;
use crate::rules::standing::{self, Subject, Wanted};
use crate::setup::{Arms, Context, ModelSetup, Setup, other_ways};
use crate::signal::Why;
use crate::source::Place;
use compact_str::CompactString;
use rustc_hash::FxHashMap;
use std::slice;

/// The rules that are asked, with their pages.
#[derive(Debug, Default)]
pub(super) struct Rules {
    asked: Vec<(Check, Wanted)>,
    parameters: Parameters,
}

/// What rules said.
#[derive(Default)]
pub(super) struct Said {
    pub(super) findings: Vec<Finding>,
    pub(super) undecided: Vec<(RuleId, Place)>,
    /// How the rules ended, by their numbers among those that are asked.
    pub(super) coverage: Coverage,
}

/// The models that share something with another, in order, by the number of the rule that asks for it.
pub(super) type Sharing<'f> = FxHashMap<usize, Vec<&'f Model>>;

/// A rule that is asked, with its number among them.
type Numbered<'r> = (usize, &'r Wanted);

impl Rules {
    /// Those that are asked, with their parameters.
    pub(super) fn of(options: &Options) -> Self {
        let asked = RULES.iter().filter(|rule| options.grading.asks(rule.id));
        let asked = asked.filter_map(|rule| Some((rule.check, Wanted::of(book::find(rule.id)?)))).collect();
        Self { asked, parameters: options.parameters.clone() }
    }

    /// The names of the rules that are asked, in the order of the numbers in a coverage.
    pub(super) fn names(&self) -> Vec<RuleId> {
        self.asked.iter().map(|(_, wanted)| wanted.doc.id).collect()
    }

    fn row(&self) -> Row {
        Row::with_room(self.asked.len())
    }

    fn numbered(&self) -> impl Iterator<Item = (Check, Numbered<'_>)> {
        self.asked.iter().enumerate().map(|(number, (check, wanted))| (*check, (number, wanted)))
    }

    /// What they say about a handset. How they ended stands under its own name, since its findings concern all aircraft that
    /// are flown with it.
    pub(super) fn handset(&self, context: &Context<'_>, handset: &Handset) -> Asked {
        let (mut said, subject) = (Said::default(), Subject::of_handset(context, handset));
        let name = &handset.head.name.value;
        let mut row = self.row();
        for (check, rule) in self.numbered() {
            if let Check::Handset(check) = check
                && is_asked(rule, &subject, &mut row)
            {
                let before = said.findings.len();
                said.run(self, rule, &[], |out| check(context, handset, out));
                if said.findings.len() > before {
                    row.note(rule.0, Standing::Found);
                }
            }
        }
        said.coverage.row(name).add(&row);
        let is_sound = context.fleet.is_sound_handset(handset);
        said.asked(context, Vec::new(), is_sound, Need::of_handset(handset).collect())
    }

    /// What they say about an aircraft.
    pub(super) fn craft(&self, context: &Context<'_>, craft: &Craft) -> Asked {
        let (mut said, subject) = (Said::default(), Subject::of_craft(context, craft));
        let (name, mut row) = (slice::from_ref(&craft.head.name.value), self.row());
        for (check, rule) in self.numbered() {
            if let Check::Craft(check) = check
                && is_asked(rule, &subject, &mut row)
            {
                said.run(self, rule, name, |out| check(context, craft, out));
            }
        }
        said.coverage.row(&craft.head.name.value).add(&row);
        let is_sound = context.fleet.is_sound_craft(craft);
        said.asked(context, name.to_vec(), is_sound, Need::of_craft(craft, context.default_place).collect())
    }

    /// How those that look at models end for an aircraft that no model flies: not asked, or it does not apply.
    pub(super) fn not_flown(&self, context: &Context<'_>, craft: &Craft) -> Row {
        let (mut row, subject) = (self.row(), Subject::of_craft(context, craft));
        for (check, rule) in self.numbered() {
            if !matches!(check, Check::Craft(_) | Check::Handset(_) | Check::Text) {
                is_asked(rule, &subject, &mut row);
            }
        }
        row
    }

    /// What they say about a model and its aircraft.
    pub(super) fn model(&self, context: &Context<'_>, model: &Model) -> Asked {
        let (mut said, view) = (Said::default(), ModelSetup::new(context, model));
        let names: Vec<CompactString> = view.setups.iter().map(|setup| setup.craft.head.name.value.clone()).collect();
        let subjects: Vec<Subject<'_>> = view.setups.iter().map(|setup| Subject::of_setup(&view, setup)).collect();
        let alone = names.is_empty().then(|| Subject::of_model(&view));
        let mut shares = Vec::new();
        let mut rows: Vec<Row> = names.iter().map(|_| self.row()).collect();
        let mut asked = Vec::with_capacity(names.len());
        for (check, rule) in self.numbered() {
            asked.clear();
            for (((setup, name), subject), row) in view.setups.iter().zip(&names).zip(&subjects).zip(&mut rows) {
                // What rules of the fleet find is found when all models are known; what they need of this one is known now.
                let is_about = !matches!(check, Check::Craft(_) | Check::Handset(_) | Check::Text);
                if is_about && is_asked(rule, subject, row) {
                    asked.push((setup, slice::from_ref(name)));
                }
            }
            match check {
                Check::Sharing(shared, _) => {
                    shares.extend(shared(context, model).into_iter().map(|share| (rule.0, share)));
                }
                Check::Model(check) => {
                    let alone = alone.as_ref().is_some_and(|subject| is_asked(rule, subject, &mut Row::default()));
                    if alone || !asked.is_empty() {
                        said.run(self, rule, &names, |out| check(&view, out));
                    }
                }
                Check::Setup(check) => {
                    for &(setup, name) in &asked {
                        said.run(self, rule, name, |out| check(setup, out));
                    }
                }
                Check::Signals(check) => {
                    for &(setup, name) in &asked {
                        said.run(self, rule, name, |out| {
                            for path in setup.paths() {
                                let Some(signals) = path.signals() else { continue };
                                check(setup, signals, out.over(path));
                            }
                            out.join_links();
                        });
                    }
                }
                Check::Way(check) => {
                    for &(setup, name) in &asked {
                        for way in setup.ways() {
                            said.run(self, rule, name, |out| check(setup, way, out));
                        }
                    }
                }
                Check::Craft(_) | Check::Handset(_) | Check::Arms(_) | Check::Fleet(_) | Check::Text => {}
            }
        }
        names.iter().zip(&rows).for_each(|(name, row)| said.coverage.row(name).add(row));
        for (setup, name) in view.setups.iter().zip(&names) {
            let reasons = setup.not_put_together().into_iter();
            said.findings.extend(reasons.filter_map(|(reason, place)| reading::not_put_together(reason, place, name)));
        }
        let mut arms = Vec::new();
        if self.asked.iter().any(|(check, _)| matches!(check, Check::Arms(_))) {
            for setup in &view.setups {
                match setup.arms() {
                    Ok(own) => arms.extend(own),
                    Err(why) => self.arms_not_decided(setup, why, &mut said, &|_| true),
                }
                match setup.cuts() {
                    Ok(own) => arms.extend(own),
                    // What asks to arm is known all the same.
                    Err(why) => {
                        self.arms_not_decided(setup, why, &mut said, &|doc| !doc.needs_special(Special::ArmMode))
                    }
                }
            }
        }
        let is_sound = context.fleet.is_sound_model(model);
        let needs = Need::of_model(context.fleet, model, context.default_place);
        shares.shrink_to_fit();
        Asked { arms, shares, work: view.allowance.spent(), ..said.asked(context, names, is_sound, needs) }
    }

    /// What they say about the fleet as a whole, with what the arming controls of all models do, and the models that share
    /// something with another, by the number of the rule that asks for it.
    pub(super) fn fleet(&self, context: &Context<'_>, arms: &[&Arms], sharing: &Sharing<'_>) -> Said {
        let mut said = Said::default();
        let ways = other_ways(arms);
        for (check, rule) in self.numbered() {
            match check {
                Check::Arms(check) => said.run(self, rule, &[], |out| check(&ways, out)),
                Check::Sharing(_, check) => {
                    if let Some(models) = sharing.get(&rule.0) {
                        said.run(self, rule, &[], |out| check(context, models, out));
                    }
                }
                Check::Fleet(check) => said.run(self, rule, &[], |out| check(context, out)),
                _ => {}
            }
        }
        said
    }

    /// Notes that the rules about what the arming controls of all models do miss one of them.
    fn arms_not_decided(&self, setup: &Setup<'_>, why: Why, said: &mut Said, of: &dyn Fn(&RuleDoc) -> bool) {
        let name = [setup.craft.head.name.value.clone()];
        let place =
            setup.arm_channels().first().map_or(setup.model.head.header, |&channel| setup.channel_place(channel).span);
        for (_, rule) in self.numbered().filter(|(check, rule)| matches!(check, Check::Arms(_)) && of(rule.1.doc)) {
            said.run(self, rule, &name, |out| out.why(why, setup.in_model(place)));
        }
    }
}

impl Said {
    fn asked(self, context: &Context<'_>, aircraft: Vec<CompactString>, is_sound: bool, mut needs: Vec<Need>) -> Asked {
        if context.numbers_asked.get() {
            needs.push(Need::NUMBERS);
        }
        needs.shrink_to_fit();
        let Self { findings, undecided, coverage } = self;
        Asked { findings, undecided, aircraft, coverage, is_sound, needs, ..Asked::default() }
    }

    /// Asks a rule, and notes how it ended.
    fn run(
        &mut self,
        rules: &Rules,
        (number, wanted): Numbered<'_>,
        aircraft: &[CompactString],
        check: impl FnOnce(&mut Out<'_>),
    ) {
        let mut out = Out::new(wanted.doc, aircraft, &rules.parameters);
        check(&mut out);
        if out.is_empty() {
            return;
        }
        for name in out.findings.iter().flat_map(|finding| &finding.aircraft) {
            self.coverage.row(name).note(number, Standing::Found);
        }
        for name in out.undecided.iter().flat_map(|undecided| &undecided.aircraft) {
            self.coverage.row(name).note(number, Standing::NotDecided);
        }
        for name in aircraft.iter().filter(|_| !out.missing.is_empty()) {
            self.coverage.row(name).note_missing(number, &out.missing);
        }
        for (name, missing) in &out.missing_about {
            self.coverage.row(name).note_missing(number, std::slice::from_ref(missing));
        }
        self.take(out);
    }

    fn take(&mut self, out: Out<'_>) {
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
            let severity = doc.severity.min(Severity::Caution);
            let message = format!("It was not decided whether {} holds here: {why}.", doc.id);
            self.findings.push(Finding {
                facts: vec![fact::text("rule", doc.id), fact::text("why", why.as_str())],
                mend: Mend::Words(
                    "make the conditions and values of this channel simpler, and check it on the bench, propellers off"
                        .into(),
                ),
                aircraft,
                ..Finding::new(NOT_DECIDED, severity, place, doc.id, message)
            });
        }
    }
}

/// Whether a rule is asked about a subject; notes in the row of its aircraft what that means.
fn is_asked((number, wanted): Numbered<'_>, subject: &Subject<'_>, row: &mut Row) -> bool {
    match standing::asked(wanted, subject) {
        standing::Asked::Yes(missing) => {
            match missing.as_slice() {
                [] => row.note(number, Standing::Clear),
                missing => row.note_missing(number, missing),
            }
            true
        }
        standing::Asked::No(missing) => {
            row.note_missing(number, &missing);
            false
        }
        standing::Asked::DoesNotApply => {
            row.note(number, Standing::DoesNotApply);
            false
        }
    }
}
