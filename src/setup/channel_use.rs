//! What an aircraft reads from its channels, and which sticks stand in them.

use super::ends::Seen;
use super::rates::rates_of;
use super::signals::Signals;
use super::subject::Subject;
use super::terms::{self, is_plain_control};
use crate::fleet::Decimal;
use crate::fleet::condition::{Name, Value, ValueKind};
use crate::fleet::craft::Controller;
use crate::fleet::equipment::Handset;
use crate::fleet::model::{Channel, Model};
use crate::fleet::table::lists::FUNCTIONS;
use crate::fleet::words::Stick;
use crate::signal::{Function, Handle, Setting, whole};
use crate::source::{Located, Place};
use std::fmt;
use std::ops::Deref;

/// What a channel is for.
#[derive(Clone, Copy, Debug)]
pub enum What<'f> {
    /// A function that the controller reads.
    Function(Stick),
    /// A mode of the controller.
    Mode(&'f str),
    /// What a surface does.
    Surface(&'f [Name]),
    /// It drives a motor.
    Motor,
    /// It switches the ignition of an engine.
    Ignition,
}

impl What<'_> {
    /// Whether it neither steers nor drives, nor is anything else that flying hangs on: a light, or what has a name of its own.
    pub fn is_beside(&self) -> bool {
        let is_function = |name: &Name| name.value != "light" && FUNCTIONS.contains(&name.value.as_str());
        matches!(self, Self::Surface(names) if !names.iter().any(is_function))
    }
}

impl fmt::Display for What<'_> {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Function(stick) => to.write_str(stick.word()),
            Self::Mode(name) => write!(to, "mode {name}"),
            Self::Surface(names) => {
                for (at, name) in names.iter().enumerate() {
                    write!(to, "{}{}", if at == 0 { "" } else { " + " }, name.value)?;
                }
                Ok(())
            }
            Self::Motor => to.write_str("a motor"),
            Self::Ignition => to.write_str("the ignition"),
        }
    }
}

/// The functions of the sticks that a controller reads; none where it is not stated from which channels.
pub(super) fn functions<'f>(subject: &Subject<'f>) -> impl Iterator<Item = (Stick, u8)> + use<'f> {
    subject.craft.controller.iter().flat_map(Controller::functions)
}

/// The channels that an aircraft reads, each once, with what it is for and whether the aircraft can't fly without it.
pub(super) fn used<'f>(subject: &Subject<'f>) -> Vec<(u8, What<'f>, bool)> {
    let mut used: Vec<(u8, What<'f>, bool)> = Vec::new();
    let mut add = |channel: u8, what: What<'f>, vital: bool| {
        if !used.iter().any(|(known, ..)| *known == channel) {
            used.push((channel, what, vital));
        }
    };
    for (stick, channel) in functions(subject) {
        add(channel, What::Function(stick), true);
    }
    for read in subject.craft.controller.iter().flat_map(|controller| &controller.reads) {
        let vital = is_vital(&read.function.value);
        add(read.channel.value, What::Surface(std::slice::from_ref(&read.function)), vital);
    }
    for mode in subject.craft.controller.iter().flat_map(|controller| &controller.modes) {
        let arm = mode.name.value == "arm";
        for test in mode.tests() {
            add(test.channel.value, What::Mode(&mode.name.value), arm);
        }
    }
    for surface in subject.craft.surfaces.iter().flat_map(|surfaces| &surfaces.channels) {
        let vital = surface.functions.iter().any(|name| is_vital(&name.value));
        add(surface.channel.value, What::Surface(&surface.functions), vital);
    }
    for motor in subject.craft.surfaces.iter().flat_map(|surfaces| &surfaces.motors) {
        add(motor.channel.value, What::Motor, true);
    }
    for ignition in subject.craft.surfaces.iter().flat_map(|surfaces| &surfaces.ignitions) {
        add(ignition.channel.value, What::Ignition, true);
    }
    used
}

/// Whether an aircraft that has a function can't be flown or driven without it: those of the sticks, and what steers it or lifts it.
pub fn is_vital(function: &str) -> bool {
    Stick::find(function).is_some() || matches!(function, "steering" | "collective" | "tail")
}

/// Where an aircraft's description says that it reads a channel; its header where it does not.
pub(super) fn read_at(subject: &Subject<'_>, channel: u8) -> Place {
    let controller = subject.craft.controller.as_ref();
    let read = controller.and_then(|controller| controller.reads.iter().find(|read| read.channel.value == channel));
    let order = controller.and_then(|controller| controller.order).filter(|_| (1..=4).contains(&channel));
    let order = read.map(|read| read.span).or_else(|| order.map(|order| order.span));
    let mut modes = controller.iter().flat_map(|controller| &controller.modes);
    let mode = || modes.find(|mode| mode.tests().any(|test| test.channel.value == channel)).map(|mode| mode.span);
    let surfaces = subject.craft.surfaces.as_ref();
    let surface = || surfaces?.channels.iter().find(|surface| surface.channel.value == channel).map(|it| it.span);
    let motor = || surfaces?.motors.iter().find(|motor| motor.channel.value == channel).map(|motor| motor.span);
    let ignition = || surfaces?.ignitions.iter().find(|it| it.channel.value == channel).map(|it| it.span);
    let span = order.or_else(mode).or_else(surface).or_else(motor).or_else(ignition);
    subject.in_craft(span.unwrap_or(subject.craft.head.header))
}

/// Whether a model is right for another aircraft that it flies: none of that one's functions is moved by another stick.
pub(super) fn suits_another(subject: &Subject<'_>) -> bool {
    let others = subject.model.flies.iter().filter(|name| name.value != subject.craft.head.name.value);
    let crafts = others.filter_map(|name| subject.context.fleet.craft(&name.value));
    let others = crafts.map(|craft| Subject { craft, ..*subject });
    others.map(|other| (functions(&other).collect::<Vec<_>>(), other)).any(|(functions, other)| {
        let mut flights = functions.iter().map(|&(function, channel)| Flight::new(&other, function, channel));
        !functions.is_empty() && flights.all(|flight| flight.crossed().is_none())
    })
}

/// The order in which a model's first four channels carry the sticks, where each stick is carried once. A channel that is not
/// one stick's counts as its function's.
pub(super) fn order_sent(flights: &[Flight<'_>]) -> Option<Vec<Stick>> {
    let sent = flights.iter().map(|flight| flight.crossed().unwrap_or(flight.function));
    let sent: Vec<Stick> = sent.collect();
    Stick::ALL.iter().all(|stick| sent.contains(stick)).then_some(sent)
}

/// A function that the controller reads from a channel.
#[derive(Clone, Copy, Debug)]
pub struct Flight<'f> {
    /// The function.
    pub function: Stick,
    /// The channel that it is read from.
    pub channel: u8,
    /// That channel, where the model defines it.
    pub known: Option<&'f Channel>,
    /// The sticks that stand in its values.
    pub sticks: Sticks,
}

/// A function that another stick than its own moves.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Crossed {
    /// The function.
    pub function: Stick,
    /// The channel where it is read.
    pub channel: u8,
    /// The stick that moves it.
    pub stick: Stick,
}

impl<'f> Flight<'f> {
    /// A function of a subject.
    pub(super) fn new(subject: &Subject<'f>, function: Stick, channel: u8) -> Self {
        let sticks = sticks(subject.model, subject.handset, channel);
        Self { function, channel, known: subject.model.channel(channel), sticks }
    }

    /// The stick that moves this function, where it is one that belongs to another; `channels/order` speaks of it.
    pub fn crossed(&self) -> Option<Stick> {
        match *self.sticks {
            [one] if one != self.function => Some(one),
            _ => None,
        }
    }

    /// What is seen of the channel without a question.
    pub fn seen<'s>(&self, signals: &'s Signals) -> &'s Seen {
        signals.seen(self.function, self.channel)
    }
}

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
    fn add(&mut self, stick: Option<Stick>) {
        if let Some(stick) = stick.filter(|stick| !self.contains(stick))
            && let Some(place) = self.list.get_mut(self.count)
        {
            *place = stick;
            self.count += 1;
        }
    }
}

/// The sticks that stand in a channel's values, also by way of other channels; not those of its conditions.
pub fn sticks(model: &Model, handset: Option<&Handset>, channel: u8) -> Sticks {
    let mut found = Sticks { list: [Stick::Roll; 4], count: 0 };
    terms::each_value_of(model, channel, &mut |value| {
        if let Some(name) = terms::control_of(value) {
            found.add(handset.map_or_else(|| Stick::find(name), |handset| handset.stick(name)));
        }
    });
    found
}

/// The function of a stick in the signal path.
pub const fn function(stick: Stick) -> Function {
    match stick {
        Stick::Roll => Function::Roll,
        Stick::Pitch => Function::Pitch,
        Stick::Throttle => Function::Throttle,
        Stick::Yaw => Function::Yaw,
    }
}

/// Whether a stick moves a channel while all else rests.
pub fn moves(signals: &Signals, stick: Stick, channel: u8) -> bool {
    let percent = |control, percent| {
        let set = (Handle::Control(control), Setting::Percent(whole(percent)));
        Some(signals.program().read_with(&[set], u16::from(channel))?.percent)
    };
    signals.stick(function(stick)).is_some_and(|control| percent(control, -100) != percent(control, 100))
}

/// The stick that a channel is, where its one value line is nothing but that stick.
pub fn plain_stick(channel: &Channel) -> Option<Stick> {
    match channel.lines.as_slice() {
        [line] if line.when.is_none() => match &line.value.kind {
            ValueKind::Control(name) => Stick::find(name),
            _ => None,
        },
        _ => None,
    }
}

/// Whether nothing is done to a plain stick that could turn or cut it.
pub fn is_straight(model: &Model, channel: &Channel) -> bool {
    let Some(stick) = plain_stick(channel) else { return false };
    let rates = rates_of(model, stick);
    let within = |percent: f64| (0.0..=100.0).contains(&percent);
    channel.reversed.is_none()
        && channel.subtrim.is_none()
        && channel.ends.is_none()
        && channel.travel.is_none_or(|travel| travel.value.0.to_f64() <= -100.0 && travel.value.1.to_f64() >= 100.0)
        && rates.is_none_or(|rates| rates.lines.iter().all(|line| within(line.rate.value.to_f64())))
}

/// Whether a channel is one control and nothing is done to it.
pub fn is_bare(model: &Model, channel: &Channel) -> bool {
    matches!(channel.lines.as_slice(), [line] if line.when.is_none() && is_plain_control(model, &line.value))
        && channel.subtrim.is_none()
        && channel.ends.is_none()
        && channel.travel.is_none()
        && channel.centre.is_none()
}

/// Whether a channel's travel or its ends keep it from -100 % or 100 %.
pub fn is_cut_short(channel: &Channel) -> bool {
    let (least, greatest) = (Decimal::whole(-100), Decimal::whole(100));
    let is_short = |range: &Located<(Decimal, Decimal)>| range.value.0 > least || range.value.1 < greatest;
    channel.travel.as_ref().is_some_and(is_short) || channel.ends.as_ref().is_some_and(is_short)
}

/// The only value of a channel, where it is a plain number of percent.
pub fn only_percent(channel: &Channel) -> Option<&Value> {
    match channel.lines.as_slice() {
        [line] if line.when.is_none() && matches!(line.value.kind, ValueKind::Percent(_)) => Some(&line.value),
        _ => None,
    }
}
