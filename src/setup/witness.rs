//! One concrete state of the handset that shows something, by the names of the description.

use crate::fleet::Decimal;
use crate::fleet::words::Hands;
use crate::signal::Rational64;
use compact_str::CompactString;

/// One concrete state of the handset that shows a finding, and how to get there. Names are sorted by the order of
/// the handset's description.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Witness {
    /// Every control with its setting in the last state.
    pub controls: Vec<(CompactString, Setting)>,
    /// Trims that are not centred, in percent.
    pub trims: Vec<(CompactString, Rational64)>,
    /// Latched conditions with their state.
    pub latches: Vec<(CompactString, bool)>,
    /// The start state's settings that differ from rest, then one entry a movement; a wait stands alone.
    pub path: Vec<Vec<(CompactString, Setting)>>,
    /// Every channel in the last state.
    pub channels: Vec<WitnessChannel>,
    /// What the hands have hold of.
    pub hands: Hands,
}

/// Where a control stands.
#[derive(Clone, PartialEq, Debug)]
pub enum Setting {
    /// A switch position or a button state, by its name.
    Position(CompactString),
    /// An axis, in percent.
    Percent(Rational64),
    /// Nothing moves for so many seconds.
    Wait(Decimal),
}

/// One channel of a witness.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct WitnessChannel {
    /// Channel number, from 1.
    pub channel: u8,
    /// The pulse before the link, in microseconds.
    pub pulse_us: f64,
    /// The pulse received; absent where the link does not carry the channel.
    pub carried_us: Option<f64>,
}
