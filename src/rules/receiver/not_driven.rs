//! `receiver/not-driven`: the aircraft reads a channel that the outputs of no receiver reach.

use crate::findings::Severity;
use crate::findings::fact::{channel, text};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for (number, what, vital) in setup.not_driven() {
        let read = setup.read_at(number);
        let reached: Vec<_> = setup.craft.receivers.iter().filter_map(|it| it.drives.as_ref()).collect();
        let place = match reached.as_slice() {
            [only] => setup.in_craft(only.span),
            _ => read,
        };
        let sentence = "The aircraft reads {what} from channel {channel}, and the outputs of no receiver reach that channel: what the handset sends there arrives nowhere.";
        let facts = [channel(number), text("what", what.to_string())];
        let finding = out.find(place, "not driven", sentence, facts);
        finding.severity(if vital { Severity::Danger } else { Severity::Caution });
        match reached.as_slice() {
            [_] => {
                finding.other(read, "what is read there");
            }
            all => {
                for drives in all {
                    finding.other(setup.in_craft(drives.span), "the channels that this receiver drives");
                }
            }
        }
        finding.mend_words(
            "Plug that servo or motor into an output that a receiver has, and say so in its `drives`, or give it a channel that is driven.",
        );
    }
}
