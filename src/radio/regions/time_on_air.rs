//! The limits of a row on time.

use super::{Emission, Fact, LinkFacts, Row};
use crate::radio::timing::medium_utilisation;

/// A limit on time that is passed. Shares are 0 to 1.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum AirProblem {
    /// More time on air than allowed.
    Duty {
        /// The link's share.
        is: f64,
        /// The largest share.
        most: f64,
    },
    /// More medium utilisation than allowed.
    MediumUtilisation {
        /// The link's figure at this power.
        is: f64,
        /// The largest figure.
        most: f64,
    },
    /// A longer time on air in one go than allowed, in ms.
    Sequence {
        /// The link's air time.
        is_ms: f64,
        /// The longest.
        most_ms: f64,
    },
    /// A shorter silence than asked for, in ms.
    Gap {
        /// The link's silence.
        is_ms: f64,
        /// The shortest.
        least_ms: f64,
    },
    /// The rule asks for listening before talking, and the link does not listen.
    NotListening,
}

/// Shares and times within this ratio of a limit are at the limit; it takes in the rounding of the arithmetic and of
/// two-digit descriptions.
const TOLERANCE: f64 = 1e-6;

/// What of a row's limits on time a link passes, and what is not stated.
pub(super) fn time_under(row: &Row, link: &LinkFacts, emission: &Emission) -> (Vec<AirProblem>, Vec<Fact>) {
    let mut problems = Vec::new();
    let mut open = Vec::new();
    let duty = link.sending.duty_cycle();
    // Without the share of telemetry the duty cycle is only the most it can be: too much is then not certain.
    let duty_is_exact = link.sending.telemetry_share.is_some();
    if row.adaptive {
        match link.adaptive {
            Some(true) => {}
            Some(false) => problems.push(AirProblem::NotListening),
            None => open.push(Fact::Adaptive),
        }
    }
    if let Some(most) = row.max_duty {
        match duty {
            Some(is) if is <= most * (1.0 + TOLERANCE) => {}
            Some(is) if duty_is_exact => problems.push(AirProblem::Duty { is, most }),
            Some(_) => open.push(Fact::Telemetry),
            None => open.push(Fact::TimeOnAir),
        }
    }
    if let Some(most) = row.max_medium_utilisation {
        match (duty, emission.eirp_dbm()) {
            (Some(duty), Some(eirp_dbm)) => {
                let is = medium_utilisation(eirp_dbm, duty);
                if is > most * (1.0 + TOLERANCE) {
                    if duty_is_exact {
                        problems.push(AirProblem::MediumUtilisation { is, most });
                    } else {
                        open.push(Fact::Telemetry);
                    }
                }
            }
            (None, _) => open.push(Fact::TimeOnAir),
            (_, None) => open.push(Fact::AntennaGain),
        }
    }
    if let Some(most_ms) = row.max_sequence_ms {
        match link.sending.air_time_ms {
            Some(is_ms) if is_ms > most_ms * (1.0 + TOLERANCE) => {
                problems.push(AirProblem::Sequence { is_ms, most_ms })
            }
            Some(_) => {}
            None => open.push(Fact::TimeOnAir),
        }
    }
    if let Some(least_ms) = row.min_gap_ms {
        match link.sending.gap_ms() {
            Some(is_ms) if is_ms < least_ms * (1.0 - TOLERANCE) => problems.push(AirProblem::Gap { is_ms, least_ms }),
            Some(_) => {}
            None => open.push(Fact::TimeOnAir),
        }
    }
    open.sort_unstable();
    open.dedup();
    (problems, open)
}
