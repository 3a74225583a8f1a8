//! What has to be done before anything is tried on the bench, so that nobody gets hurt.

use crate::fleet::craft::Craft;
use crate::fleet::words::{CraftKind, MotorKind};
use crate::setup::failsafe::is_motorless;
use std::collections::BTreeSet;

/// What keeps a pilot whole who tries something on the bench. The order is that in which several are said.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Debug)]
pub enum Caution {
    /// Propellers, and whatever else turns in the air.
    #[default]
    Propellers,
    /// The blades of a rotor: they can't all be taken off in a moment, so the motor is unplugged instead.
    Blades,
    /// Wheels or tracks.
    Wheels,
    /// A propeller in the water.
    Boat,
    /// An engine that burns fuel is not run without its load, and its propeller can't be taken off for a check.
    Engine,
    /// Nothing drives it: what its servos move is all that can pinch a finger. It goes without saying where another is said.
    Servos,
}

impl Caution {
    /// The caution that fits an aircraft, by its kind and what drives it.
    pub fn of(craft: &Craft) -> Self {
        if craft.motor.is_some_and(|motor| motor.value == MotorKind::Combustion) {
            return Self::Engine;
        }
        // A line that was not understood may be that of a motor.
        if is_motorless(craft) && !craft.head.lost_any(&["motor"]) {
            return Self::Servos;
        }
        match craft.kind.map(|kind| kind.value) {
            Some(CraftKind::Helicopter) => Self::Blades,
            Some(CraftKind::Car | CraftKind::Tracked) => Self::Wheels,
            Some(CraftKind::Boat) => Self::Boat,
            _ => Self::Propellers,
        }
    }

    /// The sentence.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Propellers => "Propellers off.",
            Self::Blades => "Blades off, or the motor unplugged.",
            Self::Wheels => "Wheels off the ground.",
            Self::Boat => "Propeller off, or the motor unplugged.",
            Self::Engine => "Engine off, and never run without its load: look at the numbers and at the servos only.",
            Self::Servos => "Hands clear of what the servos move.",
        }
    }

    /// The same inside a sentence.
    pub fn inside(self) -> String {
        let mut letters = self.words().trim_end_matches('.').chars();
        letters.next().into_iter().flat_map(char::to_lowercase).chain(letters.clone()).collect()
    }
}

/// What has to be done before any check on the bench, as a sentence.
pub fn before_the_bench(cautions: impl IntoIterator<Item = Caution>) -> String {
    let cautions = said(cautions);
    if cautions.iter().all(|caution| *caution == Caution::Propellers) {
        return "Take the propellers off for every check on the bench.".to_owned();
    }
    let parts: Vec<String> = cautions.iter().map(|caution| caution.inside()).collect();
    format!("For every check on the bench: {}.", parts.join("; "))
}

/// The cautions that fit aircraft, each once, as sentences; that of propellers where none is known.
pub fn cautions<'c>(crafts: impl IntoIterator<Item = &'c Craft>) -> Vec<Caution> {
    let found = said(crafts.into_iter().map(Caution::of));
    if found.is_empty() { vec![Caution::Propellers] } else { found.into_iter().collect() }
}

/// Each caution once, without that which goes without saying.
fn said(cautions: impl IntoIterator<Item = Caution>) -> BTreeSet<Caution> {
    let mut cautions: BTreeSet<Caution> = cautions.into_iter().collect();
    if cautions.len() > 1 {
        cautions.remove(&Caution::Servos);
    }
    cautions
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fleet::craft::Surfaces;
    use crate::fleet::equipment::Lost;
    use crate::fleet::table::Block;
    use crate::source::{Located, Span};

    fn craft(kind: CraftKind, motor: Option<MotorKind>) -> Craft {
        let at = Span::new(0, 1);
        let motor = motor.map(|value| Located { value, span: at });
        Craft { kind: Some(Located { value: kind, span: at }), motor, ..Craft::default() }
    }

    #[test]
    fn each_kind_has_the_caution_that_fits() {
        use CraftKind::{Aeroplane, Boat, Car, Glider, Helicopter, Hovercraft, Multirotor, Tracked};
        for (kind, motor, caution) in [
            (Multirotor, None, Caution::Propellers),
            (Hovercraft, None, Caution::Propellers),
            (Helicopter, None, Caution::Blades),
            (Helicopter, Some(MotorKind::Combustion), Caution::Engine),
            (Aeroplane, Some(MotorKind::Electric), Caution::Propellers),
            (Aeroplane, Some(MotorKind::Combustion), Caution::Engine),
            (Car, None, Caution::Wheels),
            (Tracked, Some(MotorKind::Electric), Caution::Wheels),
            (Boat, None, Caution::Boat),
            (Boat, Some(MotorKind::None), Caution::Servos),
            (Glider, Some(MotorKind::None), Caution::Servos),
            (Glider, Some(MotorKind::Electric), Caution::Propellers),
            // It may have a motor that the description does not speak of.
            (Glider, None, Caution::Propellers),
        ] {
            assert_eq!(Caution::of(&craft(kind, motor)), caution, "{kind:?} {motor:?}");
        }
    }

    #[test]
    fn several_are_each_said_once() {
        let crafts = [craft(CraftKind::Car, None), craft(CraftKind::Glider, None), craft(CraftKind::Car, None)];
        assert_eq!(cautions(&crafts), [Caution::Propellers, Caution::Wheels]);
        assert_eq!(cautions([]), [Caution::Propellers]);
    }

    #[test]
    fn the_servos_are_spoken_of_only_where_nothing_worse_is() {
        let still = craft(CraftKind::Glider, Some(MotorKind::None));
        let crafts = [still.clone(), craft(CraftKind::Car, None)];
        assert_eq!(cautions(&crafts), [Caution::Wheels]);
        assert_eq!(cautions([&still, &still]), [Caution::Servos]);
        for (crafts, words) in [
            (&[still.clone()][..], "For every check on the bench: hands clear of what the servos move."),
            (&crafts, "For every check on the bench: wheels off the ground."),
            (&[still, craft(CraftKind::Multirotor, None)], "Take the propellers off for every check on the bench."),
        ] {
            assert_eq!(before_the_bench(crafts.iter().map(Caution::of)), words);
        }
    }

    #[test]
    fn a_glider_has_no_motor_where_its_surfaces_have_none_and_every_line_is_understood() {
        let mut glider = craft(CraftKind::Glider, None);
        glider.surfaces = Some(Surfaces::default());
        assert_eq!(Caution::of(&glider), Caution::Servos);
        let (span, key, inside) = (Span::new(0, 1), None, Vec::new());
        glider.head.lost.push(Lost { span, block: Block::Surfaces, word: "motor", key, inside });
        assert_eq!(Caution::of(&glider), Caution::Propellers);
    }
}
