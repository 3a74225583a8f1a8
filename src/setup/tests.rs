//! What an aircraft is to be tested for here, and when that was done.

use super::context::Context;
use crate::fleet::craft::{Craft, Test as Stated};
use crate::fleet::words::Tested;

/// A test that the settings ask for and that is wanting.
#[derive(Clone, Copy, Debug)]
pub struct Test<'f> {
    /// What is to be tested.
    pub what: Tested,
    /// How many days later again.
    pub every: u16,
    /// The line that says when it was done last; `None` where there is none.
    pub stated: Option<&'f Stated>,
    /// How the stated day lies to the day of the inspection.
    pub age: Age,
}

/// How the day of a test lies to the day of the inspection.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Age {
    /// No day is stated.
    Unknown,
    /// It is still to come.
    Ahead,
    /// It is longer ago than the settings ask for.
    Over,
    /// It is more than twice as long ago.
    OverTwice,
}

/// The tests that the settings ask for and that an aircraft lacks, has behind it for too long, or claims too early; none where the
/// day of the inspection is not known.
pub fn wanting<'f>(context: &Context<'_>, craft: &'f Craft) -> Vec<Test<'f>> {
    let Some(today) = context.today else { return Vec::new() };
    let one = |&(what, every): &(Tested, u16)| {
        let stated = craft.tested.iter().find(|stated| stated.what == what);
        let age = match stated.map(|stated| today.days_since(stated.day.value)) {
            None => Age::Unknown,
            Some(days) if days < 0 => Age::Ahead,
            Some(days) if days > 2 * i64::from(every) => Age::OverTwice,
            Some(days) if days > i64::from(every) => Age::Over,
            Some(_) => return None,
        };
        Some(Test { what, every, stated, age })
    };
    context.tested.iter().filter_map(one).collect()
}
