//! Rules about arming: what asks the flight controller to start the motors, and what stops it.

rules_of!(arming);

use super::out::{choice, insert};
use crate::findings::{Choice, Edit};
use crate::fleet::quoted;
use crate::setup::{Setup, Signals, is_cut_short};
use crate::signal::ControlId;

/// The statement that demands a position before the model starts.
pub(super) fn demand(signals: &Signals, control: ControlId, position: u8) -> String {
    format!("before-start {} {}", quoted(signals.name(control)), signals.position_name(control, position))
}

/// The choices that put the arming channel on a two-position switch that the model does not use: its value becomes the
/// switch, and the start check demands the position that is off.
fn spare_switches(setup: &Setup<'_>, channel: u8) -> Vec<Choice> {
    let Some(known) = setup.model.channel(channel) else { return Vec::new() };
    let [line] = known.lines.as_slice() else { return Vec::new() };
    // A switch's ends reach nothing that the channel's travel keeps them from.
    if line.when.is_some() || known.reversed.is_some() || is_cut_short(known) {
        return Vec::new();
    }
    let head = &setup.model.head;
    let choices = setup.spare_switches().into_iter().map(|control| {
        let name = quoted(control);
        let value = Edit { place: head.place(line.value.span), text: name.clone() };
        let check = insert(head, &head.body, &format!("before-start {name} up"));
        choice(format!("arm with {name}, which has two positions and no other job"), vec![value, check])
    });
    choices.collect()
}

#[cfg(test)]
mod tests;
