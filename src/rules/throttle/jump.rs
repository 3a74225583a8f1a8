//! `throttle/jump`: one movement of a switch, with the sticks still, lifts a motor from idle.

use super::latched;
use crate::findings::fact::{channel, name, us};
use crate::findings::{Choice, Severity};
use crate::fleet::Dimension;
use crate::fleet::words::{CraftKind, Stick};
use crate::rules::out::{Out, choice};
use crate::setup::stick_way::centred;
use crate::setup::terms::switches_of;
use crate::setup::{Motor, Setup, Signals, Starters, sticks};
use crate::signal::{Answer, Condition, ControlId, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let share = out.parameter("share", Dimension::Percent);
    // With one line and no switch in its value nothing can jump.
    for (at, motor) in out.motors(setup).iter().enumerate().filter(|(_, motor)| !motor.is_plain(signals)) {
        let (Some(idles), Some(lifted)) = (motor.idles(), motor.lifted(setup.handset, share)) else { continue };
        let place = setup.in_model(motor.channel.header);
        let Some(stops) = out.stops(setup, signals, at) else { continue };
        let starters = match setup.starters(signals, motor, stops, &lifted) {
            Ok(starters) => starters,
            Err(why) => {
                out.why(why, place);
                continue;
            }
        };
        let Starters { free, checked, guards, guarded } = starters;
        // A yes with its state, a no, or nothing where it was not decided.
        let ask = |out: &mut Out<'_>, from: Condition, who: &[_], to: Condition| {
            let question = Question::is(from).then(Movers::These(who.to_vec()), to);
            // Two motors that steer stand still also where two sticks cancel each other out.
            let question = if motor.reversible { centred(signals, question) } else { question };
            let answer = (!who.is_empty()).then(|| out.ask(signals, &question, place));
            match answer {
                None | Some(Some(Answer::No(_))) => Some(None),
                Some(Some(Answer::Yes(witness))) => Some(Some(witness)),
                Some(_) => None,
            }
        };
        safety(setup, signals, motor, &guarded, &lifted, out);
        // While an aircraft goes from hovering to flying, one motor takes over from another.
        let idles = match setup.is(CraftKind::Vtol) {
            true => Condition::All(out.motors(setup).iter().filter_map(Motor::idles).collect()),
            false => idles,
        };
        let worst = {
            let cut = motor.cut(signals).filter(|_| !guards).into_iter();
            let from = [idles.clone()].into_iter().chain(cut.map(|cut| Condition::Not(Box::new(cut))));
            let to = [lifted.clone()].into_iter().chain(signals.asks());
            ask(out, Condition::All(from.collect()), &free, Condition::All(to.collect()))
        };
        // A motor on the stick of another function is asked for nowhere.
        let named = sticks(setup.model, setup.handset, motor.number());
        let is_on_its_own = named.is_empty() || named.contains(&Stick::Throttle);
        let is_checked = || is_on_its_own && setup.is_checked(signals, motor, stops);
        let is_alone = setup.motor_channels().len() == 1;
        let (severity, witness) = match worst {
            // A motor on one switch is started by that, as another is by its stick.
            Some(Some(witness)) if guards && is_alone && is_checked() => (Severity::Note, witness),
            Some(Some(witness)) => (Severity::Danger, witness),
            None => continue,
            Some(None) => match ask(out, idles, &[free, checked].concat(), lifted) {
                Some(Some(witness)) if signals.asks().is_none() && (!guards || is_alone) && is_checked() => {
                    (Severity::Note, witness)
                }
                Some(Some(witness)) => (Severity::Caution, witness),
                _ => continue,
            },
        };
        let path = witness.path_then(0);
        let (Some(from), Some(to)) = (motor.pulse(signals, &witness.path), motor.pulse(signals, &path)) else {
            continue;
        };
        let facts = [channel(motor.number()), us("from", &from), us("to", &to)];
        let sentence = "One movement of a switch, with the sticks still, takes channel {channel} from {from} to {to}.";
        let finding = out.find(place, "lifts", sentence, facts);
        finding.severity(severity).shown_by(signals.witness(&path));
        if motor.reversible {
            finding.mend_words("Let the switch act only with the stick where the motor stands still: a latch that needs it there to let go.");
        } else if setup.is(CraftKind::Helicopter) {
            // A latch that waits for a low stick would keep the motor dead in an autorotation that is broken off.
            finding.mend_words(
                "Let the start check ask for the position of that switch in which the motor stands still. The switch itself \
                 must let go at once, whatever the collective does: an autorotation has to be broken off with it.",
            );
        } else {
            finding.mend_choices(
                "Let the switch act only with a low stick: a latch that needs `throttle low` to let go.",
                latch(setup, motor),
            );
        }
    }
}

/// A motor's switch behind a safety: where each of them starts the motor when it is moved last, the safety that is let go while the
/// switch is on does.
fn safety(
    setup: &Setup<'_>,
    signals: &Signals,
    motor: &Motor<'_>,
    guarded: &[ControlId],
    lifted: &Condition,
    out: &mut Out<'_>,
) {
    let Some(idles) = motor.idles() else { return };
    let place = setup.in_model(motor.channel.header);
    let mut starts = Vec::new();
    for &control in guarded {
        let question = Question::is(idles.clone()).then(Movers::These(vec![control]), lifted.clone());
        match out.ask(signals, &question, place) {
            Some(Answer::Yes(witness)) => starts.push((control, witness)),
            // The switch alone, or its safety alone, never starts it as the last one.
            _ => return,
        }
    }
    // The safety is the one that only lets the other through.
    let own = switches_of(setup.model, signals, motor.channel);
    let safety = starts.iter().find(|(control, _)| !own.contains(control)).or(starts.first());
    let Some((control, witness)) = safety else { return };
    let Some(other) = starts.iter().find(|(other, _)| other != control) else { return };
    let facts =
        [channel(motor.number()), name("safety", signals.name(*control)), name("switch", signals.name(other.0))];
    let sentence = "Letting {safety} go while {switch} is on starts the motor on channel {channel} at once.";
    let finding = out.find(place, "safety let go", sentence, facts);
    finding.severity(Severity::Caution).shown_by(signals.witness(&witness.path_then(0))).mend_words(
        "Let the safety let go only while the motor's switch is off: a latch that is set by the safety and needs the other switch \
         in its off position.",
    );
}

/// For a cut of two lines on one switch: the latch that needs a low stick.
fn latch(setup: &Setup<'_>, motor: &Motor<'_>) -> Vec<Choice> {
    let Some(cut) = motor.switch_cut(setup.handset) else { return Vec::new() };
    let running = cut.running.value.to_string();
    let edits = latched(setup, motor.channel, cut.control, cut.off, &cut.on, &running);
    vec![choice(format!("let the motor live only once \"{}\" goes {} with a low stick", cut.control, cut.on), edits)]
}
