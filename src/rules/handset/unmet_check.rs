//! `handset/unmet-check`: the start check asks for a position in which its control does not rest.

use crate::findings::fact::{name, text};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for unmet in setup.unmet_checks() {
        let facts = [
            name("control", unmet.start.control.value.clone()),
            text("position", unmet.start.position.value.clone()),
            text("rest", unmet.rest),
        ];
        let sentence = "The start check asks for {control} {position}, and {control} springs back to {rest}: the check is met only while somebody holds it there.";
        out.find(setup.in_model(unmet.start.span), "held", sentence, facts).mend_words(
            "Ask for the position in which it rests, if nothing runs there; else change the channel first, so that nothing does.",
        );
    }
}
