//! `channels/gap`: a state in which none of a channel's value lines holds.

use crate::findings::fact::{channel, percent, text};
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::signal::{Answer, Condition, Question};
use crate::source::Span;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    // Which line holds does not hang on the link.
    let Some(signals) = setup.signals() else { return };
    for known in &setup.model.channels {
        let Some(last) = known.lines.last().filter(|_| known.lines.iter().all(|line| line.when.is_some())) else {
            continue;
        };
        let conditions = known.lines.iter().filter_map(|line| line.when.as_ref());
        let place = setup.in_model(known.header);
        let none = conditions.map(|when| Some(Condition::Not(Box::new(out.condition(signals, when, place)?))));
        let Some(none) = none.collect::<Option<Vec<Condition>>>() else { continue };
        let Some(Answer::Yes(witness)) = out.ask(signals, &Question::is(Condition::All(none)), place) else { continue };
        let rest = Span::new(last.value.span.end, last.span.end);
        let edit = replace(&setup.model.head, rest, "");
        let facts = [channel(known.number.value), percent("falls_to", 0u8)];
        let sentence = "None of the value lines of channel {channel} holds in this state: it falls to {falls_to}.";
        out.find(place, "gap", sentence, facts).shown_by(signals.witness(&witness.path)).mend_choices(
            "Let the last value line hold without a condition.",
            vec![choice("take the condition off the last line", vec![edit])],
        );
    }
    // A stick with one rate line takes the rest as it is; one with expo in several positions was forgotten in the last.
    for rates in setup.model.rates.iter().filter(|rates| rates.lines.len() > 1) {
        if !rates.lines.iter().all(|line| line.when.is_some() && line.expo.is_some()) {
            continue;
        }
        let place = setup.in_model(rates.header);
        let conditions = rates.lines.iter().filter_map(|line| line.when.as_ref());
        let none = conditions.map(|when| Some(Condition::Not(Box::new(out.condition(signals, when, place)?))));
        let Some(none) = none.collect::<Option<Vec<Condition>>>() else { continue };
        let Some(Answer::Yes(witness)) = out.ask(signals, &Question::is(Condition::All(none)), place) else { continue };
        let sentence = "None of the rate lines of the {stick} stick holds in this state: there it has no expo, and all of its way.";
        out.find(place, "rates", sentence, [text("stick", rates.name)])
            .shown_by(signals.witness(&witness.path))
            .mend_words("Let the last rate line hold without a condition.");
    }
}
