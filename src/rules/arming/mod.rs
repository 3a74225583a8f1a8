//! Rules about arming: what asks the flight controller to start the motors, and what stops it.

pub(super) mod always;
pub(super) mod at_rest;
pub(super) mod momentary;
pub(super) mod never;
pub(super) mod no_way_back;
pub(super) mod not_stated;
pub(super) mod pupil;
pub(super) mod several_positions;
pub(super) mod shared_control;
pub(super) mod slow;
pub(super) mod start_demands_armed;
pub(super) mod start_unchecked;
pub(super) mod sticks_fly;
pub(super) mod thin_margin;
pub(super) mod undecided_position;

use super::out::{Out, choice, insert};
use super::signals::Signals;
use super::subject::Pair;
use crate::findings::{Choice, Edit};
use crate::fleet::equipment::ControlKind;
use crate::fleet::quoted;
use crate::signal::{Condition, ControlId, Path, Setting, Stand};
use crate::source::Place;

/// What the rules of this group start from: the signal path of a pair whose controller has a `mode arm`.
struct Arming<'p> {
    signals: &'p Signals,
    /// It asks to arm.
    asks: Condition,
    /// It does not.
    quiet: Condition,
    /// The header of the first arming channel.
    place: Place,
}

impl<'p> Arming<'p> {
    fn of(pair: &'p Pair<'_>) -> Option<Self> {
        let channel = pair.craft.controller.as_ref()?.arm_mode()?.tests.first()?.channel.value;
        let signals = pair.signals()?;
        let asks = signals.asks()?;
        let quiet = Condition::Not(Box::new(asks.clone()));
        Some(Self { signals, asks, quiet, place: pair.channel_place(channel) })
    }

    /// Whether a start asks to arm; `None` where a pulse is not known.
    fn asks_at(&self, stand: Stand) -> Option<bool> {
        self.signals.program().holds(&Path::at(stand), &self.asks)
    }
}

/// A position of an arming control that does not ask to arm when everything else is as `before-start` demands, else at
/// rest. Switches that stay where they are put come first.
fn quiet_position(pair: &Pair<'_>, arming: &Arming<'_>, controls: &[ControlId]) -> Vec<(ControlId, u8)> {
    let signals = arming.signals;
    let stays = |control: ControlId| {
        let kind = pair.handset.and_then(|handset| handset.control(signals.name(control))).map(|control| control.kind);
        matches!(kind, Some(ControlKind::Switch { sprung_to: None, .. }))
    };
    let mut found = Vec::new();
    for &control in controls {
        let quiet = (0..signals.positions(control)).find(|&position| {
            let mut demands = pair.demands();
            demands.retain(|(known, _)| *known != control);
            demands.push((control, Setting::Position(position)));
            arming.asks_at(signals.start(&demands)) == Some(false)
        });
        found.extend(quiet.map(|position| (control, position)));
    }
    found.sort_by_key(|&(control, _)| !stays(control));
    found
}

/// The statement that demands a position before the model starts.
fn demand(signals: &Signals, control: ControlId, position: u8) -> String {
    format!("before-start {} {}", quoted(signals.name(control)), signals.position_name(control, position))
}

/// The choices that put the arming channel on a two-position switch that the model does not use: its value becomes the
/// switch, and the start check demands the position that is off.
fn spare_switches(pair: &Pair<'_>, channel: u8) -> Vec<Choice> {
    let (Some(handset), Some(known)) = (pair.handset, pair.model.channel(channel)) else { return Vec::new() };
    let [line] = known.lines.as_slice() else { return Vec::new() };
    // A switch's ends reach nothing that the channel's travel keeps them from.
    let short = known.travel.is_some_and(|travel| travel.value.0.to_f64() > -100.0 || travel.value.1.to_f64() < 100.0);
    if line.when.is_some() || known.reversed.is_some() || short {
        return Vec::new();
    }
    let used = pair.model.control_names();
    let spare = handset.controls.iter().filter(|control| {
        control.kind == ControlKind::Switch { positions: 2, sprung_to: None }
            && !used.contains(&control.name.value.as_str())
    });
    let head = &pair.model.head;
    let choices = spare.map(|control| {
        let name = quoted(&control.name.value);
        let value = Edit { place: head.place(line.value.span), text: name.clone() };
        let check = insert(head, &head.body, &format!("before-start {name} up"));
        choice(format!("arm with {name}, which has two positions and no other job"), vec![value, check])
    });
    choices.collect()
}

/// Finds the arming controls, and notes where they were not decided.
fn controls<'s>(arming: &Arming<'s>, out: &mut Out<'_>) -> Option<&'s [ControlId]> {
    out.arming_controls(arming.signals, arming.place)
}
