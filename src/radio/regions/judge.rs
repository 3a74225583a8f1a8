//! What a table says about one link and the module that sends on it.

use super::facts::{TOLERANCE_DB, applies, power_under};
use super::time_on_air::{AirProblem, time_under};
use super::{Applies, Band, Emission, Fact, Judged, LinkFacts, Mismatch, Row, RowPower, Table};
use crate::radio::decibel::dbm_from_mw;

/// Whether a region allows a link its band. The worst that holds for a part of the band is given.
#[derive(Debug)]
pub enum BandVerdict<'t> {
    /// Rows that are or may be for such a link cover all of it.
    Allowed,
    /// A part lies outside every row, in a stretch that the table judges.
    Outside {
        /// The part.
        part: Band,
        /// The judged stretch, with its source and certainty.
        judged: &'t Judged,
        /// The nearest bands that the region allows any link, at most two: below and above, or around.
        nearest: Vec<Band>,
    },
    /// A part is allowed, but not to such a link.
    NotForThis {
        /// The part.
        part: Band,
        /// Each row there, and why it is not for the link.
        rows: Vec<(&'t Row, Vec<Mismatch>)>,
    },
    /// The table knows nothing about a part.
    NotKnown {
        /// The part.
        part: Band,
    },
}

/// Whether a region allows a module its power.
#[derive(Debug)]
pub enum PowerVerdict<'t> {
    /// No row is for such a link: see [`judge_band`].
    NoRow,
    /// A row that is for the link allows it.
    Within(RowPower<'t>),
    /// Allowed as far as is stated: by the most lenient row that could be for the link, if these facts are so.
    NotStated(RowPower<'t>, Vec<Fact>),
    /// Above every row that could be for the link; this is the most lenient.
    Above(RowPower<'t>),
}

/// Whether a region allows a link its time on air at its power.
#[derive(Debug)]
pub enum DutyVerdict<'t> {
    /// No row is for such a link: see [`judge_band`].
    NoRow,
    /// A row that is for the link allows it.
    Within,
    /// Allowed as far as is stated, if these facts are so.
    NotStated(Vec<Fact>),
    /// Every row that could be for the link at this power asks for something that it fails: each row with what it
    /// fails, those that ask for no listening first.
    Breach(Vec<(&'t Row, Vec<AirProblem>)>),
}

/// A power step that keeps to the rules.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Step {
    /// Its power per chain in mW, as it was given.
    pub power_mw: f64,
    /// Whether it keeps to them whatever is not stated.
    pub certain: bool,
}

/// Judges the band of a link.
pub fn judge_band<'t>(table: &'t Table, link: &LinkFacts) -> BandVerdict<'t> {
    // Mostly one row is or may be for the link, and holds its whole band.
    let is_for = |row: &Row| !matches!(applies(row, link, None), Applies::No(_));
    if table.rows.iter().any(|row| row.band_around(link.band).is_some() && is_for(row)) {
        return BandVerdict::Allowed;
    }
    let parts = parts(table, link, None);
    let empty = |part: &&Part<'t>| part.rows.is_empty();
    let judged = |part: &Part<'t>| {
        let judged =
            table.judged.iter().find(|judged| judged.band.overlaps(part.band) || judged.band.holds(part.band))?;
        Some((part.band, judged))
    };
    if let Some((part, judged)) = parts.iter().filter(empty).find_map(judged) {
        return BandVerdict::Outside { part, judged, nearest: nearest(table, part) };
    }
    if let Some(part) = parts.iter().find(|part| !part.rows.is_empty() && part.candidates().is_empty()) {
        let why = |(row, applies): &(&'t Row, Applies)| match applies {
            Applies::No(mismatches) => Some((*row, mismatches.clone())),
            Applies::Yes | Applies::Perhaps(_) => None,
        };
        return BandVerdict::NotForThis { part: part.band, rows: part.rows.iter().filter_map(why).collect() };
    }
    match parts.iter().find(empty) {
        Some(part) => BandVerdict::NotKnown { part: part.band },
        None => BandVerdict::Allowed,
    }
}

/// Whether one row that is for such a link for certain, and holds its whole band, allows it its power and its time on air for
/// certain: [`judge_power`] and [`judge_duty`] find both within then. False may also mean that this takes a closer look.
pub fn is_plainly_allowed(table: &Table, link: &LinkFacts, emission: &Emission) -> bool {
    table.rows.iter().filter(|row| row.band_around(link.band).is_some()).any(|row| {
        matches!(applies(row, link, Some(emission)), Applies::Yes) && {
            let power = power_under(row, link, emission);
            let (problems, open) = time_under(row, link, emission);
            power.open.is_empty() && !power.is_above() && problems.is_empty() && open.is_empty()
        }
    })
}

/// Judges the power of a module on a link, by the conducted, e.i.r.p. or e.r.p. limit that each row has.
///
/// Where only several rows together cover the band, each part is judged and the worst is given (Decision 2006/771/EC
/// as amended: adjacent bands may be used as one provided the conditions of each are met).
pub fn judge_power<'t>(table: &'t Table, link: &LinkFacts, emission: &Emission) -> PowerVerdict<'t> {
    let rank = |verdict: &PowerVerdict<'_>| match verdict {
        PowerVerdict::NoRow => 0,
        PowerVerdict::Within(_) => 1,
        PowerVerdict::NotStated(..) => 2,
        PowerVerdict::Above(_) => 3,
    };
    let verdicts = parts(table, link, Some(emission)).into_iter().map(|part| part.power(link, emission));
    verdicts.reduce(|worst, next| if rank(&next) > rank(&worst) { next } else { worst }).unwrap_or(PowerVerdict::NoRow)
}

/// Judges the time on air of a link at a module's power: share of time, medium utilisation, silences, listening.
///
/// Rows that the power is above are left out, so that a row for low power without limits on time counts only there.
/// Where the power is above all rows, the most lenient one's limits on time are judged.
pub fn judge_duty<'t>(table: &'t Table, link: &LinkFacts, emission: &Emission) -> DutyVerdict<'t> {
    let rank = |verdict: &DutyVerdict<'_>| match verdict {
        DutyVerdict::NoRow => 0,
        DutyVerdict::Within => 1,
        DutyVerdict::NotStated(_) => 2,
        DutyVerdict::Breach(_) => 3,
    };
    let verdicts = parts(table, link, Some(emission)).into_iter().map(|part| part.duty(link, emission));
    verdicts.reduce(|worst, next| if rank(&next) > rank(&worst) { next } else { worst }).unwrap_or(DutyVerdict::NoRow)
}

/// The row that would be for a link if it only hopped over more channels, with how many it asks for: of several the one that asks
/// for the fewest.
pub fn fewer_channels<'t>(table: &'t Table, link: &LinkFacts, emission: &Emission) -> Option<(RowPower<'t>, u32)> {
    let missed = table.rows.iter().filter(|row| row.band_around(link.band).is_some()).filter_map(|row| {
        let Applies::No(why) = applies(row, link, Some(emission)) else { return None };
        let [Mismatch::HopChannels(fewest)] = why.as_slice() else { return None };
        Some((power_under(row, link, emission), *fewest))
    });
    missed.min_by_key(|(_, fewest)| *fewest)
}

/// The highest of a module's steps (mW per chain, in any order) that keeps to power and time limits, everything else
/// as in `emission`; `None` where no step does, or the band is not allowed.
pub fn highest_fitting_step(table: &Table, link: &LinkFacts, emission: &Emission, steps_mw: &[f64]) -> Option<Step> {
    let mut steps = steps_mw.to_vec();
    steps.sort_unstable_by(|one, other| other.total_cmp(one));
    steps.into_iter().find_map(|power_mw| {
        let emission = Emission { per_chain_dbm: dbm_from_mw(power_mw), ..*emission };
        let parts = parts(table, link, Some(&emission));
        let fits: Option<Vec<bool>> = parts.iter().map(|part| part.fits(link, &emission)).collect();
        fits.map(|certain| Step { power_mw, certain: certain.into_iter().all(|certain| certain) })
    })
}

/// A part of a link's band, with the rows that hold all of it.
struct Part<'t> {
    band: Band,
    rows: Vec<(&'t Row, Applies)>,
}

/// The band of a link cut at the edges of rows, or whole where one row that could be for the link holds all of it.
fn parts<'t>(table: &'t Table, link: &LinkFacts, emission: Option<&Emission>) -> Vec<Part<'t>> {
    let holding = |band: Band| {
        let rows = table.rows.iter().filter(|row| row.band_around(band).is_some());
        Part { band, rows: rows.map(|row| (row, applies(row, link, emission))).collect() }
    };
    let whole = holding(link.band);
    if !whole.candidates().is_empty() {
        return vec![whole];
    }
    let edges = table.rows.iter().flat_map(|row| &row.bands).flat_map(|band| [band.low, band.high]);
    let mut cuts: Vec<f64> = edges.filter(|edge| link.band.low < *edge && *edge < link.band.high).collect();
    cuts.extend([link.band.low, link.band.high]);
    cuts.sort_unstable_by(f64::total_cmp);
    if link.band.low < link.band.high {
        cuts.dedup();
    }
    cuts.windows(2).map(|ends| holding(Band::new(ends[0], ends[1]))).collect()
}

impl<'t> Part<'t> {
    /// The rows that are for the link, each with the facts that this hangs on. With `listening_aside` also those
    /// that it misses only by not listening.
    fn rows_for(&self, listening_aside: bool) -> Vec<(&'t Row, &[Fact])> {
        let mut rows: Vec<(&'t Row, &[Fact])> = Vec::new();
        for (row, applies) in &self.rows {
            match applies {
                Applies::Yes => rows.push((*row, &[])),
                Applies::Perhaps(facts) => rows.push((*row, facts)),
                Applies::No(why) if listening_aside && *why == [Mismatch::NotListening] => rows.push((*row, &[])),
                Applies::No(_) => {}
            }
        }
        rows
    }

    /// The rows that are or could be for the link. Where there are none, those that it misses only by not listening:
    /// their limits are the ones to name.
    fn candidates(&self) -> Vec<(&'t Row, &[Fact])> {
        let rows = self.rows_for(false);
        if rows.is_empty() { self.rows_for(true) } else { rows }
    }

    fn power(&self, link: &LinkFacts, emission: &Emission) -> PowerVerdict<'t> {
        let mut lenient = None;
        for (power, facts) in powers(self.candidates(), link, emission) {
            let open = joined(facts, &power.open);
            if open.is_empty() && !power.is_above() {
                return PowerVerdict::Within(power);
            }
            lenient.get_or_insert((power, open));
        }
        match lenient {
            None => PowerVerdict::NoRow,
            Some((power, _)) if power.is_above() => PowerVerdict::Above(power),
            Some((power, open)) => PowerVerdict::NotStated(power, open),
        }
    }

    fn duty(&self, link: &LinkFacts, emission: &Emission) -> DutyVerdict<'t> {
        // Rows that only listening would open stay in, so that a breach can say what listening would allow.
        let mut powers = powers(self.rows_for(true), link, emission);
        if powers.iter().any(|power| !power.0.is_above()) {
            powers.retain(|power| !power.0.is_above());
        } else if let Some(most) = powers.first().map(|power| power.0.headroom_db()) {
            // Of rows with the same limit on power each may be the one that its limits on time suit.
            powers.retain(|power| power.0.headroom_db() >= most - TOLERANCE_DB);
        }
        let mut not_stated = None;
        let mut breaches = Vec::new();
        for (power, facts) in powers {
            let (problems, open) = time_under(power.row, link, emission);
            let open = joined(facts, &joined(&open, &power.open));
            if !problems.is_empty() {
                breaches.push((power.row, problems));
            } else if open.is_empty() {
                return DutyVerdict::Within;
            } else {
                not_stated.get_or_insert(open);
            }
        }
        breaches.sort_by_key(|breach| breach.1.contains(&AirProblem::NotListening));
        match not_stated {
            Some(open) => DutyVerdict::NotStated(open),
            None if breaches.is_empty() => DutyVerdict::NoRow,
            None => DutyVerdict::Breach(breaches),
        }
    }

    /// Whether some row allows both power and time, and whether it does for certain.
    fn fits(&self, link: &LinkFacts, emission: &Emission) -> Option<bool> {
        let fit = |(power, facts): (RowPower<'t>, &[Fact])| {
            let (problems, open) = time_under(power.row, link, emission);
            let fits = problems.is_empty() && !power.is_above();
            fits.then_some(facts.is_empty() && open.is_empty() && power.open.is_empty())
        };
        powers(self.candidates(), link, emission).into_iter().filter_map(fit).max()
    }
}

/// The power under each row, the most lenient first.
fn powers<'t, 'p>(
    rows: Vec<(&'t Row, &'p [Fact])>,
    link: &LinkFacts,
    emission: &Emission,
) -> Vec<(RowPower<'t>, &'p [Fact])> {
    let power = |(row, facts)| (power_under(row, link, emission), facts);
    let mut powers: Vec<_> = rows.into_iter().map(power).collect();
    powers.sort_by(|one, other| other.0.headroom_db().total_cmp(&one.0.headroom_db()));
    powers
}

fn joined(facts: &[Fact], open: &[Fact]) -> Vec<Fact> {
    let mut all = [facts, open].concat();
    all.sort_unstable();
    all.dedup();
    all
}

/// The bands of a table next to a stretch, at most one on each side.
fn nearest(table: &Table, part: Band) -> Vec<Band> {
    let all = || table.rows.iter().flat_map(|row| row.bands.iter().copied());
    let below =
        all().filter(|band| band.high <= part.low).reduce(|one, other| if other.high > one.high { other } else { one });
    let above =
        all().filter(|band| band.low >= part.high).reduce(|one, other| if other.low < one.low { other } else { one });
    below.into_iter().chain(above).collect()
}
