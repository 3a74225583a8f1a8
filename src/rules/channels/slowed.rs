//! `channels/slowed`: a channel is slowed that has to be quick.

use crate::findings::fact::{Unit, amount, channel};
use crate::fleet::Dimension;
use crate::rules::out::{Out, choice, remove, replace};
use crate::setup::Setup;
use crate::setup::terms::has_constant_line;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let allowed = out.parameter("cut", Dimension::Time);
    let motors = setup.motor_channels();
    for known in &setup.model.channels {
        let Some(sweep) = known.full_sweep else { continue };
        let slowest = sweep.value.up.max(sweep.value.down);
        // A cut lets the pulse fall, or rise on a channel that is turned round.
        let (stops, starts) = match known.reversed {
            None => (sweep.value.down, sweep.value.up),
            Some(_) => (sweep.value.up, sweep.value.down),
        };
        let number = known.number.value;
        let cut = motors.iter().any(|motor| motor.channel == number) && has_constant_line(known);
        let (key, sentence) = if setup.is_flight(number) && slowest.mantissa() > 0 {
            (
                "function",
                "Channel {channel} takes {sweep} for its whole way, and it is a flight function of a multirotor.",
            )
        } else if cut && stops > allowed {
            ("cut", "Channel {channel} takes {sweep} for its whole way, and it is a motor with a throttle cut.")
        } else {
            continue;
        };
        let facts = [channel(number), amount("sweep", if key == "cut" { stops } else { slowest }, Unit::S)];
        let mut choices = Vec::new();
        if key == "cut" && starts.mantissa() > 0 {
            let (up, down) = if known.reversed.is_some() {
                ("0 s".to_owned(), format!("{starts} s"))
            } else {
                (format!("{starts} s"), "0 s".to_owned())
            };
            let text = format!("full-sweep up {up}, down {down}");
            let edit = replace(&setup.model.head, sweep.span, text.clone());
            choices.push(choice(format!("start softly and stop at once: {text}"), vec![edit]));
        }
        choices.push(choice("take the line out", vec![remove(&setup.model.head, sweep.span)]));
        let words = "Let the channel stop at once, or take the line out.";
        out.find(setup.in_model(sweep.span), key, sentence, facts).mend_choices(words, choices);
    }
}
