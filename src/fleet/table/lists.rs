//! What the trade calls some words of the closed lists, and the functions that surfaces have.

/// Words that mean the same as a word of a closed list: `lipo` is `li-po`. Each stands for one word only.
pub const SYNONYMS: &[(&str, &str)] = &[
    ("ail", "roll"),
    ("aileron", "roll"),
    ("ailerons", "roll"),
    ("ele", "pitch"),
    ("elevator", "pitch"),
    ("rud", "yaw"),
    ("rudder", "yaw"),
    ("elevators", "pitch"),
    ("rudders", "yaw"),
    ("steer", "steering"),
    ("nose-wheel", "steering"),
    ("flaps", "flap"),
    ("spoilers", "spoiler"),
    ("brakes", "brake"),
    ("airbrake", "brake"),
    ("airbrakes", "brake"),
    ("tail-rotor", "tail"),
    ("gyro-gain", "gain"),
    ("lights", "light"),
    ("undercarriage", "gear"),
    ("landing-gear", "gear"),
    ("retracts", "gear"),
    ("tow-release", "release"),
    ("sheet", "winch"),
    ("gimbal", "camera"),
    ("lipo", "li-po"),
    ("lihv", "li-hv"),
    ("liion", "li-ion"),
    ("lifepo", "li-fe"),
    ("lifepo4", "li-fe"),
    ("life", "li-fe"),
    ("nimh", "ni-mh"),
    ("nicd", "ni-cd"),
    ("nicad", "ni-cd"),
    ("airplane", "aeroplane"),
    ("plane", "aeroplane"),
    ("multicopter", "multirotor"),
    ("quadcopter", "multirotor"),
    ("quad", "multirotor"),
    ("sailplane", "glider"),
    ("heli", "helicopter"),
    ("gyrocopter", "autogyro"),
    ("gyroplane", "autogyro"),
];

/// What a controller may read: the throttle, and all that a channel may move. Anything else stands in quotes.
pub const READ: &[&str] = &[
    "throttle",
    "roll",
    "pitch",
    "yaw",
    "steering",
    "flap",
    "spoiler",
    "brake",
    "collective",
    "tail",
    "gain",
    "gear",
    "ignition",
    "release",
    "winch",
    "light",
    "camera",
];

/// What a channel may move on an aircraft without a flight controller, whose motors are stated as such.
pub const FUNCTIONS: &[&str] = match READ.split_first() {
    Some((_throttle, moved)) => moved,
    None => &[],
};

/// The word of a closed list that a written one is or means.
pub fn listed(list: &[&'static str], written: &[u8]) -> Option<&'static str> {
    let find = |word: &[u8]| list.iter().copied().find(|known| known.as_bytes() == word);
    find(written).or_else(|| {
        let (_, meant) = SYNONYMS.iter().find(|(synonym, _)| synonym.as_bytes() == written)?;
        find(meant.as_bytes())
    })
}

/// The words of a closed list and what the trade says for them.
pub fn accepted<'l>(list: &'l [&'static str]) -> impl Iterator<Item = &'static str> + 'l {
    let synonyms = SYNONYMS.iter().filter(|(_, meant)| list.contains(meant)).map(|(synonym, _)| *synonym);
    list.iter().copied().chain(synonyms)
}

/// The word of a closed list that is nearest to a written one, where one is near enough to be meant. A slip in what the
/// trade calls it counts too.
pub fn near(list: &[&'static str], written: &str) -> Option<&'static str> {
    let small = written.to_lowercase();
    let same = accepted(list).find(|word| word.to_lowercase() == small);
    // `of` is `off` and not `on`, which is as near.
    let mut begins = accepted(list).filter(|word| small.len() > 1 && word.starts_with(small.as_str()));
    let begins = begins.next().filter(|_| begins.next().is_none());
    let near = same.or(begins).or_else(|| crate::fleet::problem::nearest(written, accepted(list)))?;
    listed(list, near.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fleet::shape::{Part, SlotKind};
    use crate::fleet::table::{Block, block};

    /// Every word of every closed list of the table.
    fn words() -> Vec<&'static str> {
        fn of(parts: &'static [Part], words: &mut Vec<&'static str>) {
            for part in parts {
                match part {
                    Part::Slot(_, SlotKind::OneOf(list) | SlotKind::SomeOf(list)) => words.extend(*list),
                    Part::Optional(inner) | Part::Repeat(inner) => of(inner, words),
                    _ => {}
                }
            }
        }
        let mut words = FUNCTIONS.to_vec();
        let shapes = Block::ALL.iter().flat_map(|&kind| block(kind)).flat_map(|ready| ready.shapes());
        shapes.for_each(|shape| of(shape.parts(), &mut words));
        words
    }

    #[test]
    fn a_synonym_stands_for_one_word_of_a_list_and_is_none_itself() {
        let words = words();
        for (synonym, meant) in SYNONYMS {
            assert!(words.contains(meant), "no list has {meant}");
            assert!(!words.contains(synonym), "{synonym} stands in a list itself");
            assert_eq!(SYNONYMS.iter().filter(|(other, _)| other == synonym).count(), 1, "{synonym}");
        }
    }

    #[test]
    fn a_word_is_found_by_what_it_means_and_by_a_slip() {
        assert_eq!(listed(FUNCTIONS, b"rudder"), Some("yaw"));
        assert_eq!(listed(FUNCTIONS, b"lipo"), None);
        assert_eq!(near(FUNCTIONS, "ruder"), Some("yaw"));
        assert_eq!(near(FUNCTIONS, "camra"), Some("camera"));
        assert_eq!(near(&["on", "off"], "of"), Some("off"));
        assert_eq!(near(FUNCTIONS, "smoke"), None);
    }
}
