//! The rules asked about one subject.

use super::Options;
use super::keep::{Asked, Need};
use crate::findings::verdict::NOT_DECIDED;
use crate::findings::{Finding, Mend, RuleId, Severity, fact};
use crate::fleet::craft::Craft;
use crate::fleet::equipment::Handset;
use crate::fleet::model::Model;
use crate::rules::all::{Check, RULES};
use crate::rules::book::{self, RuleDoc};
use crate::rules::out::{Out, Undecided};
use crate::rules::parameters::Parameters;
use crate::rules::unstated;
use crate::setup::{Arms, Context, ModelSetup, Setup};
use crate::signal::Why;
use crate::source::Place;
use compact_str::CompactString;
use std::slice;

/// The rules that are asked, with their pages.
#[derive(Debug, Default)]
pub(super) struct Rules {
    asked: Vec<(Check, &'static RuleDoc)>,
    parameters: Parameters,
}

/// What rules are asked about.
enum Subject<'s> {
    Handset(&'s Handset),
    Craft(&'s Craft),
    Model(&'s ModelSetup<'s>),
    /// The whole fleet, with what the arming controls of all models do.
    Fleet(&'s [Arms]),
}

/// What rules said.
#[derive(Default)]
pub(super) struct Said {
    pub(super) findings: Vec<Finding>,
    pub(super) undecided: Vec<(RuleId, Place)>,
}

impl Rules {
    /// Those that are asked, with their parameters.
    pub(super) fn of(options: &Options) -> Self {
        let asked = RULES.iter().filter(|rule| options.grading.asks(rule.id));
        let asked = asked.filter_map(|rule| Some((rule.check, book::find(rule.id)?))).collect();
        Self { asked, parameters: options.parameters.clone() }
    }

    /// What they say about a handset.
    pub(super) fn handset(&self, context: &Context<'_>, handset: &Handset) -> Asked {
        let said = self.ask(context, &Subject::Handset(handset));
        let is_sound = context.fleet.is_sound_handset(handset);
        said.asked(context, is_sound, Need::of_handset(handset).collect())
    }

    /// What they say about an aircraft.
    pub(super) fn craft(&self, context: &Context<'_>, craft: &Craft) -> Asked {
        let said = self.ask(context, &Subject::Craft(craft));
        let is_sound = context.fleet.is_sound_craft(craft);
        said.asked(context, is_sound, Need::of_craft(craft, context.default_place).collect())
    }

    /// What they say about a model and its aircraft.
    pub(super) fn model(&self, context: &Context<'_>, model: &Model) -> Asked {
        let view = ModelSetup::new(context, model);
        let mut said = self.ask(context, &Subject::Model(&view));
        let mut arms = Vec::new();
        if self.asked.iter().any(|(check, _)| matches!(check, Check::Arms(_))) {
            for setup in &view.setups {
                match setup.arms() {
                    Ok(own) => arms.extend(own),
                    Err(why) => self.arms_not_decided(setup, why, &mut said),
                }
            }
        }
        let is_sound = context.fleet.is_sound_model(model);
        let needs = Need::of_model(context.fleet, model, context.default_place);
        Asked { arms, unstated: unstated::of(&view), ..said.asked(context, is_sound, needs) }
    }

    /// What they say about the fleet as a whole.
    pub(super) fn fleet(&self, context: &Context<'_>, arms: &[Arms]) -> Said {
        self.ask(context, &Subject::Fleet(arms))
    }

    /// Asks every rule that looks at this kind of subject.
    fn ask(&self, context: &Context<'_>, subject: &Subject<'_>) -> Said {
        let mut said = Said::default();
        let flown: Vec<CompactString> = match subject {
            Subject::Model(view) => view.setups.iter().map(|setup| setup.craft.head.name.value.clone()).collect(),
            _ => Vec::new(),
        };
        for &(check, doc) in &self.asked {
            let mut run = |aircraft: &[CompactString], check: &dyn Fn(&mut Out<'_>)| {
                let mut out = Out::new(doc, aircraft, &self.parameters);
                check(&mut out);
                said.take(out);
            };
            match (check, subject) {
                (Check::Handset(check), Subject::Handset(handset)) => run(&[], &|out| check(context, handset, out)),
                (Check::Craft(check), Subject::Craft(craft)) => {
                    run(slice::from_ref(&craft.head.name.value), &|out| check(context, craft, out));
                }
                (Check::Model(check), Subject::Model(view)) => run(&flown, &|out| check(view, out)),
                (Check::Setup(check), Subject::Model(view)) => {
                    for setup in &view.setups {
                        run(slice::from_ref(&setup.craft.head.name.value), &|out| check(setup, out));
                    }
                }
                (Check::Signals(check), Subject::Model(view)) => {
                    for setup in &view.setups {
                        for path in setup.paths() {
                            let Some(signals) = path.signals() else { continue };
                            run(slice::from_ref(&setup.craft.head.name.value), &|out| {
                                check(setup, signals, out.over(setup, path));
                            });
                        }
                    }
                }
                (Check::Way(check), Subject::Model(view)) => {
                    for setup in &view.setups {
                        for way in setup.ways() {
                            run(slice::from_ref(&setup.craft.head.name.value), &|out| check(setup, way, out));
                        }
                    }
                }
                (Check::Arms(check), Subject::Fleet(arms)) => run(&[], &|out| check(context, arms, out)),
                (Check::Fleet(check), Subject::Fleet(_)) => run(&[], &|out| check(context, out)),
                _ => {}
            }
        }
        said
    }

    /// Notes that the rules about what the arming controls of all models do miss one of them.
    fn arms_not_decided(&self, setup: &Setup<'_>, why: Why, said: &mut Said) {
        let name = [setup.craft.head.name.value.clone()];
        let place =
            setup.arm_channels().first().map_or(setup.model.head.header, |&channel| setup.channel_place(channel).span);
        for (_, doc) in self.asked.iter().filter(|(check, _)| matches!(check, Check::Arms(_))) {
            let mut out = Out::new(doc, &name, &self.parameters);
            out.why(why, setup.in_model(place));
            said.take(out);
        }
    }
}

impl Said {
    fn asked(self, context: &Context<'_>, is_sound: bool, mut needs: Vec<Need>) -> Asked {
        if context.numbers_asked.get() {
            needs.push(Need::NUMBERS);
        }
        needs.shrink_to_fit();
        let Self { findings, undecided } = self;
        Asked { findings, undecided, is_sound, needs, ..Asked::default() }
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
