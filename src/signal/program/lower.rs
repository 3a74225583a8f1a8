//! From the typed fleet to the parts of a program: one model, its handset, the link it is sent over, and the aircraft.

use crate::fleet::Decimal;
use crate::fleet::condition as written;
use crate::fleet::craft::{Controller, Craft};
use crate::fleet::equipment::{self, Handset, Link};
use crate::fleet::model::{self, Model, Trims};
use crate::fleet::words::Stick;
use crate::signal::number::decimal::{Number, fits};
use crate::signal::program::compiled::Compiled;
use crate::signal::program::parts::{
    Bound, Bounds, Carriage, Channel, Condition, ConditionId, Control, ControlId, ControlKind, Curve, CurveId,
    Function, Line, Measure, Mode, ModeId, Named, NamedKind, Parts, Position, Rate, Scale, Value,
};
use compact_str::CompactString;
use num_traits::Zero;

/// Words of a model whose loss leaves the signal path as it is.
const BESIDE: &[&str] = &[
    "alarm",
    "timer",
    "module",
    "flies",
    "failsafe",
    "expect",
    "stick-filter",
    "lesson",
    "purpose",
    "trainer",
    "before-start",
    "receiver-number",
    "match",
    "send-on",
    "update-rate",
    "telemetry",
    "power",
    "key",
];

/// What the names of a model mean in its parts.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct Names {
    controls: Vec<(CompactString, equipment::ControlKind)>,
    conditions: Vec<CompactString>,
    curves: Vec<CompactString>,
    modes: Vec<CompactString>,
    /// The `held` conditions so far.
    held: HeldSoFar,
}

/// The `held` conditions so far, which number them: time and condition.
type HeldSoFar = Vec<(Decimal, Condition)>;

/// Why a condition can't be asked.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Unclear;

type Clear<T> = Result<T, Unclear>;

/// Puts the parts together. `link` absent: every channel arrives unchanged; `craft` absent: no controller.
///
/// # Errors
/// [`Unclear`] where the description has faults that touch the signal path (they are findings already), where a limit
/// of [`Program`] is passed, or where the handset states no scale.
pub(in crate::signal) fn lowering(
    model: &Model,
    handset: &Handset,
    link: Option<&Link>,
    craft: Option<&Craft>,
) -> Clear<(Compiled, Names)> {
    let beside = |lost: &equipment::Lost| !lost.word.is_empty() && BESIDE.contains(&lost.word);
    let in_module = |lost: &equipment::Lost| {
        model.modules.iter().filter_map(|module| module.body).any(|body| body.whole.holds(lost.span))
    };
    if model.head.lost.iter().any(|lost| !beside(lost) && !in_module(lost)) {
        return Err(Unclear);
    }
    if handset.head.lost_any(&["switch", "button", "knob", "slider", "scale", "trim-range"])
        || link.is_some_and(|link| link.head.lost_any(&["carry", "channels"]))
    {
        return Err(Unclear);
    }
    let controller = craft.and_then(|craft| craft.controller.as_ref());
    if let (Some(craft), Some(controller)) = (craft, controller)
        && craft.head.lost_in(controller.body.whole)
    {
        return Err(Unclear);
    }
    let mut names = Names::default();
    names.controls.extend(Stick::ALL.iter().map(|stick| (stick.word().into(), equipment::ControlKind::Knob)));
    names.controls.extend(handset.controls.iter().map(|control| (control.name.value.clone(), control.kind)));
    names.conditions.extend(model.conditions.iter().map(|condition| condition.name.value.clone()));
    names.curves.extend(model.curves.iter().map(|curve| curve.name.value.clone()));
    names.modes.extend(controller.iter().flat_map(|controller| &controller.modes).map(|mode| mode.name.value.clone()));
    let mut held = HeldSoFar::new();
    let parts = parts(model, handset, link, controller, &names, &mut held)?;
    let compiled = Compiled::new(parts).map_err(|_| Unclear)?;
    names.held = held;
    Ok((compiled, names))
}

impl Names {
    /// A condition of `expect` or of a query: its pulses are the ones received.
    ///
    /// # Errors
    /// [`Unclear`] where it names something that is not there.
    pub(in crate::signal) fn condition(&self, condition: &written::Condition) -> Clear<Condition> {
        self.read(condition, Measure::Received, &mut self.held.clone())
    }

    /// A condition of `when` or `while`: its pulses are the ones sent.
    ///
    /// # Errors
    /// As [`Names::condition`].
    pub(in crate::signal) fn when(&self, condition: &written::Condition) -> Clear<Condition> {
        self.read(condition, Measure::Sent, &mut self.held.clone())
    }

    /// The control with a name; sticks too.
    pub(in crate::signal) fn control(&self, name: &str) -> Option<ControlId> {
        let at = self.controls.iter().position(|(known, _)| known == name)?;
        Some(ControlId(at as u16))
    }

    /// The mode with a name.
    pub(in crate::signal) fn mode(&self, name: &str) -> Option<ModeId> {
        let at = self.modes.iter().position(|known| known == name)?;
        Some(ModeId(at as u16))
    }

    /// The position of a control by its name, from 0.
    pub(in crate::signal) fn position(&self, control: ControlId, name: &str) -> Option<u8> {
        self.controls.get(usize::from(control.0))?.1.position(name)
    }
}

/// The number of a decimal, where it can be computed with.
fn number(decimal: Decimal) -> Clear<Number> {
    if decimal.scale() == 0 && fits(Number::new_raw(decimal.mantissa(), 1)) {
        return Ok(Number::new_raw(decimal.mantissa(), 1));
    }
    let denominator = 10i64.checked_pow(u32::from(decimal.scale())).ok_or(Unclear)?;
    let number = Number::new(decimal.mantissa(), denominator);
    if fits(number) { Ok(number) } else { Err(Unclear) }
}

fn function(stick: Stick) -> Function {
    match stick {
        Stick::Roll => Function::Roll,
        Stick::Pitch => Function::Pitch,
        Stick::Throttle => Function::Throttle,
        Stick::Yaw => Function::Yaw,
    }
}

fn parts(
    model: &Model,
    handset: &Handset,
    link: Option<&Link>,
    controller: Option<&Controller>,
    names: &Names,
    held: &mut HeldSoFar,
) -> Clear<Parts> {
    let (centre, span) = handset.scale.as_ref().ok_or(Unclear)?.value;
    let mut controls = Vec::new();
    for &stick in Stick::ALL {
        controls.push(stick_control(stick, model, handset, names, held)?);
    }
    controls.extend(handset.controls.iter().map(|control| Control {
        name: control.name.value.clone(),
        kind: match control.kind {
            equipment::ControlKind::Switch { sprung_to, .. } => {
                ControlKind::Switch { positions: control.kind.position_names(), sprung_to }
            }
            equipment::ControlKind::Button => ControlKind::Button,
            equipment::ControlKind::Knob | equipment::ControlKind::Slider => ControlKind::Axis,
        },
    }));
    let curves = model.curves.iter().map(curve).collect::<Clear<_>>()?;
    let mut conditions = Vec::new();
    for condition in &model.conditions {
        let kind = match &condition.kind {
            model::NamedKind::When(when) => NamedKind::Plain(names.read(when, Measure::Sent, held)?),
            model::NamedKind::Latch { set, reset } => NamedKind::Latch {
                set: names.read(set, Measure::Sent, held)?,
                reset: names.read(reset, Measure::Sent, held)?,
            },
        };
        conditions.push(Named { name: condition.name.value.clone(), kind });
    }
    let channels = model.channels.iter().map(|known| channel(known, link, names, held)).collect::<Clear<_>>()?;
    let modes = controller.iter().flat_map(|controller| &controller.modes);
    let modes = modes.map(|mode| {
        let test = |test: &crate::fleet::craft::ModeTest| {
            let (low, high) = test.range.value;
            Ok((u16::from(test.channel.value), number(low)?, number(high)?))
        };
        Ok(Mode { name: mode.name.value.clone(), ranges: mode.tests.iter().map(test).collect::<Clear<_>>()? })
    });
    let modes = modes.collect::<Clear<_>>()?;
    let order = controller.and_then(|controller| controller.order).map(|order| order.value.map(function));
    let scale = Scale { centre: number(centre)?, span: number(span)? };
    Ok(Parts { controls, curves, conditions, channels, scale, order, modes })
}

fn stick_control(
    stick: Stick,
    model: &Model,
    handset: &Handset,
    names: &Names,
    held: &mut HeldSoFar,
) -> Clear<Control> {
    let trims = model.trims.map_or(Trims::On, |trims| trims.value);
    let acts = trims == Trims::On || trims == Trims::ThrottleOff && stick != Stick::Throttle;
    // Without a stated range nothing is known of the trims: none is reckoned with.
    let trim = match (acts, handset.trim_range) {
        (true, Some(range)) if !range.value.mantissa().is_zero() => Some(number(range.value)?),
        _ => None,
    };
    let lines = model.rates.iter().filter(|rates| rates.stick.value == stick).flat_map(|rates| &rates.lines);
    let rates = lines.map(|line| {
        Ok(Rate {
            rate: number(line.rate.value)?,
            expo: number(line.expo.map_or(Decimal::whole(0), |expo| expo.value))?,
            when: line.when.as_ref().map(|when| names.read(when, Measure::Sent, held)).transpose()?,
        })
    });
    let rates = rates.collect::<Clear<_>>()?;
    Ok(Control { name: stick.word().into(), kind: ControlKind::Stick { function: function(stick), trim, rates } })
}

fn curve(curve: &model::Curve) -> Clear<Curve> {
    let points = curve.points.iter().map(|(x, y)| Ok((number(x.value)?, number(*y)?))).collect::<Clear<_>>()?;
    Ok(Curve { name: curve.name.value.clone(), points, smooth: curve.smooth })
}

fn channel(known: &model::Channel, link: Option<&Link>, names: &Names, held: &mut HeldSoFar) -> Clear<Channel> {
    let mut lines = Vec::new();
    for line in &known.lines {
        let when = line.when.as_ref().map(|when| names.read(when, Measure::Sent, held)).transpose()?;
        lines.push(Line { value: names.value(&line.value)?, when });
    }
    if lines.is_empty() {
        return Err(Unclear);
    }
    let carriage = match link {
        None => Carriage::Unchanged,
        Some(link) if !link.carries_channel(known.number.value) => Carriage::Not,
        Some(link) => match link.carry(known.number.value).and_then(|carry| carry.levels) {
            Some(levels) => Carriage::Levels(levels.value),
            None => Carriage::Unchanged,
        },
    };
    let (low, high) = known.travel.map_or((Decimal::whole(-100), Decimal::whole(100)), |travel| travel.value);
    Ok(Channel {
        number: u16::from(known.number.value),
        name: known.label.as_ref().map(|label| label.value.clone()).unwrap_or_default(),
        lines,
        reversed: known.reversed.is_some(),
        subtrim: number(known.subtrim.map_or(Decimal::whole(0), |subtrim| subtrim.value))?,
        travel: (number(low)?, number(high)?),
        centre: known.centre.map(|centre| number(centre.value)).transpose()?,
        carriage,
    })
}

impl Names {
    fn control_of(&self, name: &str) -> Clear<ControlId> {
        let at = self.controls.iter().position(|(known, _)| known == name).ok_or(Unclear)?;
        u16::try_from(at).map(ControlId).map_err(|_| Unclear)
    }

    fn read(&self, condition: &written::Condition, pulses: Measure, held: &mut HeldSoFar) -> Clear<Condition> {
        use written::ConditionKind as Kind;
        Ok(match &condition.kind {
            Kind::Any(list) => {
                Condition::Any(list.iter().map(|part| self.read(part, pulses, held)).collect::<Clear<_>>()?)
            }
            Kind::All(list) => {
                Condition::All(list.iter().map(|part| self.read(part, pulses, held)).collect::<Clear<_>>()?)
            }
            Kind::Not(inner) => Condition::Not(Box::new(self.read(inner, pulses, held)?)),
            Kind::Held(time, inner) => {
                let entry = (*time, self.read(inner, pulses, held)?);
                let at = match held.iter().position(|known| *known == entry) {
                    Some(at) => at,
                    None => {
                        held.push(entry.clone());
                        held.len() - 1
                    }
                };
                Condition::Held(u8::try_from(at).map_err(|_| Unclear)?, Box::new(entry.1))
            }
            Kind::Position { control, position, becomes } => {
                let id = self.control_of(&control.value)?;
                let kind = self.controls.get(usize::from(id.0)).map(|(_, kind)| *kind).ok_or(Unclear)?;
                let place = match kind.position(&position.value) {
                    Some(index) => Position::Index(index),
                    None if Stick::find(&control.value) == Some(Stick::Throttle) && position.value == "low" => {
                        Position::Low
                    }
                    None => return Err(Unclear),
                };
                if *becomes { Condition::Becomes(id, place) } else { Condition::At(id, place) }
            }
            Kind::Axis { axis, above, threshold } => {
                let id = self.control_of(&axis.value)?;
                let bound = Some(Bound { at: number(*threshold)?, strict: true });
                let bounds = if *above { Bounds { low: bound, high: None } } else { Bounds { low: None, high: bound } };
                Condition::Axis(id, bounds)
            }
            Kind::Channel { channel, test, measure } => {
                let bound = |at: Decimal, strict| Ok(Some(Bound { at: number(at)?, strict }));
                let bounds = match *test {
                    written::Test::Above(at) => Bounds { low: bound(at, true)?, high: None },
                    written::Test::Below(at) => Bounds { low: None, high: bound(at, true)? },
                    written::Test::Between(low, high) => Bounds { low: bound(low, false)?, high: bound(high, false)? },
                };
                let measure = match measure {
                    written::Measure::Percent => Measure::Percent,
                    written::Measure::Pulse => pulses,
                };
                Condition::Channel(u16::from(channel.value), measure, bounds)
            }
            Kind::Mode(name) => {
                let at = self.modes.iter().position(|known| *known == name.value).ok_or(Unclear)?;
                Condition::Mode(ModeId(at as u16), pulses)
            }
            Kind::Named(name) => {
                let at = self.conditions.iter().position(|known| *known == name.value).ok_or(Unclear)?;
                Condition::Named(ConditionId(at as u16))
            }
        })
    }

    fn value(&self, value: &written::Value) -> Clear<Value> {
        use written::ValueKind as Kind;
        let boxed = |value: &written::Value| Ok(Box::new(self.value(value)?));
        Ok(match &value.kind {
            Kind::Percent(percent) => Value::Percent(number(*percent)?),
            Kind::Control(name) => Value::Control(self.control_of(name)?),
            Kind::Unshaped(name) => Value::Unshaped(self.control_of(&name.value)?),
            Kind::Channel(channel) => Value::Channel(u16::from(channel.value)),
            Kind::Curve(name, inner) => {
                let at = self.curves.iter().position(|known| *known == name.value).ok_or(Unclear)?;
                Value::Curve(CurveId(at as u16), boxed(inner)?)
            }
            Kind::Min(a, b) => Value::Min(boxed(a)?, boxed(b)?),
            Kind::Max(a, b) => Value::Max(boxed(a)?, boxed(b)?),
            Kind::Add(a, b) => Value::Add(boxed(a)?, boxed(b)?),
            Kind::Subtract(a, b) => Value::Subtract(boxed(a)?, boxed(b)?),
            Kind::Multiply(a, b) => Value::Multiply(boxed(a)?, boxed(b)?),
            Kind::Negate(inner) => Value::Negate(boxed(inner)?),
        })
    }
}
