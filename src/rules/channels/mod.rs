//! Rules about what the channels carry, and whether it is what the aircraft reads there.

rules_of!(channels);

use crate::setup::{Signals, float};
use crate::signal::{ControlId, Handle, Setting, Stand, whole};

/// Where everything rests, but for one stick.
fn with_stick(signals: &Signals, stick: ControlId, percent: i64) -> Stand {
    let mut stand = signals.program().rest();
    stand.set(Handle::Control(stick), Setting::Percent(whole(percent)));
    stand
}

/// The pulse that arrives on a channel, in microseconds, where everything rests but for one control.
fn arrives(signals: &Signals, control: ControlId, at: Setting, channel: u8) -> Option<f64> {
    let reading = signals.program().read_with(&[(Handle::Control(control), at)], u16::from(channel))?;
    reading.received.as_ref().map(float)
}

/// The same for a stick at so many percent.
fn stick_arrives(signals: &Signals, stick: ControlId, percent: i64, channel: u8) -> Option<f64> {
    arrives(signals, stick, Setting::Percent(whole(percent)), channel)
}
