//! `channels/unfed`: the aircraft reads a channel that the model does not define.

use crate::findings::Severity;
use crate::findings::fact::{channel, text};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let model = setup.model;
    // A model without any channel says nothing of them.
    if model.channels.is_empty() {
        return;
    }
    for (number, what, vital) in setup.used() {
        if model.channel(number).is_some() || model.head.may_be_lost(&["channel"], &number.to_string()) {
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
