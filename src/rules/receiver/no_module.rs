//! `receiver/no-module`: a receiver of the aircraft hears a link on which nothing is sent.

use crate::findings::fact::name;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    // Where no receiver hears anything, the rules about the modules say so.
    if !setup.ways().iter().any(|way| way.bay.is_some()) {
        return;
    }
    for way in setup.ways() {
        let (None, Some(link)) = (way.bay, way.link) else { continue };
        let sentence = "This receiver listens to link {link}, and no bay that is on in the model sends on it: the receiver gives out nothing but its failsafe.";
        let span = way.receiver.link.as_ref().map_or(way.receiver.header, |link| link.span);
        out.find(setup.in_craft(span), "nothing sent", sentence, [name("link", link.head.name.value.clone())])
            .other(setup.in_model(setup.model.head.header), "the model that does not send on it")
            .mend_words("Turn on the bay whose module has this link, or take the receiver out of the aircraft and of its description.");
    }
}
