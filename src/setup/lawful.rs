//! What the radio rules of the region say about what a model sends there, and what a lowest step left from the bench hides.

use super::radio::{self, RadioWay, Region, Sender, band, emission, link_facts, sending};
use super::subject::Subject;
use crate::fleet::Decimal;
use crate::fleet::condition::Name;
use crate::radio::regions::{
    Agreement, AirProblem, BandVerdict, Domain, DutyVerdict, Emission, Fact, LimitCheck, LinkFacts, PowerVerdict, Row,
    Step, Table, domains_agree, fewer_channels, highest_fitting_step, is_plainly_allowed, judge_band, judge_duty,
    judge_power,
};
use crate::source::{Place, Span};

/// A sender whose band is stated, in a region with a table of radio rules.
#[derive(Clone, Debug)]
pub struct Ruled<'f> {
    /// The sender.
    pub sender: Sender<'f>,
    /// Where its link states the band.
    pub band: Span,
    /// The region.
    pub region: Region<'f>,
    /// Its table.
    pub table: &'static Table,
    /// What is stated of the link.
    pub link: LinkFacts,
    /// What is sent at the top of the power, where that is stated.
    sent: Option<Emission>,
}

/// Too much power: the row that is passed, and what would keep to it.
#[derive(Debug)]
pub struct TooStrong {
    /// The most lenient row that could be for the link.
    pub row: &'static Row,
    /// Its limit that binds.
    pub check: LimitCheck<'static>,
    /// The highest step of the module that keeps to the region's rules, in milliwatts, and whether it does whatever is not stated.
    pub step: Option<(Decimal, bool)>,
    /// Whether the same power keeps to them for certain where one chain sends, or the chains take turns.
    pub one_chain: bool,
    /// A row that allows more, and is for links that hop over at least so many channels; this one hops over fewer.
    pub few: Option<(&'static Row, u32)>,
}

/// Something that would keep to the region's limits on time.
#[derive(Clone, Copy, Debug)]
pub enum Keeps {
    /// An update rate in hertz.
    Rate(Decimal),
    /// A power step in milliwatts.
    Power(Decimal),
    /// A link that listens before it talks.
    Listening,
}

/// The senders of a subject that a table of its region is about.
pub(super) fn ruled<'f>(subject: &Subject<'f>, region: Option<Region<'f>>) -> Vec<Ruled<'f>> {
    let Some((region, table)) = region.and_then(|region| Some((region, region.table?))) else { return Vec::new() };
    let one = |sender: Sender<'f>| {
        let top = sender.bay.module.power.map(|power| power.value.1.to_f64());
        let sent = top.map(|power_mw| emission(subject, &sender, power_mw));
        let (link, band) = (link_facts(subject, &sender)?, sender.link.band?.span);
        Some(Ruled { sender, band, region, table, link, sent })
    };
    radio::senders(subject).filter_map(one).collect()
}

impl Ruled<'_> {
    /// What the table says of the band.
    pub fn band_verdict(&self) -> BandVerdict<'static> {
        judge_band(self.table, &self.link)
    }

    /// The limit on power that is passed for certain.
    pub fn too_strong(&self) -> Option<TooStrong> {
        let sent = self.questionable()?;
        let PowerVerdict::Above(above) = judge_power(self.table, &self.link, sent) else { return None };
        let step = self.highest_step(sent, |_| true).map(|(step, fits)| (step, fits.certain));
        let several = sent.chains_at_once.is_some_and(|chains| chains > 1);
        let alone = Emission { chains_at_once: Some(1), ..*sent };
        let one_chain = several && is_plainly_allowed(self.table, &self.link, &alone);
        let few = fewer_channels(self.table, &self.link, sent);
        let few = few.filter(|(power, _)| power.headroom_db() > above.headroom_db());
        let few = few.map(|(power, fewest)| (power.row, fewest));
        Some(TooStrong { row: above.row, check: above.binding?, step, one_chain, few })
    }

    /// The limits on time that are passed for certain, with the row that has them.
    pub fn too_long(&self) -> Option<(&'static Row, Vec<AirProblem>)> {
        match judge_duty(self.table, &self.link, self.questionable()?) {
            DutyVerdict::Breach(breaches) => breaches.into_iter().next(),
            _ => None,
        }
    }

    /// What decides whether a limit on power is passed, and is not stated.
    pub fn open_of_power(&self) -> Vec<Fact> {
        match self.questionable().map(|sent| judge_power(self.table, &self.link, sent)) {
            Some(PowerVerdict::NotStated(_, open)) => open,
            _ => Vec::new(),
        }
    }

    /// What decides whether a limit on time is passed, and is not stated.
    pub fn open_of_time(&self) -> Vec<Fact> {
        match self.questionable().map(|sent| judge_duty(self.table, &self.link, sent)) {
            Some(DutyVerdict::NotStated(open)) => open,
            _ => Vec::new(),
        }
    }

    /// What would keep to the region's limits on time, each by itself.
    pub fn keeping_time(&self) -> Vec<Keeps> {
        let (Some(sent), Some(power)) = (&self.sent, self.sender.bay.module.power) else { return Vec::new() };
        let keeps = |link: &LinkFacts| matches!(judge_duty(self.table, link, sent), DutyVerdict::Within);
        let at_rate = |rate: Decimal| LinkFacts { sending: sending(&self.sender, Some(rate.to_f64())), ..self.link };
        let rates = self.sender.link.update_rates.iter().map(|rate| rate.value);
        let slower = rates.filter(|rate| keeps(&at_rate(*rate))).max();
        let weaker = self.highest_step(sent, |step| step < power.value.1).filter(|(_, fits)| fits.certain);
        let listening = LinkFacts { adaptive: Some(true), ..self.link };
        let mut found: Vec<Keeps> = slower.map(Keeps::Rate).into_iter().collect();
        found.extend(weaker.map(|(step, _)| Keeps::Power(step)));
        found.extend((self.link.adaptive != Some(true) && keeps(&listening)).then_some(Keeps::Listening));
        found
    }

    /// What is sent, where that is not plainly allowed.
    fn questionable(&self) -> Option<&Emission> {
        self.sent.as_ref().filter(|sent| !is_plainly_allowed(self.table, &self.link, sent))
    }

    /// The highest of some steps of the module that keeps to the region's rules.
    fn highest_step(&self, sent: &Emission, of: impl Fn(Decimal) -> bool) -> Option<(Decimal, Step)> {
        let steps: Vec<Decimal> =
            self.sender.hardware.power.iter().map(|step| step.value).filter(|step| of(*step)).collect();
        let powers: Vec<f64> = steps.iter().map(|step| step.to_f64()).collect();
        let fits = highest_fitting_step(self.table, &self.link, sent, &powers)?;
        Some((steps.into_iter().find(|step| step.to_f64() == fits.power_mw)?, fits))
    }

    /// Whether a step of the module keeps to the region's rules whatever is not stated.
    fn allows(&self, step: Decimal) -> bool {
        let fits = self.sent.as_ref().and_then(|sent| self.highest_step(sent, |own| own == step));
        fits.is_some_and(|(_, fits)| fits.certain)
    }
}

/// A way whose margin is less than what is asked for.
#[derive(Clone, Debug)]
pub struct ShortWay<'f> {
    /// The way.
    pub way: RadioWay<'f>,
    /// The margin that is left, in dB.
    pub margin_db: f64,
    /// Where the module sends with its lowest step: the higher steps that keep to the region's rules and have the margin, in
    /// milliwatts with that margin, lowest first. None where the region's rules are not known.
    pub bench: Vec<(Decimal, f64)>,
}

/// The ways with less than a margin in dB.
pub(super) fn short_ways<'w, 'f: 'w>(
    ways: impl Iterator<Item = &'w RadioWay<'f>>,
    ruled: &[Ruled<'f>],
    asked: Decimal,
) -> Vec<ShortWay<'f>> {
    let short = ways.filter(|way| way.margin_db() < asked.to_f64());
    short.map(|way| ShortWay { way: *way, margin_db: way.margin_db(), bench: bench_steps(way, ruled, asked) }).collect()
}

fn bench_steps(way: &RadioWay<'_>, ruled: &[Ruled<'_>], asked: Decimal) -> Vec<(Decimal, f64)> {
    let module = way.sender.bay.module;
    let (Some(power), Some(ruled)) =
        (module.power, ruled.iter().find(|ruled| ruled.sender.bay.module.header == module.header))
    else {
        return Vec::new();
    };
    let (low, high) = power.value;
    let mut steps: Vec<Decimal> = way.sender.hardware.power.iter().map(|step| step.value).collect();
    steps.sort_unstable();
    // Only one power, the lowest step, was left from the bench.
    if low != high || steps.first() != Some(&low) {
        return Vec::new();
    }
    let higher = steps.into_iter().filter(|step| *step > low && ruled.allows(*step));
    let with_margin = higher.map(|step| (step, way.at(step.to_f64()).margin_db()));
    with_margin.filter(|(_, margin_db)| *margin_db >= asked.to_f64()).collect()
}

/// A module or a receiver that was built for the radio rules of another region.
#[derive(Clone, Copy, Debug)]
pub struct Foreign {
    /// Whether it is a receiver, else a module.
    pub receiver: bool,
    /// Where its domain is stated.
    pub place: Place,
    /// The domain.
    pub built: Domain,
    /// The best founded row of the region for its link's band.
    pub row: Option<&'static Row>,
}

/// The modules that send to a subject's aircraft, and its receivers, that were built for the rules of another region than this.
pub(super) fn foreign(subject: &Subject<'_>, region: Option<Region<'_>>) -> Vec<Foreign> {
    let Some((region, table)) = region.and_then(|region| Some((region, region.table?))) else { return Vec::new() };
    let one = |receiver, domain: &Name, place, link| {
        let built = Domain::parse(&domain.value)?;
        let row = band(link).and_then(|band| table.surest_row(band));
        let differs = domains_agree(built, Domain::Of(region.code)) == Agreement::Different;
        differs.then_some(Foreign { receiver, place, built, row })
    };
    let modules = radio::senders(subject).filter_map(|sender| {
        let domain = sender.hardware.domain.as_ref()?;
        one(false, domain, subject.handset?.head.place(domain.span), sender.link)
    });
    let receivers = subject.craft.receivers.iter().filter_map(|receiver| {
        let (domain, link) = (receiver.domain.as_ref()?, receiver.link.as_ref()?);
        one(true, domain, subject.in_craft(domain.span), subject.context.fleet.link(&link.value)?)
    });
    modules.chain(receivers).collect()
}
