//! `house/not-tested`: a test that the settings ask for was not done, or too long ago.

use crate::findings::Severity;
use crate::findings::fact::{number, text, word};
use crate::fleet::craft::Craft;
use crate::rules::out::Out;
use crate::setup::Context;
use crate::setup::tests::{Age, wanting};

pub(in crate::rules) fn check(context: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    for test in wanting(context, craft) {
        let mut facts = vec![word("what", test.what.word()), number("days", i64::from(test.every))];
        facts.extend(test.stated.map(|stated| text("day", stated.day.value.to_string())));
        let (key, severity, sentence) = match test.age {
            Age::Unknown => (
                "never",
                Severity::Note,
                "The settings ask for a test of the {what} every {days} days, and no day of one is stated.",
            ),
            Age::Ahead => ("ahead", Severity::Note, "The day of the last test of the {what}, {day}, is still to come."),
            Age::Over => (
                "over",
                Severity::Note,
                "The {what} was last tested on {day}, and the settings ask for it every {days} days.",
            ),
            Age::OverTwice => (
                "over",
                Severity::Caution,
                "The {what} was last tested on {day}, more than twice the {days} days ago after which the settings ask for it again.",
            ),
        };
        let place = craft.head.place(test.stated.map_or(craft.head.header, |stated| stated.span));
        out.find(place, key, sentence, facts).severity(severity);
    }
}
