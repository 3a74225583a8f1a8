//! What switches the ignition of an engine.

use super::cuts::stops;
use super::signals::{Signals, above, at_least, at_most, below};
use super::stop::Stop;
use super::subject::{Subject, number};
use crate::fleet::Decimal;
use crate::fleet::craft::Ignition as Written;
use crate::signal::{Condition, ControlId, Measure, Movers, Position, Question, Setting, Why};
use crate::source::Place;

/// The ignition of an engine, by the channel that switches it.
#[derive(Clone, Debug)]
pub struct Ignition {
    /// The channel.
    pub channel: u8,
    /// Where the aircraft says so.
    pub place: Place,
    /// It is on.
    pub on: Condition,
    /// It is off.
    pub off: Condition,
    written: Written,
}

/// The ignitions of an aircraft, as its description states them.
pub(super) fn ignitions(subject: &Subject<'_>) -> Vec<Ignition> {
    let written = subject.craft.surfaces.iter().flat_map(|surfaces| &surfaces.ignitions);
    let ignitions = written.map(|&written| {
        let (channel, edge) = (written.channel.value, number(written.pulse.value));
        let received = |bounds| Condition::Channel(u16::from(channel), Measure::Received, bounds);
        let (on, off) = match written.on_above {
            true => (above(edge), at_most(edge)),
            false => (below(edge), at_least(edge)),
        };
        Ignition { channel, place: subject.in_craft(written.span), on: received(on), off: received(off), written }
    });
    ignitions.collect()
}

impl Ignition {
    /// Whether a stored pulse turns it on.
    pub fn is_on_at(&self, pulse: Decimal) -> bool {
        self.written.is_on(pulse)
    }

    /// The switches and buttons of which some position keeps it off, whatever else is moved, and another lets it be on.
    ///
    /// # Errors
    /// Why it was not decided for one of them.
    pub fn stops(&self, signals: &Signals) -> Result<Vec<Stop>, Why> {
        stops(signals, self.channel, &self.on)
    }

    /// Does one movement of a switch or button turn it off?
    pub fn turned_off(&self) -> Question {
        Question::is(self.on.clone()).then(Movers::SwitchesAndButtons, self.off.clone())
    }

    /// For each switch and button of its channel that springs back: is it on only while that is held, and does it come on when that is
    /// let go?
    pub fn while_held(&self, signals: &Signals) -> Vec<(ControlId, [Question; 2])> {
        let named = signals.program().mentions(u16::from(self.channel)).controls;
        let sprung = named.into_iter().filter_map(|control| Some((control, signals.springs_to(control)?)));
        let questions = sprung.map(|(control, rest)| {
            let away = || Condition::Not(Box::new(Condition::At(control, Position::Index(rest))));
            let let_go = |from: &Condition, to: &Condition| {
                Question::is(Condition::All(vec![away(), from.clone()])).then_to(
                    control,
                    Setting::Position(rest),
                    to.clone(),
                )
            };
            (control, [let_go(&self.on, &self.off), let_go(&self.off, &self.on)])
        });
        questions.collect()
    }
}
