//! `handset/moot-check`: the start check looks at a control that moves nothing.

use crate::findings::coverage::Missing;
use crate::findings::fact::{name, text};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let model = setup.model;
    // A line that was not understood may be the one that it moves something by.
    if let Some(lost) = model.head.lost.first() {
        return out.misses(Missing::Line(setup.in_model(lost.span)));
    }
    for &channel in setup.unknown_channels() {
        out.misses(Missing::Line(setup.channel_place(channel)));
    }
    for start in setup.moot_checks() {
        let facts = [name("control", start.control.value.clone()), text("position", start.position.value.clone())];
        let sentence = "The start check asks for {control} {position}, and {control} moves nothing here: what should be looked at may be on another switch.";
        out.find(setup.in_model(start.span), "moves nothing", sentence, facts).mend_words(
            "Ask for the control that does the work, or give this one its work back: look which channel has lost it.",
        );
    }
}
