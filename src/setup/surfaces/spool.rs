//! The pitch of a helicopter's blades where its motor starts, beside where it runs already.

use super::answers::Answers;
use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::words::Stick;
use crate::setup::channel_use::function;
use crate::setup::motors::Motor;
use crate::setup::signals::{Signals, float};
use crate::signal::{Condition, ControlId, Handle, Kept, Movement, Path, Position, Question, Setting, Why, whole};

/// A helicopter whose blades ask for more down-thrust in the position in which its motor starts than in one in which it runs.
#[derive(Clone, Debug)]
pub struct SpoolPitch<'f> {
    /// The collective.
    pub surface: &'f Surface,
    /// The switch.
    pub control: ControlId,
    /// The position in which the motor idles with the stick at the bottom, and one in which it runs there.
    pub at: [u8; 2],
    /// What the collective gets in either with the stick at the bottom, in microseconds.
    pub pulses: [f64; 2],
    /// The way to the first.
    pub path: Path,
}

/// The collectives that go further down with a low stick where the motor idles with it than where it runs, by a switch that both
/// hang on: curves that were put on the wrong position.
///
/// # Errors
/// Why it was not decided where the motor runs.
pub fn spool_pitch<'f>(
    surfaces: &'f Surfaces,
    motor: &Motor<'_>,
    signals: &Signals,
    answers: &Answers,
) -> Result<Option<SpoolPitch<'f>>, Why> {
    let (Some(runs), Some(stick)) = (motor.runs(), signals.stick(function(Stick::Throttle))) else { return Ok(None) };
    let of_motor = signals.program().mentions(u16::from(motor.number())).controls;
    for surface in surfaces.channels.iter().filter(|surface| surface.has("collective")) {
        let number = u16::from(surface.channel.value);
        for control in signals.program().mentions(number).controls {
            if signals.positions(control) < 2 || !of_motor.contains(&control) {
                continue;
            }
            let read = |at: u8, percent: i64| {
                let sets = [
                    (Handle::Control(control), Setting::Position(at)),
                    (Handle::Control(stick), Setting::Percent(whole(percent))),
                ];
                Some(float(signals.read_after(&sets, number)?.received.as_ref()?))
            };
            let (mut starts, mut running) = (Vec::new(), Vec::new());
            for at in 0..signals.positions(control) {
                let there = Condition::At(control, Position::Index(at));
                let runs = Question::is(Condition::All(vec![there, runs.clone()]));
                let kept = |percent| Kept::At(Setting::Percent(whole(percent)));
                let low =
                    runs.clone().keeping(Handle::Control(stick), kept(-100)).keeping(Handle::Trim(stick), kept(0));
                if signals.program().decide(&low)? {
                    running.push(at);
                } else if signals.program().decide(&runs)? {
                    starts.push(at);
                }
            }
            for (start, run) in starts.iter().flat_map(|&start| running.iter().map(move |&run| (start, run))) {
                let [Some(low), Some(high)] = [-100, 100].map(|percent| read(start, percent)) else { continue };
                let [Some(other), Some(top)] = [-100, 100].map(|percent| read(run, percent)) else { continue };
                let further = if high > low { other - low } else { low - other };
                // Blades that turn round in one of them have a rule of their own.
                if further >= 2.0 * answers.least && (high > low) == (top > other) {
                    let mut path = Path::at(signals.program().rest());
                    for set in [(control, Setting::Position(start)), (stick, Setting::Percent(whole(-100)))] {
                        path.movements.push(Movement { sets: vec![(Handle::Control(set.0), set.1)], held: 0 });
                    }
                    return Ok(Some(SpoolPitch { surface, control, at: [start, run], pulses: [low, other], path }));
                }
            }
        }
    }
    Ok(None)
}
