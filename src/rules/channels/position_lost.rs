//! `channels/position-lost`: positions of a switch arrive as one level, though they were sent apart.

use crate::findings::fact::{channel, name, number, text, us};
use crate::rules::out::Out;
use crate::setup::{Collapsed, Setup, Signals};
use crate::signal::{Path, Setting};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let arm = setup.arm_channels();
    for (used, what, _) in setup.used() {
        let Some(known) = out.channel(setup, used).filter(|_| !arm.contains(&used)) else { continue };
        for collapsed in Collapsed::of(setup.model, signals, known) {
            let Collapsed { control, position, sent: [first, second], received, levels } = collapsed;
            let second_position = position + 1;
            let facts = [
                name("control", signals.name(control)),
                text("first_position", signals.position_name(control, position)),
                us("first_sent", &first),
                text("second_position", signals.position_name(control, second_position)),
                us("second_sent", &second),
                us("received", &received),
                channel(used),
                text("what", what.to_string()),
                number("levels", levels),
            ];
            let sentence = "{control} at {first_position} is sent as {first_sent} and at {second_position} as {second_sent}, and both arrive as {received} on channel {channel} ({what}): the link keeps {levels} levels there.";
            let stand = signals.start(&[(control, Setting::Position(second_position))]);
            out.find(setup.in_model(known.header), "collapsed", sentence, facts)
                .shown_by(signals.witness(&Path::at(stand)));
        }
    }
}
