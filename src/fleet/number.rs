//! Exact numbers, dimensions and units.

use crate::syntax::Unit;
use num_bigint::BigInt;
use num_rational::BigRational;
use std::cmp::Ordering;
use std::fmt;
use std::num::NonZeroU8;

/// An exact decimal number, `mantissa / 10^scale`. As written in a file it has at most 15 digits.
///
/// It is kept in 12 bytes, and so is one that may be absent: thousands of blocks are made of them.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Decimal {
    /// The halves of the mantissa, the lower one first.
    mantissa: [u32; 2],
    /// One more than the scale.
    scale: NonZeroU8,
}

impl Default for Decimal {
    fn default() -> Self {
        Self::whole(0)
    }
}

impl fmt::Debug for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Decimal({self})")
    }
}

impl Decimal {
    /// The number `mantissa / 10^scale`, kept in its shortest form.
    pub const fn new(mut mantissa: i64, mut scale: u8) -> Self {
        while scale > 0 && mantissa % 10 == 0 {
            mantissa /= 10;
            scale -= 1;
        }
        Self::kept(mantissa, scale)
    }

    /// A whole number.
    pub const fn whole(value: i64) -> Self {
        Self::kept(value, 0)
    }

    const fn kept(mantissa: i64, scale: u8) -> Self {
        Self { mantissa: [mantissa as u32, (mantissa >> 32) as u32], scale: NonZeroU8::MIN.saturating_add(scale) }
    }

    /// Reads `["-" | "+"] digits ["." digits]`; `None` for anything else or too many digits.
    pub fn parse(text: &[u8]) -> Option<Self> {
        let (negative, digits) = match text.strip_prefix(b"-") {
            Some(rest) => (true, rest),
            None => (false, text.strip_prefix(b"+").unwrap_or(text)),
        };
        let (mut mantissa, mut scale, mut point, mut any) = (0i64, 0u8, false, false);
        for &byte in digits {
            match byte {
                b'0'..=b'9' => {
                    mantissa = mantissa.checked_mul(10)?.checked_add(i64::from(byte - b'0'))?;
                    scale += u8::from(point);
                    any = true;
                }
                b'.' if !point && any => point = true,
                _ => return None,
            }
        }
        any.then(|| Self::new(if negative { -mantissa } else { mantissa }, scale))
    }

    /// The numerator over `10^scale`.
    pub const fn mantissa(self) -> i64 {
        let [low, high] = self.mantissa;
        (high as i64) << 32 | low as i64
    }

    /// The number of digits behind the point.
    pub const fn scale(self) -> u8 {
        self.scale.get() - 1
    }

    /// The nearest floating-point number.
    pub fn to_f64(self) -> f64 {
        self.mantissa() as f64 / 10f64.powi(i32::from(self.scale()))
    }

    /// The exact ratio.
    pub fn to_ratio(self) -> BigRational {
        match self.to_whole() {
            Some(whole) => BigRational::from_integer(BigInt::from(whole)),
            None => BigRational::new(BigInt::from(self.mantissa()), BigInt::from(10).pow(u32::from(self.scale()))),
        }
    }

    /// The whole number it is, if it is one.
    pub fn to_whole(self) -> Option<i64> {
        (self.scale() == 0).then_some(self.mantissa())
    }

    /// Times a whole factor; `None` where the result can't be kept.
    pub fn times(self, factor: i64) -> Option<Self> {
        Some(Self::new(self.mantissa().checked_mul(factor)?, self.scale()))
    }

    /// Divided by `10^digits`; `None` where the result can't be kept.
    pub fn shifted(self, digits: u8) -> Option<Self> {
        let scale = self.scale().checked_add(digits)?;
        (scale <= 36).then(|| Self::new(self.mantissa(), scale))
    }
}

impl Ord for Decimal {
    fn cmp(&self, other: &Self) -> Ordering {
        let widen =
            |number: &Self, by: u8| i128::from(number.mantissa()).checked_mul(10i128.checked_pow(u32::from(by))?);
        let scale = self.scale().max(other.scale());
        if self.scale() == other.scale() {
            return self.mantissa().cmp(&other.mantissa());
        }
        match (widen(self, scale - self.scale()), widen(other, scale - other.scale())) {
            (Some(a), Some(b)) => a.cmp(&b),
            _ => self.to_ratio().cmp(&other.to_ratio()),
        }
    }
}

impl PartialOrd for Decimal {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.scale() == 0 {
            return write!(f, "{}", self.mantissa());
        }
        let digits = format!("{:0width$}", self.mantissa().unsigned_abs(), width = usize::from(self.scale()) + 1);
        let (whole, fraction) = digits.split_at(digits.len() - usize::from(self.scale()));
        write!(f, "{}{whole}.{fraction}", if self.mantissa() < 0 { "-" } else { "" })
    }
}

/// What a number measures. Values are kept in the first unit of [`Dimension::units`].
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Dimension {
    /// A share or a stick's way, kept in percent.
    Percent,
    /// The length of a control pulse, kept in microseconds.
    Pulse,
    /// A time, kept in seconds.
    Time,
    /// A frequency or a rate, kept in hertz.
    Frequency,
    /// A transmitting power, kept in milliwatts. In dBm it is converted by 10^(dBm/10), which is not exact.
    Power,
    /// A received power, kept in dBm.
    Level,
    /// An antenna gain, kept in dBi (`dB` is taken for it).
    Gain,
    /// A loss in a feeder, kept in dB.
    Loss,
    /// A voltage, kept in volts.
    Voltage,
    /// A current, kept in amperes.
    Current,
    /// A charge, kept in ampere-hours.
    Charge,
    /// A distance, kept in metres.
    Distance,
    /// A mass, kept in grams.
    Mass,
}

impl Dimension {
    /// The units that are accepted, the one that values are kept in first.
    pub const fn units(self) -> &'static [Unit] {
        use Unit::*;
        match self {
            Self::Percent => &[Percent],
            Self::Pulse => &[Microsecond, Millisecond],
            Self::Time => &[Second, Microsecond, Millisecond, Minute],
            Self::Frequency => &[Hertz, Kilohertz, Megahertz, Gigahertz],
            Self::Power => &[Milliwatt, Watt, DecibelMilliwatt],
            Self::Level => &[DecibelMilliwatt],
            Self::Gain => &[DecibelIsotropic, Decibel],
            Self::Loss => &[Decibel],
            Self::Voltage => &[Volt, Millivolt],
            Self::Current => &[Ampere, Milliampere],
            Self::Charge => &[AmpereHour, MilliampereHour],
            Self::Distance => &[Metre, Kilometre],
            Self::Mass => &[Gram, Kilogram],
        }
    }

    /// The units, the likeliest for a number without one first: what such a number in a statement with this word means on
    /// most benches.
    pub fn likely_units(self, word: &str, number: f64) -> Vec<Unit> {
        let likely = match (self, word) {
            (Self::Pulse, _) if number < 10.0 => Unit::Millisecond,
            (Self::Frequency, "band") if number < 10.0 => Unit::Gigahertz,
            (Self::Frequency, "band") => Unit::Megahertz,
            (Self::Frequency, "bandwidth") if number >= 10.0 => Unit::Kilohertz,
            (Self::Frequency, "bandwidth") => Unit::Megahertz,
            (Self::Power, _) if number < 5.0 => Unit::Watt,
            (Self::Voltage, _) if number >= 1000.0 => Unit::Millivolt,
            (Self::Current, _) if number >= 200.0 => Unit::Milliampere,
            (Self::Charge, _) if number >= 50.0 => Unit::MilliampereHour,
            (Self::Distance, _) if number < 10.0 => Unit::Kilometre,
            (Self::Time, "timer") if number < 20.0 => Unit::Minute,
            _ => return self.units().to_vec(),
        };
        let others = self.units().iter().copied().filter(|unit| *unit != likely);
        std::iter::once(likely).chain(others).collect()
    }

    /// The name that the table of statements uses.
    pub fn find(name: &str) -> Option<Self> {
        Some(match name {
            "percent" => Self::Percent,
            "pulse" => Self::Pulse,
            "time" => Self::Time,
            "frequency" => Self::Frequency,
            "power" => Self::Power,
            "level" => Self::Level,
            "gain" => Self::Gain,
            "loss" => Self::Loss,
            "voltage" => Self::Voltage,
            "current" => Self::Current,
            "charge" => Self::Charge,
            "distance" => Self::Distance,
            "mass" => Self::Mass,
            _ => return None,
        })
    }

    /// The value in the unit that values of this dimension are kept in; `None` for a unit of another dimension or a
    /// value that can't be kept.
    pub fn convert(self, value: Decimal, unit: Unit) -> Option<Decimal> {
        use Unit::*;
        if !self.units().contains(&unit) {
            return None;
        }
        match unit {
            Millisecond if self == Self::Pulse => value.times(1_000),
            Microsecond if self == Self::Time => value.shifted(6),
            Millisecond => value.shifted(3),
            Minute => value.times(60),
            Kilohertz | Watt | Kilometre | Kilogram => value.times(1_000),
            Megahertz => value.times(1_000_000),
            Gigahertz => value.times(1_000_000_000),
            Millivolt | Milliampere | MilliampereHour => value.shifted(3),
            DecibelMilliwatt if self == Self::Power => milliwatts(value),
            _ => Some(value),
        }
    }
}

/// 10^(dBm/10) in milliwatts, rounded to a millionth of a milliwatt: the only conversion that is not exact.
fn milliwatts(level: Decimal) -> Option<Decimal> {
    let value = 10f64.powf(level.to_f64() / 10.0) * 1e6;
    (value.is_finite() && value < 9e17).then(|| Decimal::new(value.round() as i64, 6))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Decimal {
        Decimal::parse(text.as_bytes()).unwrap()
    }

    #[test]
    fn decimals_are_exact() {
        assert_eq!(number("-0.50"), Decimal::new(-5, 1));
        assert_eq!(number("3.50").to_string(), "3.5");
        assert_eq!(number("-0.05").to_string(), "-0.05");
        assert!(number("0.1") > number("0.09"));
        assert_eq!(number("2.000").to_whole(), Some(2));
        assert_eq!(Decimal::parse(b"1."), Some(Decimal::whole(1)));
        assert_eq!(Decimal::parse(b"-"), None);
    }

    #[test]
    fn compatible_units_are_converted() {
        let convert = |dimension: Dimension, text, unit| dimension.convert(number(text), unit);
        assert_eq!(convert(Dimension::Power, "0.1", Unit::Watt), Some(Decimal::whole(100)));
        assert_eq!(convert(Dimension::Power, "20", Unit::DecibelMilliwatt), Some(Decimal::whole(100)));
        assert_eq!(convert(Dimension::Frequency, "2405", Unit::Megahertz), Some(Decimal::whole(2_405_000_000)));
        assert_eq!(convert(Dimension::Pulse, "1.5", Unit::Millisecond), Some(Decimal::whole(1500)));
        assert_eq!(convert(Dimension::Time, "2.6", Unit::Millisecond), Some(number("0.0026")));
        assert_eq!(convert(Dimension::Charge, "1300", Unit::MilliampereHour), Some(number("1.3")));
        assert_eq!(convert(Dimension::Level, "3", Unit::Volt), None);
        assert_eq!(convert(Dimension::Mass, "0.22", Unit::Kilogram), Some(Decimal::whole(220)));
    }

    #[test]
    fn the_likely_unit_of_a_bare_number_comes_first() {
        for (dimension, word, number, unit) in [
            (Dimension::Charge, "capacity", 850.0, Unit::MilliampereHour),
            (Dimension::Charge, "capacity", 1.3, Unit::AmpereHour),
            (Dimension::Pulse, "idle-below", 1080.0, Unit::Microsecond),
            (Dimension::Pulse, "idle-below", 1.08, Unit::Millisecond),
            (Dimension::Frequency, "band", 2405.0, Unit::Megahertz),
            (Dimension::Frequency, "update-rate", 200.0, Unit::Hertz),
            (Dimension::Power, "power", 160.0, Unit::Milliwatt),
            (Dimension::Distance, "reach", 800.0, Unit::Metre),
        ] {
            let units = dimension.likely_units(word, number);
            assert_eq!(units.first(), Some(&unit), "{word} {number}");
            let mut sorted: Vec<_> = units.iter().map(|unit| unit.text()).collect();
            let mut all: Vec<_> = dimension.units().iter().map(|unit| unit.text()).collect();
            sorted.sort_unstable();
            all.sort_unstable();
            assert_eq!(sorted, all);
        }
    }
}
