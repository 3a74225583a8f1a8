//! What a line of a model that was not understood takes with it.

use crate::fleet::equipment::{Handset, Lost};
use crate::fleet::model::Model;
use crate::fleet::words::{Grip, Stick};
use crate::signal::program::parts::{ConditionId, ControlId, CurveId, Parts};
use crate::signal::program::reason::Part;

/// Words of a model whose loss leaves the signal path as it is.
const BESIDE: &[&str] = &[
    "alarm",
    "timer",
    "module",
    "flies",
    "failsafe",
    "expect",
    "stick-filter",
    "lesson",
    "purpose",
    "trainer",
    "before-start",
    "receiver-number",
    "match",
    "send-on",
    "update-rate",
    "telemetry",
    "power",
    "key",
];

/// Whether a lost line may have begun with one of these words.
pub(in crate::signal) fn may_be(lost: &Lost, words: &[&str]) -> bool {
    lost.word.is_empty() || words.contains(&lost.word)
}

/// What a line of a model that was not understood takes with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::signal) enum Takes {
    /// Nothing of the signal path.
    Nothing,
    /// A part, which may be defined nowhere else.
    Part(Part),
    /// The values of all sticks, after rates and trims.
    Sticks,
    /// A condition, curve or mix that is defined nowhere else: what names it.
    Name,
    /// Whatever is named and defined nowhere else.
    Anything,
}

/// The word and the key of what a lost line is about: of the statement in whose block it stands, else its own.
pub(in crate::signal) fn about(lost: &Lost) -> (&'static str, Option<&str>) {
    match lost.inside.first() {
        Some(outer) => (outer.word, outer.key.as_deref()),
        None => (lost.word, lost.key.as_deref()),
    }
}

/// What a lost line of a model takes with it. A line inside a block takes what the block is about.
pub(in crate::signal) fn what_is_lost(lost: &Lost, model: &Model, handset: &Handset) -> Takes {
    let (word, key) = about(lost);
    match word {
        "channel" => {
            let channel = key.and_then(|key| key.parse().ok()).map(Part::Channel);
            channel.map_or(Takes::Anything, Takes::Part)
        }
        "rates" => {
            let stick = key.and_then(|key| Grip::ALL.iter().find_map(|grip| grip.stick(key)));
            let id = stick.and_then(|stick| stick_id(handset, stick));
            id.map_or(Takes::Sticks, |id| Takes::Part(Part::Control(id)))
        }
        "mix" => {
            let at = model.mixes.iter().position(|known| Some(known.name.value.as_str()) == key);
            at.map_or(Takes::Name, |at| Takes::Part(Part::Channel(Parts::mix(at as u16))))
        }
        "trims" => Takes::Sticks,
        "condition" => {
            let at = model.conditions.iter().position(|known| Some(known.name.value.as_str()) == key);
            at.map_or(Takes::Name, |at| Takes::Part(Part::Condition(ConditionId(at as u16))))
        }
        "curve" => {
            let at = model.curves.iter().position(|known| Some(known.name.value.as_str()) == key);
            at.map_or(Takes::Name, |at| Takes::Part(Part::Curve(CurveId(at as u16))))
        }
        "handset" => Takes::Nothing,
        word if BESIDE.contains(&word) => Takes::Nothing,
        _ => Takes::Anything,
    }
}

/// The stick that has a function on a handset: its sticks are the first controls.
pub(in crate::signal) fn stick_id(handset: &Handset, stick: Stick) -> Option<ControlId> {
    let at = handset.grip().sticks().iter().position(|(known, _)| *known == stick)?;
    Some(ControlId(at as u16))
}
