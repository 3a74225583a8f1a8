//! `channels/no-source`: the aircraft reads a channel that the model does not define.

use crate::findings::Severity;
use crate::findings::coverage::Missing;
use crate::findings::fact::{channel, text};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let model = setup.model;
    for (number, what, vital) in setup.used().filter(|&(number, ..)| model.channel(number).is_none()) {
        // A line that was not understood takes only its own channel.
        if let Some(line) = model.head.line_that_may_be(&["channel"], &number.to_string()) {
            out.misses(Missing::Line(line));
            continue;
        }
        let what = what.to_string();
        let label = format!("{what} is read there");
        let facts = [text("what", what), channel(number)];
        let sentence = "The aircraft reads {what} from channel {channel}, and this model does not define that channel.";
        out.find(setup.in_model(model.head.header), "not defined", sentence, facts)
            .severity(if vital { Severity::Danger } else { Severity::Caution })
            .other(setup.read_at(number), label);
    }
}
