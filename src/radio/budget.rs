//! What a module radiates, and how far that carries.

use super::decibel::{chains_db, erp_from_eirp_dbm};

/// Speed of light in metres per second, exact by definition of the SI.
pub const SPEED_OF_LIGHT_M_PER_S: f64 = 299_792_458.0;

/// What a module sends with, every part stated.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Transmitter {
    /// Power of one chain at its antenna port, in dBm.
    pub per_chain_dbm: f64,
    /// Chains that send at the same time; chains that take turns count as one. 0 counts as 1.
    pub chains_at_once: u32,
    /// Gain of each antenna, in dBi.
    pub antenna_gain_dbi: f64,
    /// Loss of the cable between port and antenna, in dB, 0 or more.
    pub feeder_loss_db: f64,
}

impl Transmitter {
    /// Conducted power of all chains that send at once, in dBm (FCC KDB 662911 D01: outputs are summed).
    pub fn conducted_dbm(&self) -> f64 {
        self.per_chain_dbm + chains_db(self.chains_at_once)
    }

    /// Equivalent isotropically radiated power in dBm:
    /// `power per chain + antenna gain - feeder loss + 10 log10(chains at once)` (FCC KDB 412172 D01, KDB 662911 D01).
    ///
    /// The chains are taken as uncorrelated, so no array gain is added.
    pub fn eirp_dbm(&self) -> f64 {
        self.conducted_dbm() + self.antenna_gain_dbi - self.feeder_loss_db
    }

    /// Effective radiated power over a half-wave dipole, in dBm.
    pub fn erp_dbm(&self) -> f64 {
        erp_from_eirp_dbm(self.eirp_dbm())
    }
}

/// Free-space loss between isotropic antennas in dB: `20 log10(4 pi d / lambda)` (ITU-R P.525-5, equation 5, the
/// exact form; its equation 6 with the rounded 32.4 is up to 0.05 dB lower).
///
/// Distance in metres and frequency in MHz, both above 0. The form is meant for the far field: nearer than
/// `lambda / 4 pi` it turns negative, which means nothing.
pub fn free_space_loss_db(distance_m: f64, frequency_mhz: f64) -> f64 {
    let wavelength_m = SPEED_OF_LIGHT_M_PER_S / (frequency_mhz * 1e6);
    20.0 * (4.0 * std::f64::consts::PI * distance_m / wavelength_m).log10()
}

/// The distance in metres at which free space loses so many dB at a frequency in MHz; the inverse of
/// [`free_space_loss_db`].
pub fn free_space_distance_m(loss_db: f64, frequency_mhz: f64) -> f64 {
    let wavelength_m = SPEED_OF_LIGHT_M_PER_S / (frequency_mhz * 1e6);
    10f64.powf(loss_db / 20.0) * wavelength_m / (4.0 * std::f64::consts::PI)
}

/// Loss between isotropic antennas over flat ground or water in dB, far from both: `40 log10(d) - 20 log10(h1 h2)`, the
/// plane-earth form of the two-ray model (a standard textbook result; ITU-R P.1411 treats the same geometry, with the break point of
/// [`break_point_m`]). Distance and antenna heights in metres, all above 0; the frequency drops out.
pub fn plane_earth_loss_db(distance_m: f64, heights_m: (f64, f64)) -> f64 {
    40.0 * distance_m.log10() - 20.0 * (heights_m.0 * heights_m.1).log10()
}

/// The distance in metres from which the wave that the ground sends back takes most of the signal: `4 h1 h2 / lambda` (ITU-R P.1411).
pub fn break_point_m(heights_m: (f64, f64), frequency_mhz: f64) -> f64 {
    4.0 * heights_m.0 * heights_m.1 * frequency_mhz * 1e6 / SPEED_OF_LIGHT_M_PER_S
}

/// What lies between the antennas.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Between {
    /// Nothing: an aircraft in the air.
    FreeSpace,
    /// Ground or water below, with the heights of both antennas over it in metres.
    Ground(f64, f64),
}

impl Between {
    /// What is lost on the way in dB, at a distance in metres and a frequency in MHz. Over ground it is the greater of both forms:
    /// before they meet, the ground sends back as much as it takes, and free space is the mean.
    pub fn loss_db(self, distance_m: f64, frequency_mhz: f64) -> f64 {
        let free = free_space_loss_db(distance_m, frequency_mhz);
        match self {
            Self::FreeSpace => free,
            Self::Ground(one, other) => free.max(plane_earth_loss_db(distance_m, (one, other))),
        }
    }

    /// The distance in metres at which so many dB are lost; the inverse of [`Between::loss_db`].
    pub fn distance_m(self, loss_db: f64, frequency_mhz: f64) -> f64 {
        let free = free_space_distance_m(loss_db, frequency_mhz);
        match self {
            Self::FreeSpace => free,
            Self::Ground(one, other) => free.min(10f64.powf((loss_db + 20.0 * (one * other).log10()) / 40.0)),
        }
    }
}

/// One direction of a radio link.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LinkBudget {
    /// What is radiated, in dBm.
    pub eirp_dbm: f64,
    /// Gain of the receiving antenna, in dBi. Two receiving chains choose the better one; nothing is added for them.
    pub receiver_gain_dbi: f64,
    /// The weakest signal that the receiver still understands at the update rate in use, in dBm.
    pub sensitivity_dbm: f64,
    /// Frequency in MHz. The top of the band loses most.
    pub frequency_mhz: f64,
    /// What lies between the antennas.
    pub between: Between,
}

impl LinkBudget {
    /// Decibels left over the sensitivity at a distance in metres: `EIRP + receiver gain - loss - sensitivity`.
    ///
    /// Trees, bodies, the airframe and other transmitters take their part of this margin.
    pub fn margin_db(&self, reach_m: f64) -> f64 {
        self.margin_without_loss_db() - self.between.loss_db(reach_m, self.frequency_mhz)
    }

    /// The distance in metres at which a margin in dB is just left; the inverse of [`LinkBudget::margin_db`].
    pub fn reach_m(&self, margin_db: f64) -> f64 {
        self.between.distance_m(self.margin_without_loss_db() - margin_db, self.frequency_mhz)
    }

    fn margin_without_loss_db(&self) -> f64 {
        self.eirp_dbm + self.receiver_gain_dbi - self.sensitivity_dbm
    }
}

/// What the stated sensitivities say about one update rate, in dBm. A lower figure is better.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sensitivity {
    /// No better than this, so a margin that fails with this figure fails for certain. `None`: no bound is stated.
    pub best_dbm: Option<f64>,
    /// No worse than this, so a margin that holds with this figure holds for certain. `None`: no bound is stated.
    pub worst_dbm: Option<f64>,
}

impl Sensitivity {
    /// The figure, where both bounds are the same.
    pub fn exact_dbm(&self) -> Option<f64> {
        if self.best_dbm == self.worst_dbm { self.best_dbm } else { None }
    }
}

/// The sensitivity at an update rate in Hz, from the stated pairs of (update rate in Hz, sensitivity in dBm) in any
/// order.
///
/// At a stated rate the stated figure holds (the worse one where a rate is stated twice with two figures, and the
/// better one as the other bound). Nothing is interpolated: between two stated rates the figure lies between theirs,
/// because a faster update leaves less energy for each. For the same reason a rate below all stated ones is no worse
/// than the slowest of them, and a rate above all is no better than the fastest.
pub fn sensitivity_at(stated: &[(f64, f64)], update_rate_hz: f64) -> Sensitivity {
    let at = |rate: f64| stated.iter().filter(move |pair| pair.0 == rate).map(|pair| pair.1);
    let slower = stated.iter().map(|pair| pair.0).filter(|rate| *rate <= update_rate_hz).reduce(f64::max);
    let faster = stated.iter().map(|pair| pair.0).filter(|rate| *rate >= update_rate_hz).reduce(f64::min);
    let around = || slower.into_iter().chain(faster).flat_map(at);
    Sensitivity {
        best_dbm: slower.and_then(|_| around().reduce(f64::min)),
        worst_dbm: faster.and_then(|_| around().reduce(f64::max)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn near(is: f64, should: f64, within: f64) {
        assert!((is - should).abs() <= within, "{is} is not {should} within {within}");
    }

    #[test]
    fn free_space_loss_by_the_recommendation() {
        // Source: ITU-R P.525-5 equation 5 with c = 299792458 m/s.
        for (metres, mhz, db) in [
            (1000.0, 2400.0, 100.0520),
            (5000.0, 2400.0, 114.0314),
            (1000.0, 868.0, 91.2182),
            (1000.0, 915.0, 91.6762),
            (1000.0, 433.92, 85.1960),
            (10_000.0, 915.0, 111.6762),
            (1000.0, 5800.0, 107.7163),
        ] {
            near(free_space_loss_db(metres, mhz), db, 5e-5);
        }
        // Source: equation 6 of the same, rounded to 32.4: 113.984 dB, 0.05 dB lower.
        near(free_space_loss_db(5000.0, 2400.0), 113.984, 0.05);
        // Source: pycraf 2.1.0 (sign turned) and spacelink 0.1.12, 5 km at 2.4 GHz.
        near(free_space_loss_db(5000.0, 2400.0), 114.03140814283587, 1e-10);
    }

    #[test]
    fn a_sum_as_a_pilot_would_write_it() {
        let shore = Transmitter { per_chain_dbm: 22.0, chains_at_once: 2, antenna_gain_dbi: 2.0, feeder_loss_db: 0.5 };
        near(shore.conducted_dbm(), 25.0103, 1e-4);
        near(shore.eirp_dbm(), 26.5103, 1e-4);
        near(shore.erp_dbm(), 24.3603, 1e-4);
        let budget = LinkBudget {
            eirp_dbm: shore.eirp_dbm(),
            receiver_gain_dbi: 2.0,
            sensitivity_dbm: -97.0,
            frequency_mhz: 2400.0,
            between: Between::FreeSpace,
        };
        // 26.5103 + 2 + 97 - 100.0520, the loss of 1 km at 2400 MHz by ITU-R P.525-5.
        near(budget.margin_db(1000.0), 25.4583, 2e-4);
    }

    #[test]
    fn over_ground_the_loss_grows_twice_as_fast() {
        // Source: the plane-earth form L = 40 log10(d) - 20 log10(h1 h2), a textbook result: 400 m, 1.5 m and 0.1 m.
        near(plane_earth_loss_db(400.0, (1.5, 0.1)), 120.56, 5e-3);
        // Source: ITU-R P.525-5 equation 5 at 2440 MHz, and the break point of ITU-R P.1411.
        near(free_space_loss_db(400.0, 2440.0), 92.24, 5e-3);
        near(break_point_m((1.5, 0.1), 2440.0), 4.88, 5e-3);
        let water = Between::Ground(1.5, 0.1);
        near(water.loss_db(400.0, 2440.0), 120.56, 5e-3);
        // Nearer than where both forms meet (pi times the break point) it is free space.
        near(water.loss_db(10.0, 2440.0), free_space_loss_db(10.0, 2440.0), 1e-9);
        for metres in [3.0, 15.3, 15.4, 400.0] {
            near(water.distance_m(water.loss_db(metres, 2440.0), 2440.0), metres, 1e-6);
        }
    }

    #[test]
    fn sensitivity_is_bounded_and_never_made_up() {
        let stated = [(200.0, -97.0), (40.0, -103.0)];
        let at = |rate| sensitivity_at(&stated, rate);
        assert_eq!(at(40.0).exact_dbm(), Some(-103.0));
        assert_eq!(at(200.0).exact_dbm(), Some(-97.0));
        assert_eq!(at(120.0), Sensitivity { best_dbm: Some(-103.0), worst_dbm: Some(-97.0) });
        assert_eq!(at(120.0).exact_dbm(), None);
        assert_eq!(at(20.0), Sensitivity { best_dbm: None, worst_dbm: Some(-103.0) });
        assert_eq!(at(400.0), Sensitivity { best_dbm: Some(-97.0), worst_dbm: None });
        assert_eq!(sensitivity_at(&[], 40.0), Sensitivity { best_dbm: None, worst_dbm: None });
        let twice = [(40.0, -103.0), (40.0, -100.0)];
        assert_eq!(sensitivity_at(&twice, 40.0), Sensitivity { best_dbm: Some(-103.0), worst_dbm: Some(-100.0) });
    }

    proptest! {
        #[test]
        fn twice_the_distance_loses_six_decibels(metres in 1.0..50_000.0f64, mhz in 30.0..6000.0f64) {
            let more = free_space_loss_db(2.0 * metres, mhz) - free_space_loss_db(metres, mhz);
            prop_assert!((more - 20.0 * 2f64.log10()).abs() < 1e-9);
            let back = free_space_distance_m(free_space_loss_db(metres, mhz), mhz);
            prop_assert!((back / metres - 1.0).abs() < 1e-9);
        }

        #[test]
        fn the_reach_for_a_margin_has_that_margin(
            eirp_dbm in 0.0..40.0f64,
            receiver_gain_dbi in -3.0..6.0f64,
            sensitivity_dbm in -130.0..-70.0f64,
            frequency_mhz in 400.0..6000.0f64,
            margin_db in 0.0..30.0f64,
        ) {
            let budget = LinkBudget { eirp_dbm, receiver_gain_dbi, sensitivity_dbm, frequency_mhz, between: Between::FreeSpace };
            prop_assert!((budget.margin_db(budget.reach_m(margin_db)) - margin_db).abs() < 1e-9);
        }

        #[test]
        fn bounds_hold_the_figure_of_any_orderly_receiver(
            mut rates in prop::collection::vec(10u32..1000, 2..6), asked in 10u32..1000, slope in 0.0..12.0f64,
        ) {
            rates.sort_unstable();
            rates.dedup();
            let figure = |rate: u32| -110.0 + slope * f64::from(rate).log10();
            let stated: Vec<_> = rates.iter().map(|rate| (f64::from(*rate), figure(*rate))).collect();
            let bounds = sensitivity_at(&stated, f64::from(asked));
            prop_assert!(bounds.best_dbm.is_none_or(|best| best <= figure(asked)));
            prop_assert!(bounds.worst_dbm.is_none_or(|worst| worst >= figure(asked)));
        }
    }
}
