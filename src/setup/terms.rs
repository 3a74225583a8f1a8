//! What values and conditions hang on, as they are written.

use super::signals::Signals;
use crate::fleet::Decimal;
use crate::fleet::condition::{Condition, ConditionKind, Value, ValueKind};
use crate::fleet::model::{Channel, Model, NamedKind, ValueLine};
use crate::signal::ControlId;
use crate::source::Located;

/// The control that a value names itself, shaped or not; `None` for a value of another form.
pub fn control_of(value: &Value) -> Option<&str> {
    match &value.kind {
        ValueKind::Control(name) => Some(name),
        ValueKind::Unshaped(name) => Some(&name.value),
        _ => None,
    }
}

/// Calls `visit` for every value of a channel and inside it, and of the channels and mixes that it reads, each once.
pub fn each_value_of<'m>(model: &'m Model, channel: u8, visit: &mut impl FnMut(&'m Value)) {
    let Some(channel) = model.channel(channel) else { return };
    each_value(channel, visit, &|value| match &value.kind {
        ValueKind::Channel(other) => model.channel(other.value).map(|other| other.lines.as_slice()),
        _ => mix_of(model, value),
    });
}

/// Calls `visit` for every value of a channel itself and inside it, and of the mixes that it names, each once.
fn each_own_value<'m>(model: &'m Model, channel: &'m Channel, visit: &mut impl FnMut(&'m Value)) {
    each_value(channel, visit, &|value| mix_of(model, value));
}

/// The lines of the mix that a value names.
fn mix_of<'m>(model: &'m Model, value: &Value) -> Option<&'m [ValueLine]> {
    let ValueKind::Control(name) = &value.kind else { return None };
    model.mix(name).map(|mix| mix.lines.as_slice())
}

/// Calls `visit` for every value of a channel and inside it, and of the lines that these lead on to, each once.
fn each_value<'m>(
    channel: &'m Channel,
    visit: &mut impl FnMut(&'m Value),
    leads_to: &dyn Fn(&'m Value) -> Option<&'m [ValueLine]>,
) {
    let mut read = vec![channel.lines.as_slice()];
    let mut at = 0;
    while let Some(&lines) = read.get(at) {
        for line in lines {
            line.value.walk(&mut |value| {
                visit(value);
                if let Some(other) = leads_to(value)
                    && !read.iter().any(|known| std::ptr::eq(*known, other))
                {
                    read.push(other);
                }
            });
        }
        at += 1;
    }
}

/// Whether a control stands in one of a channel's own values.
pub fn holds_control(model: &Model, channel: &Channel, control: &str) -> bool {
    let mut found = false;
    each_own_value(model, channel, &mut |value| found |= control_of(value) == Some(control));
    found
}

/// Whether an axis stands in a channel's values, also through other channels.
pub fn follows_an_axis(model: &Model, signals: &Signals, channel: u8) -> bool {
    let mut found = false;
    each_value_of(model, channel, &mut |value| {
        let control = control_of(value).and_then(|name| signals.lowered().control(name));
        found |= control.is_some_and(|control| signals.positions(control) == 0);
    });
    found
}

/// The switches and buttons that stand in a channel's own values, each once.
pub fn switches_of(model: &Model, signals: &Signals, channel: &Channel) -> Vec<ControlId> {
    let mut found = Vec::new();
    each_own_value(model, channel, &mut |value| {
        if let ValueKind::Control(name) = &value.kind
            && let Some(id) = signals.lowered().control(name)
            && signals.positions(id) > 0
            && !found.contains(&id)
        {
            found.push(id);
        }
    });
    found
}

/// The first percentage inside a channel's values that lies beyond ±100 %.
pub fn beyond_full(channel: &Channel) -> Option<(&Value, Decimal)> {
    let (least, greatest) = (Decimal::whole(-100), Decimal::whole(100));
    let mut found = None;
    for line in &channel.lines {
        line.value.walk(&mut |value| match value.kind {
            ValueKind::Percent(percent) if percent > greatest || percent < least => {
                found = found.or(Some((value, percent)));
            }
            _ => {}
        });
    }
    found
}

/// The percent of a value that is a constant.
pub fn constant(value: &Value) -> Option<Decimal> {
    match &value.kind {
        ValueKind::Percent(percent) => Some(*percent),
        ValueKind::Negate(of) => constant(of)?.times(-1),
        _ => None,
    }
}

/// Whether one of several value lines of a channel is a constant.
pub fn has_constant_line(channel: &Channel) -> bool {
    channel.lines.len() > 1 && channel.lines.iter().any(|line| constant(&line.value).is_some())
}

/// The number of the first line of a channel with a condition whose constant all lines below it give too, where one above it gives
/// something else.
pub fn changes_nothing(channel: &Channel) -> Option<usize> {
    let constants: Vec<_> = channel.lines.iter().map(|line| constant(&line.value)).collect();
    let last = (*constants.last()?)?;
    let same = constants.iter().rev().take_while(|value| **value == Some(last)).count();
    let first = constants.len() - same;
    (first > 0 && same > 1).then_some(first)
}

/// Whether a value is one control and nothing else.
pub fn is_plain_control(model: &Model, value: &Value) -> bool {
    matches!(&value.kind, ValueKind::Control(name) if model.mix(name).is_none())
}

/// Whether the pulse of a channel rises when a control does; `None` where its form is not that control, turned or by a factor.
pub fn rises_with(channel: &Channel, is_control: &dyn Fn(&str) -> bool) -> Option<bool> {
    let [line] = channel.lines.as_slice() else { return None };
    let rises = line.value.fold(&mut |value, parts: &[Option<bool>]| match &value.kind {
        ValueKind::Control(name) => is_control(name).then_some(true),
        ValueKind::Unshaped(name) => is_control(&name.value).then_some(true),
        ValueKind::Negate(_) => parts.first().copied().flatten().map(|rises| !rises),
        ValueKind::Multiply(a, b) => {
            let by = constant(a).or_else(|| constant(b)).filter(|percent| percent.mantissa() != 0)?;
            let rises = parts.iter().copied().flatten().next()?;
            Some(rises == (by.mantissa() > 0))
        }
        _ => None,
    });
    (line.when.is_none()).then_some(rises?).map(|rises| rises == channel.reversed.is_none())
}

/// Whether a value can only rise with the throttle stick, by its form: the stick itself, rising curves, positive
/// factors and constants.
pub fn only_rises(model: &Model, value: &Value) -> bool {
    value.fold(&mut |value, parts: &[bool]| {
        let positive = |value: &Value| constant(value).is_some_and(|percent| percent.mantissa() >= 0);
        match &value.kind {
            // What a mix does is asked.
            ValueKind::Control(name) => model.mix(name).is_none(),
            ValueKind::Percent(_) | ValueKind::Unshaped(_) => true,
            ValueKind::Channel(_) | ValueKind::Subtract(..) | ValueKind::Negate(_) => constant(value).is_some(),
            ValueKind::Curve(name, _) => {
                let curve = model.curve(&name.value);
                curve.is_some_and(|curve| curve.points.windows(2).all(|next| next[0].1 <= next[1].1))
                    && parts.iter().all(|rises| *rises)
            }
            ValueKind::Min(..) | ValueKind::Max(..) | ValueKind::Add(..) => parts.iter().all(|rises| *rises),
            ValueKind::Multiply(a, b) => {
                positive(a) && parts.last() == Some(&true) || positive(b) && parts.first() == Some(&true)
            }
        }
    })
}

/// Where a model names channels by their numbers, but for their own headers.
pub fn channels_named(model: &Model) -> Vec<Located<u8>> {
    let mut found = Vec::new();
    for condition in model.all_conditions().chain(model.expects.iter().map(|expect| &expect.condition)) {
        condition.walk(&mut |part| {
            if let ConditionKind::Channel { channel, .. } = &part.kind {
                found.push(*channel);
            }
        });
    }
    for line in model.value_lines() {
        line.value.walk(&mut |part| {
            if let ValueKind::Channel(channel) = &part.kind {
                found.push(*channel);
            }
        });
    }
    found.extend(model.failsafe.iter().flat_map(|failsafe| &failsafe.preset).map(|pulse| pulse.channel));
    found
}

/// Whether a channel feeds another, a condition or a timer of its model.
pub fn has_a_job(model: &Model, channel: u8) -> bool {
    model.value_lines().any(|line| reads_channel(&line.value, channel))
        || model.all_conditions().any(|condition| channels_tested(condition).contains(&channel))
}

/// Whether a value reads a channel, itself or inside it.
pub fn reads_channel(value: &Value, channel: u8) -> bool {
    let mut found = false;
    value.walk(&mut |part| found |= matches!(&part.kind, ValueKind::Channel(other) if other.value == channel));
    found
}

/// The channels that a condition tests, each once.
pub fn channels_tested(condition: &Condition) -> Vec<u8> {
    let mut channels = Vec::new();
    condition.walk(&mut |part| {
        if let ConditionKind::Channel { channel, .. } = &part.kind
            && !channels.contains(&channel.value)
        {
            channels.push(channel.value);
        }
    });
    channels
}

/// Whether some condition of a model has to be held for a time.
pub fn waits(model: &Model) -> bool {
    let mut found = false;
    for condition in model.all_conditions() {
        condition.walk(&mut |part| found |= matches!(part.kind, ConditionKind::Held(..)));
    }
    found
}

/// Whether a condition hangs on a control, also through named conditions.
pub fn hangs_on(model: &Model, condition: &Condition, control: &str) -> bool {
    any_part(model, condition, &mut |part| match &part.kind {
        ConditionKind::Position { control: name, .. } => name.value == control,
        ConditionKind::Axis { axis, .. } => axis.value == control,
        ConditionKind::Named(name) => matches!(
            model.condition(&name.value).map(|known| &known.kind),
            Some(NamedKind::Toggle { control: name, .. }) if name.value == control
        ),
        _ => false,
    })
}

/// Whether a condition names another, also through named conditions.
pub fn names_condition(model: &Model, condition: &Condition, name: &str) -> bool {
    any_part(model, condition, &mut |part| matches!(&part.kind, ConditionKind::Named(other) if other.value == name))
}

/// Whether something holds of a part of a condition, or of the named conditions that it leads to, each looked at once.
fn any_part(model: &Model, condition: &Condition, holds: &mut impl FnMut(&Condition) -> bool) -> bool {
    let mut todo: Vec<&Condition> = vec![condition];
    let mut seen: Vec<&str> = Vec::new();
    while let Some(next) = todo.pop() {
        let mut found = false;
        next.walk(&mut |part| {
            found |= holds(part);
            let ConditionKind::Named(name) = &part.kind else { return };
            if seen.contains(&name.value.as_str()) {
                return;
            }
            seen.push(&name.value);
            match model.condition(&name.value).map(|known| &known.kind) {
                Some(NamedKind::When(when)) => todo.push(when),
                Some(NamedKind::Latch { set, reset }) => todo.extend([set, reset]),
                Some(NamedKind::Toggle { .. } | NamedKind::Reported) | None => {}
            }
        });
        if found {
            return true;
        }
    }
    false
}
