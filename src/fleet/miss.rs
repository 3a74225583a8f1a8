//! What is said where the items of a statement do not fit.

use super::number::Dimension;
use crate::syntax::Unit;
use std::fmt;

/// Why the items did not fit, at the first one that did not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Miss {
    /// Index of the item; one past the last where something is missing at the end.
    pub at: usize,
    /// What it is about.
    pub kind: MissKind,
}

/// What did not fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MissKind {
    /// Something else was expected.
    Expected(Expected),
    /// A number misses its unit, or has a wrong one.
    Unit(Dimension),
    /// A number that can't be.
    Range(Allowed),
    /// A limit of the program is passed.
    TooLarge(&'static str, usize),
}

/// What a number may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Allowed {
    /// In words.
    Words(&'static str),
    /// A whole number within limits.
    Whole(i64, i64),
    /// A range of whole numbers within limits.
    Rising(i64, i64),
    /// A number within limits, with its unit.
    Within(i64, i64, Unit),
}

impl fmt::Display for Allowed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Words(words) => f.write_str(words),
            Self::Whole(low, high) => write!(f, "a whole number from {low} to {high}"),
            Self::Rising(low, high) => write!(f, "a rising range of whole numbers from {low} to {high}"),
            Self::Within(low, high, unit) => write!(f, "{low} to {high} {}", unit.text()),
        }
    }
}

/// What was expected. It is put into words only where it is told: mostly another shape fits then.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Expected {
    /// In words.
    Words(&'static str),
    /// This word.
    Word(&'static str),
    /// One of these words.
    OneOf(&'static [&'static str]),
    /// A number of a dimension.
    Number(Dimension),
    /// A range of a dimension.
    Range(Dimension),
}

impl fmt::Display for Expected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Words(words) => f.write_str(words),
            Self::Word(word) => write!(f, "`{word}`"),
            Self::OneOf(words) => f.write_str(&any_of(words)),
            Self::Number(dimension) => write!(f, "a number of {}", units(*dimension)),
            Self::Range(dimension) => {
                write!(f, "a range of {}, such as 1..2 {}", units(*dimension), dimension.units()[0].text())
            }
        }
    }
}

/// Reading one item, or the reason why not.
pub(super) type Read<T> = Result<T, Miss>;

/// The units of a dimension as a pilot reads them: "Hz, kHz, MHz or GHz".
pub(super) fn units(dimension: Dimension) -> String {
    let names: Vec<&str> = dimension.units().iter().map(|unit| unit.text()).collect();
    any_of(&names)
}

/// "a, b or c".
pub(super) fn any_of(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}
