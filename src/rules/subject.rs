//! What a rule looks at: a pair of model and aircraft, a model, an aircraft, or the whole fleet.

use super::engine::Texts;
use super::numbers::Used;
use super::parameters::Parameters;
use super::radio::Region;
use super::reads::Read;
use super::signals::Signals;
use crate::fleet::craft::{Craft, Receiver};
use crate::fleet::equipment::{Handset, HandsetModule, Link, Site};
use crate::fleet::model::{Model, ModelModule};
use crate::fleet::words::{CraftKind, MotorKind, Stick};
use crate::fleet::{Decimal, Fleet, read_models, table};
use crate::signal::{Answers, Condition, ControlId, Number, Question, Setting, Why, lower, whole};
use crate::source::{Place, Span};
use crate::syntax::{Tables, parse_part};
use compact_str::CompactString;
use rustc_hash::FxHashSet;
use std::borrow::Cow;
use std::cell::OnceCell;

/// What holds for the whole inspection.
#[derive(Debug)]
pub struct Setup<'s> {
    /// The fleet of all files.
    pub fleet: &'s Fleet,
    /// The rules' parameters.
    pub parameters: &'s Parameters,
    /// The place of aircraft that name none.
    pub default_place: Option<&'s str>,
    /// The analysis budget of one question; `None`: the program's own.
    pub budget: Option<u64>,
    /// The texts from which models that were reduced are read again.
    pub texts: Option<Texts<'s>>,
    /// Reduced models inside of which something could not be understood, by their headers.
    pub unclear: Option<&'s FxHashSet<Place>>,
    /// The receiver numbers that are used.
    pub used: &'s Used,
    /// What models that are alike were answered.
    pub answers: Option<&'s Answers>,
}

impl Setup<'_> {
    /// Whether every line of a model was understood.
    pub fn is_clear(&self, model: &Model) -> bool {
        let place = model.head.place(model.head.header);
        model.head.lost.is_empty() && !self.unclear.is_some_and(|unclear| unclear.contains(&place))
    }

    /// A model with everything that its text says. `None` where it was reduced and its text is no longer the same.
    pub fn whole<'m>(&self, model: &'m Model) -> Option<Cow<'m, Model>> {
        if !model.reduced {
            return Some(Cow::Borrowed(model));
        }
        let (file, mut tables) = (model.head.file, Tables::default());
        let text = self.texts?.of(file)?;
        parse_part(&text, model.head.body.whole, table::vocabulary, &mut tables);
        read_models(file, &text, &tables).0.pop().map(Cow::Owned)
    }
}

/// A bay that a model has on, with what is in it.
#[derive(Clone, Copy, Debug)]
pub struct Bay<'f> {
    /// The model's settings.
    pub module: &'f ModelModule,
    /// What the handset has in it; `None` where the handset has no such bay.
    pub hardware: Option<&'f HandsetModule>,
    /// Its link, where it is stated and defined.
    pub link: Option<&'f Link>,
}

/// A model with its handset.
#[derive(Debug)]
pub struct ModelView<'f> {
    /// What holds for all.
    pub setup: &'f Setup<'f>,
    /// The model.
    pub model: &'f Model,
    /// Its handset, where it is defined.
    pub handset: Option<&'f Handset>,
    /// The bays that are on.
    pub bays: Vec<Bay<'f>>,
    /// The model with each of its aircraft.
    pub pairs: Vec<Pair<'f>>,
}

/// A model with one of its aircraft.
#[derive(Debug)]
pub struct Pair<'f> {
    /// What holds for all.
    pub setup: &'f Setup<'f>,
    /// The model.
    pub model: &'f Model,
    /// Its handset, where it is defined.
    pub handset: Option<&'f Handset>,
    /// The aircraft.
    pub craft: &'f Craft,
    /// The bay that reaches the aircraft: one that is on and speaks a link of a receiver, else the first that is on.
    pub bay: Option<Bay<'f>>,
    /// The receiver that the bay reaches, else the first.
    pub receiver: Option<&'f Receiver>,
    /// The link between them: the bay's, else the receiver's.
    pub link: Option<&'f Link>,
    /// Where the aircraft is flown.
    pub site: Option<&'f Site>,
    signals: OnceCell<Option<Signals>>,
    pub(super) read: OnceCell<Read<'f>>,
    pub(super) region: OnceCell<Option<Region<'f>>>,
}

/// What a control does to the request to arm, for comparing aircraft of one handset.
#[derive(Clone, Debug)]
pub struct Arms {
    /// The handset's name.
    pub handset: CompactString,
    /// The arming control's name.
    pub control: CompactString,
    /// Positions to which a movement starts the asking.
    pub starts: Vec<CompactString>,
    /// Positions to which a movement ends it.
    pub stops: Vec<CompactString>,
    /// The model and the aircraft.
    pub model: CompactString,
    /// The aircraft.
    pub craft: CompactString,
    /// The header of the arming channel.
    pub place: Place,
}

/// A channel that drives a motor, as the aircraft's description states it.
#[derive(Clone, Copy, Debug)]
pub struct MotorChannel {
    /// The channel.
    pub channel: u8,
    /// It idles below this pulse, in microseconds; absent: not stated.
    pub idle: Option<Decimal>,
    /// Whether it can run backwards.
    pub reversible: bool,
    /// Where the aircraft says so.
    pub place: Place,
}

/// The bays that a model has on, for those who need no more of it. `handset` is the model's.
pub fn bays<'f>(fleet: &'f Fleet, model: &'f Model, handset: Option<&'f Handset>) -> impl Iterator<Item = Bay<'f>> {
    model.modules_on().map(move |module| {
        let hardware = handset.and_then(|handset| handset.module(&module.bay.value));
        let link = hardware.and_then(|hardware| fleet.link(&hardware.link.as_ref()?.value));
        Bay { module, hardware, link }
    })
}

/// The handset of a model, where it is defined.
pub fn handset_of<'f>(fleet: &'f Fleet, model: &Model) -> Option<&'f Handset> {
    model.handset.as_ref().and_then(|name| fleet.handset(&name.value))
}

impl<'f> ModelView<'f> {
    /// Looks up what a model names.
    pub fn new(setup: &'f Setup<'f>, model: &'f Model) -> Self {
        let fleet = setup.fleet;
        let handset = handset_of(fleet, model);
        let bays: Vec<Bay<'f>> = bays(fleet, model, handset).collect();
        let crafts = model.flies.iter().filter_map(|name| fleet.craft(&name.value));
        let pairs = crafts.map(|craft| Pair::new(setup, model, handset, craft, &bays)).collect();
        Self { setup, model, handset, bays, pairs }
    }
}

impl<'f> Pair<'f> {
    /// A model with an aircraft, whether it lists it or not. `bays` are the model's bays that are on.
    pub fn new(
        setup: &'f Setup<'f>,
        model: &'f Model,
        handset: Option<&'f Handset>,
        craft: &'f Craft,
        bays: &[Bay<'f>],
    ) -> Self {
        let fleet = setup.fleet;
        let link_of = |receiver: &Receiver| receiver.link.as_ref().and_then(|name| fleet.link(&name.value));
        let same = |a: &Link, b: &Link| a.head.name.value == b.head.name.value;
        let matching = bays.iter().find_map(|bay| {
            let link = bay.link?;
            let receiver =
                craft.receivers.iter().find(|receiver| link_of(receiver).is_some_and(|own| same(own, link)))?;
            Some((*bay, receiver))
        });
        let bay = matching.map(|(bay, _)| bay).or_else(|| bays.first().copied());
        let receiver = matching.map(|(_, receiver)| receiver).or_else(|| craft.receivers.first());
        let link = bay.and_then(|bay| bay.link).or_else(|| receiver.and_then(link_of));
        let place = craft.flown_at.as_ref().map(|name| name.value.as_str()).or(setup.default_place);
        let site = place.and_then(|name| fleet.site(name));
        Self {
            setup,
            model,
            handset,
            craft,
            bay,
            receiver,
            link,
            site,
            signals: OnceCell::new(),
            read: OnceCell::new(),
            region: OnceCell::new(),
        }
    }

    /// The signal path; `None` where faults of the description leave it unclear.
    pub fn signals(&self) -> Option<&Signals> {
        self.signals
            .get_or_init(|| {
                let mut lowered = lower(self.model, self.handset?, self.link, Some(self.craft)).ok()?;
                if let Some(budget) = self.setup.budget {
                    lowered.program = lowered.program.with_budget(budget);
                } else if let Some(answers) = self.setup.answers {
                    lowered.program = lowered.program.with_answers(answers);
                }
                Some(Signals::new(lowered))
            })
            .as_ref()
    }

    /// Whether the craft is of this kind.
    pub fn is(&self, kind: CraftKind) -> bool {
        self.craft.kind.is_some_and(|known| known.value == kind)
    }

    /// A range of the model's file.
    pub fn in_model(&self, span: Span) -> Place {
        self.model.head.place(span)
    }

    /// A range of the craft's file.
    pub fn in_craft(&self, span: Span) -> Place {
        self.craft.head.place(span)
    }

    /// The place of a channel's header in the model; the model's header where it is not defined.
    pub fn channel_place(&self, channel: u8) -> Place {
        self.in_model(self.model.channel(channel).map_or(self.model.head.header, |channel| channel.header))
    }

    /// What the arming controls do; the reason where that was not decided.
    pub fn arms(&self) -> Result<Vec<Arms>, Why> {
        let (Some(&channel), Some(handset)) = (self.arm_channels().first(), &self.model.handset) else {
            return Ok(Vec::new());
        };
        let Some(signals) = self.signals() else { return Ok(Vec::new()) };
        let Some(asks) = signals.asks() else { return Ok(Vec::new()) };
        let quiet = Condition::Not(Box::new(asks.clone()));
        let arms = signals.arming_controls()?.iter().map(|&control| {
            let to = |from: &Condition, reach: &Condition| {
                let mut names = Vec::new();
                for position in 0..signals.positions(control) {
                    let question =
                        Question::is(from.clone()).then_to(control, Setting::Position(position), reach.clone());
                    if signals.program().decide(&question)? {
                        names.push(signals.position_name(control, position));
                    }
                }
                Ok(names)
            };
            Ok(Arms {
                handset: handset.value.clone(),
                control: signals.name(control).into(),
                starts: to(&quiet, &asks)?,
                stops: to(&asks, &quiet)?,
                model: self.model.head.name.value.clone(),
                craft: self.craft.head.name.value.clone(),
                place: self.channel_place(channel),
            })
        });
        arms.collect()
    }

    /// The channels that drive motors: the controller's throttle, and the motors among the surfaces; none where the
    /// description says that nothing drives it.
    pub fn motor_channels(&self) -> Vec<MotorChannel> {
        if self.craft.motor.is_some_and(|motor| motor.value == MotorKind::None) {
            return Vec::new();
        }
        let mut motors = Vec::new();
        if let Some(controller) = &self.craft.controller
            && let Some(channel) = controller.channel_of(Stick::Throttle)
        {
            let span = controller.idle_below.map_or(controller.header, |idle| idle.span);
            let idle = controller.idle_below.map(|idle| idle.value);
            motors.push(MotorChannel { channel, idle, reversible: false, place: self.in_craft(span) });
        }
        motors.extend(self.craft.surfaces.iter().flat_map(|surfaces| &surfaces.motors).map(|motor| MotorChannel {
            channel: motor.channel.value,
            idle: motor.idle_below.map(|idle| idle.value),
            reversible: motor.reversible,
            place: self.in_craft(motor.span),
        }));
        motors
    }

    /// Whether it is stated what the aircraft reads, and every line of that was understood.
    pub fn reads_are_known(&self) -> bool {
        let controller = self.craft.controller.as_ref().is_some_and(|controller| controller.order.is_some());
        (controller || self.craft.surfaces.is_some()) && self.craft.head.lost.is_empty()
    }

    /// What `before-start` demands of switches and of the throttle.
    pub fn demands(&self) -> Vec<(ControlId, Setting)> {
        let Some(signals) = self.signals() else { return Vec::new() };
        let demands = self.model.before_start.iter().filter_map(|start| {
            let control = signals.lowered().control(&start.control.value)?;
            if start.control.value == "throttle" {
                return Some((control, Setting::Percent(whole(-100))));
            }
            Some((control, Setting::Position(signals.lowered().position(control, &start.position.value)?)))
        });
        demands.collect()
    }

    /// The channels of `mode arm`, in the order in which the mode names them, without doubles.
    pub fn arm_channels(&self) -> Vec<u8> {
        let tests =
            self.craft.controller.iter().filter_map(|controller| controller.arm_mode()).flat_map(|mode| &mode.tests);
        let mut channels: Vec<u8> = Vec::new();
        for test in tests {
            if !channels.contains(&test.channel.value) {
                channels.push(test.channel.value);
            }
        }
        channels
    }
}

/// The number of a decimal, as the signal path computes with it. Descriptions hold at most 15 digits, so it always fits.
pub fn number(decimal: Decimal) -> Number {
    if decimal.scale() == 0 {
        return whole(decimal.mantissa());
    }
    Number::new(decimal.mantissa(), 10i64.checked_pow(u32::from(decimal.scale())).unwrap_or(1))
}
