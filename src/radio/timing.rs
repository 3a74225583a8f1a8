//! What an update rate means: time on air, and how long a channel waits.

use super::decibel::mw_from_dbm;

/// When a link sends, as far as it is stated.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Sending {
    /// Updates a second, in Hz, above 0.
    pub update_rate_hz: Option<f64>,
    /// Time on air of one update at this rate, in ms, 0 or more. An air time stated for another rate says nothing
    /// about this one: most links send longer where they send less often.
    pub air_time_ms: Option<f64>,
    /// Share of the updates that is given to telemetry, 0..1; in those the handset listens.
    pub telemetry_share: Option<f64>,
}

impl Sending {
    /// Share of the time that the handset is on air, 0 upwards: `air time x update rate x (1 - telemetry share)`.
    ///
    /// Where the telemetry share is not stated this is the most it can be. More than 1 is a contradiction in the description: the updates don't fit in their period.
    pub fn duty_cycle(&self) -> Option<f64> {
        let share = 1.0 - self.telemetry_share.unwrap_or(0.0);
        Some(self.air_time_ms? / 1000.0 * self.update_rate_hz? * share)
    }

    /// Silence between two updates in ms: `1 / update rate - air time`. Below 0 where the updates don't fit.
    pub fn gap_ms(&self) -> Option<f64> {
        Some(1000.0 / self.update_rate_hz? - self.air_time_ms?)
    }
}

/// Medium utilisation of equipment that does not listen before it sends, 0 upwards: `(P / 100 mW) x duty cycle` with
/// P the e.i.r.p. (ETSI EN 300 328 V2.2.2, clause 4.3.2.5). At most 10 % is allowed there.
pub fn medium_utilisation(eirp_dbm: f64, duty_cycle: f64) -> f64 {
    mw_from_dbm(eirp_dbm) / 100.0 * duty_cycle
}

/// The longest time in ms from moving a control to the receiver having it, no update lost:
/// `k/f + 1/f`, and `1/f` more where telemetry takes slots, with the channel carried in every k-th update at f
/// updates a second.
///
/// A movement just after its channel was sampled waits k updates for the next turn, one more until that update has
/// arrived, and one more if telemetry takes that slot. `every` 0 counts as 1; the rate is above 0 Hz.
pub fn worst_latency_ms(update_rate_hz: f64, every: u32, telemetry: bool) -> f64 {
    let updates = every.max(1) + 1 + u32::from(telemetry);
    f64::from(updates) * 1000.0 / update_rate_hz
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn time_on_air_of_the_invented_link() {
        let sending = Sending { update_rate_hz: Some(200.0), air_time_ms: Some(2.6), telemetry_share: None };
        assert!((sending.duty_cycle().unwrap() - 0.52).abs() < 1e-12);
        assert!((sending.gap_ms().unwrap() - 2.4).abs() < 1e-12);
        let with_telemetry = Sending { telemetry_share: Some(0.02), ..sending };
        assert!((with_telemetry.duty_cycle().unwrap() - 0.5096).abs() < 1e-12);
        assert_eq!(Sending { air_time_ms: None, ..sending }.duty_cycle(), None);
        assert_eq!(Sending { update_rate_hz: None, ..sending }.gap_ms(), None);
    }

    #[test]
    fn medium_utilisation_by_the_standard() {
        // Source: ETSI EN 300 328, MU = (P / 100 mW) x DC: 100 mW may be on air a tenth of the time, 10 mW always.
        assert!((medium_utilisation(20.0, 0.1) - 0.1).abs() < 1e-12);
        assert!((medium_utilisation(10.0, 1.0) - 0.1).abs() < 1e-12);
    }

    #[test]
    fn waiting_for_the_next_turn() {
        assert!((worst_latency_ms(200.0, 1, false) - 10.0).abs() < 1e-12);
        assert!((worst_latency_ms(200.0, 2, false) - 15.0).abs() < 1e-12);
        assert!((worst_latency_ms(200.0, 2, true) - 20.0).abs() < 1e-12);
        assert!((worst_latency_ms(40.0, 2, true) - 100.0).abs() < 1e-12);
        assert_eq!(worst_latency_ms(40.0, 0, false), worst_latency_ms(40.0, 1, false));
    }

    /// When a movement at `moved` (in periods) has arrived, by walking through the updates one after another: update
    /// `n` samples at its start and has arrived at its end, and the channel is in every `every`-th. A slot taken by
    /// telemetry moves the turn to the next update.
    fn arrival_by_walking(moved: f64, every: u32, taken: impl Fn(u32) -> bool) -> f64 {
        let mut turn = 0;
        loop {
            let slot = if taken(turn) { turn + 1 } else { turn };
            if f64::from(slot) > moved {
                return f64::from(slot + 1);
            }
            turn += every;
        }
    }

    proptest! {
        #[test]
        fn no_movement_waits_longer(moved in 0.0..50.0f64, every in 1u32..8, slot in 0u32..60, rate in 10.0..500.0f64) {
            let period_ms = 1000.0 / rate;
            let clear = (arrival_by_walking(moved, every, |_| false) - moved) * period_ms;
            prop_assert!(clear <= worst_latency_ms(rate, every, false) + 1e-9);
            let taken = (arrival_by_walking(moved, every, |n| n == slot) - moved) * period_ms;
            prop_assert!(taken <= worst_latency_ms(rate, every, true) + 1e-9);
        }

        #[test]
        fn the_worst_case_is_reached(every in 1u32..8, rate in 10.0..500.0f64) {
            let waited = arrival_by_walking(0.0, every, |_| false) * 1000.0 / rate;
            prop_assert!((waited - worst_latency_ms(rate, every, false)).abs() < 1e-9);
            let taken = arrival_by_walking(0.0, every, |n| n == every) * 1000.0 / rate;
            prop_assert!((taken - worst_latency_ms(rate, every, true)).abs() < 1e-9);
        }
    }
}
