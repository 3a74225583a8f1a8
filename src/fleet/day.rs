//! A calendar day, as descriptions, waivers and `--today` write it.

use std::fmt;

/// A day of the Gregorian calendar, written `2027-03-01` (ISO 8601, extended form). Years run from 1 to 9999. The
/// order is the order of time.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Day {
    year: u16,
    month: u8,
    day: u8,
}

impl Day {
    /// The day of these numbers, if the calendar has it.
    pub const fn new(year: u16, month: u8, day: u8) -> Option<Self> {
        let real = year >= 1 && year <= 9999 && month >= 1 && month <= 12 && day >= 1 && day <= days_in(year, month);
        if real { Some(Self { year, month, day }) } else { None }
    }

    /// How many days it lies behind another; negative where it lies before that.
    pub const fn days_since(self, other: Self) -> i64 {
        self.number() - other.number()
    }

    /// The number of the day in the Gregorian calendar, counted from the last of February of the year 0, so that a leap day is the
    /// last of its year.
    const fn number(self) -> i64 {
        let from_march = (self.month as i64 + 9) % 12;
        let year = self.year as i64 - (from_march >= 10) as i64;
        365 * year + year / 4 - year / 100 + year / 400 + (from_march * 306 + 5) / 10 + self.day as i64
    }

    /// Reads `2027-03-01`; exactly four, two and two digits.
    ///
    /// # Errors
    /// [`NoDay`] when the text has another form, or names a day that no calendar has.
    pub fn parse(text: &str) -> Result<Self, NoDay> {
        let shape: Vec<&str> = text.split('-').collect();
        let digits = |part: &str, count| part.len() == count && part.bytes().all(|byte| byte.is_ascii_digit());
        let [year, month, day] = shape[..] else { return Err(NoDay::Form) };
        if !(digits(year, 4) && digits(month, 2) && digits(day, 2)) {
            return Err(NoDay::Form);
        }
        let numbers = (year.parse(), month.parse(), day.parse());
        let (Ok(year), Ok(month), Ok(day)) = numbers else { return Err(NoDay::Form) };
        Self::new(year, month, day).ok_or(NoDay::Calendar)
    }
}

/// Why a text is no day.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub enum NoDay {
    /// Not four, two and two digits.
    #[error("a day is written year-month-day, as in 2027-03-01")]
    Form,
    /// A day like 2027-02-30.
    #[error("the calendar has no such day")]
    Calendar,
}

impl fmt::Display for Day {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

const fn days_in(year: u16, month: u8) -> u8 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400)) => 29,
        2 => 28,
        _ => 31,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // The leap years are the rule of the Gregorian calendar as ISO 8601 states it.
    #[test]
    fn days_of_the_calendar() {
        for (text, is) in [
            ("2027-03-01", Ok(())),
            ("2024-02-29", Ok(())),
            ("2000-02-29", Ok(())),
            ("9999-12-31", Ok(())),
            ("1900-02-29", Err(NoDay::Calendar)),
            ("2027-02-29", Err(NoDay::Calendar)),
            ("2027-04-31", Err(NoDay::Calendar)),
            ("2027-13-01", Err(NoDay::Calendar)),
            ("2027-00-10", Err(NoDay::Calendar)),
            ("2027-01-00", Err(NoDay::Calendar)),
            ("0000-01-01", Err(NoDay::Calendar)),
            ("2027-3-1", Err(NoDay::Form)),
            ("01.03.2027", Err(NoDay::Form)),
            ("2027-03-01-", Err(NoDay::Form)),
            ("+027-03-01", Err(NoDay::Form)),
            ("", Err(NoDay::Form)),
        ] {
            assert_eq!(Day::parse(text).map(drop), is, "{text}");
        }
        assert_eq!(Day::parse("2027-03-01").unwrap().to_string(), "2027-03-01");
        assert!(Day::parse("2026-12-31").unwrap() < Day::parse("2027-01-01").unwrap());
    }

    #[test]
    fn days_between_days_are_those_that_the_calendar_counts() {
        let (mut day, mut count) = (Day::new(1896, 1, 1).unwrap(), 0);
        let first = day;
        while day.year < 2005 {
            assert_eq!((day.days_since(first), first.days_since(day)), (count, -count), "{day}");
            let Day { year, month, day: of } = day;
            let next = Day::new(year, month, of + 1).or(Day::new(year, month + 1, 1)).or(Day::new(year + 1, 1, 1));
            (day, count) = (next.unwrap(), count + 1);
        }
    }
}
