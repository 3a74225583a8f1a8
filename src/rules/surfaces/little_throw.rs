//! `surfaces/little-throw`: the whole way of a stick moves its surface by next to nothing, in every position.

use super::shown;
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{Unit, amount, channel, text, us};
use crate::findings::hands::called;
use crate::fleet::Dimension;
use crate::rules::out::Out;
use crate::rules::wording::with_caution;
use crate::setup::surfaces::answers::own_sticks;
use crate::setup::surfaces::directions::little;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let share = out.parameter("share", Dimension::Percent).to_f64();
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let answers = signals.answers(surfaces);
    for surface in &surfaces.channels {
        let number = surface.channel.value;
        let sticks = own_sticks(setup, surfaces, surface);
        // Where several may steer, the best of them counts.
        let Some(found) = little(answers, number, &sticks, share) else { continue };
        let Some(known) = out.channel(setup, number) else { continue };
        let place = setup.greatest_rate(found.stick).unwrap_or(known.header);
        let facts = [
            channel(number),
            text("stick", called(setup.hands().grip, found.stick)),
            us("from", Computed(found.answer.low, 1)),
            us("to", Computed(found.answer.high, 1)),
            amount("share", Computed(found.percent, 0), Unit::Percent),
        ];
        let sentence = "The whole way of the {stick} moves channel {channel} from {from} to {to}, {share} of what a servo can do, and no position of a switch gives more.";
        out.find(setup.in_model(place), "little", sentence, facts)
            .shown_by(shown(answers, signals, found.state, Some(found.stick)))
            .other(setup.read_at(number), "what the channel moves")
            .mend_words(with_caution(
                setup,
                "Give the rate its full number, then look at the surface: a digit may be missing.",
            ));
    }
}
