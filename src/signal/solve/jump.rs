//! How far a pulse jumps while one control is moved little by little.

use crate::signal::program::parts::ControlId;
use crate::signal::simulate::play::End;
use crate::signal::solve::program::Program;
use crate::signal::solve::query_cache::{Looked, Settled};

impl Program {
    /// The greatest difference in microseconds between two neighbours among the pulses that are sent on a channel after the end
    /// of a path, with a control at places that lie `step` percent apart. What other programs share is not looked at again.
    pub fn greatest_jump(&self, end: &End<'_>, control: ControlId, step: usize, channel: u16) -> f64 {
        let key = match self.look_up(|row| row.swept(end, control, step, channel)) {
            Looked::Found(Settled::Jump(jump), _) => return jump,
            Looked::New(key) => Some(key),
            _ => None,
        };
        let (mut greatest, mut last) = (0.0_f64, None);
        for sent in end.swept(control, step, channel).map(|(_, reading)| reading.sent.0.roughly()) {
            greatest = last.map_or(greatest, |last: f64| greatest.max((sent - last).abs()));
            last = Some(sent);
        }
        if let (Some(answers), Some(key)) = (&self.answers, key) {
            answers.keep(key, Settled::Jump(greatest), 0);
        }
        greatest
    }
}
