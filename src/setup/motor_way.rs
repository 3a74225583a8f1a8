//! How a motor's pulse goes with the throttle stick and with the yaw stick, looked at in states in which it runs.

use super::channel_use::function;
use super::motors::Motor;
use super::signals::{Signals, float};
use super::subject::Subject;
use super::terms::{each_value_of, hangs_on};
use crate::fleet::Decimal;
use crate::fleet::condition::ValueKind;
use crate::fleet::words::{Side, Stick};
use crate::signal::{
    ChannelReading, Condition, ControlId, Exact, Function, Handle, Movement, Path, Position, Setting, whole,
};

/// How far apart the stick positions are at which the sense of a motor is looked at, in percent.
const COARSE: usize = 5;

/// A small movement of the stick, in percent (common practice, no source).
const SMALL: usize = 2;

/// A difference of pulses that counts, in microseconds.
const DIFFERS_US: f64 = 0.5;

/// A difference of pulses between two sides that counts, in microseconds: less is the work of a trim (common practice, no source).
const PARTS_US: f64 = 10.0;

/// What a motor's pulse does between two positions of the throttle stick.
#[derive(Clone, Debug)]
pub struct Between {
    /// The stick, in percent, and the pulse before.
    pub before: (i64, Exact),
    /// The same after.
    pub after: (i64, Exact),
    /// The way to the state after.
    pub path: Path,
}

/// How two motors go with a stick.
#[derive(Clone, Debug)]
pub struct Sides {
    /// What is wrong.
    pub wrong: WrongSides,
    /// The stick that is moved.
    pub stick: Stick,
    /// What both receive at one end of the stick.
    pub before: (Exact, Exact),
    /// What both receive at the other.
    pub after: (Exact, Exact),
    /// The way to the state after.
    pub path: Path,
}

/// What can be wrong between two motors.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum WrongSides {
    /// One falls where the other rises with the throttle.
    Opposed,
    /// Yaw moves both the same way.
    NotParted,
    /// Yaw to the right slows the left one.
    WrongWay,
    /// Yaw moves one and not the other.
    OnlyOne,
    /// The throttle gives one more than the other.
    Unequal,
}

impl Motor<'_> {
    /// Does it run in some state? Asked for each position of each switch that its channel names, or once without such a switch;
    /// none where it is not stated where it idles.
    pub fn running(&self, signals: &Signals) -> Vec<Condition> {
        let Some(runs) = self.runs() else { return Vec::new() };
        let mut states = Vec::new();
        for control in self.switches(signals) {
            let at = |position| Condition::At(control, Position::Index(position));
            let positions = 0..signals.positions(control);
            states.extend(positions.map(|position| Condition::All(vec![runs.clone(), at(position)])));
        }
        if states.is_empty() {
            states.push(runs);
        }
        states
    }

    /// Its pulse, sent or received, with the throttle stick at each of some positions behind a path.
    fn swept(&self, signals: &Signals, path: &Path, step: usize, sent: bool) -> Vec<(i64, Exact)> {
        let Some(stick) = signals.stick(Function::Throttle) else { return Vec::new() };
        let end = signals.program().end_of(path);
        let swept = end.swept(stick, step, u16::from(self.number()));
        let pulse = |reading: ChannelReading| if sent { Some(reading.sent) } else { reading.received };
        swept.filter_map(|(percent, reading)| Some((percent, pulse(reading)?))).collect()
    }

    /// What is sent to it at the end of a path.
    fn sent(&self, signals: &Signals, path: &Path) -> Option<Exact> {
        signals.program().read(path, u16::from(self.number())).map(|reading| reading.sent)
    }

    /// A pulse in microseconds, with its sign turned where less of it is more power.
    fn power(&self, pulse: &Exact) -> f64 {
        if self.rises_with_pulse() { float(pulse) } else { -float(pulse) }
    }

    /// Where its power falls while the throttle stick rises behind a path, and rises elsewhere; every 5 % is looked at.
    pub fn falls(&self, signals: &Signals, path: &Path) -> Option<Between> {
        let swept = self.swept(signals, path, COARSE, false);
        let falls = swept.windows(2).find(|next| self.power(&next[1].1) < self.power(&next[0].1) - DIFFERS_US)?;
        swept.windows(2).find(|next| self.power(&next[1].1) > self.power(&next[0].1) + DIFFERS_US)?;
        between(signals, path, falls)
    }

    /// Where it has less power with the stick that drives it all the way up, or the trigger pulled, than at the other end, behind a path;
    /// with that stick. Which way is ahead is known of a motor that only runs ahead, and of one of which it is stated where its full power
    /// begins.
    pub fn turned(&self, subject: &Subject<'_>, signals: &Signals, path: &Path) -> Option<(Stick, Between)> {
        let named = signals.program().mentions(u16::from(self.number())).controls;
        let stick = chosen(subject, signals, &named, Stick::Throttle, Stick::Pitch);
        let own = signals.stick(function(stick)).filter(|own| named.contains(own))?;
        if self.reversible && !self.full_stated {
            return None;
        }
        let at = |percent: i64| Some((percent, self.pulse(signals, &moved(path, &[(own, percent)]))?));
        let (low, high) = (at(-100)?, at(100)?);
        let turned = self.power(&high.1) < self.power(&low.1) - PARTS_US;
        turned.then(|| (stick, Between { before: low, after: high, path: moved(path, &[(own, 100)]) }))
    }

    /// Where the pulse that it is sent jumps by more than a share, in percent, of the handset's scale for a small movement of the
    /// throttle stick behind a path.
    pub fn steps(&self, subject: &Subject<'_>, signals: &Signals, path: &Path, share: Decimal) -> Option<Between> {
        let (_, span) = subject.handset?.scale.as_ref()?.value;
        let limit = 2.0 * span.to_f64() * share.to_f64() / 100.0;
        let (stick, end) = (signals.stick(Function::Throttle)?, signals.program().end_of(path));
        // Where it is known of an alike model that nothing jumps, nothing is shown and so nothing has to be looked at.
        if signals.program().greatest_jump(&end, stick, SMALL, u16::from(self.number())) <= limit {
            return None;
        }
        let swept = self.swept(signals, path, SMALL, true);
        swept.windows(2).filter(|next| (float(&next[1].1) - float(&next[0].1)).abs() > limit).find_map(|next| {
            // A stick that stops the motor and does not start it again makes no jump: it is moved both ways, one after the other.
            let rises = self.power(&next[1].1) > self.power(&next[0].1);
            let (from, to) = if rises { (&next[0], &next[1]) } else { (&next[1], &next[0]) };
            let low = moved(path, &[(stick, from.0)]);
            let reached = self.sent(signals, &moved(&low, &[(stick, to.0)]))?;
            let jumps = self.power(&reached) - self.power(&self.sent(signals, &low)?) > limit;
            jumps.then(|| between(signals, path, next)).flatten()
        })
    }

    /// Whether a curve, or a line that hangs on the throttle stick, stands in its channel, so that its pulse may jump.
    pub fn may_step(&self, subject: &Subject<'_>) -> bool {
        let model = subject.model;
        let mut curve = false;
        each_value_of(model, self.number(), &mut |value| curve |= matches!(value.kind, ValueKind::Curve(..)));
        let mut whens = model.channels.iter().flat_map(|channel| &channel.lines).filter_map(|line| line.when.as_ref());
        curve || whens.any(|when| hangs_on(model, when, "throttle"))
    }

    /// How this motor and another go with the stick that drives them and with the one that steers behind a path, where that is wrong:
    /// the throttle and yaw, or, on what stays down, pitch and roll where these are on their channels instead.
    /// `share`, in percent of half the handset's scale, is how much one may get more than the other with yaw centred.
    pub fn sides(
        &self,
        other: &Self,
        subject: &Subject<'_>,
        signals: &Signals,
        path: &Path,
        share: Decimal,
    ) -> Option<Sides> {
        let read = |path: &Path| Some((self.pulse(signals, path)?, other.pulse(signals, path)?));
        let gains = |before: &(Exact, Exact), after: &(Exact, Exact)| {
            (self.power(&after.0) - self.power(&before.0), other.power(&after.1) - other.power(&before.1))
        };
        let named = |motor: &Self| signals.program().mentions(u16::from(motor.number())).controls;
        let named = [named(self), named(other)].concat();
        let stays_down = subject.craft.stays_down();
        let chosen = |usual, instead| chosen(subject, signals, &named, usual, instead);
        let (ahead, turn) = (chosen(Stick::Throttle, Stick::Pitch), chosen(Stick::Yaw, Stick::Roll));
        let throttle = signals.stick(function(ahead))?;
        let yaw = signals.stick(function(turn));
        // What stays down may be steered by two sticks: the other one stays centred.
        let others =
            [Stick::Roll, Stick::Pitch, Stick::Yaw].into_iter().filter_map(|stick| signals.stick(function(stick)));
        let others = others
            .filter(|stick| stays_down && ![Some(throttle), yaw].contains(&Some(*stick)) && named.contains(stick));
        let path = &moved(path, &others.map(|stick| (stick, 0)).collect::<Vec<_>>());
        let level = |percent: i64| {
            let sets: Vec<_> = [(throttle, percent)].into_iter().chain(yaw.map(|yaw| (yaw, 0))).collect();
            let path = moved(path, &sets);
            Some((read(&path)?, path))
        };
        let ((before, _), (after, high)) = (level(-50)?, level(50)?);
        let (one, two) = gains(&before, &after);
        if one.abs() > PARTS_US && two.abs() > PARTS_US && (one > 0.0) != (two > 0.0) {
            return Some(Sides { wrong: WrongSides::Opposed, stick: ahead, before, after, path: high });
        }
        if let Some(unequal) = self.unequal(other, subject, share, ahead, &level) {
            return Some(unequal);
        }
        let yaw = yaw?;
        let (left, right) = (moved(path, &[(throttle, 0), (yaw, -50)]), moved(path, &[(throttle, 0), (yaw, 50)]));
        let (before, after) = (read(&left)?, read(&right)?);
        let (one, two) = gains(&before, &after);
        let both = one.abs() > PARTS_US && two.abs() > PARTS_US;
        let wrong = match (self.side, other.side) {
            _ if both && (one > 0.0) == (two > 0.0) => WrongSides::NotParted,
            (Some(Side::Left), Some(Side::Right)) if one - two < -PARTS_US => WrongSides::WrongWay,
            (Some(Side::Right), Some(Side::Left)) if two - one < -PARTS_US => WrongSides::WrongWay,
            // One that slows and one that does not gain turn it too, and neither stops at an end in the middle.
            _ if (one.abs() > PARTS_US) != (two.abs() > PARTS_US) => WrongSides::OnlyOne,
            _ => return None,
        };
        Some(Sides { wrong, stick: turn, before, after, path: right })
    }
}

impl Motor<'_> {
    /// Where the throttle gives one of two motors more than the other by a share, in percent of half the handset's scale.
    fn unequal(
        &self,
        other: &Self,
        subject: &Subject<'_>,
        share: Decimal,
        stick: Stick,
        level: &dyn Fn(i64) -> Option<((Exact, Exact), Path)>,
    ) -> Option<Sides> {
        let (centre, span) = subject.handset?.scale.as_ref()?.value;
        let (centre, limit) = (Exact::from(centre.to_ratio()), span.to_f64() * share.to_f64() / 100.0);
        let above = |motor: &Self, pulse: &Exact| motor.power(pulse) - motor.power(&centre);
        let differs = |both: &(Exact, Exact)| (above(self, &both.0) - above(other, &both.1)).abs() > limit;
        let at = |percent| level(percent).filter(|(both, _)| differs(both));
        let (after, path) = [-50, 0, 50, 100].into_iter().find_map(at)?;
        let (before, _) = level(-50)?;
        Some(Sides { wrong: WrongSides::Unequal, stick, before, after, path })
    }

    /// Whether the throttle stick only lets a switch run it behind a path: with the stick anywhere it has one of two pulses.
    pub fn is_let_run_by_throttle(&self, signals: &Signals, path: &Path) -> bool {
        let Some(stick) = signals.stick(Function::Throttle).filter(|_| !self.switches(signals).is_empty()) else {
            return false;
        };
        let (end, mut pulses) = (signals.program().end_of(path), Vec::new());
        for pulse in end.swept(stick, COARSE, u16::from(self.number())).filter_map(|(_, reading)| reading.received) {
            if !pulses.contains(&pulse) {
                pulses.push(pulse);
            }
            if pulses.len() > 2 {
                return false;
            }
        }
        pulses.len() == 2
    }

    /// Whether the throttle stick makes a difference to it behind a path.
    pub fn follows_throttle(&self, signals: &Signals, path: &Path) -> bool {
        let swept = self.swept(signals, path, COARSE, false);
        swept.windows(2).any(|next| (float(&next[1].1) - float(&next[0].1)).abs() > DIFFERS_US)
    }

    /// What a stick that springs back makes of its power behind a path, with the throttle in its middle.
    pub fn strays(&self, signals: &Signals, path: &Path, stick: Stick) -> Option<Strays> {
        let (throttle, own) = (signals.stick(Function::Throttle)?, signals.stick(function(stick))?);
        let at = |percent: i64| {
            let path = moved(path, &[(throttle, 0), (own, percent)]);
            Some((self.pulse(signals, &path)?, path))
        };
        let ((before, _), (after, path)) = (at(-100)?, at(100)?);
        let moves = (float(&after) - float(&before)).abs() > PARTS_US;
        moves.then_some(Strays { stick, before, after, path })
    }
}

/// The stick of two that what stays down is driven or steered with: the usual one, or the other where that alone is among the controls
/// that its motors name.
fn chosen(subject: &Subject<'_>, signals: &Signals, named: &[ControlId], usual: Stick, instead: Stick) -> Stick {
    let is_named = |stick: Stick| signals.stick(function(stick)).is_some_and(|own| named.contains(&own));
    let stays_down = subject.craft.stays_down();
    if stays_down && !is_named(usual) && is_named(instead) { instead } else { usual }
}

/// A stick that changes the power of a motor.
#[derive(Clone, Debug)]
pub struct Strays {
    /// The stick.
    pub stick: Stick,
    /// What the motor receives at one end of it.
    pub before: Exact,
    /// The same at the other end.
    pub after: Exact,
    /// The way to that state.
    pub path: Path,
}

/// A path with some sticks moved at its end, all at once.
fn moved(path: &Path, sets: &[(ControlId, i64)]) -> Path {
    let mut path = path.clone();
    let sets = sets.iter().map(|&(stick, at)| (Handle::Control(stick), Setting::Percent(whole(at)))).collect();
    path.movements.push(Movement { sets, held: 0 });
    path
}

fn between(signals: &Signals, path: &Path, next: &[(i64, Exact)]) -> Option<Between> {
    let [before, after] = next else { return None };
    let path = moved(path, &[(signals.stick(Function::Throttle)?, after.0)]);
    Some(Between { before: before.clone(), after: after.clone(), path })
}
