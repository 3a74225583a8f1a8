//! What an aircraft does at the end of some movements, as somebody sees who makes them.

use super::motors::stands_still_at;
use super::of_craft::Setup;
use super::signals::{Signals, float};
use crate::fleet::craft::{Idle, Surface};
use crate::signal::Path;

/// What is seen at the end of a path.
#[derive(Clone, Debug)]
pub struct Live<'f> {
    /// Whether arming is asked for; `None` where that is not known, and where the controller has no such mode.
    pub asks_to_arm: Option<bool>,
    /// The motors.
    pub motors: Vec<LiveMotor>,
    /// The surfaces, with how far each stands from the middle of the handset's scale, in percent of the way to its end; below zero
    /// the pulse is lower. `None` where nothing is received.
    pub surfaces: Vec<(&'f Surface, Option<f64>)>,
}

/// What a motor does.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LiveMotor {
    /// The channel that drives it.
    pub channel: u8,
    /// Whether it stands still; `None` where it is not stated where it idles, and where nothing is received.
    pub still: Option<bool>,
    /// How far the pulse is from the middle of the handset's scale towards more power, in percent as with the surfaces.
    pub percent: Option<f64>,
}

impl<'f> Live<'f> {
    /// What is seen then.
    pub fn at(setup: &Setup<'f>, signals: &Signals, path: &Path) -> Self {
        let program = signals.program();
        let reading = program.play(path);
        let received = |channel: u8| reading.channel(u16::from(channel)).and_then(|read| read.received.as_ref());
        let arm = signals.arm().map(|arm| usize::from(arm.0));
        let scale = program.parts().scale;
        let from_middle = |channel| Some((float(received(channel)?) - scale.centre.near()) / scale.span.near() * 100.0);
        let motors = setup.motor_channels().iter().map(|motor| {
            let still = motor.idle.and_then(|idle| Some(stands_still_at(idle, received(motor.channel)?)));
            let more = if matches!(motor.idle, Some(Idle::Above(_))) { -1.0 } else { 1.0 };
            let percent = from_middle(motor.channel).map(|percent| percent * more);
            LiveMotor { channel: motor.channel, still, percent }
        });
        let surfaces = setup.craft.surfaces.iter().flat_map(|surfaces| &surfaces.channels);
        Self {
            asks_to_arm: arm.and_then(|arm| reading.modes.get(arm).copied().flatten()),
            motors: motors.collect(),
            surfaces: surfaces.map(|surface| (surface, from_middle(surface.channel.value))).collect(),
        }
    }
}

/// A path with the last movement put in the place of the one before, where both are of the same controls and the one before makes
/// no difference to anything that can be read now or later: a stick that is drawn along makes many small movements. `None` where
/// every movement is needed.
pub fn drawn_along(signals: &Signals, path: &Path) -> Option<Path> {
    let [before @ .., dropped, last] = path.movements.as_slice() else { return None };
    let same = |one: &[_], other: &[_]| one.iter().map(|(handle, _)| handle).eq(other.iter().map(|(handle, _)| handle));
    if last.sets.is_empty() || !same(&dropped.sets, &last.sets) {
        return None;
    }
    let shorter = Path { movements: before.to_vec(), ..path.clone() };
    let shorter = signals.moved(&shorter, last.sets.clone());
    let held = |path: &Path| path.movements.last().map(|movement| movement.held);
    let program = signals.program();
    (held(&shorter) == held(path) && program.play(&shorter) == program.play(path)).then_some(shorter)
}
