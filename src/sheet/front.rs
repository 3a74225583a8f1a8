//! The first page of a fleet: the verdicts, who connects to whom, and which model and number belong to which aircraft.

use crate::findings::coverage;
use crate::findings::outcome::Outcome;
use crate::findings::verdict::AircraftVerdict;
use crate::fleet::craft::Craft;
use crate::fleet::day::Day;
use crate::fleet::model::Model;
use crate::rules::matrix::{Cell, Matrix};
use crate::setup::Context;

/// The first page of a fleet.
#[derive(Debug)]
pub struct Front<'v, 'f> {
    /// The day of the sheet, where it is known.
    pub today: Option<Day>,
    /// One for each aircraft, in the order in which they were asked for.
    pub rows: Vec<Row<'v, 'f>>,
    /// Who connects to whom; `None` where there are too many for a page.
    pub grid: Option<Grid<'f>>,
}

/// One aircraft on the first page.
#[derive(Debug)]
pub struct Row<'v, 'f> {
    /// The aircraft.
    pub craft: &'f Craft,
    /// What the inspection says of it.
    pub verdict: Option<&'v AircraftVerdict>,
    /// How the rules ended.
    pub standing: Option<&'v coverage::Row>,
    /// The models that fly it.
    pub models: Vec<&'f Model>,
}

/// Models and aircraft, with whether they connect.
#[derive(Debug)]
pub struct Grid<'f> {
    /// The aircraft, one a column.
    pub crafts: Vec<&'f Craft>,
    /// The models, each with all aircraft in the order of the columns.
    pub rows: Vec<(&'f Model, Vec<Cell<'f>>)>,
}

/// So many aircraft, and so many models, have room in a grid on a page.
const MOST_IN_A_GRID: usize = 16;

impl<'v, 'f> Front<'v, 'f> {
    /// The first page of some aircraft.
    pub fn of(context: &'f Context<'f>, crafts: &[&'f Craft], outcome: &'v Outcome) -> Self {
        let row = |craft: &&'f Craft| {
            let name = &craft.head.name.value;
            Row {
                craft,
                verdict: outcome.aircraft.iter().find(|verdict| verdict.name == *name),
                standing: outcome.coverage.of(name),
                models: models_of(context, craft),
            }
        };
        let models: Vec<&Model> = context.fleet.models.iter().filter(|model| model.simulator.is_none()).collect();
        let fits = crafts.len() <= MOST_IN_A_GRID && models.len() <= MOST_IN_A_GRID;
        let grid = fits.then(|| {
            let matrix = Matrix::new(context);
            let rows = models.into_iter().map(|model| (model, matrix.row(model, crafts.iter().copied()).collect()));
            Grid { crafts: crafts.to_vec(), rows: rows.collect() }
        });
        Self { today: context.today, rows: crafts.iter().map(row).collect(), grid }
    }
}

/// The models that fly an aircraft, in the order of their files.
pub fn models_of<'f>(context: &'f Context<'f>, craft: &Craft) -> Vec<&'f Model> {
    let flies = |model: &&Model| model.flies.iter().any(|name| name.value == craft.head.name.value);
    context.fleet.models.iter().filter(flies).collect()
}
