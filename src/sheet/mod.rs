//! What a printed sheet says of an aircraft, and of a fleet: put together from the stages before, with nothing worked out here.
//!
//! | file | holds |
//! |---|---|
//! | `mod` | [`Page`]: one aircraft with one model that flies it |
//! | `front` | [`Front`]: the first page of a fleet |

mod front;

pub use front::{Front, Grid, Row, models_of};

use crate::findings::Finding;
use crate::findings::caution::Caution;
use crate::findings::coverage;
use crate::findings::outcome::{Outcome, Waived};
use crate::findings::verdict::AircraftVerdict;
use crate::fleet::craft::CraftBattery;
use crate::fleet::day::Day;
use crate::setup::alarms::{Landing, Lasts, battery_lasts, landing};
use crate::setup::bench::{Bench, View};
use crate::setup::loss::Loss;
use crate::setup::positions::{ControlUse, control_uses};
use crate::setup::shapes::{Shape, Steps, shapes};
use crate::setup::trace::{Traced, trace};
use crate::setup::{Setup, Signals, Way};

/// One aircraft with one model that flies it.
#[derive(Debug)]
pub struct Page<'v, 'f> {
    /// The two with all that is between them.
    pub setup: &'v Setup<'f>,
    /// The day of the sheet, where it is known.
    pub today: Option<Day>,
    /// What the inspection says of the aircraft.
    pub verdict: Option<&'v AircraftVerdict>,
    /// How the rules ended.
    pub row: Option<&'v coverage::Row>,
    /// What was found about the aircraft, the worst first.
    pub findings: Vec<&'v Finding>,
    /// What was found and is waived.
    pub waived: Vec<&'v Waived>,
    /// What has to be done before anything is tried on the bench.
    pub caution: Caution,
    /// The batteries of the aircraft.
    pub batteries: Vec<Battery<'f>>,
    /// What happens at each receiver when the link is lost.
    pub losses: Vec<Loss<'f>>,
    /// What hangs on the signal path; `None` where it can't be put together.
    pub path: Option<SignalPages<'v, 'f>>,
}

/// What of a page hangs on the signal path.
#[derive(Debug)]
pub struct SignalPages<'v, 'f> {
    /// The signal path over the main link.
    pub signals: &'v Signals,
    /// The channels of the model, with what moves them.
    pub channels: Vec<Traced>,
    /// What the positions of the controls do.
    pub controls: Vec<ControlUse<'f>>,
    /// The bench check.
    pub bench: Bench,
    /// The receivers on other links than the main one, which the bench check does not show.
    pub others: Vec<Other<'v, 'f>>,
    /// The channels along the sticks, knobs and sliders that move them.
    pub shapes: Vec<Shape>,
    /// The channels that only switches move.
    pub steps: Vec<Steps>,
}

/// A receiver on another link than the main one, that something is sent on.
#[derive(Debug)]
pub struct Other<'v, 'f> {
    /// The receiver with the bay that it hears.
    pub way: &'v Way<'f>,
    /// What is read there at the start.
    pub at_start: View,
}

/// A battery of an aircraft with what it comes to.
#[derive(Debug)]
pub struct Battery<'f> {
    /// The battery.
    pub battery: &'f CraftBattery,
    /// When to land on it; `None` where its chemistry is not known.
    pub landing: Option<Landing>,
    /// How long it lasts; `None` where capacity or draw is not stated.
    pub lasts: Option<Lasts>,
}

impl<'v, 'f> Page<'v, 'f> {
    /// The page of a model with an aircraft.
    pub fn of(setup: &'v Setup<'f>, outcome: &'v Outcome) -> Self {
        let name = &setup.craft.head.name.value;
        let mut findings: Vec<&Finding> =
            outcome.findings.iter().filter(|finding| finding.aircraft.contains(name)).collect();
        findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
        let battery = |battery| Battery { battery, landing: landing(battery), lasts: battery_lasts(battery) };
        let path = setup.signals().map(|signals| {
            let (shapes, steps) = shapes(setup, signals);
            SignalPages {
                signals,
                channels: trace(setup).unwrap_or_default(),
                controls: control_uses(setup, signals),
                bench: Bench::of(setup, signals),
                others: others(setup),
                shapes,
                steps,
            }
        });
        Self {
            setup,
            today: setup.context.today,
            verdict: outcome.aircraft.iter().find(|verdict| verdict.name == *name),
            row: outcome.coverage.of(name),
            findings,
            waived: outcome.waived.iter().filter(|waived| waived.aircraft.contains(name)).collect(),
            caution: Caution::of(setup.craft),
            batteries: setup.craft.batteries.iter().map(battery).collect(),
            losses: Loss::of(setup),
            path,
        }
    }
}

/// The receivers on other links than the main one.
fn others<'v, 'f>(setup: &'v Setup<'f>) -> Vec<Other<'v, 'f>> {
    let main = setup.link.map(|link| &link.head.name.value);
    let is_other = |way: &&Way<'f>| way.bay.is_some() && way.link.map(|link| &link.head.name.value) != main;
    let other = |way: &'v Way<'f>| Some(Other { way, at_start: View::at_start(setup, way.signals()?) });
    setup.ways().iter().filter(is_other).filter_map(other).collect()
}
