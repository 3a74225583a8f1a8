//! What a module and its link offer, beside what a model asks of them.

use super::bay::{Bay, bay};
use super::subject::Subject;
use super::way::Way;
use crate::fleet::Decimal;
use crate::fleet::condition::Name;
use crate::fleet::equipment::Link;
use crate::fleet::model::ModelModule;
use crate::fleet::words::FirmwareCheck;
use crate::radio::pairing::major_version;
use crate::source::Span;

/// A step that is written in decibels is rounded to a tenth of one: this share of a power, 10^0.005, is half of that.
const ROUNDED: f64 = 0.0116;

/// Something that is asked for and not offered.
#[derive(Clone, Debug)]
pub struct NotOffered {
    /// What is asked for.
    pub asked: Decimal,
    /// What is offered, as it is stated.
    pub offered: Vec<Decimal>,
    /// The same, the likeliest to be meant first.
    pub instead: Vec<Decimal>,
    /// Where what is offered is stated.
    pub stated: Span,
}

/// A power of a bay, in milliwatts, that is no step of what is in it; `None` where no step is stated.
pub fn odd_power(bay: &Bay<'_>) -> Option<NotOffered> {
    let (steps, (low, high)) = (&bay.hardware?.power, bay.module.power?.value);
    let stated = steps.first()?.span;
    let offered: Vec<Decimal> = steps.iter().map(|step| step.value).collect();
    let is_step = |value: Decimal| offered.iter().any(|step| (value.to_f64() / step.to_f64() - 1.0).abs() < ROUNDED);
    let asked = [low, high].into_iter().find(|&value| !is_step(value))?;
    // The step below comes first: less power never breaks a rule that more power kept.
    let (mut instead, over): (Vec<_>, Vec<_>) =
        by_distance(asked, &offered).into_iter().partition(|step| *step < asked);
    instead.extend(over);
    Some(NotOffered { asked, offered, instead, stated })
}

/// The update rate of a bay, in hertz, where its link does not offer it; `None` where no rate of the link is stated.
pub fn odd_rate(bay: &Bay<'_>, link: &Link) -> Option<NotOffered> {
    let (asked, stated) = (bay.module.update_rate?.value, link.update_rates.first()?.span);
    let offered: Vec<Decimal> = link.update_rates.iter().map(|rate| rate.value).collect();
    let instead = by_distance(asked, &offered);
    (!offered.contains(&asked)).then_some(NotOffered { asked, offered, instead, stated })
}

/// Numbers in the order of their distance from one, the lower first where two are as near.
fn by_distance(from: Decimal, list: &[Decimal]) -> Vec<Decimal> {
    let distance = |number: &Decimal| (number.to_f64() - from.to_f64()).abs();
    let mut list = list.to_vec();
    list.sort_by(|a, b| distance(a).total_cmp(&distance(b)).then(a.cmp(b)));
    list
}

/// The bays of a model that are off and hold something that the aircraft hears.
pub fn off_and_heard<'f>(subject: &Subject<'f>) -> impl Iterator<Item = &'f ModelModule> {
    let off = subject.model.modules.iter().filter(|module| module.off.is_some());
    off.filter(|module| subject.hears(&bay(subject.context.fleet, module, subject.handset)))
}

/// The most chains of the receivers that hear a bay; `None` where nobody does, or not all of them say.
pub fn most_chains(subject: &Subject<'_>, bay: &Bay<'_>) -> Option<u8> {
    let chains: Option<Vec<u8>> =
        subject.receivers_of(bay).map(|receiver| receiver.chains.map(|chains| chains.value)).collect();
    chains?.into_iter().max()
}

/// Firmware of a module and of the receiver that hears it, where the two differ.
#[derive(Clone, Copy, Debug)]
pub struct Firmware<'f> {
    /// The module's.
    pub module: &'f Name,
    /// The receiver's.
    pub receiver: &'f Name,
    /// Whether the link refuses to connect them; `None` where it is not stated how it checks.
    pub refused: Option<bool>,
}

/// The firmware over a way, where both are stated and differ.
pub fn other_firmware<'f>(way: &Way<'f>) -> Option<Firmware<'f>> {
    let (module, receiver) = (way.bay?.hardware?.firmware.as_ref()?, way.receiver.firmware.as_ref()?);
    let majors_differ = major_version(&module.value) != major_version(&receiver.value);
    let refused = way.link?.firmware_check.map(|check| check.value == FirmwareCheck::SameMajor && majors_differ);
    (module.value != receiver.value).then_some(Firmware { module, receiver, refused })
}
