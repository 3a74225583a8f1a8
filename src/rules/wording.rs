//! What rules say of facts, in words.

use crate::findings::caution::Caution;
use crate::radio::pairing::{Obstacle, Unstated};
use crate::setup::Setup;

/// What has to be looked at on the bench, behind the caution that fits the aircraft.
pub fn with_caution(setup: &Setup<'_>, words: &str) -> String {
    format!("{} {words}", Caution::of(setup.craft).words())
}

/// What is not stated, in words.
pub fn unstated(list: &[Unstated]) -> String {
    let word = |unstated: &Unstated| match unstated {
        Unstated::Link => "the link",
        Unstated::Key => "the key",
        Unstated::Domain => "the domain",
        Unstated::FirmwareCheck => "whether the link checks firmware",
        Unstated::Firmware => "the firmware",
        Unstated::NumberCheck => "how the link checks numbers",
        Unstated::Match => "the match",
        Unstated::ModelNumber => "the model's number",
        Unstated::ReceiverNumber => "the receiver's number",
    };
    let words: Vec<&str> = list.iter().map(word).collect();
    words.join(" and ")
}

/// What keeps a model and an aircraft apart, in words.
pub fn obstacle(obstacle: &Obstacle<'_>) -> String {
    match obstacle {
        Obstacle::Link(model, craft) => format!("the module speaks link \"{model}\", the receiver \"{craft}\""),
        Obstacle::Key(model, craft) => format!("the model has key \"{model}\", the receiver \"{craft}\""),
        Obstacle::Domain(..) => "module and receiver are built for different domains".to_owned(),
        Obstacle::Firmware(model, craft) => format!("the module has firmware {model}, the receiver {craft}"),
        Obstacle::NumberDiffers(Some(model), craft) => {
            format!("the model has number {model}, the receiver is locked to {craft}")
        }
        Obstacle::NumberDiffers(None, craft) => format!("the model has no number, the receiver is locked to {craft}"),
        Obstacle::NotLocked => "match is on, and the receiver is not locked".to_owned(),
        Obstacle::LockedElsewhere(number) => format!("match is off, and the receiver is locked to {number}"),
    }
}
