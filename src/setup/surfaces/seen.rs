//! What each surface does as a pilot sees it, in each flight mode: where it stands, and where each stick, knob or slider takes it.

use super::answers::{combinations, named_by, path};
use crate::fleet::craft::{Surface, Surfaces};
use crate::setup::signals::{Signals, float};
use crate::signal::{ControlId, Handle, Setting, whole};
use compact_str::CompactString;

/// What moves a surface by less than this, in percent of the way from its middle to its end, is not seen (common practice, no source).
const SEEN_PERCENT: f64 = 0.5;

/// A combination of positions of the switches and buttons that act on a surface.
#[derive(Clone, Debug)]
pub struct FlightMode<'f> {
    /// Each switch and button with its position; none where none acts on a surface.
    pub held: Vec<(CompactString, CompactString)>,
    /// The surfaces whose pulse is known there.
    pub surfaces: Vec<InView<'f>>,
}

/// A surface as it is seen.
#[derive(Clone, Debug)]
pub struct InView<'f> {
    /// The surface.
    pub surface: &'f Surface,
    /// Where it stands while everything else is at rest, in percent of the way from the middle of the handset's scale to its end.
    /// Below zero the pulse is lower than in the middle.
    pub stands: f64,
    /// What takes it elsewhere.
    pub moves: Vec<Takes>,
}

/// What one stick, knob or slider does to a surface.
#[derive(Clone, Debug)]
pub struct Takes {
    /// Its name.
    pub control: CompactString,
    /// How far it takes the surface from where that stands, in percent of the same way, at its low or left end.
    pub low: f64,
    /// The same at its high or right end.
    pub high: f64,
}

/// What the surfaces of an aircraft do in each flight mode, the one in which everything is at rest first.
pub fn flight_modes<'f>(signals: &Signals, surfaces: &'f Surfaces) -> Vec<FlightMode<'f>> {
    let channels: Vec<u8> = surfaces.channels.iter().map(|surface| surface.channel.value).collect();
    let (axes, switches): (Vec<_>, Vec<_>) =
        named_by(signals, &channels).into_iter().partition(|&control| signals.is_axis(control));
    let modes = combinations(signals, &switches).into_iter().map(|held| FlightMode {
        held: switches.iter().filter_map(|&control| stands_at(signals, control, &held)).collect(),
        surfaces: surfaces.channels.iter().filter_map(|surface| in_view(signals, surface, &held, &axes)).collect(),
    });
    modes.collect()
}

/// The position of a switch where some are held elsewhere than at rest.
fn stands_at(
    signals: &Signals,
    control: ControlId,
    held: &[(ControlId, Setting)],
) -> Option<(CompactString, CompactString)> {
    let setting = held.iter().find(|(known, _)| *known == control).map(|(_, setting)| *setting);
    match setting.or_else(|| signals.program().rests_at(Handle::Control(control)))? {
        Setting::Position(at) => Some((signals.name(control).into(), signals.position_name(control, at))),
        Setting::Percent(_) => None,
    }
}

fn in_view<'f>(
    signals: &Signals,
    surface: &'f Surface,
    held: &[(ControlId, Setting)],
    axes: &[ControlId],
) -> Option<InView<'f>> {
    let scale = signals.program().parts().scale;
    let end = signals.program().end_of(&path(signals, held.iter().copied()));
    let percent = |moved: Option<(ControlId, i64)>| {
        let axis = moved.map(|(control, percent)| (Handle::Control(control), Setting::Percent(whole(percent))));
        let reading = end.read_moved(axis.as_slice(), u16::from(surface.channel.value))?;
        Some((float(reading.received.as_ref()?) - scale.centre.near()) / scale.span.near() * 100.0)
    };
    let stands = percent(None)?;
    let takes = axes.iter().filter_map(|&control| {
        let to = |end| Some(percent(Some((control, end)))? - stands);
        let (low, high) = (to(-100)?, to(100)?);
        let is_seen = low.abs().max(high.abs()) >= SEEN_PERCENT;
        is_seen.then(|| Takes { control: signals.name(control).into(), low, high })
    });
    Some(InView { surface, stands, moves: takes.collect() })
}
