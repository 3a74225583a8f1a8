//! From the typed fleet to the parts of a program: one model, its handset, the link it is sent over, and the aircraft.
//!
//! A line that was not understood takes with it only what depends on it: such a part may be anything ([`Unknown`]). There is
//! no program only where handset or scale are missing, or a limit of the whole is passed ([`Refused`]).

use crate::fleet::Decimal;
use crate::fleet::condition as written;
use crate::fleet::craft::{Controller, Craft, ModeTest};
use crate::fleet::equipment::{self, Handset, Link, Lost};
use crate::fleet::model::{self, Model, Trims};
use crate::fleet::words::{AxisPosition, Stick};
use crate::signal::number::rational64::whole;
use crate::signal::program::compiled::Compiled;
use crate::signal::program::held::HeldConditions;
use crate::signal::program::lost::{Takes, about, may_be, stick_id, what_is_lost};
use crate::signal::program::names::{Clear, Names, Stands, number};
use crate::signal::program::parts::*;
use crate::signal::program::reason::{Part, Reason, Refused, Unknown, Unstated};
use crate::source::{Place, Span};
use compact_str::CompactString;
use rustc_hash::FxHashMap;

/// The greatest trim range that the language has words for, in percent.
const WIDEST_TRIM: i64 = 100;

/// What the pulses go over.
#[derive(Clone, Copy, Debug)]
pub enum Over<'f> {
    /// This link.
    Link(&'f Link),
    /// Nothing that changes them: every channel arrives as it is sent.
    Unchanged,
    /// A link that is not known: what arrives is not known.
    NotKnown,
}

/// Puts the parts together. `craft` absent: no controller.
///
/// # Errors
/// [`Refused`] where there can be no program at all.
pub(in crate::signal) fn lowering(
    model: &Model,
    handset: Option<&Handset>,
    over: Over<'_>,
    craft: Option<&Craft>,
) -> Result<(Compiled, Names), Refused> {
    let of_model = model.head.place(model.handset.as_ref().map_or(model.head.header, |name| name.span));
    let handset = handset.ok_or(Refused { reason: Reason::NoHandset, place: of_model })?;
    let of_handset = handset.head.place(handset.head.header);
    let place = handset.scale.as_ref().map_or(of_handset, |scale| handset.head.place(scale.span));
    if let Some(lost) = handset.head.lost.iter().find(|lost| may_be(lost, &["scale"])) {
        // A line that could be anything leaves a scale that stands elsewhere as it is.
        if handset.scale.is_none() || lost.word == "scale" {
            let place = handset.head.place(lost.span);
            return Err(Refused { reason: Reason::ScaleNotUnderstood, place });
        }
    }
    let scale = handset.scale.as_ref().ok_or(Refused { reason: Reason::NoScale, place })?.value;
    let number = |decimal| number(decimal).map_err(|reason| Refused { reason, place });
    let scale = Scale { centre: number(scale.0)?, span: number(scale.1)? };
    let mut lowerer = Lowerer {
        model,
        handset,
        over,
        craft,
        scale,
        names: Names::default(),
        unknown: Vec::new(),
        taken: FxHashMap::default(),
        elsewhere: None,
        trims: None,
        lost_modes: Vec::new(),
    };
    lowerer.take_lost();
    let lost = (lowerer.unknown.clone(), lowerer.taken.clone());
    let mut taken: Vec<(Part, Unknown)> = Vec::new();
    loop {
        // What can't be computed with is taken for unknown, and the rest put together once more.
        (lowerer.unknown, lowerer.taken) = lost.clone();
        for (part, unknown) in &taken {
            let id = lowerer.note(unknown.clone());
            lowerer.taken.insert(*part, id);
        }
        let parts = lowerer.parts();
        let flaws = match Compiled::new(parts) {
            Ok(compiled) => return Ok((compiled, lowerer.names)),
            Err(flaws) => flaws,
        };
        for flaw in flaws {
            let place = lowerer.place_of(flaw.part, &flaw.reason);
            if flaw.part == Part::Whole || taken.iter().any(|(part, _)| *part == flaw.part) {
                return Err(Refused { reason: flaw.reason, place });
            }
            taken.push((flaw.part, Unknown::NotUnderstood(place, flaw.reason)));
        }
    }
}

/// Puts parts together, and notes what of them is not known.
struct Lowerer<'f> {
    model: &'f Model,
    handset: &'f Handset,
    over: Over<'f>,
    craft: Option<&'f Craft>,
    scale: Scale,
    names: Names,
    unknown: Vec<Unknown>,
    /// Parts that may be anything.
    taken: FxHashMap<Part, UnknownId>,
    /// What may define what nothing else defines.
    elsewhere: Option<UnknownId>,
    /// What the values of all sticks hang on that is not known.
    trims: Option<UnknownId>,
    /// Modes that are defined by nothing but a line that was not understood.
    lost_modes: Vec<(CompactString, UnknownId)>,
}

impl<'f> Lowerer<'f> {
    fn controller(&self) -> Option<&'f Controller> {
        self.craft.and_then(|craft| craft.controller.as_ref())
    }

    fn note(&mut self, unknown: Unknown) -> UnknownId {
        let at = match self.unknown.iter().position(|known| *known == unknown) {
            Some(at) => at,
            None => {
                self.unknown.push(unknown);
                self.unknown.len() - 1
            }
        };
        UnknownId(at as u16)
    }

    /// Notes a line that was not understood.
    fn line(&mut self, place: Place) -> UnknownId {
        self.note(Unknown::NotUnderstood(place, Reason::Line))
    }

    /// Notes a line of the model that can't be put together. What it names may stand in one that was not understood.
    fn not_clear(&mut self, span: Span, reason: Reason) -> UnknownId {
        let (word, name) = match &reason {
            Reason::NoCondition(name) => ("condition", name.as_str()),
            Reason::NoCurve(name) => ("curve", name.as_str()),
            Reason::NoControl(name) => ("mix", name.as_str()),
            _ => ("", ""),
        };
        let could = |lost: &&Lost| match (what_is_lost(lost, self.model, self.handset), about(lost)) {
            (Takes::Name, (about, key)) => about == word && key.is_none_or(|key| key == name),
            (Takes::Anything, (about, _)) => about.is_empty() && !word.is_empty(),
            _ => false,
        };
        let lost = self.model.head.lost.iter().find(could);
        match lost {
            Some(lost) => self.line(self.model.head.place(lost.span)),
            None => self.note(Unknown::NotUnderstood(self.model.head.place(span), reason)),
        }
    }

    /// Notes what the lines that were not understood take with them.
    fn take_lost(&mut self) {
        let model = self.model;
        for lost in &model.head.lost {
            let takes = what_is_lost(lost, model, self.handset);
            if takes == Takes::Nothing {
                continue;
            }
            let id = self.line(model.head.place(lost.span));
            match takes {
                Takes::Nothing | Takes::Name => {}
                Takes::Part(part) => drop(self.taken.entry(part).or_insert(id)),
                Takes::Sticks => self.trims = self.trims.or(Some(id)),
                Takes::Anything => self.elsewhere = self.elsewhere.or(Some(id)),
            }
        }
        let handset = self.handset;
        let trims = handset.head.lost.iter().find(|lost| may_be(lost, &["trim-range"]) && handset.trim_range.is_none());
        if let Some(lost) = trims {
            let id = self.line(handset.head.place(lost.span));
            self.trims = self.trims.or(Some(id));
        }
        let (Some(craft), Some(controller)) = (self.craft, self.controller()) else { return };
        for lost in
            craft.head.lost.iter().filter(|lost| controller.body.whole.holds(lost.span) && may_be(lost, &["mode"]))
        {
            let id = self.line(craft.head.place(lost.span));
            let at = controller.modes.iter().position(|mode| Some(mode.name.value.as_str()) == lost.key.as_deref());
            match (at, &lost.key) {
                (Some(at), _) => drop(self.taken.insert(Part::Mode(ModeId(at as u16)), id)),
                (None, Some(name)) if !lost.word.is_empty() => self.lost_modes.push((name.clone(), id)),
                // Any mode may have more or other ranges than the ones that were understood.
                _ => (0..controller.modes.len()).for_each(|at| {
                    self.taken.insert(Part::Mode(ModeId(at as u16)), id);
                }),
            }
        }
    }

    /// Where a part stands.
    fn place_of(&self, part: Part, reason: &Reason) -> Place {
        let model = &self.model.head;
        let handset = self.handset.head.place(self.handset.scale.as_ref().map_or(Span::default(), |scale| scale.span));
        match (part, reason) {
            (Part::Whole, Reason::FlatScale | Reason::Number) => handset,
            (Part::Whole, _) => model.place(model.header),
            (Part::Control(id), _) => {
                let stick = self.handset.grip().sticks().get(usize::from(id.0)).map(|(stick, _)| *stick);
                let rates = self.model.rates.iter().find(|rates| Some(rates.stick.value) == stick);
                model.place(rates.map_or(model.header, |rates| rates.header))
            }
            (Part::Curve(id), _) => {
                let curve = self.model.curves.get(usize::from(id.0));
                model.place(curve.map_or(model.header, |curve| curve.header))
            }
            (Part::Condition(id), _) => {
                let condition = self.model.conditions.get(usize::from(id.0));
                model.place(condition.map_or(model.header, |condition| condition.span))
            }
            (Part::Channel(number), _) => {
                let channel = self.model.channels.iter().find(|known| u16::from(known.number.value) == number);
                let mix = || self.model.mixes.get(usize::from(number.checked_sub(Parts::mix(0))?));
                let header = channel.map(|channel| channel.header).or_else(|| mix().map(|mix| mix.header));
                model.place(header.unwrap_or(model.header))
            }
            (Part::Mode(id), _) => {
                let mode = self.controller().and_then(|controller| controller.modes.get(usize::from(id.0)));
                let craft = self.craft.map(|craft| &craft.head);
                craft.zip(mode).map_or(model.place(model.header), |(craft, mode)| craft.place(mode.name.span))
            }
        }
    }

    fn parts(&mut self) -> Parts {
        let (model, handset, controller) = (self.model, self.handset, self.controller());
        let sticks = handset.grip().sticks();
        let reported = model.conditions.iter().filter(|known| matches!(known.kind, model::NamedKind::Reported));
        let reported: Vec<&model::NamedCondition> = reported.collect();
        self.names = Names {
            controls: sticks
                .iter()
                .map(|(_, name)| ((*name).into(), Stands::Axis))
                .chain(handset.controls.iter().map(|control| {
                    let stands = if control.kind.positions() > 0 { Stands::At(control.kind) } else { Stands::Axis };
                    (control.name.value.clone(), stands)
                }))
                .chain(reported.iter().map(|condition| (condition.name.value.clone(), Stands::Told)))
                .collect(),
            mixes: model.mixes.iter().map(|mix| mix.name.value.clone()).collect(),
            conditions: model.conditions.iter().map(|condition| condition.name.value.clone()).collect(),
            curves: model.curves.iter().map(|curve| curve.name.value.clone()).collect(),
            modes: controller
                .iter()
                .flat_map(|known| &known.modes)
                .map(|mode| mode.name.value.clone())
                .chain(self.lost_modes.iter().map(|(name, _)| name.clone()))
                .collect(),
            held: HeldConditions::default(),
        };
        let mut controls: Vec<Control> = sticks.iter().map(|&(stick, name)| self.stick(stick, name)).collect();
        controls.extend(handset.controls.iter().map(|control| Control {
            name: control.name.value.clone(),
            kind: match control.kind {
                equipment::ControlKind::Switch { sprung_to, .. } => {
                    ControlKind::Switch { positions: control.kind.position_names(), sprung_to }
                }
                equipment::ControlKind::Button { stays } => ControlKind::Button { stays },
                equipment::ControlKind::Knob { sprung_to } | equipment::ControlKind::Slider { sprung_to } => {
                    ControlKind::Axis { sprung_to_low: sprung_to == Some(AxisPosition::Low) }
                }
            },
        }));
        controls.extend(reported.iter().map(|condition| Control::reported(&condition.name.value)));
        let curves = (0..).map(CurveId).zip(&model.curves).map(|(id, curve)| self.curve(id, curve)).collect();
        let conditions =
            (0..).map(ConditionId).zip(&model.conditions).map(|(id, known)| self.named(id, known)).collect();
        let mut channels: Vec<Channel> = model.channels.iter().map(|known| self.channel(known)).collect();
        channels.extend((0..).zip(&model.mixes).map(|(at, mix)| self.mix(at, mix)));
        channels.extend(self.lost_channels());
        let modes = controller.iter().flat_map(|controller| &controller.modes);
        let mut modes: Vec<Mode> = (0..).map(ModeId).zip(modes).map(|(id, mode)| self.mode(id, mode)).collect();
        let lost = self.lost_modes.iter();
        modes.extend(lost.map(|(name, id)| Mode { name: name.clone(), any_of: Vec::new(), unknown: Some(*id) }));
        let mut parts = Parts {
            controls,
            curves,
            conditions,
            channels,
            scale: self.scale,
            modes,
            unknown: self.unknown.clone(),
            elsewhere: self.elsewhere,
            trims_unstated: handset.trim_range.is_none(),
        };
        self.names.held.order(&mut parts);
        parts
    }

    fn stick(&mut self, stick: Stick, name: &str) -> Control {
        let (model, handset) = (self.model, self.handset);
        let trims = model.trims.map_or(Trims::On, |trims| trims.value);
        let acts = trims == Trims::On || trims == Trims::ThrottleOff && stick != Stick::Throttle;
        let range = handset.trim_range.map(|range| number(range.value).unwrap_or(whole(WIDEST_TRIM)));
        let trim = match (acts, range) {
            (false, _) => None,
            (true, Some(range)) => (!range.is_zero()).then_some(range),
            (true, None) => Some(whole(WIDEST_TRIM)),
        };
        // What the values of the stick are is not known where a line of its rates may say anything.
        let part = stick_id(handset, stick).map(Part::Control);
        let unknown = part.and_then(|part| self.taken.get(&part)).copied().or(self.trims);
        let rates = match unknown {
            Some(id) => vec![Rate { rate: whole(100), expo: whole(0), when: Some(Condition::Unknown(id)) }],
            None => {
                let lines = model.rates.iter().filter(|rates| rates.stick.value == stick);
                lines.flat_map(|rates| &rates.lines).map(|line| self.rate(line)).collect()
            }
        };
        // A throttle of which that is not stated counts as one that stays: it rests at its low end.
        let sprung = stick != Stick::Throttle || handset.throttle_springs() == Some(true);
        Control { name: name.into(), kind: ControlKind::Stick { function: function(stick), trim, rates, sprung } }
    }

    fn rate(&mut self, line: &model::RateLine) -> Rate {
        let when = line.when.as_ref().map(|when| self.when(when));
        let expo = line.expo.map_or(Ok(whole(0)), |expo| number(expo.value));
        match (number(line.rate.value), expo) {
            (Ok(rate), Ok(expo)) => Rate { rate, expo, when },
            (Err(reason), _) | (_, Err(reason)) => {
                let id = self.not_clear(line.span, reason);
                Rate { rate: whole(100), expo: whole(0), when: Some(Condition::Unknown(id)) }
            }
        }
    }

    fn curve(&mut self, id: CurveId, curve: &model::Curve) -> Curve {
        let points = curve.points.iter().map(|(x, y)| Ok((number(x.value)?, number(*y)?))).collect::<Clear<Vec<_>>>();
        let name = curve.name.value.clone();
        match points {
            Ok(points) if !self.taken.contains_key(&Part::Curve(id)) => Curve { name, points, rounded: curve.rounded },
            found => {
                // Nothing goes through it: a value of it is not known.
                if let Err(reason) = found {
                    let unknown = self.not_clear(curve.header, reason);
                    self.taken.insert(Part::Curve(id), unknown);
                }
                Curve { name, points: vec![(whole(-100), whole(-100)), (whole(100), whole(100))], rounded: false }
            }
        }
    }

    fn named(&mut self, id: ConditionId, known: &model::NamedCondition) -> Named {
        let kind = match (self.taken.get(&Part::Condition(id)).copied(), &known.kind) {
            (Some(id), _) => NamedKind::Plain(Condition::Unknown(id)),
            (None, model::NamedKind::When(when)) => NamedKind::Plain(self.when(when)),
            (None, model::NamedKind::Latch { set, reset }) => {
                NamedKind::Latch { set: self.when(set), reset: self.when(reset) }
            }
            (None, model::NamedKind::Toggle { control, position }) => {
                let position = position.as_ref().map_or("pressed", |position| position.value.as_str());
                match self.names.place(&control.value, position) {
                    Ok((id, place)) => NamedKind::Toggle(Condition::Becomes(id, place)),
                    Err(reason) => NamedKind::Plain(Condition::Unknown(self.not_clear(known.span, reason))),
                }
            }
            (None, model::NamedKind::Reported) => {
                let told = self.names.control(&known.name.value);
                NamedKind::Plain(told.map_or(Condition::Constant(false), |id| Condition::at(id, 1)))
            }
        };
        Named { name: known.name.value.clone(), kind }
    }

    /// A condition of the model, which may be either where it can't be put together.
    fn when(&mut self, when: &written::Condition) -> Condition {
        let found = self.names.condition(when, Measure::Sent);
        found.unwrap_or_else(|reason| Condition::Unknown(self.not_clear(when.span, reason)))
    }

    fn channel(&mut self, known: &model::Channel) -> Channel {
        let number_of = u16::from(known.number.value);
        let name = known.label.as_ref().map(|label| label.value.clone()).unwrap_or_default();
        let carriage = self.carriage(known.number.value);
        let output = || {
            let (low, high) = known.travel.map_or((Decimal::whole(-100), Decimal::whole(100)), |travel| travel.value);
            let subtrim = number(known.subtrim.map_or(Decimal::whole(0), |subtrim| subtrim.value))?;
            let centre = known.centre.map(|centre| number(centre.value)).transpose()?;
            let (least, most) = known.ends.map_or((Decimal::whole(-100), Decimal::whole(100)), |ends| ends.value);
            Ok::<_, Reason>((subtrim, (number(least)?, number(most)?), (number(low)?, number(high)?), centre))
        };
        let unknown = match (self.taken.get(&Part::Channel(number_of)).copied(), output()) {
            (Some(id), _) => id,
            (None, Err(reason)) => self.not_clear(known.header, reason),
            (None, Ok(_)) if known.lines.is_empty() => self.line(self.model.head.place(known.header)),
            (None, Ok((subtrim, ends, travel, centre))) => {
                let lines = self.lines(&known.lines);
                let reversed = known.reversed.is_some();
                return Channel { number: number_of, name, lines, reversed, subtrim, ends, travel, centre, carriage };
            }
        };
        Channel { name, carriage, ..Channel::new(number_of, Value::Unknown(unknown)) }
    }

    fn lines(&mut self, lines: &[model::ValueLine]) -> Vec<Line> {
        let line = |line: &model::ValueLine| {
            let when = line.when.as_ref().map(|when| self.when(when));
            Line { value: self.value(&line.value), when }
        };
        lines.iter().map(line).collect()
    }

    fn mix(&mut self, at: u16, mix: &model::Mix) -> Channel {
        let number = Parts::mix(at);
        let unknown = match self.taken.get(&Part::Channel(number)).copied() {
            None if mix.lines.is_empty() => Some(self.line(self.model.head.place(mix.header))),
            taken => taken,
        };
        let lines = match unknown {
            Some(id) => vec![Line::always(Value::Unknown(id))],
            None => self.lines(&mix.lines),
        };
        Channel { name: mix.name.value.clone(), carriage: Carriage::Not, ..Channel::of(number, lines) }
    }

    /// Channels that are defined by nothing but a line that was not understood, in the order of their numbers.
    fn lost_channels(&self) -> Vec<Channel> {
        let defined = |number: u16| self.model.channels.iter().any(|known| u16::from(known.number.value) == number);
        let mut lost: Vec<(u16, UnknownId)> = self
            .taken
            .iter()
            .filter_map(|(part, &id)| match part {
                Part::Channel(number) if *number <= Parts::MIXES && !defined(*number) => Some((*number, id)),
                _ => None,
            })
            .collect();
        lost.sort_unstable();
        lost.into_iter().map(|(number, id)| Channel::new(number, Value::Unknown(id))).collect()
    }

    fn carriage(&mut self, channel: u8) -> Carriage {
        let link = match self.over {
            Over::Link(link) => link,
            Over::Unchanged => return Carriage::Unchanged,
            Over::NotKnown => return Carriage::Unknown(self.note(Unknown::NotStated(Unstated::Link))),
        };
        if let Some(lost) = link.head.lost.iter().find(|lost| may_be(lost, &["carry", "channels"])) {
            return Carriage::Unknown(self.line(link.head.place(lost.span)));
        }
        if !link.carries_channel(channel) {
            return Carriage::Not;
        }
        match link.carry(channel).and_then(|carry| carry.levels) {
            Some(levels) => Carriage::Levels(levels.value),
            None => Carriage::Unchanged,
        }
    }

    fn mode(&mut self, id: ModeId, mode: &crate::fleet::craft::Mode) -> Mode {
        let test = |test: &ModeTest| {
            let (low, high) = test.range.value;
            Ok((u16::from(test.channel.value), number(low)?, number(high)?))
        };
        let name = mode.name.value.clone();
        let every = |tests: &Vec<ModeTest>| tests.iter().map(test).collect::<Clear<Vec<_>>>();
        let found = mode.any_of.iter().map(every).collect::<Clear<_>>();
        match (found, self.taken.get(&Part::Mode(id)).copied()) {
            (Ok(any_of), unknown) => Mode { name, any_of, unknown },
            (Err(reason), _) => {
                let place = self.place_of(Part::Mode(id), &reason);
                let unknown = Some(self.note(Unknown::NotUnderstood(place, reason)));
                Mode { name, any_of: Vec::new(), unknown }
            }
        }
    }

    /// A value, which may be anything where it can't be put together. Long sums and products become trees of low depth:
    /// exact arithmetic gives the same, whichever way they are put together.
    fn value(&mut self, value: &written::Value) -> Value {
        use written::ValueKind as Kind;
        let clear = match &value.kind {
            Kind::Add(..) | Kind::Subtract(..) => {
                let mut terms = Vec::new();
                let mut left = value;
                // Sums lean to the left, as far as they are long.
                loop {
                    left = match &left.kind {
                        Kind::Add(a, b) => {
                            terms.push(self.value(b));
                            a
                        }
                        Kind::Subtract(a, b) => {
                            terms.push(Value::Negate(Box::new(self.value(b))));
                            a
                        }
                        _ => break,
                    };
                }
                terms.push(self.value(left));
                terms.reverse();
                return balanced(terms, |a, b| match b {
                    Value::Negate(b) => Value::Subtract(Box::new(a), b),
                    b => Value::Add(Box::new(a), Box::new(b)),
                });
            }
            Kind::Multiply(..) => {
                let mut factors = Vec::new();
                let mut left = value;
                while let Kind::Multiply(a, b) = &left.kind {
                    factors.push(self.value(b));
                    left = a;
                }
                factors.push(self.value(left));
                factors.reverse();
                return balanced(factors, |a, b| Value::Multiply(Box::new(a), Box::new(b)));
            }
            Kind::Percent(percent) => number(*percent).map(Value::Percent),
            Kind::Control(name) => match self.names.mixes.iter().position(|known| known == name) {
                Some(at) => Ok(Value::Channel(Parts::mix(at as u16))),
                None => self.names.control_of(name).map(Value::Control),
            },
            // Only sticks are shaped.
            Kind::Unshaped(name) if self.handset.controls.iter().any(|known| known.name.value == name.value) => {
                Err(Reason::NoControl(name.value.clone()))
            }
            Kind::Unshaped(name) => self.names.control_of(&name.value).map(Value::Unshaped),
            Kind::Channel(channel) => Ok(Value::Channel(u16::from(channel.value))),
            Kind::Curve(name, inner) => {
                let at = self.names.curves.iter().position(|known| *known == name.value);
                match at.map(|at| CurveId(at as u16)) {
                    Some(id) => match self.taken.get(&Part::Curve(id)).copied() {
                        Some(unknown) => Ok(Value::Unknown(unknown)),
                        None => Ok(Value::Curve(id, Box::new(self.value(inner)))),
                    },
                    None => Err(Reason::NoCurve(name.value.clone())),
                }
            }
            Kind::Min(a, b) => Ok(Value::Min(Box::new(self.value(a)), Box::new(self.value(b)))),
            Kind::Max(a, b) => Ok(Value::Max(Box::new(self.value(a)), Box::new(self.value(b)))),
            Kind::Negate(inner) => Ok(Value::Negate(Box::new(self.value(inner)))),
        };
        clear.unwrap_or_else(|reason| Value::Unknown(self.not_clear(value.span, reason)))
    }
}

/// One value of many, put together two by two; there is at least one.
fn balanced(mut values: Vec<Value>, join: impl Fn(Value, Value) -> Value + Copy) -> Value {
    while values.len() > 1 {
        let mut pairs = Vec::with_capacity(values.len().div_ceil(2));
        let mut all = values.into_iter();
        while let Some(a) = all.next() {
            pairs.push(match all.next() {
                Some(b) => join(a, b),
                None => a,
            });
        }
        values = pairs;
    }
    values.pop().unwrap_or(Value::Percent(whole(0)))
}

const fn function(stick: Stick) -> Function {
    match stick {
        Stick::Roll => Function::Roll,
        Stick::Pitch => Function::Pitch,
        Stick::Throttle => Function::Throttle,
        Stick::Yaw => Function::Yaw,
    }
}
