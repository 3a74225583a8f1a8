//! What a channel is along a stick, knob or slider, and in the positions of a switch, to be drawn: corners and steps are where they are, and
//! no sample misses them.

use super::of_craft::Setup;
use super::positions::{channels_read, settings};
use super::signals::{Signals, float};
use super::subject::number;
use super::surfaces::answers::{combinations, path};
use crate::fleet::Decimal;
use crate::signal::{Carriage, ControlId, ControlKind, End, Handle, Places, Rational64, Setting, Whereabouts, exact};
use compact_str::CompactString;

/// So many different lines are drawn in one picture; others are counted.
const MOST_LINES: usize = 6;

/// A link that tells no more levels apart than this is drawn with them.
const MOST_LEVELS: u32 = 100;

/// Less than this, in microseconds, does not show.
const SHOWS_US: f64 = 0.05;

/// A channel along an axis.
#[derive(Clone, Debug)]
pub struct Shape {
    /// The channel.
    pub channel: u8,
    /// The stick, knob or slider.
    pub axis: ControlId,
    /// One for each way in which it answers.
    pub lines: Vec<Line>,
    /// How many more there are.
    pub more: usize,
    /// Whether no corner can be missing.
    pub exact: bool,
    /// How many levels the link tells apart, where it is known.
    pub levels: Option<u32>,
}

/// How a channel answers in some positions of the switches.
#[derive(Clone, Debug)]
pub struct Line {
    /// In which: each is a list of switches with their positions, all of them where that is empty.
    pub held: Vec<Vec<(CompactString, CompactString)>>,
    /// From the low or left end to the other.
    pub points: Vec<Point>,
}

/// A point of a line.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Point {
    /// Where the axis stands, in percent.
    pub at: f64,
    /// The pulse sent, in microseconds.
    pub sent: f64,
    /// The pulse received; `None` where nothing is.
    pub received: Option<f64>,
    /// Whether it is a corner, an end or the middle, rather than part of a bend.
    pub is_corner: bool,
}

/// A channel that only switches and buttons move.
#[derive(Clone, Debug)]
pub struct Steps {
    /// The channel.
    pub channel: u8,
    /// One for each way in which the switches can stand.
    pub rows: Vec<Step>,
}

/// One of them.
#[derive(Clone, Debug)]
pub struct Step {
    /// Each switch and button with its position.
    pub held: Vec<(CompactString, CompactString)>,
    /// The pulse sent, in microseconds.
    pub sent: f64,
    /// The pulse received; `None` where nothing is.
    pub received: Option<f64>,
}

/// What the channels of an aircraft are, along every axis that moves them.
pub fn shapes(setup: &Setup<'_>, signals: &Signals) -> (Vec<Shape>, Vec<Steps>) {
    let (mut shapes, mut steps) = (Vec::new(), Vec::new());
    for channel in channels_read(setup) {
        let named = signals.program().mentions(u16::from(channel)).controls;
        let (axes, switches): (Vec<_>, Vec<_>) = named.into_iter().partition(|&control| signals.is_axis(control));
        let states = combinations(signals, &switches);
        let limits = limits(setup, signals, channel);
        let found: Vec<Shape> =
            axes.iter().filter_map(|&axis| shape(signals, channel, axis, &switches, &states, &limits)).collect();
        if found.is_empty() && !switches.is_empty() {
            let rows = states.iter().filter_map(|held| step(signals, channel, held, &switches));
            steps.push(Steps { channel, rows: rows.collect() });
        }
        shapes.extend(found);
    }
    (shapes, steps)
}

/// The levels between which the link tells apart, and the edges of modes and of where a motor idles: the pulses at which something
/// changes.
fn limits(setup: &Setup<'_>, signals: &Signals, channel: u8) -> Vec<Rational64> {
    let controller = setup.craft.controller.as_ref();
    let tests = controller.iter().flat_map(|controller| &controller.modes).flat_map(|mode| mode.tests());
    let tests = tests.filter(|test| test.channel.value == channel).map(|test| test.range.value);
    let mut limits: Vec<Rational64> = tests.flat_map(|(low, high)| [number(low), number(high)]).collect();
    if let Some(levels) = levels(signals, channel).filter(|levels| *levels <= MOST_LEVELS) {
        // Half-way between two levels.
        let scale = signals.program().parts().scale;
        let (centre, span) = (exact(scale.centre), exact(scale.span));
        let steps = Decimal::whole(i64::from(levels) - 1);
        let half = |at: u32| {
            let share = exact(number(Decimal::whole(i64::from(2 * at + 1)))).over(&exact(number(steps)));
            centre.minus(&span).plus(&span.times(&share)).rounded()
        };
        limits.extend((0..levels - 1).map(half));
    }
    limits
}

/// How many levels the link tells apart on a channel.
pub fn levels(signals: &Signals, channel: u8) -> Option<u32> {
    match signals.program().channel(u16::from(channel))?.carriage {
        Carriage::Levels(levels) => Some(levels),
        Carriage::Not | Carriage::Unchanged | Carriage::Unknown(_) => None,
    }
}

/// The name and position of each switch in a state.
fn named(
    signals: &Signals,
    switches: &[ControlId],
    held: &[(ControlId, Setting)],
) -> Vec<(CompactString, CompactString)> {
    let name = |&control: &ControlId| {
        let known = held.iter().find(|(known, _)| *known == control).map(|(_, at)| *at);
        let at = known.or_else(|| signals.program().rests_at(Handle::Control(control)))?;
        let (_, name) = settings(signals, control).into_iter().find(|(setting, _)| *setting == at)?;
        Some((signals.name(control).into(), name))
    };
    switches.iter().filter_map(name).collect()
}

fn step(signals: &Signals, channel: u8, held: &[(ControlId, Setting)], switches: &[ControlId]) -> Option<Step> {
    let end = signals.program().end_of(&path(signals, held.iter().copied()));
    let reading = end.read_moved(&[], u16::from(channel))?;
    let received = reading.received.as_ref().map(float);
    Some(Step { held: named(signals, switches, held), sent: float(&reading.sent), received })
}

fn shape(
    signals: &Signals,
    channel: u8,
    axis: ControlId,
    switches: &[ControlId],
    states: &[Vec<(ControlId, Setting)>],
    limits: &[Rational64],
) -> Option<Shape> {
    let levels = levels(signals, channel);
    let mut is_exact = true;
    let mut lines: Vec<Line> = Vec::new();
    let mut more = 0;
    for held in states {
        let end = signals.program().end_of(&path(signals, held.iter().copied()));
        let places = signals.program().corners(u16::from(channel), &end, axis, limits);
        is_exact &= places.exact;
        let Some(points) = points(&end, channel, axis, &places, levels.is_some_and(|levels| levels <= MOST_LEVELS))
        else {
            continue;
        };
        let held = named(signals, switches, held);
        match lines.iter().position(|line| line.points == points) {
            Some(same) => lines.get_mut(same).into_iter().for_each(|line| line.held.push(held.clone())),
            None if lines.len() < MOST_LINES => lines.push(Line { held: vec![held], points }),
            None => more += 1,
        }
    }
    let is_flat =
        |line: &Line| line.points.windows(2).all(|pair| matches!(pair, [a, b] if (a.sent - b.sent).abs() < SHOWS_US));
    if lines.iter().all(is_flat) {
        return None;
    }
    Some(Shape { channel, axis, lines, more, exact: is_exact, levels })
}

/// The points of a line; `None` where the channel is not known.
fn points(end: &End<'_>, channel: u8, axis: ControlId, places: &Places, levels: bool) -> Option<Vec<Point>> {
    let read = |place: &crate::signal::Place| {
        let reading = end.read_moved(&[(Handle::Control(axis), Setting::Percent(place.at))], u16::from(channel))?;
        let received = reading.received.as_ref().map(float);
        let is_corner = place.why == Whereabouts::Corner;
        Some((place.why, Point { at: place.at.near(), sent: float(&reading.sent), received, is_corner }))
    };
    let all: Vec<(Whereabouts, Point)> = places.list.iter().map(read).collect::<Option<_>>()?;
    let mut kept: Vec<Point> = Vec::new();
    for (index, (why, point)) in all.iter().enumerate() {
        let after = all.get(index + 1).map(|(_, point)| *point);
        let is_end = index == 0 || after.is_none();
        let is_needed = match (kept.last(), after) {
            _ if is_end || (*why == Whereabouts::Corner && point.at == 0.0) => true,
            // Part of a straight line, or of a level, shows nothing.
            (Some(before), Some(after)) => !is_between(before, point, &after, levels),
            _ => true,
        };
        if is_needed {
            kept.push(*point);
        }
    }
    Some(kept)
}

/// Whether a point lies on the straight line between two others as it is sent, and with `levels` on the same level as it is received.
fn is_between(before: &Point, point: &Point, after: &Point, levels: bool) -> bool {
    let share = (point.at - before.at) / (after.at - before.at);
    let is_on = (before.sent + (after.sent - before.sent) * share - point.sent).abs() < SHOWS_US / 10.0;
    is_on && (!levels || before.received == point.received && point.received == after.received)
}

/// Whether a control is one of the sticks.
pub fn is_stick(signals: &Signals, control: ControlId) -> bool {
    let known = signals.program().controls().find(|(id, _)| *id == control);
    known.is_some_and(|(_, control)| matches!(control.kind, ControlKind::Stick { .. }))
}
