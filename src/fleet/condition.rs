//! Conditions and values as trees, as they are written: names are not resolved here.

use super::number::Decimal;
use crate::source::{Located, Span};
use compact_str::CompactString;

/// A name with its place.
pub type Name = Located<CompactString>;

/// A condition with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Condition {
    /// Where it stands.
    pub span: Span,
    /// What it says.
    pub kind: ConditionKind,
}

/// What a condition says.
#[derive(Clone, Debug, PartialEq)]
pub enum ConditionKind {
    /// One of them holds.
    Any(Vec<Condition>),
    /// All of them hold.
    All(Vec<Condition>),
    /// It does not hold.
    Not(Box<Condition>),
    /// It has held for this many seconds.
    Held(Decimal, Box<Condition>),
    /// A control stands at a position, or is brought there by the movement.
    Position {
        /// The switch or button.
        control: Name,
        /// The position.
        position: Name,
        /// Whether only the movement to it counts.
        becomes: bool,
    },
    /// An axis lies strictly above or below a threshold, in percent.
    Axis {
        /// The stick, knob or slider.
        axis: Name,
        /// Above rather than below.
        above: bool,
        /// The threshold, in percent.
        threshold: Decimal,
    },
    /// A channel's value or pulse.
    Channel {
        /// The channel's number.
        channel: Located<u8>,
        /// What is asked of it.
        test: Test,
        /// Percent of the value before output, or microseconds of the pulse.
        measure: Measure,
    },
    /// A mode of the controller is on.
    Mode(Name),
    /// A named condition holds.
    Named(Name),
}

/// What is asked of a channel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Test {
    /// Strictly above.
    Above(Decimal),
    /// Strictly below.
    Below(Decimal),
    /// Between, ends included.
    Between(Decimal, Decimal),
}

/// What of a channel is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// Its value before output, in percent.
    Percent,
    /// Its pulse, in microseconds.
    Pulse,
}

/// A value with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Value {
    /// Where it stands.
    pub span: Span,
    /// What it is.
    pub kind: ValueKind,
}

/// What a value is.
#[derive(Clone, Debug, PartialEq)]
pub enum ValueKind {
    /// A number of percent.
    Percent(Decimal),
    /// A control: a stick with its rates and trim, or another control.
    Control(CompactString),
    /// A stick's raw position.
    Unshaped(Name),
    /// A channel's value before output.
    Channel(Located<u8>),
    /// A curve of a value.
    Curve(Name, Box<Value>),
    /// The lesser of two.
    Min(Box<Value>, Box<Value>),
    /// The greater of two.
    Max(Box<Value>, Box<Value>),
    /// The sum.
    Add(Box<Value>, Box<Value>),
    /// The difference.
    Subtract(Box<Value>, Box<Value>),
    /// The product of percents: 50 % * 50 % = 25 %.
    Multiply(Box<Value>, Box<Value>),
    /// The opposite.
    Negate(Box<Value>),
}

impl Condition {
    /// Calls `visit` for this condition and every one inside it, outer ones first.
    pub fn walk<'c>(&'c self, visit: &mut impl FnMut(&'c Condition)) {
        visit(self);
        match &self.kind {
            ConditionKind::Any(parts) | ConditionKind::All(parts) => parts.iter().for_each(|part| part.walk(visit)),
            ConditionKind::Not(part) | ConditionKind::Held(_, part) => part.walk(visit),
            _ => {}
        }
    }
}

impl Value {
    /// Calls `visit` for this value and every one inside it, outer ones first.
    pub fn walk<'v>(&'v self, visit: &mut impl FnMut(&'v Value)) {
        visit(self);
        match &self.kind {
            ValueKind::Min(a, b)
            | ValueKind::Max(a, b)
            | ValueKind::Add(a, b)
            | ValueKind::Subtract(a, b)
            | ValueKind::Multiply(a, b) => {
                a.walk(visit);
                b.walk(visit);
            }
            ValueKind::Curve(_, part) | ValueKind::Negate(part) => part.walk(visit),
            _ => {}
        }
    }

    /// Makes one thing of a value: `join` is given each value behind what was made of its parts, inner ones first.
    pub fn fold<T>(&self, join: &mut impl FnMut(&Self, &[T]) -> T) -> T {
        let parts: Vec<T> = match &self.kind {
            ValueKind::Min(a, b)
            | ValueKind::Max(a, b)
            | ValueKind::Add(a, b)
            | ValueKind::Subtract(a, b)
            | ValueKind::Multiply(a, b) => vec![a.fold(join), b.fold(join)],
            ValueKind::Curve(_, part) | ValueKind::Negate(part) => vec![part.fold(join)],
            ValueKind::Percent(_) | ValueKind::Control(_) | ValueKind::Unshaped(_) | ValueKind::Channel(_) => {
                Vec::new()
            }
        };
        join(self, &parts)
    }
}
