//! Radio rules by region: tables with their sources, and what they say about one link.
//!
//! The tables are an aid and defer to the regulator. What a description does not state never makes a verdict
//! stricter: the most lenient row that could apply is taken, and the facts that would decide are named.

mod code;
mod domain;
mod facts;
mod judge;
mod table;
mod time_on_air;

pub use code::{RegionCode, country_codes};
pub use domain::{Agreement, Domain, domains_agree};
pub use facts::{Applies, Emission, Fact, LEAST_GAIN_DBI, LimitCheck, LinkFacts, Mismatch, PowerSum, RowPower};
pub use judge::{
    BandVerdict, DutyVerdict, PowerVerdict, Step, fewer_channels, highest_fitting_step, is_plainly_allowed, judge_band,
    judge_duty, judge_power,
};
pub use table::{Band, FREE_GAIN_DBI, Family, Judged, Limit, PowerKind, PowerUnit, Row, Spread, Table, Usage};
pub use time_on_air::AirProblem;

use std::sync::OnceLock;

/// Why a table does not read.
#[derive(thiserror::Error, Debug)]
pub enum TableError {
    /// Not the form of a table.
    #[error(transparent)]
    Form(#[from] toml::de::Error),
    /// A figure that can't be.
    #[error("row {row}: {what}")]
    Figure {
        /// The row, from 1.
        row: usize,
        /// What is wrong with it.
        what: &'static str,
    },
}

impl Table {
    /// Reads a table file. Keys that no table has are refused.
    pub fn read(text: &str) -> Result<Self, TableError> {
        let table: Self = toml::from_str(text)?;
        let bands =
            |bands: &[Band]| !bands.is_empty() && bands.iter().all(|band| 0.0 < band.low && band.low < band.high);
        for (index, judged) in table.judged.iter().enumerate() {
            if !bands(&[judged.band]) {
                return Err(TableError::Figure { row: index + 1, what: "a judged band ends below its start" });
            }
        }
        for (index, row) in table.rows.iter().enumerate() {
            let share = |share: Option<f64>| share.is_none_or(|share| share > 0.0 && share <= 1.0);
            let wrong = if !bands(&row.bands) {
                Some("a band ends below its start, or there is none")
            } else if !share(row.max_duty) || !share(row.max_medium_utilisation) {
                Some("a share of time outside 0 to 1")
            } else if row.limits.iter().any(|limit| !limit.stated_dbm().is_finite()) {
                Some("a power that is no power")
            } else if row.limits.iter().any(|limit| limit.per_mhz.is_some_and(|per| per <= 0.0)) {
                Some("a density without a bandwidth")
            } else {
                None
            };
            if let Some(what) = wrong {
                return Err(TableError::Figure { row: index + 1, what });
            }
        }
        Ok(table)
    }

    /// The rules for a code, or `None` where no table is kept for it. Each table is read at its first use.
    pub fn for_code(code: RegionCode) -> Option<&'static Self> {
        let own = FILES.iter().position(|file| code.is(file.0));
        // Only the European table stands for codes beside its own.
        let index = own.or_else(|| FILES.iter().position(|file| RegionCode::EU.is(file.0)))?;
        stored(index).filter(|table| table.codes.contains(&code))
    }

    /// The best founded row that has to do with a band. A finding about the region as a whole, such as a device built
    /// for another domain, is as sure as this row.
    pub fn surest_row(&self, band: Band) -> Option<&Row> {
        let near = |row: &&Row| row.bands.iter().any(|own| own.overlaps(band) || own.holds(band));
        self.rows.iter().filter(near).min_by_key(|row| row.certainty)
    }

    /// Every table that is kept.
    pub fn all() -> impl Iterator<Item = &'static Self> {
        (0..FILES.len()).filter_map(stored)
    }
}

/// Each table file under its first code.
const FILES: [(&str, &str); 10] = [
    ("AU", include_str!("../../../rules/regions/au.toml")),
    ("BR", include_str!("../../../rules/regions/br.toml")),
    ("CA", include_str!("../../../rules/regions/ca.toml")),
    ("CN", include_str!("../../../rules/regions/cn.toml")),
    ("EU", include_str!("../../../rules/regions/eu.toml")),
    ("GB", include_str!("../../../rules/regions/gb.toml")),
    ("IN", include_str!("../../../rules/regions/in.toml")),
    ("JP", include_str!("../../../rules/regions/jp.toml")),
    ("NZ", include_str!("../../../rules/regions/nz.toml")),
    ("US", include_str!("../../../rules/regions/us.toml")),
];

/// A table by its place in [`FILES`]. The files are part of the program and a test reads them all, so one that does
/// not read is only absent.
fn stored(index: usize) -> Option<&'static Table> {
    static TABLES: [OnceLock<Option<Table>>; FILES.len()] = [const { OnceLock::new() }; FILES.len()];
    TABLES.get(index)?.get_or_init(|| Table::read(FILES.get(index)?.1).ok()).as_ref()
}

#[cfg(test)]
mod tests;
