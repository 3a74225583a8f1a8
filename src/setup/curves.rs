//! Curves that do not go to their ends, as they are written.

use super::channel_use::{function, is_vital};
use super::signals::Signals;
use super::subject::Subject;
use super::terms::{control_of, each_value_of};
use crate::fleet::Decimal;
use crate::fleet::condition::ValueKind;
use crate::fleet::model::Curve;
use crate::fleet::words::Stick;

/// A curve says nothing of an end of a stick where its last point is further than this from there, in percent (common practice, no
/// source).
const SHORT: i64 = 10;

/// A brake is not fully in where its lever leaves more than this out, in percent (common practice, no source).
const LEFT_OUT: i64 = 5;

/// A curve that does not go to an end.
#[derive(Clone, Copy, Debug)]
pub struct CurveEnd<'f> {
    /// The curve.
    pub curve: &'f Curve,
    /// The channel in which it is used.
    pub channel: u8,
    /// What is wrong.
    pub wrong: WrongEnd,
}

/// What is wrong with the end of a curve.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum WrongEnd {
    /// It says nothing beyond this, in percent of the stick, and stays at that.
    Short(Decimal, Decimal),
    /// What it gives a brake is never less than this, in percent.
    NeverIn(Decimal),
}

/// The curves that end before the stick of the throttle does, on a channel that the aircraft can't fly without; and those of a brake lever
/// that leave the brake a little out at either end.
pub fn curve_ends<'f>(subject: &Subject<'f>, signals: &Signals) -> Vec<CurveEnd<'f>> {
    let mut found: Vec<CurveEnd<'f>> = Vec::new();
    let Some(surfaces) = subject.craft.surfaces.as_ref() else { return found };
    // Of a stick that steers, `channels/clipped` tells.
    let throttle = signals.stick(function(Stick::Throttle));
    for surface in &surfaces.channels {
        let channel = surface.channel.value;
        let vital = surface.functions.iter().any(|name| is_vital(&name.value));
        let brakes = ["flap", "brake", "spoiler"].iter().any(|name| surface.has(name));
        each_value_of(subject.model, channel, &mut |value| {
            let ValueKind::Curve(name, of) = &value.kind else { return };
            let Some(control) = control_of(of).and_then(|name| signals.lowered().control(name)) else { return };
            let Some(curve) = subject.model.curve(&name.value).filter(|_| signals.is_axis(control)) else { return };
            if found.iter().any(|known| std::ptr::eq(known.curve, curve)) {
                return;
            }
            let wrong = short(curve)
                .filter(|_| vital && Some(control) == throttle)
                .or_else(|| never_in(curve).filter(|_| brakes && !vital));
            found.extend(wrong.map(|wrong| CurveEnd { curve, channel, wrong }));
        });
    }
    found
}

fn short(curve: &Curve) -> Option<WrongEnd> {
    let (first, last) = (curve.points.first()?, curve.points.last()?);
    let ends =
        [(first, first.0.value > Decimal::whole(SHORT - 100)), (last, last.0.value < Decimal::whole(100 - SHORT))];
    ends.into_iter().find(|(_, short)| *short).map(|((at, value), _)| WrongEnd::Short(at.value, *value))
}

fn never_in(curve: &Curve) -> Option<WrongEnd> {
    let values = || curve.points.iter().map(|(_, value)| *value);
    let (low, high) = (values().min()?, values().max()?);
    // One that goes over the middle, or to a full end on both sides, has its own idea of in.
    let least = if low.mantissa() > 0 { low } else { high };
    let one_side = low.mantissa() > 0 || high.mantissa() < 0;
    let counts = least > Decimal::whole(LEFT_OUT) || least < Decimal::whole(-LEFT_OUT);
    (one_side && counts && low != high).then_some(WrongEnd::NeverIn(least))
}
