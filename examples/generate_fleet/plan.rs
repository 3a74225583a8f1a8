//! What is decided about an aircraft before anything is written.

use super::dice::Dice;
use super::shared::{HANDSETS, PLACES, Reach};

const BIRDS: [&str; 24] = [
    "dunlin",
    "knot",
    "plover",
    "turnstone",
    "curlew",
    "sanderling",
    "whimbrel",
    "godwit",
    "avocet",
    "redshank",
    "stint",
    "ruff",
    "snipe",
    "lapwing",
    "dotterel",
    "phalarope",
    "greenshank",
    "oystercatcher",
    "tern",
    "skimmer",
    "stilt",
    "pratincole",
    "jacana",
    "courser",
];

const LOOKS: [&str; 20] = [
    "pale",
    "grey",
    "rusty",
    "dark",
    "barred",
    "spotted",
    "long-billed",
    "short-billed",
    "ringed",
    "crested",
    "white",
    "dusky",
    "streaked",
    "slender",
    "broad-winged",
    "red-legged",
    "green-legged",
    "black-bellied",
    "little",
    "great",
];

/// The sorts of aircraft that are written.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sort {
    /// A multirotor that is armed through a latch, one-chain receiver, motors off at a loss.
    Racer,
    /// A multirotor with a position sensor, two-chain receiver, flies back at a loss.
    Surveyor,
    /// A powered aeroplane without a flight controller.
    Wing,
    /// Two elevons, no flight controller.
    FlyingWing,
    /// No motor.
    Glider,
}

impl Sort {
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Racer => "multirotor for short courses, one-chain receiver",
            Self::Surveyor => "survey multirotor that flies back by itself, two-chain receiver",
            Self::Wing => "wing with control surfaces on the long-range link, no flight controller",
            Self::FlyingWing => "small flying wing with two elevons, no flight controller",
            Self::Glider => "slope glider without a motor",
        }
    }

    /// Whether a flight controller stands between the receiver and the motors.
    pub(crate) fn has_controller(self) -> bool {
        matches!(self, Self::Racer | Self::Surveyor)
    }
}

/// Everything that the statements of one file must agree on.
pub(crate) struct Plan {
    pub(crate) name: String,
    pub(crate) sort: Sort,
    pub(crate) models: u32,
    pub(crate) handset: &'static str,
    pub(crate) place: &'static str,
    /// The label of the binding key; one for each group of aircraft, so that receiver numbers suffice.
    pub(crate) key: String,
    pub(crate) receiver_number: u32,
    pub(crate) update_rate: u32,
    pub(crate) telemetry: u32,
    /// The first of the chemistries is li-po, the other li-ion.
    pub(crate) li_po: bool,
    pub(crate) cells: u32,
    /// In mAh.
    pub(crate) capacity: u32,
    /// In A.
    pub(crate) draw: u32,
    /// In seconds: nine tenths of what 80 % of the capacity gives at that draw.
    pub(crate) timer: u32,
    pub(crate) link_alarm: u32,
    /// Gentle and full rates, expo at both, in percent.
    pub(crate) rates: [u32; 4],
    /// The middle of the throttle curve, in percent.
    pub(crate) middle: i32,
    /// How often a variation of the wording or layout is taken, thrown once for each.
    pub(crate) turns: [bool; 6],
    /// Forms of the language that some pilots use.
    pub(crate) forms: Forms,
}

/// Forms of the language that some pilots use and others do without. They have dice of their own, so that all else stays as it is without.
pub(crate) struct Forms {
    /// The second model is like the first one.
    pub(crate) like: bool,
    /// What goes to more than one channel, or beside a stick, has a name.
    pub(crate) mix: bool,
    /// What feeds receiver and servos is stated.
    pub(crate) supply: bool,
    /// The flaps of a wing hang on a receiver of their own, on the other link.
    pub(crate) apart: bool,
    /// The day on which the failsafe was last tested.
    pub(crate) tested: Option<String>,
}

impl Forms {
    fn draw(sort: Sort, dice: &mut Dice) -> Self {
        let day = format!("2026-{:02}-{:02}", dice.between(1, 12), dice.between(1, 28));
        Self {
            like: dice.chance(35),
            mix: dice.chance(50),
            supply: dice.chance(40) && !sort.has_controller(),
            apart: dice.chance(25) && sort == Sort::Wing,
            tested: dice.chance(50).then_some(day),
        }
    }
}

impl Plan {
    /// Draws the plan of a file.
    pub(crate) fn draw(number: u32, dice: &mut Dice) -> Self {
        let sort = match dice.between(1, 100) {
            1..=50 => Sort::Racer,
            51..=70 => Sort::Surveyor,
            71..=82 => Sort::Wing,
            83..=93 => Sort::FlyingWing,
            _ => Sort::Glider,
        };
        let reach = if sort == Sort::Wing { Reach::Long } else { Reach::Short };
        let places: Vec<&'static str> =
            PLACES.iter().filter(|(_, _, known)| *known == reach).map(|(name, _, _)| *name).collect();
        let li_po = sort.has_controller() || sort == Sort::FlyingWing;
        let (cells, capacity, draw) = match sort {
            Sort::Racer => (dice.pick(&[4, 5, 6]), dice.between(11, 16) * 100, dice.between(17, 26)),
            Sort::Surveyor => (4, dice.between(40, 64) * 100, dice.between(11, 17)),
            Sort::Wing => (dice.pick(&[3, 4]), dice.between(42, 68) * 100, dice.between(6, 10)),
            Sort::FlyingWing => (3, dice.between(12, 19) * 100, dice.between(6, 10)),
            Sort::Glider => (2, dice.between(9, 14) * 100, 1),
        };
        let update_rate = match sort {
            Sort::Racer => dice.pick(&[110, 190]),
            Sort::Surveyor => 110,
            Sort::Wing => dice.pick(&[20, 35]),
            Sort::FlyingWing | Sort::Glider => 45,
        };
        // Seconds = mAh / 1000 / A * 3600 * 0.8 * 0.9, in whole tens.
        let timer = capacity * 36 * 72 / (1000 * draw) / 10 * 10;
        Self {
            name: format!("{}-{}-{:05}", dice.pick(&LOOKS), dice.pick(&BIRDS), number + 1),
            sort,
            models: if sort == Sort::Glider || dice.chance(35) { 1 } else { 2 },
            handset: dice.pick(&HANDSETS),
            place: dice.pick(&places),
            key: format!("flock-{:04}", number / 22 + 1),
            receiver_number: number % 22 + 2,
            update_rate,
            telemetry: dice.between(2, 7),
            li_po,
            cells,
            capacity,
            draw,
            timer,
            link_alarm: dice.between(55, 80),
            rates: [dice.between(50, 75), dice.between(85, 100), dice.between(20, 45), dice.between(10, 30)],
            middle: dice.between(0, 20) as i32 - 10,
            turns: std::array::from_fn(|_| dice.chance(50)),
            forms: Forms::draw(sort, &mut dice.branch()),
        }
    }

    /// The lowest sensitivity that a link states at its update rate, in dBm; of two links the worse one.
    pub(crate) fn sensitivity(&self) -> i32 {
        match self.update_rate {
            _ if self.forms.apart => -104,
            20 => -112,
            35 => -109,
            45 => -104,
            110 => -100,
            _ => -97,
        }
    }
}
