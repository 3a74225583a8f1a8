//! The facts of a setup, as the tables of radio rules and the link budget take them.

use super::bay::Bay;
use super::subject::Subject;
use super::way::Way;
use crate::fleet::Decimal;
use crate::fleet::condition::Name;
use crate::fleet::craft::{Craft, Receiver};
use crate::fleet::equipment::{HandsetModule, Link, Site};
use crate::fleet::model::Telemetry;
use crate::fleet::words::Modulation;
use crate::radio::budget::{Between, LinkBudget, sensitivity_at};
use crate::radio::decibel::dbm_from_mw;
use crate::radio::regions::{Band, Emission, Family, LinkFacts, RegionCode, Table, Usage};
use crate::radio::timing::{Sending, worst_latency_ms};
use crate::source::Place;

/// A place whose aircraft are flown further out than this, in metres, lies outdoors. Common practice, no source: halls are
/// shorter.
const LONGEST_HALL_M: f64 = 150.0;

/// A bay that is on, with what is in it and its link.
#[derive(Clone, Copy, Debug)]
pub struct Sender<'f> {
    /// The bay.
    pub bay: Bay<'f>,
    /// What is in it.
    pub hardware: &'f HandsetModule,
    /// Its link.
    pub link: &'f Link,
}

/// Every bay of the subject's model that is on and speaks a link that is defined; none for a simulator. All of them
/// transmit where the aircraft is flown.
pub fn senders<'f>(subject: &Subject<'f>) -> impl Iterator<Item = Sender<'f>> {
    let (model, handset, fleet) = (subject.model, subject.handset, subject.context.fleet);
    model.modules_on().filter(|_| model.simulator.is_none()).filter_map(move |module| {
        let hardware = handset?.module(&module.bay.value)?;
        let link = fleet.link(&hardware.link.as_ref()?.value)?;
        Some(Sender { bay: Bay { module, hardware: Some(hardware), link: Some(link) }, hardware, link })
    })
}

/// Where an aircraft is flown, and the region's radio rules.
#[derive(Clone, Copy, Debug)]
pub struct Region<'f> {
    /// The place.
    pub site: &'f Site,
    /// Its `region`.
    pub name: &'f Name,
    /// The code.
    pub code: RegionCode,
    /// The table; `None` where none is kept for the code.
    pub table: Option<&'static Table>,
}

/// The region in which a subject is flown, where that is stated.
pub fn region<'f>(subject: &Subject<'f>) -> Option<Region<'f>> {
    let site = subject.site?;
    let name = site.region.as_ref()?;
    let code = RegionCode::parse(&name.value)?;
    Some(Region { site, name, code, table: Table::for_code(code) })
}

/// A link's band in MHz, where it is stated.
pub fn band(link: &Link) -> Option<Band> {
    let (low, high) = link.band?.value;
    Some(Band::new(low.to_f64() / 1e6, high.to_f64() / 1e6))
}

/// What is stated of a sender's link as a subject uses it; `None` without a band.
pub fn link_facts(subject: &Subject<'_>, sender: &Sender<'_>) -> Option<LinkFacts> {
    let link = sender.link;
    let family = link.modulation.map(|modulation| match modulation.value {
        Modulation::Hopping => Family::Hopping,
        Modulation::Digital => Family::Digital,
        Modulation::Narrow => Family::Narrow,
    });
    let far = subject.site.and_then(|site| site.reach).is_some_and(|reach| reach.value.to_f64() > LONGEST_HALL_M);
    Some(LinkFacts {
        band: band(link)?,
        family,
        hop_channels: link.hop_channels.map(|count| count.value),
        bandwidth_mhz: link.bandwidth.map(|width| width.value.to_f64() / 1e6),
        adaptive: link.adaptive.map(|adaptive| adaptive.value),
        sending: sending(sender, sender.bay.module.update_rate.map(|rate| rate.value.to_f64())),
        usage: usage(subject.craft),
        indoors: far.then_some(false),
    })
}

/// When a sender sends at an update rate in hertz.
pub fn sending(sender: &Sender<'_>, update_rate_hz: Option<f64>) -> Sending {
    let at_rate = |rate: f64| sender.link.air_times.iter().find(|time| time.rate.to_f64() == rate);
    Sending {
        update_rate_hz,
        air_time_ms: update_rate_hz.and_then(at_rate).map(|time| time.value.to_f64() * 1000.0),
        telemetry_share: sender.bay.module.telemetry.map(|telemetry| match telemetry.value {
            Telemetry::Off => 0.0,
            Telemetry::Share(percent) => percent.to_f64() / 100.0,
        }),
    }
}

fn usage(craft: &Craft) -> Option<Usage> {
    craft.kind.map(|kind| match kind.value {
        kind if kind.stays_down() => Usage::Surface,
        _ => Usage::Aircraft,
    })
}

/// What a sender radiates at a power per chain in milliwatts.
pub fn emission(subject: &Subject<'_>, sender: &Sender<'_>, power_mw: f64) -> Emission {
    let hardware = sender.hardware;
    let one = hardware.chains.is_some_and(|chains| chains.value == 1).then_some(1);
    let send_on = sender.bay.module.send_on.as_ref();
    // A cable that could not be read may lose anything.
    let lost = subject
        .handset
        .zip(hardware.body)
        .is_some_and(|(handset, body)| handset.head.lost_within(body.whole, &["feeder-loss"]));
    Emission {
        per_chain_dbm: dbm_from_mw(power_mw),
        chains_at_once: send_on.map(|send| send.value.at_once() as u32).or(one),
        antenna_gain_dbi: hardware.antenna_gain.map(|gain| gain.value.to_f64()).filter(|_| !lost),
        feeder_loss_db: hardware.feeder_loss.map_or(0.0, |loss| loss.value.to_f64()),
    }
}

/// The way from the handset to a receiver, with everything stated that decides its margin.
#[derive(Clone, Copy, Debug)]
pub struct RadioWay<'f> {
    /// What sends.
    pub sender: Sender<'f>,
    /// What hears it.
    pub receiver: &'f Receiver,
    /// The power per chain in milliwatts that is sent for certain: the lower end of a range.
    pub power_mw: f64,
    /// How far out the aircraft is flown, in metres.
    pub reach_m: f64,
    /// The update rate, in hertz.
    pub update_rate_hz: f64,
    /// The budget of one chain at that power: a second one makes the link steadier and carries it no further. The receiver is taken
    /// to be as good as its link's figures allow.
    pub budget: LinkBudget,
}

impl RadioWay<'_> {
    /// What is left of the signal at the planned reach, in dB.
    pub fn margin_db(&self) -> f64 {
        self.budget.margin_db(self.reach_m)
    }

    /// What is lost on the way, in dB.
    pub fn loss_db(&self) -> f64 {
        self.budget.between.loss_db(self.reach_m, self.budget.frequency_mhz)
    }

    /// The heights of both antennas in metres, where the ground takes a part of the signal.
    pub fn over_ground(&self) -> Option<(f64, f64)> {
        match self.budget.between {
            Between::FreeSpace => None,
            Between::Ground(sends, hears) => Some((sends, hears)),
        }
    }

    /// Up to what distance so much margin in dB is left: in metres with two good digits, rounded down, since nobody should
    /// rely on the last metre.
    pub fn safe_reach_m(&self, margin: Decimal) -> f64 {
        let metres = self.budget.reach_m(margin.to_f64());
        let step = 10f64.powf(metres.max(1.0).log10().floor() - 1.0);
        (metres / step).floor() * step
    }

    /// The same way at another power per chain in milliwatts.
    pub fn at(&self, power_mw: f64) -> Self {
        let more = dbm_from_mw(power_mw) - dbm_from_mw(self.power_mw);
        Self { power_mw, budget: LinkBudget { eirp_dbm: self.budget.eirp_dbm + more, ..self.budget }, ..*self }
    }
}

/// The ways from a sender to the receivers of its link; none where something that decides the margin is not stated.
pub fn to_receivers<'f>(subject: &Subject<'f>, sender: Sender<'f>) -> Vec<RadioWay<'f>> {
    let receivers: Vec<&Receiver> = subject.receivers_of(&sender.bay).collect();
    let ways = receivers.into_iter().map(|receiver| way(subject, sender, receiver));
    ways.collect::<Option<_>>().unwrap_or_default()
}

fn way<'f>(subject: &Subject<'f>, sender: Sender<'f>, receiver: &'f Receiver) -> Option<RadioWay<'f>> {
    let reach_m = subject.site?.reach?.value.to_f64();
    let update_rate_hz = sender.bay.module.update_rate?.value.to_f64();
    let power_mw = sender.bay.module.power?.value.0.to_f64();
    // A figure that could not be read may be a better one.
    if sender.link.head.lost_any(&["sensitivity"]) {
        return None;
    }
    let stated: Vec<(f64, f64)> =
        sender.link.sensitivities.iter().map(|at| (at.rate.to_f64(), at.value.to_f64())).collect();
    let one_chain = Emission { chains_at_once: Some(1), ..emission(subject, &sender, power_mw) };
    let budget = LinkBudget {
        eirp_dbm: one_chain.eirp_dbm()?,
        receiver_gain_dbi: receiver.antenna_gain?.value.to_f64(),
        sensitivity_dbm: sensitivity_at(&stated, update_rate_hz).best_dbm?,
        frequency_mhz: band(sender.link)?.high,
        between: between(subject.craft)?,
    };
    (reach_m > 0.0).then_some(RadioWay { sender, receiver, power_mw, reach_m, update_rate_hz, budget })
}

/// The height in metres over the ground at which a handset is held. Common practice, no source.
const HANDSET_HEIGHT_M: f64 = 1.3;

/// What lies between handset and aircraft; `None` for one that stays on the ground or the water where the height of its antenna is not
/// stated.
fn between(craft: &Craft) -> Option<Between> {
    match craft.kind {
        Some(kind) if kind.value.stays_down() => {
            let height = craft.height.map(|height| height.value.to_f64()).filter(|height| *height > 0.0)?;
            Some(Between::Ground(HANDSET_HEIGHT_M, height))
        }
        _ => Some(Between::FreeSpace),
    }
}

/// How late the news of a channel can be over a way, when nothing is lost.
#[derive(Clone, Debug)]
pub struct Lateness {
    /// The longest wait, in milliseconds.
    pub wait_ms: f64,
    /// The channel travels in one of so many updates.
    pub every: u32,
    /// Updates a second.
    pub update_rate: Decimal,
    /// Whether some of them go to telemetry.
    pub telemetry: bool,
    /// Where the link says how it carries the channel.
    pub carried: Option<Place>,
}

impl Lateness {
    /// Whether it is more than a time in seconds.
    pub fn exceeds(&self, seconds: Decimal) -> bool {
        self.wait_ms > seconds.to_f64() * 1000.0
    }
}

/// How late a channel can be over a way; `None` where no bay sends on it or its update rate is not stated.
pub fn lateness(way: &Way<'_>, channel: u8) -> Option<Lateness> {
    let (bay, link) = (way.bay?, way.link?);
    let update_rate = bay.module.update_rate?.value;
    let telemetry = bay.module.telemetry.is_some_and(|telemetry| telemetry.value != Telemetry::Off);
    let carry = link.carry(channel);
    let every = carry.and_then(|carry| carry.every).map_or(1, |every| u32::from(every.value));
    let wait_ms = worst_latency_ms(update_rate.to_f64(), every, telemetry);
    let carried = carry.map(|carry| link.head.place(carry.span));
    Some(Lateness { wait_ms, every, update_rate, telemetry, carried })
}
