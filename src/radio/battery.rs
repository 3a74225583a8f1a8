//! Voltages of a cell by chemistry, cell counts and flight time.
//!
//! `build.rs` makes the table of `rules/batteries.toml`; nothing is parsed when the program runs.

use super::regions::Certainty;
use std::ops::RangeInclusive;

include!(concat!(env!("OUT_DIR"), "/batteries.rs"));

/// The share of the capacity that a flight may use: the rest stays in the battery for the landing and for its health.
/// Common practice, no source.
pub const USABLE_SHARE: f64 = 0.8;

/// Voltages of one cell of a chemistry, from `rules/batteries.toml`.
#[derive(Debug)]
pub struct Chemistry {
    /// The trade's short word, `li-po`.
    pub name: &'static str,
    /// The chemistry in words.
    pub title: &'static str,
    /// Charged, at rest.
    pub full: Figure,
    /// What is printed on the cell.
    pub nominal: Figure,
    /// At rest, with half of the charge left.
    pub half_rested: Figure,
    /// Time to land, at rest: about a fifth of the charge is left.
    pub landing_rested: Figure,
    /// Time to land, with the motors running.
    pub landing_under_load: Figure,
    /// Below it the cell is damaged.
    pub minimum: Figure,
}

/// A voltage with its source.
#[derive(Debug)]
pub struct Figure {
    /// Volts of one cell.
    pub volts: f64,
    /// Where it is from.
    pub source: &'static str,
    /// How sure it is.
    pub certainty: Certainty,
}

/// How a voltage is measured.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Measured {
    /// With the motors running: the voltage sags.
    UnderLoad,
    /// With the motors at rest.
    Rested,
}

impl Chemistry {
    /// The chemistry of a name, compared exactly.
    pub fn named(name: &str) -> Option<&'static Self> {
        Self::all().iter().find(|chemistry| chemistry.name == name)
    }

    /// Every chemistry, in the order of the file.
    pub const fn all() -> &'static [Self] {
        ALL
    }

    /// The voltage of one cell at which to land.
    pub fn landing(&self, measured: Measured) -> &Figure {
        match measured {
            Measured::UnderLoad => &self.landing_under_load,
            Measured::Rested => &self.landing_rested,
        }
    }

    /// The voltage of one cell above which an alarm sounds for most of a flight: with the motors running the nominal one, at
    /// rest that of half a charge.
    pub fn early(&self, measured: Measured) -> &Figure {
        match measured {
            Measured::UnderLoad => &self.nominal,
            Measured::Rested => &self.half_rested,
        }
    }

    /// The cell counts for which a pack's alarm voltage is neither early nor late. Empty where it is none's.
    pub fn cells_of_alarm(&self, pack_v: f64, measured: Measured) -> RangeInclusive<u32> {
        cells_within(pack_v, self.landing(measured).volts, self.early(measured).volts)
    }

    /// The cell counts that a pack of this voltage can have at all: no cell above full, none below its minimum.
    pub fn cells_of_pack(&self, pack_v: f64) -> RangeInclusive<u32> {
        cells_within(pack_v, self.minimum.volts, self.full.volts)
    }
}

/// The numbers of cells in series for which each cell lies between two voltages, ends included; empty where there is
/// none. All voltages are above 0 V and the lower is no more than the upper.
pub fn cells_within(pack_v: f64, lowest_cell_v: f64, highest_cell_v: f64) -> RangeInclusive<u32> {
    // A pack voltage that is a whole multiple must not fall to the wrong side by a rounding error.
    const SLACK: f64 = 1e-9;
    let fewest = (pack_v / highest_cell_v - SLACK).ceil().max(1.0);
    let most = (pack_v / lowest_cell_v + SLACK).floor();
    fewest as u32..=most as u32
}

/// Seconds that a battery of a capacity in mAh lasts at an average draw in A, down to a fifth of its charge:
/// `80 % of capacity / draw`. Capacity and draw are above 0.
pub fn flight_time_s(capacity_mah: f64, draw_a: f64) -> f64 {
    USABLE_SHARE * capacity_mah / 1000.0 / draw_a * 3600.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn every_chemistry_is_in_order() {
        let all = Chemistry::all();
        assert_eq!(all.len(), 7);
        for cell in all {
            let falling = [&cell.full, &cell.nominal, &cell.landing_rested, &cell.landing_under_load, &cell.minimum];
            assert!(falling.windows(2).all(|pair| pair[0].volts >= pair[1].volts), "{}", cell.name);
            let rested = [&cell.full, &cell.half_rested, &cell.landing_rested];
            assert!(rested.windows(2).all(|pair| pair[0].volts > pair[1].volts), "{}", cell.name);
            for measured in [Measured::Rested, Measured::UnderLoad] {
                let (early, late) = (cell.early(measured), cell.landing(measured));
                assert!(early.volts > late.volts, "{}: every way to measure leaves room for an alarm", cell.name);
            }
            assert!(cell.landing_under_load.volts > cell.minimum.volts, "{}", cell.name);
            assert!(falling.iter().all(|figure| !figure.source.is_empty()));
            assert_eq!(Chemistry::named(cell.name).unwrap().title, cell.title);
        }
        assert!(Chemistry::named("Li-Po").is_none());
    }

    /// A parameter set of PyBaMM 26.10.1.1, each from a peer-reviewed paper, in volts of one cell.
    struct Paper {
        chemistry: &'static str,
        name: &'static str,
        lower_cut_off: f64,
        upper_cut_off: f64,
        /// Open-circuit voltage at 20 %, 50 % and 80 % of charge, where the set gives it.
        open_circuit: Option<(f64, f64, f64)>,
    }

    const fn paper(
        chemistry: &'static str,
        name: &'static str,
        cut_offs: (f64, f64),
        open_circuit: Option<(f64, f64, f64)>,
    ) -> Paper {
        Paper { chemistry, name, lower_cut_off: cut_offs.0, upper_cut_off: cut_offs.1, open_circuit }
    }

    const PAPERS: [Paper; 6] = [
        paper("li-po", "Ai2020", (3.0, 4.2), Some((3.695, 3.793, 3.994))),
        paper("li-ion", "Chen2020", (2.5, 4.2), Some((3.485, 3.751, 4.042))),
        paper("li-ion", "NCA_Kim2011", (2.7, 4.2), Some((3.372, 3.685, 3.980))),
        paper("li-po", "Mohtat2020", (2.8, 4.2), Some((3.585, 3.716, 3.971))),
        paper("li-hv", "ORegan2022", (2.5, 4.4), None),
        paper("li-fe", "Prada2013", (2.0, 3.6), Some((3.168, 3.266, 3.310))),
    ];

    #[test]
    fn voltages_against_the_papers() {
        for paper in PAPERS {
            let cell = Chemistry::named(paper.chemistry).unwrap();
            let name = paper.name;
            assert!(cell.full.volts <= paper.upper_cut_off + 1e-9, "{name}: charged above the paper's cut-off");
            assert!(cell.full.volts >= paper.upper_cut_off - 0.06, "{name}: full is far below the paper's cut-off");
            // The papers on one chemistry differ by up to 0.2 V in how low they go.
            assert!(cell.minimum.volts >= paper.lower_cut_off - 0.2 - 1e-9, "{name}");
            if let Some((fifth, half, four_fifths)) = paper.open_circuit {
                assert!((cell.landing_rested.volts - fifth).abs() <= 0.13, "{name}: a fifth is left at {fifth} V");
                assert!((cell.half_rested.volts - half).abs() <= 0.08, "{name}: half is left at {half} V");
                assert!(cell.nominal.volts <= four_fifths, "{name}");
            }
        }
        for (name, paper, fifth) in
            [("li-po", "Ai2020", 3.695), ("li-ion", "Chen2020", 3.485), ("li-fe", "Prada2013", 3.168)]
        {
            let cell = Chemistry::named(name).unwrap();
            assert!((cell.landing_rested.volts - fifth).abs() <= 0.02, "{name} is taken from {paper}");
        }
    }

    #[test]
    fn packs_in_series() {
        // Source: arithmetic on 4.2, 3.7 and 3.0 V per cell.
        let cell = Chemistry::named("li-po").unwrap();
        for (cells, full, nominal, minimum) in
            [(3.0, 12.6, 11.1, 9.0), (4.0, 16.8, 14.8, 12.0), (6.0, 25.2, 22.2, 18.0)]
        {
            assert!((cells * cell.full.volts - full).abs() < 1e-9);
            assert!((cells * cell.nominal.volts - nominal).abs() < 1e-9);
            assert!((cells * cell.minimum.volts - minimum).abs() < 1e-9);
        }
    }

    #[test]
    fn cell_counts_that_a_voltage_fits() {
        let cell = Chemistry::named("li-po").unwrap();
        assert_eq!(cell.cells_of_pack(25.2), 6..=8);
        assert_eq!(cell.cells_of_pack(12.6), 3..=4);
        assert_eq!(cell.cells_of_alarm(14.0, Measured::UnderLoad), 4..=4);
        assert_eq!(cell.cells_of_alarm(21.0, Measured::UnderLoad), 6..=6);
        assert_eq!(cell.cells_of_alarm(22.2, Measured::Rested), 6..=6);
        assert_eq!(cell.cells_of_alarm(22.5, Measured::Rested), 6..=6, "3.75 V: between a fifth and half");
        assert!(cell.cells_of_alarm(16.0, Measured::UnderLoad).is_empty(), "3.2 V for five, 4.0 V for four");
        assert!(cell.cells_of_pack(2.0).is_empty());
    }

    #[test]
    fn flight_time_of_the_invented_aircraft() {
        // 80 % of 1300 mAh at 24 A: 1.04 Ah / 24 A = 156 s.
        assert!((flight_time_s(1300.0, 24.0) - 156.0).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn a_pack_of_cells_in_bounds_fits_its_own_count(cells in 1u32..20, share in 0.0..=1.0f64) {
            for cell in Chemistry::all() {
                let volts = cell.minimum.volts + share * (cell.full.volts - cell.minimum.volts);
                prop_assert!(cell.cells_of_pack(f64::from(cells) * volts).contains(&cells));
            }
        }

        #[test]
        fn every_count_in_range_is_within(pack_v in 0.5..60.0f64) {
            for count in cells_within(pack_v, 3.0, 4.2) {
                let cell = pack_v / f64::from(count);
                prop_assert!(cell > 3.0 - 1e-6 && cell < 4.2 + 1e-6);
            }
        }
    }
}
