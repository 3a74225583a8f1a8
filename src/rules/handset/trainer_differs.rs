//! `handset/trainer-differs`: the pupil's handset is set up in another way for the functions that it gets.

use crate::findings::Severity;
use crate::findings::coverage::Missing;
use crate::findings::fact::{Fact, Unit, amount, channel_as, name, number, text};
use crate::fleet::quoted;
use crate::fleet::table::Block;
use crate::rules::out::Out;
use crate::setup::trainer::{Differs, differs};
use crate::setup::{Context, handset_of};
use crate::source::Span;
use compact_str::format_compact;

pub(in crate::rules) fn check(context: &Context<'_>, out: &mut Out<'_>) {
    for model in &context.fleet.models {
        let Some(trainer) = &model.trainer else { continue };
        let (Some((_, functions)), Some(from)) = (&trainer.hand_over, &trainer.from) else { continue };
        let flown = || model.flies.iter().map(|name| name.value.clone());
        let pupil = context.fleet.model(&from.value);
        let own = handset_of(context.fleet, model);
        let theirs = pupil.and_then(|pupil| handset_of(context.fleet, pupil));
        let (Some(pupil), Some(here), Some(there)) = (pupil, own, theirs) else {
            // It is named, and not defined.
            out.misses_about(Missing::Line(model.head.place(trainer.span)), flown());
            continue;
        };
        for difference in differs((model, here), (pupil, there), functions) {
            let both =
                |key, sentence: &'static str, facts: Vec<Fact>, spans: Option<[Span; 2]>| (key, sentence, facts, spans);
            let (key, sentence, mut facts, spans) = match difference {
                Differs::Missing(model) => {
                    let within = format_compact!("model {}", quoted(&model.head.name.value));
                    let missing = Missing::Statement { block: Block::Model, word: "channel", within, form: "" };
                    out.misses_about(missing, flown());
                    continue;
                }
                Differs::Channel(function, own, other) => both(
                    "channel",
                    "The pupil gets {function}, which is on channel {own} here and on channel {other} of {pupil}: another function follows that stick.",
                    vec![text("function", function), channel_as("own", own), channel_as("other", other)],
                    None,
                ),
                Differs::Sign(function, other) => both(
                    "sign",
                    "The pupil gets {function}, and on the pupil's handset channel {other} goes the other way than here: what the pupil steers comes out reversed. The minus or `reversed` there is to go.",
                    vec![text("function", function), channel_as("other", other)],
                    None,
                ),
                Differs::StickMode(own, other, spans) => both(
                    "stick mode",
                    "The pupil's handset has stick mode {other} and this one has {own}: the instructor's hands learn the other sticks.",
                    vec![number("own", i64::from(own)), number("other", i64::from(other))],
                    Some(spans),
                ),
                Differs::Span(own, other, spans) => both(
                    "scale",
                    "The full way of a stick moves the pulse by {own} here and by {other} on the pupil's handset: what the pupil gives is not what arrives.",
                    vec![amount("own", own, Unit::Us), amount("other", other, Unit::Us)],
                    Some(spans),
                ),
            };
            facts.push(name("pupil", from.value.clone()));
            let is_reversed = key == "sign";
            let finding = out.find(model.head.place(trainer.span), key, sentence, facts);
            if is_reversed {
                finding.severity(Severity::Danger).case("reversed");
            }
            match spans {
                Some([own, other]) => {
                    finding.other(here.head.place(own), "this handset").other(there.head.place(other), "the pupil's");
                }
                None => {
                    finding.other(pupil.head.place(pupil.head.header), "the pupil's model");
                }
            }
            finding.about(flown()).mend_words(
                "Set the pupil's handset up like this one for what it is given, and try it with the propellers off.",
            );
        }
    }
}
