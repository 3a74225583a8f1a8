//! What a model's rates make of the sticks.

use super::subject::Subject;
use crate::fleet::Decimal;
use crate::fleet::model::{Model, RateLine, StickRates};
use crate::fleet::words::Stick;
use crate::source::Located;

/// A stick with expo on both sides, one on top of the other.
#[derive(Clone, Copy, Debug)]
pub struct DoubleExpo<'f> {
    /// The stick.
    pub stick: Stick,
    /// Its rates in the model.
    pub rates: &'f StickRates,
    /// The greatest expo of the handset, in percent.
    pub handset: Decimal,
    /// That of the controller, in percent.
    pub controller: Located<Decimal>,
    /// What both leave of a straight stick around the centre, in percent.
    pub slope: f64,
}

/// The rates of a stick, where the model has some.
pub fn rates_of(model: &Model, stick: Stick) -> Option<&StickRates> {
    model.rates.iter().find(|rates| rates.stick.value == stick)
}

/// The line of a stick's rates with the greatest rate.
pub fn greatest_rate(model: &Model, stick: Stick) -> Option<&RateLine> {
    rates_of(model, stick)?.lines.iter().max_by(|a, b| a.rate.value.cmp(&b.rate.value))
}

/// The first line of a stick's rates with more than 100 %.
pub fn rate_beyond_full(model: &Model, stick: Stick) -> Option<&RateLine> {
    rates_of(model, stick)?.lines.iter().find(|line| line.rate.value > Decimal::whole(100))
}

/// The sticks with expo in the handset of which nobody says what the controller does with them.
pub fn expo_open(subject: &Subject<'_>) -> Vec<Stick> {
    let Some(controller) = &subject.craft.controller else { return Vec::new() };
    let has =
        |rates: &StickRates| rates.lines.iter().filter_map(|line| line.expo).any(|expo| expo.value.mantissa() > 0);
    let softened = |stick: &Stick| rates_of(subject.model, *stick).is_some_and(has);
    let told = |stick: &Stick| controller.expo.iter().any(|(told, _)| told.value == *stick);
    Stick::ALL.iter().copied().filter(|stick| softened(stick) && !told(stick)).collect()
}

/// The sticks with expo in the handset and on the controller.
pub fn double_expo<'f>(subject: &Subject<'f>) -> Vec<DoubleExpo<'f>> {
    let controller = subject.craft.controller.iter().flat_map(|controller| &controller.expo);
    let double = controller.filter_map(|(stick, own)| {
        let rates = rates_of(subject.model, stick.value)?;
        let expo = rates.lines.iter().filter_map(|line| Some((line, line.expo?.value)));
        let (line, expo) = expo.max_by(|(_, a), (_, b)| a.cmp(b))?;
        let some = |expo: Decimal| expo.mantissa() > 0;
        let share = |expo: Decimal| 1.0 - expo.to_f64() / 100.0;
        let slope = share(expo) * share(own.value) * line.rate.value.to_f64();
        (some(own.value) && some(expo)).then_some(DoubleExpo {
            stick: stick.value,
            rates,
            handset: expo,
            controller: *own,
            slope,
        })
    });
    double.collect()
}

/// A rate line whose expo leaves nothing of the stick's centre, or makes it the quickest part of it.
#[derive(Clone, Copy, Debug)]
pub struct OddExpo<'f> {
    /// The rates.
    pub rates: &'f StickRates,
    /// The line.
    pub line: &'f RateLine,
    /// What it says, in percent.
    pub expo: Located<Decimal>,
}

/// The rate lines with an expo outside of two limits in percent.
pub fn odd_expo(model: &Model, least: Decimal, most: Decimal) -> Vec<OddExpo<'_>> {
    let lines = model.rates.iter().flat_map(|rates| rates.lines.iter().map(move |line| (rates, line)));
    let odd = lines.filter_map(|(rates, line)| {
        let expo = line.expo.filter(|expo| expo.value < least || expo.value > most)?;
        Some(OddExpo { rates, line, expo })
    });
    odd.collect()
}

/// A rate line that leaves next to nothing of the throttle.
#[derive(Clone, Copy, Debug)]
pub struct TinyRate<'f> {
    /// The rates.
    pub rates: &'f StickRates,
    /// The line.
    pub line: &'f RateLine,
    /// Ten times its rate, in percent, where a stick can have that.
    pub tenfold: Option<Decimal>,
}

/// The rate lines of the throttle up to a limit in percent, and not 0.
pub fn tiny_rates(model: &Model, most: Decimal) -> Vec<TinyRate<'_>> {
    let Some(rates) = rates_of(model, Stick::Throttle) else { return Vec::new() };
    let size = |line: &RateLine| line.rate.value.max(line.rate.value.times(-1).unwrap_or(line.rate.value));
    let tiny = rates.lines.iter().filter(|line| line.rate.value.mantissa() != 0 && size(line) <= most);
    let tenfold = |line: &RateLine| line.rate.value.times(10).filter(|_| size(line) <= Decimal::whole(10));
    tiny.map(|line| TinyRate { rates, line, tenfold: tenfold(line) }).collect()
}
