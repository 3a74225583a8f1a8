//! `channels/gap`: a state in which none of a channel's value lines holds.

use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::signal::{Answer, Condition, Question};
use crate::source::Span;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for channel in &setup.model.channels {
        let Some(last) = channel.lines.last().filter(|_| channel.lines.iter().all(|line| line.when.is_some())) else {
            continue;
        };
        let Some(signals) = setup.signals() else { return };
        let conditions = channel.lines.iter().filter_map(|line| line.when.as_ref());
        let conditions: Option<Vec<Condition>> =
            conditions.map(|when| Some(Condition::Not(Box::new(signals.lowered().when(when).ok()?)))).collect();
        let Some(conditions) = conditions else { continue };
        let place = setup.in_model(channel.header);
        if let Some(Answer::Yes(witness)) = out.ask(signals, &Question::is(Condition::All(conditions)), place) {
            let rest = Span::new(last.value.span.end, last.span.end);
            let edit = replace(&setup.model.head, rest, "");
            let message = format!(
                "None of the value lines of channel {} holds in this state: it falls to 0 %.",
                channel.number.value
            );
            out.find_text(place, message).shown_by(signals.witness(&witness.path)).mend_choices(
                "Let the last value line hold without a condition.",
                vec![choice("take the condition off the last line", vec![edit])],
            );
        }
    }
}
