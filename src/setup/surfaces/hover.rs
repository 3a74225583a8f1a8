//! The control with which a craft changes between hovering and flying as a wing.

use crate::setup::signals::Signals;
use crate::setup::subject::Subject;
use crate::signal::{ControlId, Handle, Movement, Path, Setting};
use crate::source::Span;

/// A switch that chooses among modes of one channel.
#[derive(Clone, Debug)]
pub struct Change {
    /// The switch.
    pub control: ControlId,
    /// The channel of the modes.
    pub channel: u8,
    /// The first of the modes.
    pub mode: Span,
    /// The positions in which none of them is on, each with the way there.
    pub empty: Vec<(u8, Path)>,
    /// Whether `before-start` asks for a position of it.
    pub is_checked: bool,
}

/// The switches that choose among two modes or more of one channel.
pub fn changes(subject: &Subject<'_>, signals: &Signals) -> Vec<Change> {
    let modes: Vec<_> = subject.craft.controller.iter().flat_map(|controller| &controller.modes).collect();
    let modes: Vec<_> = modes.into_iter().filter(|mode| mode.name.value != "arm" && mode.kind.is_none()).collect();
    let mut channels: Vec<u8> = modes.iter().flat_map(|mode| mode.channels()).collect();
    channels.sort_unstable();
    channels.dedup();
    let mut found = Vec::new();
    for channel in channels {
        let of_channel: Vec<_> = modes.iter().filter(|mode| mode.channels().contains(&channel)).collect();
        let [first, _, ..] = of_channel.as_slice() else { continue };
        for control in signals.program().mentions(u16::from(channel)).controls {
            if signals.positions(control) < 2 {
                continue;
            }
            let path = |position| {
                let mut path = Path::at(signals.program().rest());
                let sets = vec![(Handle::Control(control), Setting::Position(position))];
                path.movements.push(Movement { sets, held: 0 });
                path
            };
            let is_off = |path: &Path, mode: &str| {
                signals.mode(mode).and_then(|mode| signals.program().holds(path, &mode)) == Some(false)
            };
            let ways = (0..signals.positions(control)).map(|position| (position, path(position)));
            let empty = ways.filter(|(_, path)| of_channel.iter().all(|mode| is_off(path, &mode.name.value))).collect();
            let checks = &subject.model.before_start;
            let is_checked = checks.iter().any(|check| check.control.value == signals.name(control));
            found.push(Change { control, channel, mode: first.span, empty, is_checked });
        }
    }
    found
}
