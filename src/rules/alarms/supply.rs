//! `alarms/supply`: receiver and servos are fed with more, or less, than they are made for.

use super::volts;
use crate::findings::Severity;
use crate::findings::coverage::Missing;
use crate::findings::fact::{Fact, Unit, amount, text};
use crate::fleet::craft::Craft;
use crate::fleet::table::Block;
use crate::rules::out::Out;
use crate::setup::Context;
use crate::setup::alarms::Fed;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let Some(fed) = Fed::of(craft) else {
        if craft.servo_voltage.is_some() {
            out.misses(Missing::Statement { block: Block::Craft, word: "supply", within: "craft".into(), form: "" });
        }
        return;
    };
    let (least, most) = fed.made_for.value;
    let mut facts: Vec<Fact> = vec![amount("least", least, Unit::V), amount("most", most, Unit::V)];
    facts.extend([volts("low", fed.low_v), volts("high", fed.high_v)]);
    facts.extend(fed.chemistry.map(|chemistry| text("chemistry", chemistry.title)));
    let (key, severity, sentence) = match (fed.is_over(), fed.is_under(), fed.chemistry) {
        (true, _, None) => {
            ("over", Severity::Danger, "Receiver and servos are fed with {high}, and are made for at most {most}.")
        }
        (true, _, Some(_)) => (
            "full battery",
            Severity::Danger,
            "The full {chemistry} battery of receiver and servos gives {high}, and they are made for at most {most}.",
        ),
        (false, true, None) => {
            ("under", Severity::Caution, "Receiver and servos are fed with {low}, and need at least {least}.")
        }
        (false, true, Some(_)) => (
            "empty battery",
            Severity::Caution,
            "When it is time to land the {chemistry} battery of receiver and servos gives {low}, and they need at least {least}.",
        ),
        (false, false, _) => return,
    };
    out.find(craft.head.place(fed.place), key, sentence, facts)
        .severity(severity)
        .other(craft.head.place(fed.made_for.span), "what they are made for");
}
