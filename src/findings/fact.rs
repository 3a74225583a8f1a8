//! The facts of a finding: named, typed values, and the sentence that is made from them.
//!
//! Units, rounding and the joining of lists are decided here and nowhere else. A sentence is a template with the names of facts
//! in braces, such as `Channel {channel} is sent {sent}.`; nothing ever reads it back.

use crate::fleet::Decimal;
use crate::fleet::craft::Idle;
use crate::setup::float;
use crate::signal::{Exact, approximate};
use compact_str::CompactString;
use std::cmp::Ordering;
use std::fmt::{self, Write as _};

/// A named value of a finding.
#[derive(Clone, PartialEq, Debug)]
pub struct Fact {
    /// Its name, by which templates and machines find it.
    pub name: &'static str,
    /// What it is.
    pub value: FactValue,
}

/// What a fact is.
#[derive(Clone, PartialEq, Debug)]
pub enum FactValue {
    /// A channel, by its number.
    Channel(u8),
    /// A number with its unit.
    Amount(Amount, Unit),
    /// A name that the pilot gave; sentences quote it.
    Name(CompactString),
    /// A control with some of its positions.
    Positions(CompactString, Vec<CompactString>),
    /// Other words of the description: a position, a function, a condition as it is written.
    Text(CompactString),
    /// Words of the rule itself.
    Word(&'static str),
    /// Several of them.
    List(Joined, Vec<FactValue>),
}

/// How a list is said.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Joined {
    /// `a, b and c`.
    And,
    /// `a, b or c`.
    Or,
    /// `a, b, c`.
    Comma,
    /// `a + b`.
    Plus,
    /// `a; b`.
    Apart,
    /// `a b`.
    Beside,
}

/// A number, as exact as its source.
#[derive(Clone, PartialEq, Debug)]
pub enum Amount {
    /// A number of the description.
    Stated(Decimal),
    /// A number of the signal path.
    Exact(Exact),
    /// A computed number, and with how many digits behind the point it is said.
    Computed(f64, u8),
}

/// The unit of an amount.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Unit {
    /// None: a count.
    None,
    /// Microseconds of a pulse.
    Us,
    /// Percent.
    Percent,
    /// Seconds.
    S,
    /// Milliseconds.
    Ms,
    /// Seconds that are said as minutes and seconds, rounded down.
    Clock,
    /// Milliwatts.
    Mw,
    /// Milliwatts that are said with three good digits, in watts from 1000 mW.
    Power,
    /// Decibels.
    Db,
    /// Decibels over a milliwatt.
    Dbm,
    /// Decibels over an isotropic antenna.
    Dbi,
    /// Volts.
    V,
    /// Amperes.
    A,
    /// Milliampere-hours.
    Mah,
    /// Hertz.
    Hz,
    /// Megahertz.
    MHz,
    /// Metres.
    M,
}

impl Unit {
    /// The unit as it is written.
    pub const fn word(self) -> &'static str {
        match self {
            Self::None => "",
            Self::Us => "us",
            Self::Percent => "%",
            Self::S | Self::Clock => "s",
            Self::Ms => "ms",
            Self::Mw | Self::Power => "mW",
            Self::Db => "dB",
            Self::Dbm => "dBm",
            Self::Dbi => "dBi",
            Self::V => "V",
            Self::A => "A",
            Self::Mah => "mAh",
            Self::Hz => "Hz",
            Self::MHz => "MHz",
            Self::M => "m",
        }
    }
}

impl From<Decimal> for Amount {
    fn from(value: Decimal) -> Self {
        Self::Stated(value)
    }
}

impl From<&Exact> for Amount {
    fn from(value: &Exact) -> Self {
        Self::Exact(value.clone())
    }
}

impl From<f64> for Amount {
    fn from(value: f64) -> Self {
        Self::Computed(value, 1)
    }
}

macro_rules! whole_amount {
    ($($kind:ty)*) => {$(
        impl From<$kind> for Amount {
            fn from(value: $kind) -> Self {
                Self::Stated(Decimal::whole(i64::from(value)))
            }
        }
    )*};
}

whole_amount!(u8 u16 u32 i64);

impl Amount {
    /// The number for a machine: all its digits.
    pub fn full(&self) -> String {
        match self {
            Self::Stated(value) => value.to_string(),
            Self::Exact(value) => approximate(value).to_string(),
            Self::Computed(value, _) => value.to_string(),
        }
    }

    /// The number for a reader.
    fn said(&self) -> String {
        match self {
            Self::Stated(value) => value.to_string(),
            Self::Exact(value) => rounded(float(value), 1),
            Self::Computed(value, digits) => rounded(*value, *digits),
        }
    }

    fn approximate(&self) -> f64 {
        match self {
            Self::Stated(value) => value.to_f64(),
            Self::Exact(value) => float(value),
            Self::Computed(value, _) => *value,
        }
    }
}

/// A number rounded to so many digits behind the point, away from zero at a half, without zeros at its end.
fn rounded(value: f64, digits: u8) -> String {
    let scale = 10f64.powi(i32::from(digits));
    let text = format!("{:.*}", usize::from(digits), (value * scale).round() / scale);
    let short = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

impl fmt::Display for FactValue {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Channel(channel) => write!(to, "{channel}"),
            Self::Amount(amount, Unit::None) => to.write_str(&amount.said()),
            Self::Amount(amount, Unit::Clock) => clock(amount.approximate(), to),
            Self::Amount(amount, Unit::Power) => power(amount.approximate(), to),
            // A computed voltage has a digit behind the point, as a description writes it.
            Self::Amount(Amount::Computed(value, digits), Unit::V) => {
                let said = rounded(*value, *digits);
                write!(to, "{said}{} V", if said.contains('.') { "" } else { ".0" })
            }
            Self::Amount(amount, unit) => write!(to, "{} {}", amount.said(), unit.word()),
            Self::Name(name) => write!(to, "\"{name}\""),
            Self::Positions(control, positions) => {
                write!(to, "\"{control}\" ")?;
                joined(positions, ", ", ", ", to)
            }
            Self::Text(text) => to.write_str(text),
            Self::Word(word) => to.write_str(word),
            Self::List(Joined::And, values) => joined(values, ", ", " and ", to),
            Self::List(Joined::Or, values) => joined(values, ", ", " or ", to),
            Self::List(Joined::Comma, values) => joined(values, ", ", ", ", to),
            Self::List(Joined::Plus, values) => joined(values, " + ", " + ", to),
            Self::List(Joined::Apart, values) => joined(values, "; ", "; ", to),
            Self::List(Joined::Beside, values) => joined(values, " ", " ", to),
        }
    }
}

fn joined<T: fmt::Display>(values: &[T], between: &str, last: &str, to: &mut fmt::Formatter<'_>) -> fmt::Result {
    for (at, value) in values.iter().enumerate() {
        if at > 0 {
            to.write_str(if at + 1 == values.len() { last } else { between })?;
        }
        write!(to, "{value}")?;
    }
    Ok(())
}

/// A time as a description writes it, rounded down to a second.
fn clock(seconds: f64, to: &mut fmt::Formatter<'_>) -> fmt::Result {
    // A sum that comes to a whole second must not lose it to rounding.
    let whole = (seconds + 1e-6).floor() as u64;
    match (whole / 60, whole % 60) {
        (0, seconds) => write!(to, "{seconds} s"),
        (minutes, 0) => write!(to, "{minutes} min"),
        (minutes, seconds) => write!(to, "{minutes} min {seconds} s"),
    }
}

/// A power in milliwatts with three good digits, in watts from 1000 mW.
fn power(power_mw: f64, to: &mut fmt::Formatter<'_>) -> fmt::Result {
    let (value, unit) = if power_mw < 1000.0 { (power_mw, "mW") } else { (power_mw / 1000.0, "W") };
    let digits = match value {
        ..10.0 => 2,
        ..100.0 => 1,
        _ => 0,
    };
    write!(to, "{} {unit}", rounded(value, digits))
}

impl FactValue {
    /// The channels in it.
    pub fn channels(&self, found: &mut Vec<u8>) {
        match self {
            Self::Channel(channel) => found.push(*channel),
            Self::List(_, values) => values.iter().for_each(|value| value.channels(found)),
            _ => {}
        }
    }
}

fn fact(name: &'static str, value: FactValue) -> Fact {
    Fact { name, value }
}

/// The channel that a finding is about, under the name `channel`.
pub fn channel(number: u8) -> Fact {
    channel_as("channel", number)
}

/// A channel under another name.
pub fn channel_as(name: &'static str, number: u8) -> Fact {
    fact(name, FactValue::Channel(number))
}

/// A pulse in microseconds.
pub fn us(name: &'static str, pulse: impl Into<Amount>) -> Fact {
    amount(name, pulse, Unit::Us)
}

/// Where a motor idles, as it is said behind "idle is".
pub fn idles(name: &'static str, idle: Idle) -> Fact {
    let us = |end| FactValue::Amount(Amount::Stated(end), Unit::Us);
    let values = match idle {
        Idle::Below(end) => vec![FactValue::Word("below"), us(end)],
        Idle::Above(end) => vec![FactValue::Word("above"), us(end)],
        Idle::Within(low, high) => vec![FactValue::Word("from"), us(low), FactValue::Word("to"), us(high)],
    };
    list(name, Joined::Beside, values)
}

/// A percentage.
pub fn percent(name: &'static str, value: impl Into<Amount>) -> Fact {
    amount(name, value, Unit::Percent)
}

/// A share of 0 to 1 as a percentage, with two digits behind the point where it is less than a tenth.
pub fn share(name: &'static str, share: f64) -> Fact {
    percent(name, Amount::Computed(share * 100.0, if share < 0.1 { 2 } else { 1 }))
}

/// A number without a unit.
pub fn number(name: &'static str, value: impl Into<Amount>) -> Fact {
    amount(name, value, Unit::None)
}

/// A number with a unit.
pub fn amount(name: &'static str, value: impl Into<Amount>, unit: Unit) -> Fact {
    fact(name, FactValue::Amount(value.into(), unit))
}

/// A name that the pilot gave.
pub fn name(name: &'static str, value: impl Into<CompactString>) -> Fact {
    fact(name, FactValue::Name(value.into()))
}

/// Other words of the description.
pub fn text(name: &'static str, value: impl Into<CompactString>) -> Fact {
    fact(name, FactValue::Text(value.into()))
}

/// Words of the rule itself: which of its cases this is, where the sentence says it.
pub fn word(name: &'static str, value: &'static str) -> Fact {
    fact(name, FactValue::Word(value))
}

/// Several channels.
pub fn channels(name: &'static str, numbers: impl IntoIterator<Item = u8>) -> Fact {
    list(name, Joined::And, numbers.into_iter().map(FactValue::Channel))
}

/// Several names.
pub fn names<N: Into<CompactString>>(name: &'static str, how: Joined, values: impl IntoIterator<Item = N>) -> Fact {
    list(name, how, values.into_iter().map(|value| FactValue::Name(value.into())))
}

/// Several values.
pub fn list(name: &'static str, how: Joined, values: impl IntoIterator<Item = FactValue>) -> Fact {
    fact(name, FactValue::List(how, values.into_iter().collect()))
}

/// The order of facts: by what they say, whatever the sentence around them is.
pub fn compare(left: &[Fact], right: &[Fact]) -> Ordering {
    let said = |facts: &[Fact]| facts.iter().map(|fact| (fact.name, fact.value.to_string())).collect::<Vec<_>>();
    if left == right { Ordering::Equal } else { said(left).cmp(&said(right)) }
}

/// The sentence of a template, with each name in braces replaced by its fact. A name without a fact stands as it is; where
/// the program is checked, that stops it, and so does a digit in the template: a number is a fact.
pub fn fill(template: &str, facts: &[Fact]) -> String {
    let mut out = String::with_capacity(template.len() + 32);
    let mut rest = template;
    while let Some((before, behind)) = rest.split_once('{') {
        debug_assert!(!has_digit(before), "a number stands in a template: {template}");
        out.push_str(before);
        let Some((name, after)) = behind.split_once('}') else { break };
        match facts.iter().find(|fact| fact.name == name) {
            // Writing to a string can't fail.
            Some(fact) => drop(write!(out, "{}", fact.value)),
            None => {
                debug_assert!(false, "no fact {name} for: {template}");
                out.push_str(name);
            }
        }
        rest = after;
    }
    debug_assert!(!has_digit(rest), "a number stands in a template: {template}");
    out.push_str(rest);
    out
}

/// The same, as a sentence: with a capital where a fact begins it.
pub fn say(template: &str, facts: &[Fact]) -> String {
    let mut out = fill(template, facts);
    if let Some(first) = out.get_mut(..1).filter(|_| template.starts_with('{')) {
        first.make_ascii_uppercase();
    }
    out
}

fn has_digit(text: &str) -> bool {
    text.bytes().any(|byte| byte.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::{exact, whole};

    #[test]
    fn values_in_sentences() {
        let decimal = |text: &str| Decimal::parse(text.as_bytes()).unwrap();
        let third = exact(crate::signal::Rational64::new(4000, 3).unwrap());
        for (fact, said) in [
            (channel(7), "7"),
            (us("x", &third), "1333.3 us"),
            (us("x", &exact(whole(1500))), "1500 us"),
            (us("x", decimal("1500.25")), "1500.25 us"),
            (us("x", 1499.96), "1500 us"),
            (percent("x", -0.01), "0 %"),
            (amount("x", Amount::Computed(3.456, 2), Unit::V), "3.46 V"),
            (amount("x", Amount::Computed(14.0, 2), Unit::V), "14.0 V"),
            (amount("x", 125.89, Unit::Power), "126 mW"),
            (amount("x", 12.589, Unit::Power), "12.6 mW"),
            (amount("x", 1258.9, Unit::Power), "1.26 W"),
            (names("x", Joined::Comma, ["a", "b"]), "\"a\", \"b\""),
            (amount("x", 150.0, Unit::Clock), "2 min 30 s"),
            (amount("x", 59.9999999, Unit::Clock), "1 min"),
            (number("x", 3u8), "3"),
            (name("x", "left rear"), "\"left rear\""),
            (text("x", "up"), "up"),
            (channels("x", [5]), "5"),
            (channels("x", [5, 6, 8]), "5, 6 and 8"),
            (names("x", Joined::Or, ["a", "b"]), "\"a\" or \"b\""),
            (list("x", Joined::Plus, [FactValue::Word("roll"), FactValue::Word("yaw")]), "roll + yaw"),
            (
                list("x", Joined::Apart, [FactValue::Positions("a".into(), vec!["up".into(), "down".into()])]),
                "\"a\" up, down",
            ),
        ] {
            assert_eq!(fact.value.to_string(), said, "{fact:?}");
        }
    }

    #[test]
    fn a_sentence_is_made_of_its_facts() {
        let facts = [channel(7), us("sent", &exact(whole(1500)))];
        assert_eq!(fill("Channel {channel} is sent {sent}, on {channel}.", &facts), "Channel 7 is sent 1500 us, on 7.");
        assert_eq!(fill("Nothing.", &[]), "Nothing.");
    }

    #[test]
    #[should_panic(expected = "no fact sent")]
    fn a_name_without_a_fact_is_a_mistake() {
        fill("Channel {channel} is sent {sent}.", &[channel(7)]);
    }

    #[test]
    #[should_panic(expected = "a number stands in a template")]
    fn a_number_in_a_template_is_a_mistake() {
        fill("Channel {channel} is sent 1500 us.", &[channel(7)]);
    }
}
