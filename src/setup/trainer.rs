//! What hands the aircraft over to a pupil.

use crate::fleet::condition::{Condition, ConditionKind, Name};
use crate::fleet::equipment::{ControlKind, Handset};
use compact_str::CompactString;

/// The first switch of a hand-over that stays where it is put, where none of its controls springs back.
pub fn stays<'m>(hand_over: &'m Condition, handset: &Handset) -> Option<&'m Name> {
    let (mut stays, mut springs) = (None, false);
    hand_over.walk(&mut |part| {
        if let ConditionKind::Position { control, .. } = &part.kind {
            match handset.control(&control.value).map(|control| control.kind) {
                Some(kind) if !kind.springs() => stays = stays.or(Some(control)),
                Some(_) => springs = true,
                None => {}
            }
        }
    });
    stays.filter(|_| !springs)
}

/// Whether a hand-over names a control that its handset does not have.
pub fn names_unknown(hand_over: &Condition, handset: &Handset) -> bool {
    let mut unknown = false;
    hand_over.walk(&mut |part| {
        if let ConditionKind::Position { control, .. } = &part.kind {
            unknown |= handset.control(&control.value).is_none();
        }
    });
    unknown
}

/// The controls of a handset that spring back, each with a position away from rest.
pub fn sprung(handset: &Handset) -> Vec<(&str, CompactString)> {
    let away = handset.controls.iter().filter_map(|control| {
        let away = match control.kind {
            ControlKind::Switch { positions, sprung_to: Some(0) } => positions - 1,
            ControlKind::Switch { sprung_to: Some(_), .. } => 0,
            ControlKind::Button { stays: false } => 1,
            _ => return None,
        };
        Some((control.name.value.as_str(), control.kind.position_name(away)))
    });
    away.collect()
}
