//! `surfaces/crossed`: a surface or a motor is moved by another stick than its own.

use super::{sentence, shown, with};
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, text, us};
use crate::findings::hands::{called, right_or_away};
use crate::rules::out::{Out, choice, replace};
use crate::setup::surfaces::directions::crossed;
use crate::setup::surfaces::mixes::on_stick;
use crate::setup::{Setup, Signals, plain_stick};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let answers = signals.answers(surfaces);
    for found in crossed(setup, surfaces, answers) {
        let Some(known) = out.channel(setup, found.channel) else { continue };
        let grip = setup.hands().grip;
        let (own, other) = (called(grip, found.own), called(grip, found.other));
        let (held, mut facts) = with(answers, signals, found.state);
        facts.extend([
            channel(found.channel),
            text("own", own),
            text("other", other),
            us("from", Computed(found.answer.low, 1)),
            us("to", Computed(found.answer.high, 1)),
        ]);
        let (key, rest) = match found.alone {
            true => {
                ("alone", "channel {channel} follows the {other}, from {from} to {to}, and the {own} does not move it.")
            }
            false => (
                "stronger",
                "channel {channel} follows the {other}, from {from} to {to}, more than the {own}, which it belongs to.",
            ),
        };
        let edits = match (known.lines.as_slice(), plain_stick(known)) {
            ([line], Some(stick)) if stick == found.other => {
                vec![replace(&setup.model.head, line.value.span, setup.stick_name(found.own))]
            }
            _ => Vec::new(),
        };
        let choices = if edits.is_empty() {
            Vec::new()
        } else {
            vec![choice(format!("put the {own} on channel {}", found.channel), edits)]
        };
        out.find(setup.in_model(known.header), key, &sentence(held, rest), facts)
            .shown_by(shown(answers, signals, found.state, Some(found.other)))
            .other(setup.in_craft(found.stated), "what the channel moves")
            .mend_choices(
                format!(
                    "Give the channel the {own}, which belongs to it, then look: {} has to move it.",
                    right_or_away(grip, found.own)
                ),
                choices,
            );
    }
    let Some(found) = on_stick(setup, surfaces, answers) else { return };
    let number = found.surface.channel.value;
    let Some(known) = out.channel(setup, number) else { return };
    let (held, mut facts) = with(answers, signals, found.state);
    facts.extend([
        channel(number),
        text("stick", called(setup.hands().grip, found.stick)),
        us("from", Computed(found.answer.low, 1)),
        us("to", Computed(found.answer.high, 1)),
    ]);
    let rest = "the {stick} moves the brake or flap on channel {channel} from {from} to {to}: you can't steer without braking.";
    out.find(setup.in_model(known.header), "brakes", &sentence(held, rest), facts)
        .shown_by(shown(answers, signals, found.state, Some(found.stick)))
        .other(setup.in_craft(found.surface.span), "what the channel moves")
        .mend_words(
            "Put the brakes on a lever, a slider or a switch, or on the throttle stick of an aircraft without a motor.",
        );
}
