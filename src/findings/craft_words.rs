//! What a pilot says of a craft: an aircraft flies and lands, a car drives and stops.

use crate::fleet::craft::Craft;
use crate::fleet::words::CraftKind;

/// The words that fit one craft.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct CraftWords {
    /// What it is called: "switch the car off".
    pub noun: &'static str,
    /// What it does: "do not drive until you know why".
    pub go: &'static str,
    /// How it ends that: "stop at 14 V".
    pub end: &'static str,
    /// Once of that: "before the run".
    pub once: &'static str,
    /// How long it can do so, at the start of a sentence.
    pub time: &'static str,
    /// What was done with it at its place.
    pub gone: &'static str,
    /// What it does when it comes home by itself.
    pub comes_home: &'static str,
}

impl CraftWords {
    /// The words for a craft; those of an aircraft where its kind is not stated.
    pub const fn of(craft: &Craft) -> Self {
        let kind = match &craft.kind {
            Some(kind) => kind.value,
            None => return Self::AIRCRAFT,
        };
        match kind {
            CraftKind::Car => Self::on_the_ground("car", "drive"),
            CraftKind::Tracked => Self::on_the_ground("vehicle", "drive"),
            CraftKind::Boat => Self::on_the_ground("boat", "go out"),
            CraftKind::Hovercraft => Self::on_the_ground("hovercraft", "go out"),
            _ => Self::AIRCRAFT,
        }
    }

    const AIRCRAFT: Self = Self {
        noun: "aircraft",
        go: "fly",
        end: "land",
        once: "flight",
        time: "Flight time",
        gone: "flown",
        comes_home: "flies back",
    };

    const fn on_the_ground(noun: &'static str, go: &'static str) -> Self {
        Self { noun, go, end: "stop", once: "run", time: "Running time", gone: "run", comes_home: "comes back" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{Located, Span};

    #[test]
    fn only_what_leaves_the_ground_flies() {
        for &kind in CraftKind::ALL {
            let kind_of = Some(Located { value: kind, span: Span::new(0, 1) });
            let words = CraftWords::of(&Craft { kind: kind_of, ..Craft::default() });
            assert_eq!(words.go == "fly", !kind.stays_down(), "{kind:?}");
        }
        assert_eq!(CraftWords::of(&Craft::default()).noun, "aircraft");
    }
}
