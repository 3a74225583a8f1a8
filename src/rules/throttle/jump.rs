//! `throttle/jump`: one movement of a switch, with the sticks still, lifts a motor from idle.

use super::latched;
use crate::findings::fact::{channel, us};
use crate::findings::{Choice, Severity};
use crate::fleet::Dimension;
use crate::rules::out::{Out, choice};
use crate::setup::{Motor, Setup, Signals, is_checked_helicopter};
use crate::signal::{Answer, Condition, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let share = out.parameter("share", Dimension::Percent);
    // What a helicopter's throttle hold or idle-up does is asked for before the start.
    let checked = is_checked_helicopter(setup);
    // With one line and no switch in its value nothing can jump.
    for motor in out.motors(setup).iter().filter(|motor| !motor.reversible && !motor.is_plain()) {
        let (Some(idles), Some(lifted)) = (motor.idles(), motor.lifted(setup.handset, share)) else { continue };
        let place = setup.in_model(motor.channel.header);
        let worst = {
            let mut from = vec![idles.clone()];
            from.extend(motor.cut(signals).map(|cut| Condition::Not(Box::new(cut))));
            let mut to = vec![lifted.clone()];
            to.extend(signals.asks());
            Question::is(Condition::All(from)).then(Movers::SwitchesAndButtons, Condition::All(to))
        };
        let (severity, witness) = match out.ask(signals, &worst, place) {
            Some(Answer::Yes(witness)) => (if checked { Severity::Caution } else { Severity::Danger }, witness),
            None => continue,
            Some(_) => {
                let any = Question::is(idles).then(Movers::SwitchesAndButtons, lifted);
                match out.ask(signals, &any, place) {
                    Some(Answer::Yes(witness)) => (Severity::Caution, witness),
                    _ => continue,
                }
            }
        };
        let path = witness.path_then(0);
        let (Some(from), Some(to)) = (motor.pulse(signals, &witness.path), motor.pulse(signals, &path)) else {
            continue;
        };
        let facts = [channel(motor.number()), us("from", &from), us("to", &to)];
        let sentence = "One movement of a switch, with the sticks still, lifts channel {channel} from {from} to {to}.";
        out.find(place, "lifts", sentence, facts).severity(severity).shown_by(signals.witness(&path)).mend_choices(
            "Let the switch act only with a low stick: a latch that needs `throttle low` to let go.",
            latch(setup, motor),
        );
    }
}

/// For a cut of two lines on one switch: the latch that needs a low stick.
fn latch(setup: &Setup<'_>, motor: &Motor<'_>) -> Vec<Choice> {
    let Some(cut) = motor.switch_cut(setup.handset) else { return Vec::new() };
    let running = cut.running.value.to_string();
    let edits = latched(setup, motor.channel, cut.control, cut.off, &cut.on, &running);
    vec![choice(format!("let the motor live only once \"{}\" goes {} with a low stick", cut.control, cut.on), edits)]
}
