//! `throttle/other-control`: the throttle is at rest, and another control lifts a motor above idle.

use crate::findings::Severity;
use crate::findings::fact::{channel, idles as idle_is, us, word};
use crate::findings::hands::lowest;
use crate::fleet::words::{CraftKind, Stick};
use crate::rules::out::Out;
use crate::setup::stick_way::centred;
use crate::setup::{Motor, Setup, Signals, resting, sticks};
use crate::signal::{Answer, Condition, Function, Handle, Kept, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(stick) = signals.stick(Function::Throttle) else { return };
    for (at, motor) in out.motors(setup).iter().enumerate() {
        let (Some(idles), Some(runs), Some(idle)) = (motor.idles(), motor.runs(), motor.idle) else { continue };
        let Some(rest) = setup.throttle_rest(motor) else { continue };
        let rested = |question| {
            let question = resting(signals, question, rest, false)?;
            // A motor that can run backwards may be mixed with a stick that springs to its centre, to steer.
            Some(if motor.reversible { centred(signals, question) } else { question })
        };
        let place = setup.in_model(motor.channel.header);
        // A motor that the stick does not drive, such as one on a switch, has no other control but its own.
        let started = |out: &mut Out<'_>| {
            signals.program().mentions(u16::from(motor.number())).controls.contains(&stick)
                && motor.started_by(stick).and_then(|question| out.decide(signals, &question, place)) == Some(true)
        };
        if !sticks(setup.model, setup.handset, motor.number()).contains(&Stick::Throttle) && !started(out) {
            continue;
        }
        // A line that is meant as a cut and fails has a rule of its own.
        let mut all = vec![runs];
        for failing in motor.failing_cuts() {
            all.extend(motor.line(signals, failing.at).map(|here| Condition::Not(Box::new(here))));
        }
        let Some(question) = rested(Question::is(Condition::All(all))) else { continue };
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        // Where no position idles, the channel itself is too high.
        let Some(still) = rested(Question::is(idles.clone())) else { continue };
        if out.decide(signals, &still, place) != Some(true) {
            continue;
        }
        let Some(severity) = severity(setup, signals, out, (at, motor), &question) else { continue };
        let Some(pulse) = motor.pulse(signals, &witness.path) else { continue };
        // Where only the cut idles, the other control is the switch that lets it go.
        let without = motor.cut(signals).and_then(|cut| {
            let here = Condition::All(vec![idles, Condition::Not(Box::new(cut))]);
            rested(Question::is(here))
        });
        let only_cut = without.is_some_and(|question| out.decide(signals, &question, place) == Some(false));
        let facts = [
            channel(motor.number()),
            us("reads", &pulse),
            idle_is("idle", idle),
            word("lowest", lowest(setup.hands().grip)),
        ];
        let (key, sentence) = match (only_cut, rest == -100) {
            (true, true) => {
                ("cut let go", "With the {lowest} and the cut let go, channel {channel} reads {reads}; idle is {idle}.")
            }
            (true, false) => (
                "cut let go",
                "With the throttle at rest and the cut let go, channel {channel} reads {reads}; idle is {idle}.",
            ),
            (false, true) => (
                "another control",
                "With the {lowest}, another control brings channel {channel} to {reads}; idle is {idle}.",
            ),
            (false, false) => (
                "another control",
                "With the throttle at rest, another control brings channel {channel} to {reads}; idle is {idle}.",
            ),
        };
        // The line that is not idle is the one to mend; what another control adds may stand anywhere in the channel.
        let place =
            if only_cut { setup.in_model(motor.written_at(setup.model, signals, &witness.path)) } else { place };
        let finding = out.find(place, key, sentence, facts);
        finding.severity(severity).shown_by(signals.witness(&witness.path)).other(motor.place, "what counts as idle");
        if only_cut {
            finding.case("cut let go").mend_words(
                "Look at the sign and the numbers of this line: where the throttle gives least it has to send what the motor idles at.",
            );
        }
    }
}

/// A danger, but for a helicopter whose start check looks at the switch that does it: a caution, and nothing where another switch
/// keeps its motor still.
fn severity(
    setup: &Setup<'_>,
    signals: &Signals,
    out: &mut Out<'_>,
    (at, motor): (usize, &Motor<'_>),
    question: &Question,
) -> Option<Severity> {
    if !setup.is(CraftKind::Helicopter) {
        return Some(Severity::Danger);
    }
    let demands = setup.demands(signals);
    let switches = demands.into_iter().filter(|&(control, _)| signals.positions(control) > 0);
    let as_asked = switches.fold(question.clone(), |question, (control, setting)| {
        question.keeping(Handle::Control(control), Kept::At(setting))
    });
    match out.decide(signals, &as_asked, setup.in_model(motor.channel.header))? {
        true => Some(Severity::Danger),
        false => out.stops(setup, signals, at)?.is_empty().then_some(Severity::Caution),
    }
}
