//! What is known of a link and of a module, and how one row of a table looks at it.

use super::{Band, FREE_GAIN_DBI, Family, Limit, PowerKind, Row, Spread, Usage};
use crate::radio::decibel::{DIPOLE_GAIN_DBI, chains_db, mw_from_dbm};
use crate::radio::timing::Sending;

/// Powers within this many dB of a limit are at the limit: regulators round to hundredths (26.99 dBm is 500 mW).
pub(super) const TOLERANCE_DB: f64 = 0.01;

/// The least gain in dBi that an antenna and its cable are taken to have where none is stated: a tenth of the power
/// radiated. Common practice, no source; an antenna that is worse would steer nothing.
pub const LEAST_GAIN_DBI: f64 = -10.0;

/// What a description states of a link. `None` is not stated.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LinkFacts {
    /// The stretch of spectrum that it uses.
    pub band: Band,
    /// The family of radio rules.
    pub family: Option<Family>,
    /// Number of hopping channels.
    pub hop_channels: Option<u32>,
    /// Bandwidth at one moment, in MHz.
    pub bandwidth_mhz: Option<f64>,
    /// Whether it listens before it talks.
    pub adaptive: Option<bool>,
    /// When it sends.
    pub sending: Sending,
    /// What is steered with it.
    pub usage: Option<Usage>,
    /// Whether it is used inside buildings only.
    pub indoors: Option<bool>,
}

impl LinkFacts {
    /// A link of which only the band is known.
    pub fn on(band: Band) -> Self {
        Self {
            band,
            family: None,
            hop_channels: None,
            bandwidth_mhz: None,
            adaptive: None,
            sending: Sending::default(),
            usage: None,
            indoors: None,
        }
    }
}

/// What a module sends with, as far as it is stated.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Emission {
    /// Power of one chain at its port, in dBm; the top of a range.
    pub per_chain_dbm: f64,
    /// Chains that send at the same time. Unstated counts as one.
    pub chains_at_once: Option<u32>,
    /// Antenna gain in dBi.
    pub antenna_gain_dbi: Option<f64>,
    /// Loss between port and antenna in dB, 0 where none is stated.
    pub feeder_loss_db: f64,
}

impl Emission {
    /// The e.i.r.p. in dBm, where the antenna gain is stated.
    pub fn eirp_dbm(&self) -> Option<f64> {
        self.sum(PowerKind::Eirp).total_dbm
    }

    /// The gain of antenna and cable together, in dBi.
    fn net_gain_dbi(&self) -> Option<f64> {
        self.antenna_gain_dbi.map(|gain| gain - self.feeder_loss_db)
    }

    /// How the power adds up for a limit of a kind.
    pub fn sum(&self, kind: PowerKind) -> PowerSum {
        let chains_at_once = self.chains_at_once.unwrap_or(1).max(1);
        let chains_db = chains_db(chains_at_once);
        let conducted_dbm = self.per_chain_dbm + chains_db;
        let dipole_db = if kind == PowerKind::Erp { DIPOLE_GAIN_DBI } else { 0.0 };
        let gain = match kind {
            PowerKind::Conducted | PowerKind::ConductedWithAntennaGain => Some(0.0),
            PowerKind::Eirp | PowerKind::Erp => self.net_gain_dbi().map(|gain| gain - dipole_db),
        };
        PowerSum {
            kind,
            per_chain_dbm: self.per_chain_dbm,
            chains_at_once,
            chains_db,
            antenna_gain_dbi: self.antenna_gain_dbi,
            feeder_loss_db: self.feeder_loss_db,
            dipole_db,
            conducted_dbm,
            total_dbm: gain.map(|gain| conducted_dbm + gain),
            least_dbm: conducted_dbm + gain.unwrap_or(LEAST_GAIN_DBI - dipole_db),
        }
    }
}

/// A power with every summand, so that a finding can write the sum out.
///
/// Conducted: `per chain + chains`. Radiated: `per chain + chains + antenna gain - feeder loss - dipole`.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PowerSum {
    /// Where it is measured.
    pub kind: PowerKind,
    /// One chain, in dBm.
    pub per_chain_dbm: f64,
    /// Chains counted.
    pub chains_at_once: u32,
    /// What they add, in dB.
    pub chains_db: f64,
    /// Antenna gain in dBi, where stated.
    pub antenna_gain_dbi: Option<f64>,
    /// Feeder loss in dB.
    pub feeder_loss_db: f64,
    /// What is taken off for a half-wave dipole: 2.15 dB for e.r.p., else 0.
    pub dipole_db: f64,
    /// All chains at their ports, in dBm.
    pub conducted_dbm: f64,
    /// The power of this kind in dBm; `None` for a radiated power whose antenna gain is not stated.
    pub total_dbm: Option<f64>,
    /// The least that it can be, in dBm: the total where that is known, else with [`LEAST_GAIN_DBI`].
    pub least_dbm: f64,
}

impl PowerSum {
    /// One chain, in milliwatts.
    pub fn per_chain_mw(&self) -> f64 {
        mw_from_dbm(self.per_chain_dbm)
    }

    /// The power that it is for certain, in dBm: the total where that is known, else the least.
    pub fn certain_dbm(&self) -> f64 {
        self.total_dbm.unwrap_or(self.least_dbm)
    }

    /// The same in milliwatts.
    pub fn certain_mw(&self) -> f64 {
        mw_from_dbm(self.certain_dbm())
    }
}

/// A fact that would decide, and is not stated.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Fact {
    /// `modulation`.
    Family,
    /// `hop-channels`.
    HopChannels,
    /// `bandwidth`.
    Bandwidth,
    /// `adaptive`.
    Adaptive,
    /// `antenna-gain`.
    AntennaGain,
    /// `send-on`: how many chains send at once.
    Chains,
    /// `air-time` at the update rate in use, or the update rate.
    TimeOnAir,
    /// `telemetry`: how many updates are given to it.
    Telemetry,
    /// What kind of craft it steers.
    Usage,
    /// Whether it is only used inside buildings.
    Indoors,
    /// The row is known without its power limit.
    Limit,
}

/// Why a row is not for a link.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Mismatch {
    /// It is for other families.
    Family,
    /// It asks for more hopping channels than the link has.
    HopChannels(u32),
    /// The bandwidth is below this many MHz.
    NarrowerThan(f64),
    /// The bandwidth is above this many MHz.
    WiderThan(f64),
    /// It asks for listening before talking, and the link does not.
    NotListening,
    /// It asks for at least this antenna gain in dBi.
    AntennaGain(f64),
    /// It is for another use.
    Usage,
    /// It is for use inside buildings.
    Outdoors,
}

/// Whether a row is for a link.
#[derive(Clone, PartialEq, Debug)]
pub enum Applies {
    /// It is.
    Yes,
    /// It is, if what is not stated is so.
    Perhaps(Vec<Fact>),
    /// It is not.
    No(Vec<Mismatch>),
}

/// Whether a row is for a link, its band aside. A stated mismatch outweighs what is not stated.
pub(super) fn applies(row: &Row, link: &LinkFacts, emission: Option<&Emission>) -> Applies {
    let mut open = Vec::new();
    let mut against = Vec::new();
    let mut need = |fact: Fact, met: Option<bool>, mismatch: Mismatch| match met {
        Some(true) => {}
        Some(false) => against.push(mismatch),
        None => open.push(fact),
    };
    if !row.family.is_empty() {
        need(Fact::Family, link.family.map(|family| row.family.contains(&family)), Mismatch::Family);
    }
    if let Some(fewest) = row.min_hop_channels {
        let met = link.hop_channels.map(|has| has >= fewest);
        need(Fact::HopChannels, met, Mismatch::HopChannels(fewest));
    }
    if let Some(least) = row.min_bandwidth_mhz {
        need(Fact::Bandwidth, link.bandwidth_mhz.map(|has| has >= least), Mismatch::NarrowerThan(least));
    }
    if let Some(most) = row.max_bandwidth_mhz {
        need(Fact::Bandwidth, link.bandwidth_mhz.map(|has| has <= most), Mismatch::WiderThan(most));
    }
    if row.adaptive {
        need(Fact::Adaptive, link.adaptive, Mismatch::NotListening);
    }
    if let (Some(least), Some(emission)) = (row.min_antenna_gain_dbi, emission) {
        need(Fact::AntennaGain, emission.antenna_gain_dbi.map(|has| has >= least), Mismatch::AntennaGain(least));
    }
    if let Some(usage) = row.usage {
        need(Fact::Usage, link.usage.map(|has| has == usage), Mismatch::Usage);
    }
    if row.indoor_only {
        need(Fact::Indoors, link.indoors, Mismatch::Outdoors);
    }
    if !against.is_empty() {
        return Applies::No(against);
    }
    open.dedup();
    if open.is_empty() { Applies::Yes } else { Applies::Perhaps(open) }
}

/// One limit of a row against a module's power.
#[derive(Clone, PartialEq, Debug)]
pub struct LimitCheck<'t> {
    /// The limit as the table has it.
    pub limit: &'t Limit,
    /// Its figure in dBm.
    pub stated_dbm: f64,
    /// For a density: what spreading the power adds, in dB.
    pub spread_db: f64,
    /// What the antenna's gain over 6 dBi takes off, in dB.
    pub gain_reduction_db: f64,
    /// The limit that this module has to keep, in dBm: stated + spread - reduction. `None`: a density whose width is
    /// not stated.
    pub allowed_dbm: Option<f64>,
    /// How the module's power adds up.
    pub sum: PowerSum,
    /// What is left to the limit in dB, below 0 for too much. Where something is not stated it is the most that can be
    /// left: infinite for a density whose width is not stated.
    pub headroom_db: f64,
}

impl LimitCheck<'_> {
    /// The limit that this module has to keep, in dBm and in milliwatts; `None`: a density whose width is not stated.
    pub fn allowed(&self) -> Option<(f64, f64)> {
        self.allowed_dbm.map(|dbm| (dbm, mw_from_dbm(dbm)))
    }
}

/// A row against a module's power.
#[derive(Clone, PartialEq, Debug)]
pub struct RowPower<'t> {
    /// The row.
    pub row: &'t Row,
    /// The limit that binds: the one with the least headroom. `None`: the row has no power limit.
    pub binding: Option<LimitCheck<'t>>,
    /// What is not stated and could make it too much.
    pub open: Vec<Fact>,
}

impl RowPower<'_> {
    /// Whether the power is above a limit of the row whatever is not stated.
    pub fn is_above(&self) -> bool {
        self.headroom_db() < -TOLERANCE_DB
    }

    /// What is left to the binding limit, in dB; infinite where no limit can be judged.
    pub fn headroom_db(&self) -> f64 {
        self.binding.as_ref().map_or(f64::INFINITY, |check| check.headroom_db)
    }
}

/// Every limit of a row against a module's power; the binding one is kept.
pub(super) fn power_under<'t>(row: &'t Row, link: &LinkFacts, emission: &Emission) -> RowPower<'t> {
    let mut open = Vec::new();
    let mut binding: Option<LimitCheck<'t>> = None;
    if row.limits.is_empty() {
        open.push(Fact::Limit);
    }
    for limit in &row.limits {
        let check = check_limit(limit, link, emission);
        let gain_counts = limit.kind != PowerKind::Conducted;
        if gain_counts && emission.antenna_gain_dbi.is_none() {
            open.push(Fact::AntennaGain);
        }
        if check.allowed_dbm.is_none() {
            open.push(Fact::Bandwidth);
        }
        if emission.chains_at_once.is_none() {
            open.push(Fact::Chains);
        }
        if binding.as_ref().is_none_or(|kept| check.headroom_db < kept.headroom_db) {
            binding = Some(check);
        }
    }
    open.sort_unstable();
    open.dedup();
    RowPower { row, binding, open }
}

fn check_limit<'t>(limit: &'t Limit, link: &LinkFacts, emission: &Emission) -> LimitCheck<'t> {
    let width_mhz = match (limit.per_mhz, limit.over) {
        (None, _) => Some(0.0),
        (Some(_), Spread::HoppedRange) => Some(link.band.width()),
        (Some(_), Spread::Bandwidth) => link.bandwidth_mhz,
    };
    let stated_dbm = limit.stated_dbm();
    let gain_reduction_db = match limit.kind {
        PowerKind::ConductedWithAntennaGain => {
            emission.net_gain_dbi().map_or(0.0, |gain| (gain - FREE_GAIN_DBI).max(0.0))
        }
        PowerKind::Conducted | PowerKind::Eirp | PowerKind::Erp => 0.0,
    };
    let allowed_dbm = width_mhz.map(|width| stated_dbm + limit.spread_db(width) - gain_reduction_db);
    let sum = emission.sum(limit.kind);
    let headroom_db = allowed_dbm.map_or(f64::INFINITY, |allowed| allowed - sum.least_dbm);
    let spread_db = width_mhz.map_or(0.0, |width| limit.spread_db(width));
    LimitCheck { limit, stated_dbm, spread_db, gain_reduction_db, allowed_dbm, sum, headroom_db }
}
