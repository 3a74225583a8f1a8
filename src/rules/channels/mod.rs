//! Rules about what the channels carry, and whether it is what the aircraft reads there.

pub(super) mod clipped;
pub(super) mod collapsed;
pub(super) mod dead_line;
pub(super) mod dead_stick;
pub(super) mod double_expo;
pub(super) mod elevons_alike;
pub(super) mod gap;
pub(super) mod lost_signal;
pub(super) mod missing;
pub(super) mod mixed;
pub(super) mod not_carried;
pub(super) mod off_centre;
pub(super) mod order;
pub(super) mod reversed;
pub(super) mod short_travel;
pub(super) mod slowed;
pub(super) mod subtrim;
pub(super) mod trims;
pub(super) mod twice;
pub(super) mod unfed;
pub(super) mod unused;

use super::signals::{Signals, float};
use crate::fleet::condition::{Value, ValueKind};
use crate::fleet::model::{Channel, Model};
use crate::fleet::words::Stick;
use crate::signal::{ControlId, Function, Handle, Setting, Stand, whole};
use std::ops::Deref;

/// Some of the four sticks, in the order in which they were found.
#[derive(Clone, Copy, Debug)]
pub struct Sticks {
    list: [Stick; 4],
    count: usize,
}

impl Deref for Sticks {
    type Target = [Stick];

    fn deref(&self) -> &[Stick] {
        self.list.get(..self.count).unwrap_or_default()
    }
}

impl Sticks {
    fn add(&mut self, name: &str) {
        if let Some(stick) = Stick::find(name).filter(|stick| !self.contains(stick))
            && let Some(place) = self.list.get_mut(self.count)
        {
            *place = stick;
            self.count += 1;
        }
    }
}

/// The sticks that stand in a channel's values, also by way of other channels; not those of its conditions.
pub(super) fn sticks(model: &Model, channel: u8) -> Sticks {
    let mut found = Sticks { list: [Stick::Roll; 4], count: 0 };
    // The channels that others led to, each once.
    let (mut others, mut at, mut next) = (Vec::new(), 0, Some(channel));
    while let Some(number) = next {
        for line in model.channel(number).iter().flat_map(|channel| &channel.lines) {
            line.value.walk(&mut |value| match &value.kind {
                ValueKind::Control(name) => found.add(name),
                ValueKind::Unshaped(name) => found.add(&name.value),
                ValueKind::Channel(other) if other.value != channel && !others.contains(&other.value) => {
                    others.push(other.value);
                }
                _ => {}
            });
        }
        next = others.get(at).copied();
        at += 1;
    }
    found
}

/// The stick that a channel is, where its one value line is nothing but that stick.
fn plain_stick(channel: &Channel) -> Option<Stick> {
    match channel.lines.as_slice() {
        [line] if line.when.is_none() => match &line.value.kind {
            ValueKind::Control(name) => Stick::find(name),
            _ => None,
        },
        _ => None,
    }
}

/// Whether nothing is done to a plain stick that could turn or cut it.
fn is_straight(model: &Model, channel: &Channel) -> bool {
    let Some(stick) = plain_stick(channel) else { return false };
    let rates = model.rates.iter().find(|rates| rates.stick.value == stick);
    let within = |percent: f64| (0.0..=100.0).contains(&percent);
    channel.reversed.is_none()
        && channel.subtrim.is_none()
        && channel.travel.is_none_or(|travel| travel.value.0.to_f64() <= -100.0 && travel.value.1.to_f64() >= 100.0)
        && rates.is_none_or(|rates| rates.lines.iter().all(|line| within(line.rate.value.to_f64())))
}

/// The only value of a channel, where it is a constant.
fn constant(channel: &Channel) -> Option<&Value> {
    match channel.lines.as_slice() {
        [line] if line.when.is_none() && matches!(line.value.kind, ValueKind::Percent(_)) => Some(&line.value),
        _ => None,
    }
}

/// The function of a stick in the signal path.
pub(super) const fn function(stick: Stick) -> Function {
    match stick {
        Stick::Roll => Function::Roll,
        Stick::Pitch => Function::Pitch,
        Stick::Throttle => Function::Throttle,
        Stick::Yaw => Function::Yaw,
    }
}

/// Where everything rests, but for one stick.
fn with_stick(signals: &Signals, stick: ControlId, percent: i64) -> Stand {
    let mut stand = signals.program().rest();
    stand.set(Handle::Control(stick), Setting::Percent(whole(percent)));
    stand
}

/// The pulse that arrives on a channel, in microseconds, where everything rests but for one control.
fn arrives(signals: &Signals, control: ControlId, at: Setting, channel: u8) -> Option<f64> {
    let reading = signals.program().read_with(&[(Handle::Control(control), at)], u16::from(channel))?;
    reading.received.as_ref().map(float)
}

/// The same for a stick at so many percent.
fn stick_arrives(signals: &Signals, stick: ControlId, percent: i64, channel: u8) -> Option<f64> {
    arrives(signals, stick, Setting::Percent(whole(percent)), channel)
}
