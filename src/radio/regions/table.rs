//! The tables of radio rules as data: what a file in `rules/regions/` can say.

use super::code::RegionCode;
use crate::radio::certainty::Certainty;
use crate::radio::decibel::{dbm_from_mw, eirp_from_erp_dbm, eirp_from_field_mw};
use serde::Deserialize;

/// The radio rules of one region, or of several that share them.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Table {
    /// The region in words.
    pub name: String,
    /// Every code that these rules stand for.
    pub codes: Vec<RegionCode>,
    /// Who makes and enforces the rules, for "ask …".
    pub regulator: String,
    /// Other domains whose equipment is understood to be accepted here; a code stands for its whole table.
    #[serde(default)]
    pub accepts: Vec<RegionCode>,
    /// Stretches of spectrum for which the rows below are meant to be complete.
    #[serde(default)]
    pub judged: Vec<Judged>,
    /// What is allowed.
    #[serde(rename = "row")]
    pub rows: Vec<Row>,
}

/// A stretch of spectrum in which a link that no row covers is taken to be outside the rules. Elsewhere the table
/// knows nothing.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Judged {
    /// The stretch.
    pub band: Band,
    /// Where this is written.
    pub source: String,
    /// How sure it is.
    pub certainty: Certainty,
}

/// One way to be allowed: bands, what the link must be, how much power, how much time.
#[derive(Deserialize, PartialEq, Debug)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Row {
    /// The bands, each by itself.
    pub bands: Vec<Band>,
    /// Families of radio rules it is for. Empty: any.
    #[serde(default)]
    pub family: Vec<Family>,
    /// Fewest hopping channels.
    pub min_hop_channels: Option<u32>,
    /// Smallest bandwidth in MHz.
    pub min_bandwidth_mhz: Option<f64>,
    /// Largest bandwidth in MHz.
    pub max_bandwidth_mhz: Option<f64>,
    /// Smallest antenna gain in dBi.
    pub min_antenna_gain_dbi: Option<f64>,
    /// The link must listen before it talks, or detect and avoid others.
    #[serde(default)]
    pub adaptive: bool,
    /// Only for this use.
    pub usage: Option<Usage>,
    /// Only inside buildings.
    #[serde(default)]
    pub indoor_only: bool,
    /// Power limits; all of them hold. Empty: allowed, but how strong is not in this table.
    #[serde(default)]
    pub limits: Vec<Limit>,
    /// Largest share of time on air, 0..1.
    pub max_duty: Option<f64>,
    /// Largest medium utilisation, 0..1; see [`crate::radio::timing::medium_utilisation`].
    pub max_medium_utilisation: Option<f64>,
    /// Longest uninterrupted time on air, in ms.
    pub max_sequence_ms: Option<f64>,
    /// Shortest silence between two times on air, in ms.
    pub min_gap_ms: Option<f64>,
    /// The rule's title.
    pub source: String,
    /// The place in it.
    pub clause: Option<String>,
    /// How sure the row is.
    pub certainty: Certainty,
    /// What the figures leave out.
    pub note: Option<String>,
}

impl Row {
    /// Source and clause in one text.
    pub fn cited(&self) -> String {
        match &self.clause {
            Some(clause) => format!("{} {clause}", self.source),
            None => self.source.clone(),
        }
    }

    /// The band of this row that holds another band whole.
    pub fn band_around(&self, band: Band) -> Option<Band> {
        self.bands.iter().copied().find(|own| own.holds(band))
    }

    /// The most e.i.r.p. in dBm that this row lets any link have in one of its bands, or `None` where it has no bound
    /// on what is radiated (a limit on conducted power alone).
    ///
    /// A density is taken over the whole band, a conducted limit that falls with gain at the most free gain.
    pub fn most_eirp_dbm(&self, band: Band) -> Option<f64> {
        let radiated = self.limits.iter().filter_map(|limit| {
            let spread = limit.spread_db(band.width());
            match limit.kind {
                PowerKind::Conducted => None,
                PowerKind::ConductedWithAntennaGain => Some(limit.stated_dbm() + spread + FREE_GAIN_DBI),
                PowerKind::Eirp => Some(limit.stated_dbm() + spread),
                PowerKind::Erp => Some(eirp_from_erp_dbm(limit.stated_dbm() + spread)),
            }
        });
        radiated.reduce(f64::min)
    }
}

/// Antenna gain in dBi up to which a limit on conducted power does not fall (47 CFR 15.247(b)(4)).
pub const FREE_GAIN_DBI: f64 = 6.0;

/// A limit on power or on its density.
#[derive(Deserialize, Clone, Copy, PartialEq, Debug)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Limit {
    /// The figure as the rule writes it.
    pub value: f64,
    /// Its unit.
    pub unit: PowerUnit,
    /// Where the power is measured.
    pub kind: PowerKind,
    /// For a density: the bandwidth in MHz that the figure is for.
    pub per_mhz: Option<f64>,
    /// For a density: what the power is spread over.
    #[serde(default)]
    pub over: Spread,
}

impl Limit {
    /// The figure in dBm, in the bandwidth it is for.
    pub fn stated_dbm(&self) -> f64 {
        match self.unit {
            PowerUnit::Watt => dbm_from_mw(self.value * 1000.0),
            PowerUnit::Milliwatt => dbm_from_mw(self.value),
            PowerUnit::Dbm => self.value,
            PowerUnit::Dbw => self.value + 30.0,
            PowerUnit::MillivoltPerMetre => dbm_from_mw(eirp_from_field_mw(self.value, 3.0)),
        }
    }

    /// What a density limit gains when the power is spread over a width in MHz, in dB: `10 log10(width / per)`, at
    /// least 0. A link that is flat over its width passes then; one that is not has more at its peak, so a link
    /// above this figure fails for certain. 0 for a limit that is no density.
    pub fn spread_db(&self, width_mhz: f64) -> f64 {
        self.per_mhz.map_or(0.0, |per| 10.0 * (width_mhz / per).log10().max(0.0))
    }
}

/// Units that rules write powers in.
#[derive(Deserialize, Clone, Copy, PartialEq, Eq, Debug)]
pub enum PowerUnit {
    /// Watts.
    #[serde(rename = "W")]
    Watt,
    /// Milliwatts.
    #[serde(rename = "mW")]
    Milliwatt,
    /// Decibels over a milliwatt.
    #[serde(rename = "dBm")]
    Dbm,
    /// Decibels over a watt.
    #[serde(rename = "dBW")]
    Dbw,
    /// Field strength in mV/m at 3 m, turned into e.i.r.p. by ITU-R P.525 equation 1.
    #[serde(rename = "mV/m at 3 m")]
    MillivoltPerMetre,
}

/// Where a limit takes its measure.
#[derive(Deserialize, Clone, Copy, PartialEq, Eq, Debug)]
#[serde(rename_all = "kebab-case")]
pub enum PowerKind {
    /// At the antenna ports, all chains summed, whatever the antenna.
    Conducted,
    /// At the antenna ports, all chains summed; 1 dB less for each dB of antenna gain over [`FREE_GAIN_DBI`].
    ConductedWithAntennaGain,
    /// Radiated, over an isotropic antenna.
    Eirp,
    /// Radiated, over a half-wave dipole.
    Erp,
}

impl PowerKind {
    /// The word for a finding.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Conducted | Self::ConductedWithAntennaGain => "conducted",
            Self::Eirp => "e.i.r.p.",
            Self::Erp => "e.r.p.",
        }
    }
}

/// What a density is spread over.
#[derive(Deserialize, Clone, Copy, PartialEq, Eq, Debug, Default)]
#[serde(rename_all = "kebab-case")]
pub enum Spread {
    /// The bandwidth of the signal at one moment.
    #[default]
    Bandwidth,
    /// All that the hopping covers.
    HoppedRange,
}

/// A stretch of spectrum in MHz, with its ends.
#[derive(Deserialize, Clone, Copy, PartialEq, Debug)]
#[serde(from = "[f64; 2]")]
pub struct Band {
    /// Lower edge in MHz.
    pub low: f64,
    /// Upper edge in MHz, no less than the lower.
    pub high: f64,
}

impl Band {
    /// The band between two frequencies in MHz.
    pub const fn new(low: f64, high: f64) -> Self {
        Self { low, high }
    }

    /// Width in MHz.
    pub fn width(self) -> f64 {
        self.high - self.low
    }

    /// Whether another band lies in this one, ends included.
    pub fn holds(self, other: Self) -> bool {
        self.low <= other.low && other.high <= self.high
    }

    /// Whether the two have more than an edge in common.
    pub fn overlaps(self, other: Self) -> bool {
        self.low < other.high && other.low < self.high
    }
}

impl From<[f64; 2]> for Band {
    fn from([low, high]: [f64; 2]) -> Self {
        Self { low, high }
    }
}

/// The family of radio rules that a link falls under.
#[derive(Deserialize, Clone, Copy, PartialEq, Eq, Debug)]
#[serde(rename_all = "kebab-case")]
pub enum Family {
    /// Frequency hopping.
    Hopping,
    /// Wide digital modulation without hopping.
    Digital,
    /// One narrow channel.
    Narrow,
}

impl Family {
    /// The word of the rig language.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hopping => "hopping",
            Self::Digital => "digital",
            Self::Narrow => "narrow",
        }
    }
}

/// What is steered, where a rule asks for it.
#[derive(Deserialize, Clone, Copy, PartialEq, Eq, Debug)]
#[serde(rename_all = "kebab-case")]
pub enum Usage {
    /// Something that flies.
    Aircraft,
    /// A car or a boat.
    Surface,
}
