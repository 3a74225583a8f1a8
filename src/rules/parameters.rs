//! The numbers of the rules that a settings file can change.

use super::book::{self, RuleDoc};
use crate::fleet::{Decimal, Dimension};
use crate::syntax::Unit;

/// Parameters that differ from the rule book's defaults.
#[derive(Clone, Debug, Default)]
pub struct Parameters {
    set: Vec<(String, String, String)>,
}

impl Parameters {
    /// Sets a parameter of a rule to a text such as `400 ms`, which [`check`] has accepted.
    pub fn set(&mut self, rule: &str, name: &str, value: &str) {
        self.set.push((rule.to_owned(), name.to_owned(), value.to_owned()));
    }

    /// The text of a parameter: as set, or the book's default; `None` where the rule has no such parameter.
    pub fn text(&self, rule: &str, name: &str) -> Option<&str> {
        let set = self.set.iter().rev().find(|(of, known, _)| of == rule && known == name);
        set.map(|(.., value)| value.as_str()).or_else(|| default(rule, name))
    }

    /// The number of a parameter of a rule whose page is at hand.
    pub(super) fn number_of(&self, doc: &RuleDoc, name: &str, dimension: Dimension) -> Option<Decimal> {
        if !self.set.is_empty() {
            return self.number(doc.id, name, dimension);
        }
        let (value, unit) = split(stated(doc, name)?)?;
        dimension.convert(value, unit)
    }

    /// The number of a parameter, in the first unit of its dimension; `None` where the rule has no such parameter of
    /// this dimension.
    pub fn number(&self, rule: &str, name: &str, dimension: Dimension) -> Option<Decimal> {
        let (value, unit) = split(self.text(rule, name)?)?;
        dimension.convert(value, unit)
    }
}

fn default(rule: &str, name: &str) -> Option<&'static str> {
    stated(book::find(rule)?, name)
}

fn stated(doc: &RuleDoc, name: &str) -> Option<&'static str> {
    doc.parameters.iter().find(|parameter| parameter.name == name).map(|parameter| parameter.default)
}

fn split(text: &str) -> Option<(Decimal, Unit)> {
    let text = text.trim();
    let at = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))?;
    let (number, unit) = text.split_at(at);
    Some((Decimal::parse(number.as_bytes())?, Unit::find(unit.trim().as_bytes())?))
}

/// Whether a text can be a rule's parameter: a number whose unit measures what the default's measures.
///
/// # Errors
/// What is wrong, in words.
pub fn check(rule: &str, name: &str, text: &str) -> Result<(), String> {
    let default = default(rule, name).ok_or_else(|| format!("{rule} has no parameter {name}"))?;
    let wanted = split(default).map(|(_, unit)| unit);
    let given = split(text).map(|(_, unit)| unit);
    let alike =
        |a: Unit, b: Unit| a == b || DIMENSIONS.iter().any(|d| d.units().contains(&a) && d.units().contains(&b));
    match (wanted, given) {
        (Some(wanted), Some(given)) if alike(wanted, given) => Ok(()),
        _ => Err(format!("give a number with its unit, such as {default}")),
    }
}

const DIMENSIONS: &[Dimension] = &[
    Dimension::Pulse,
    Dimension::Time,
    Dimension::Frequency,
    Dimension::Power,
    Dimension::Gain,
    Dimension::Voltage,
    Dimension::Current,
    Dimension::Charge,
    Dimension::Distance,
    Dimension::Mass,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_default_of_the_book_is_a_number_with_a_unit() {
        for doc in book::BOOK {
            for parameter in doc.parameters {
                assert_eq!(check(doc.id, parameter.name, parameter.default), Ok(()), "{} {}", doc.id, parameter.name);
            }
        }
    }

    #[test]
    fn a_set_value_goes_before_the_default() {
        let mut parameters = Parameters::default();
        assert_eq!(parameters.number("arming/slow", "after", Dimension::Time), Some(Decimal::new(1, 1)));
        parameters.set("arming/slow", "after", "0.2 s");
        assert_eq!(parameters.number("arming/slow", "after", Dimension::Time), Some(Decimal::new(2, 1)));
        assert!(check("arming/slow", "after", "3 V").is_err());
        assert!(check("arming/slow", "before", "3 s").is_err());
    }
}
