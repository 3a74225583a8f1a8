//! Rules about the throttle: what idles the motors, what cuts them, and what starts them.

pub(super) mod cut_fails;
pub(super) mod hidden_high;
pub(super) mod jump;
pub(super) mod neutral_reverse;
pub(super) mod no_cut;
pub(super) mod not_monotonic;
pub(super) mod one_motor_live;
pub(super) mod other_control;
pub(super) mod too_high;
pub(super) mod unchecked;
pub(super) mod with_throttle;

use crate::findings::Edit;
use crate::fleet::condition::{Condition as Written, ConditionKind, Value, ValueKind};
use crate::fleet::equipment::ControlKind;
use crate::fleet::model::{Channel, NamedKind, ValueLine};
use crate::fleet::words::CraftKind;
use crate::fleet::{Decimal, quoted};
use crate::setup::signals::{at_least, below};
use crate::setup::{Setup, Signals, number};
use crate::signal::{Condition, ControlId, Handle, Kept, Measure, Question, Setting, whole};
use crate::source::{Place, Span};

/// A motor of an aircraft, with the channel that drives it.
#[derive(Clone, Copy, Debug)]
struct Motor<'p> {
    channel: &'p Channel,
    /// It idles below this pulse, in microseconds; absent: not stated.
    idle: Option<Decimal>,
    reversible: bool,
    /// Where the aircraft says so.
    place: Place,
}

/// The motors of a setup whose channels the model defines; none where a stick is on the wrong channel, which is said
/// elsewhere.
fn motors<'p>(setup: &'p Setup<'_>) -> Vec<Motor<'p>> {
    if !setup.crossed().is_empty() {
        return Vec::new();
    }
    let motors = setup.motor_channels().into_iter().filter_map(|motor| {
        let channel = setup.model.channel(motor.channel)?;
        Some(Motor { channel, idle: motor.idle, reversible: motor.reversible, place: motor.place })
    });
    motors.collect()
}

impl Motor<'_> {
    fn number(&self) -> u16 {
        u16::from(self.channel.number.value)
    }

    /// The motor idles: its pulse is below its idle.
    fn idles(&self) -> Option<Condition> {
        Some(Condition::Channel(self.number(), Measure::Received, below(number(self.idle?))))
    }

    /// The motor does not idle.
    fn runs(&self) -> Option<Condition> {
        Some(Condition::Channel(self.number(), Measure::Received, at_least(number(self.idle?))))
    }

    /// The lines that are a constant and nothing else, each with its percent.
    fn constants(&self) -> impl Iterator<Item = (usize, &ValueLine, Decimal)> {
        let lines = self.channel.lines.iter().enumerate().filter(|_| self.channel.lines.len() > 1);
        lines.filter_map(|(at, line)| Some((at, line, constant(&line.value)?)))
    }

    /// The constant lines that are meant as a cut and do not idle; `throttle/cut-fails` says so.
    fn failing_cuts(&self, setup: &Setup<'_>) -> Vec<(usize, &ValueLine, Decimal)> {
        let fails = |percent: Decimal| {
            let pulse = self.pulse(setup, percent).zip(self.idle);
            percent.mantissa() <= 0 && pulse.is_some_and(|(pulse, idle)| pulse >= idle.to_f64())
        };
        self.constants().filter(|&(_, _, percent)| fails(percent)).collect()
    }

    /// The pulse that a constant line gives, as it is sent, in microseconds.
    fn pulse(&self, setup: &Setup<'_>, percent: Decimal) -> Option<f64> {
        let (centre, span) = setup.handset?.scale.as_ref()?.value;
        let centre = self.channel.centre.map_or(centre, |centre| centre.value).to_f64();
        let sign = if self.channel.reversed.is_some() { -1.0 } else { 1.0 };
        let turned = sign * percent.to_f64() + self.channel.subtrim.map_or(0.0, |subtrim| subtrim.value.to_f64());
        let (low, high) =
            self.channel.travel.map_or((-100.0, 100.0), |travel| (travel.value.0.to_f64(), travel.value.1.to_f64()));
        Some(centre + span.to_f64() * turned.clamp(low, high) / 100.0)
    }

    /// The cut is in force: one of the lines that give an idle constant is the one that holds. `None` without such a
    /// line.
    fn cut(&self, setup: &Setup<'_>, signals: &Signals) -> Option<Condition> {
        let idle = self.idle?.to_f64();
        let cuts: Vec<usize> = self
            .constants()
            .filter(|&(_, _, percent)| self.pulse(setup, percent).is_some_and(|pulse| pulse < idle))
            .map(|(at, ..)| at)
            .collect();
        let any = cuts.into_iter().map(|at| self.line(signals, at)).collect::<Option<Vec<_>>>()?;
        (!any.is_empty()).then_some(Condition::Any(any))
    }

    /// The line with this index is the one that holds.
    fn line(&self, signals: &Signals, at: usize) -> Option<Condition> {
        let mut all = Vec::with_capacity(at + 1);
        for (index, line) in self.channel.lines.iter().enumerate().take(at + 1) {
            let when = match &line.when {
                Some(when) => signals.lowered().when(when).ok()?,
                None => Condition::Constant(true),
            };
            all.push(if index == at { when } else { Condition::Not(Box::new(when)) });
        }
        Some(Condition::All(all))
    }
}

/// A helicopter whose throttle hold or idle-up switch is asked for before the start.
fn is_checked_helicopter(setup: &Setup<'_>) -> bool {
    setup.is(CraftKind::Helicopter) && setup.model.before_start.iter().any(|start| start.control.value != "throttle")
}

/// The percent of a value that is a constant.
fn constant(value: &Value) -> Option<Decimal> {
    match &value.kind {
        ValueKind::Percent(percent) => Some(*percent),
        ValueKind::Negate(of) => constant(of)?.times(-1),
        _ => None,
    }
}

/// A question with the throttle stick at its lowest and its trim centred.
fn lowest(signals: &Signals, question: Question, trim: bool) -> Option<Question> {
    let stick = signals.stick(crate::signal::Function::Throttle)?;
    let question = question.keeping(Handle::Control(stick), Kept::At(Setting::Percent(whole(-100))));
    Some(if trim { question } else { question.keeping(Handle::Trim(stick), Kept::At(Setting::Percent(whole(0)))) })
}

/// Whether a condition hangs on a control, also through named conditions.
fn hangs_on(setup: &Setup<'_>, condition: &Written, control: &str) -> bool {
    let mut todo: Vec<&Written> = vec![condition];
    let mut seen: Vec<&str> = Vec::new();
    while let Some(next) = todo.pop() {
        let mut found = false;
        next.walk(&mut |part| match &part.kind {
            ConditionKind::Position { control: name, .. } => found |= name.value == control,
            ConditionKind::Axis { axis, .. } => found |= axis.value == control,
            ConditionKind::Named(name) if !seen.contains(&name.value.as_str()) => {
                seen.push(&name.value);
                match setup.model.condition(&name.value).map(|known| &known.kind) {
                    Some(NamedKind::When(when)) => todo.push(when),
                    Some(NamedKind::Latch { set, reset }) => todo.extend([set, reset]),
                    None => {}
                }
            }
            _ => {}
        });
        if found {
            return true;
        }
    }
    false
}

/// The edits that give a channel a cut which lets go only with a low stick: a latch on a switch, and two lines.
/// `running` is what the channel is while the latch is on.
fn latched(setup: &Setup<'_>, channel: &Channel, control: &str, off: &str, on: &str, running: &str) -> Vec<Edit> {
    let head = &setup.model.head;
    let taken = |name: &str| {
        setup.model.condition(name).is_some() || setup.handset.is_some_and(|handset| handset.control(name).is_some())
    };
    let name = ["live", "motor-live", "throttle-live", "motor-live-2"]
        .into_iter()
        .find(|name| !taken(name))
        .unwrap_or("motor-live-3");
    let control = quoted(control);
    let latch =
        format!("condition {name} latch set {control} becomes {on} and throttle low reset {control} {off}\n\n  ");
    let first = setup.model.channels.first().map_or(channel.header, |channel| channel.header);
    let mut edits = vec![Edit { place: head.place(Span::new(first.start, first.start)), text: latch }];
    let lines = (format!("value {running} when {name}"), "value -100 %".to_owned());
    match (channel.body, channel.lines.as_slice()) {
        (Some(_), [one, other]) => {
            edits.push(Edit { place: head.place(one.span), text: lines.0 });
            edits.push(Edit { place: head.place(other.span), text: lines.1 });
        }
        (None, [line]) => {
            // `channel 3 label = value` becomes a block.
            let from = channel.label.as_ref().map_or(channel.number.span.end, |label| label.span.end);
            let text = format!(" {{\n    {}\n    {}\n  }}", lines.0, lines.1);
            edits.push(Edit { place: head.place(Span::new(from, line.value.span.end)), text });
        }
        _ => return Vec::new(),
    }
    edits
}

/// The two-position switches that stay where they are put and that the model does not use.
fn spare<'p>(setup: &'p Setup<'_>) -> Vec<&'p str> {
    let used = setup.model.control_names();
    let controls = setup.handset.iter().flat_map(|handset| &handset.controls);
    let spare = controls.filter(|control| control.kind == ControlKind::Switch { positions: 2, sprung_to: None });
    spare.map(|control| control.name.value.as_str()).filter(|name| !used.contains(name)).collect()
}

/// The names of controls.
fn names(signals: &Signals, controls: &[ControlId]) -> Vec<String> {
    controls.iter().map(|&control| signals.name(control).to_owned()).collect()
}
