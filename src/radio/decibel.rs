//! Powers and their logarithms.
//!
//! A power carries its unit in its name: `_mw` is milliwatts, `_dbm` decibels over one milliwatt, `_db` a plain
//! ratio, `_dbi` a gain over an isotropic antenna. All values are ordinary floats: a figure of a radio description
//! has two or three good digits, so nothing here is decided on the last bit.

/// Gain of a half-wave dipole over an isotropic antenna that regulators use between e.r.p. and e.i.r.p., in dB.
///
/// The exact dipole has 2.1509 dBi; the rounded 2.15 is what the definitions use (FCC KDB 412172 D01 v01r01,
/// ITU-R BS.561).
pub const DIPOLE_GAIN_DBI: f64 = 2.15;

/// Boltzmann constant in joules per kelvin, exact by definition of the SI (2019).
pub const BOLTZMANN_J_PER_K: f64 = 1.380_649e-23;

/// Reference temperature of noise figures in kelvin (ITU-R P.372).
pub const REFERENCE_TEMPERATURE_K: f64 = 290.0;

/// `dBm = 10 log10(mW)`. The power is above 0 mW; 0 gives minus infinity and a negative power is not a number.
pub fn dbm_from_mw(power_mw: f64) -> f64 {
    db_from_ratio(power_mw)
}

/// `mW = 10^(dBm / 10)`, the inverse of [`dbm_from_mw`]. Minus infinity gives 0 mW.
pub fn mw_from_dbm(power_dbm: f64) -> f64 {
    ratio_from_db(power_dbm)
}

/// A ratio of two powers in decibels, `10 log10(ratio)`. The ratio is above 0.
pub fn db_from_ratio(ratio: f64) -> f64 {
    10.0 * ratio.log10()
}

/// The ratio of two powers that so many decibels stand for, `10^(dB / 10)`.
pub fn ratio_from_db(db: f64) -> f64 {
    10f64.powf(db / 10.0)
}

/// Effective radiated power (over a half-wave dipole) from the equivalent isotropically radiated power, both in dBm.
///
/// `ERP = EIRP - 2.15 dB` (FCC KDB 412172 D01 v01r01).
pub fn erp_from_eirp_dbm(eirp_dbm: f64) -> f64 {
    eirp_dbm - DIPOLE_GAIN_DBI
}

/// Equivalent isotropically radiated power from the effective radiated power, both in dBm; see [`erp_from_eirp_dbm`].
pub fn eirp_from_erp_dbm(erp_dbm: f64) -> f64 {
    erp_dbm + DIPOLE_GAIN_DBI
}

/// Total of several powers in dBm: the milliwatts are added.
///
/// Limits on conducted power apply to the total of all outputs: "emissions from the transmitter outputs must be
/// summed" (FCC KDB 662911 D01). No power at all gives minus infinity.
pub fn total_dbm(powers_dbm: &[f64]) -> f64 {
    dbm_from_mw(powers_dbm.iter().copied().map(mw_from_dbm).sum())
}

/// What a number of equal chains sending at once adds to the power of one, in dB: `10 log10(chains)`.
///
/// No chain counts as one: a module that sends has at least one chain in use.
pub fn chains_db(chains_at_once: u32) -> f64 {
    db_from_ratio(f64::from(chains_at_once.max(1)))
}

/// Directional gain in dBi of antennas fed with completely correlated signals:
/// `10 log10((sum of 10^(G/20))^2 / N)` (FCC KDB 662911 D01, unequal gains).
///
/// With N equal gains this is `G + 10 log10(N)`. Chains that send unrelated signals have no such array gain, and
/// the checks of this program never assume it. No antenna gives minus infinity.
pub fn correlated_gain_dbi(gains_dbi: &[f64]) -> f64 {
    if gains_dbi.is_empty() {
        return f64::NEG_INFINITY;
    }
    let fields: f64 = gains_dbi.iter().map(|gain| 10f64.powf(gain / 20.0)).sum();
    db_from_ratio(fields * fields / gains_dbi.len() as f64)
}

/// The e.i.r.p. in mW that makes a field of so many mV/m at a distance in metres: `P = E^2 d^2 / 30`
/// (ITU-R P.525-5, equation 1 solved for the power).
pub fn eirp_from_field_mw(field_mv_per_m: f64, distance_m: f64) -> f64 {
    let field_v_per_m = field_mv_per_m / 1000.0;
    let power_w = (field_v_per_m * distance_m).powi(2) / 30.0;
    power_w * 1000.0
}

/// Thermal noise power in dBm in a bandwidth in Hz at a temperature in kelvin: `10 log10(k T B / 1 mW)`, with the
/// exact Boltzmann constant of the SI.
pub fn thermal_noise_dbm(bandwidth_hz: f64, temperature_k: f64) -> f64 {
    dbm_from_mw(BOLTZMANN_J_PER_K * temperature_k * bandwidth_hz * 1000.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn near(is: f64, should: f64, within: f64) {
        assert!((is - should).abs() <= within, "{is} is not {should} within {within}");
    }

    #[test]
    fn powers_that_regulators_print() {
        // Source: 47 CFR 15.247 and its rounded forms in the dataset wireless-regdb (two decimals).
        for (mw, dbm) in [
            (1.0, 0.0),
            (10.0, 10.0),
            (25.0, 13.98),
            (100.0, 20.0),
            (125.0, 20.97),
            (200.0, 23.01),
            (250.0, 23.98),
            (500.0, 26.99),
            (1000.0, 30.0),
            (4000.0, 36.02),
        ] {
            near(dbm_from_mw(mw), dbm, 0.005);
        }
        // Source: pycraf 2.1.0, (25 mW).to(dBm).
        near(dbm_from_mw(25.0), 13.979400086720377, 1e-12);
    }

    #[test]
    fn effective_and_isotropic_power() {
        // Source: FCC KDB 412172 D01 v01r01 (the 2.15 dB), powers of ERC/REC 70-03 Annex 1.
        for (erp_mw, eirp_dbm) in [(10.0, 12.15), (25.0, 16.13), (500.0, 29.14)] {
            near(eirp_from_erp_dbm(dbm_from_mw(erp_mw)), eirp_dbm, 0.005);
        }
        // Source: exact half-wave dipole 4 / Cin(2 pi) = 1.640922, computed with mpmath.
        near(db_from_ratio(1.640922), DIPOLE_GAIN_DBI, 0.001);
    }

    #[test]
    fn chains_add_up() {
        // Source: FCC KDB 662911 D01: the limits apply to the total of all outputs.
        near(total_dbm(&[20.0, 20.0]), 23.01, 0.005);
        near(total_dbm(&[20.0; 4]), 26.02, 0.005);
        near(20.0 + chains_db(2), total_dbm(&[20.0, 20.0]), 1e-12);
        assert_eq!(chains_db(1), 0.0);
        assert_eq!(chains_db(0), 0.0);
        assert_eq!(total_dbm(&[]), f64::NEG_INFINITY);
    }

    #[test]
    fn published_example_of_correlated_antennas() {
        // Source: a laboratory's letter filed with the regulator under KDB 662911: 1.41, 1.41, 1.41 and 0.86 dBi
        // on four chains are 7.30 dBi.
        near(correlated_gain_dbi(&[1.41, 1.41, 1.41, 0.86]), 7.30, 0.01);
        near(correlated_gain_dbi(&[2.0, 2.0]), 2.0 + chains_db(2), 1e-12);
        assert_eq!(correlated_gain_dbi(&[]), f64::NEG_INFINITY);
    }

    #[test]
    fn field_strength_of_the_low_power_rule() {
        // Source: 47 CFR 15.249(a) (50 mV/m at 3 m) by ITU-R P.525-5 equation 1: 0.75 mW, -1.2494 dBm.
        near(eirp_from_field_mw(50.0, 3.0), 0.75, 1e-12);
        near(dbm_from_mw(eirp_from_field_mw(50.0, 3.0)), -1.2494, 5e-5);
    }

    #[test]
    fn thermal_noise() {
        // Source: kTB with the exact SI constant at 290 K; spacelink 0.1.12 gives the same.
        for (hz, dbm) in
            [(1.0, -173.97519), (125e3, -123.00609), (250e3, -119.99579), (500e3, -116.98549), (1e6, -113.97519)]
        {
            near(thermal_noise_dbm(hz, REFERENCE_TEMPERATURE_K), dbm, 5e-6);
        }
    }

    proptest! {
        #[test]
        fn there_and_back(dbm in -150.0..60.0f64) {
            prop_assert!((dbm_from_mw(mw_from_dbm(dbm)) - dbm).abs() < 1e-9);
            prop_assert!((erp_from_eirp_dbm(eirp_from_erp_dbm(dbm)) - dbm).abs() < 1e-9);
        }

        #[test]
        fn a_total_is_no_less_than_its_largest_part(powers in prop::collection::vec(-60.0..40.0f64, 1..9)) {
            let largest = powers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let total = total_dbm(&powers);
            prop_assert!(total >= largest - 1e-9);
            prop_assert!(total <= largest + db_from_ratio(powers.len() as f64) + 1e-9);
        }

        #[test]
        fn a_correlated_array_gains_at_most_its_number(gains in prop::collection::vec(-5.0..12.0f64, 1..9)) {
            let largest = gains.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            prop_assert!(correlated_gain_dbi(&gains) <= largest + db_from_ratio(gains.len() as f64) + 1e-9);
        }
    }
}
