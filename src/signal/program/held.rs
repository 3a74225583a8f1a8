//! The `held` conditions of a description: which is which, and how those of one condition hang together.

use crate::fleet::Decimal;
use crate::signal::program::parts::*;
use crate::signal::program::reason::Reason;
use std::cell::RefCell;

/// Every `held` condition that was met, which numbers them. What questions ask comes after what the model says.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct HeldConditions {
    /// Seconds and condition.
    all: RefCell<Vec<(Decimal, Condition)>>,
    /// How many the model has.
    of_model: usize,
    /// By named condition: whether it holds in no moment but that of a movement.
    momentary: Vec<bool>,
}

impl HeldConditions {
    /// `held` for so many seconds, as it was met: [`HeldConditions::ordered`] puts it in order with the others.
    pub(in crate::signal) fn met(&self, seconds: Decimal, of: Condition) -> Result<Condition, Reason> {
        let mut all = self.all.borrow_mut();
        let entry = (seconds, of);
        let at = all.iter().position(|known| *known == entry).unwrap_or(all.len());
        let number = u8::try_from(at).map_err(|_| Reason::TooManyHeld)?;
        if at == all.len() {
            all.push(entry.clone());
        }
        Ok(Condition::Held(number, Box::new(entry.1)))
    }

    /// How long the one of this number has to hold, in seconds.
    pub(in crate::signal) fn seconds(&self, number: u8) -> Option<Decimal> {
        self.all.borrow().get(usize::from(number)).map(|(seconds, _)| *seconds)
    }

    /// The numbers of those that count after so many seconds in which `holds` was so.
    pub(in crate::signal) fn after(&self, seconds: Decimal, holds: &dyn Fn(&Condition) -> bool) -> u64 {
        let all = self.all.borrow();
        let counts = all.iter().enumerate().filter(|(_, (time, of))| *time <= seconds && holds(of));
        counts.fold(0, |held, (number, _)| held | 1_u64.checked_shl(number as u32).unwrap_or(0))
    }

    /// Puts the conditions of a model in order: what is held for long was held for less, and what holds in the moment of a
    /// movement alone is never held.
    pub(in crate::signal) fn order(&mut self, parts: &mut Parts) {
        self.of_model = self.all.borrow().len();
        self.momentary = vec![false; parts.conditions.len()];
        // A name may stand before what it names: once more than names lead to names is often enough.
        for _ in 0..parts.conditions.len() {
            let found: Vec<bool> = parts.conditions.iter().map(|named| self.is_momentary_name(named)).collect();
            if found == self.momentary {
                break;
            }
            self.momentary = found;
        }
        if self.of_model == 0 {
            return;
        }
        for named in &mut parts.conditions {
            match &mut named.kind {
                NamedKind::Plain(condition) => *condition = self.ordered(condition),
                NamedKind::Latch { set, reset } => {
                    (*set, *reset) = (self.ordered(set), self.ordered(reset));
                }
                NamedKind::Toggle(on) => *on = self.ordered(on),
            }
        }
        let lines =
            parts.channels.iter_mut().flat_map(|channel| &mut channel.lines).filter_map(|line| line.when.as_mut());
        lines.for_each(|when| *when = self.ordered(when));
        for control in &mut parts.controls {
            let ControlKind::Stick { rates, .. } = &mut control.kind else { continue };
            rates.iter_mut().filter_map(|rate| rate.when.as_mut()).for_each(|when| *when = self.ordered(when));
        }
    }

    /// A condition of the model, or of a question, with what it holds in order.
    pub(in crate::signal) fn ordered(&self, condition: &Condition) -> Condition {
        match condition {
            Condition::Held(_, of) if self.is_momentary(of) => Condition::Constant(false),
            Condition::Held(number, of) => self.in_order(*number, of),
            Condition::Not(of) => Condition::Not(Box::new(self.ordered(of))),
            Condition::All(of) => Condition::All(of.iter().map(|of| self.ordered(of)).collect()),
            Condition::Any(of) => Condition::Any(of.iter().map(|of| self.ordered(of)).collect()),
            other => other.clone(),
        }
    }

    /// One of them, and every shorter one of the same condition. One that a question alone asks also counts where a longer one of
    /// the model does.
    fn in_order(&self, number: u8, of: &Condition) -> Condition {
        let all = self.all.borrow();
        let inner = self.ordered(of);
        let Some(&(seconds, _)) = all.get(usize::from(number)) else { return Condition::Held(number, Box::new(inner)) };
        let alike = (0_u8..).zip(all.iter()).filter(|(_, (_, other))| other == of);
        let alike: Vec<(u8, Decimal)> = alike.map(|(number, (seconds, _))| (number, *seconds)).collect();
        let counts = |number: u8, seconds: Decimal| {
            let own = Condition::Held(number, Box::new(inner.clone()));
            if usize::from(number) < self.of_model {
                return own;
            }
            let longer = alike.iter().filter(|(_, other)| *other > seconds);
            let longer = longer.map(|(number, _)| Condition::Held(*number, Box::new(inner.clone())));
            let any: Vec<Condition> = std::iter::once(own.clone()).chain(longer).collect();
            if any.len() == 1 { own } else { Condition::Any(any) }
        };
        let shorter = alike.iter().filter(|(_, other)| *other < seconds).map(|&(number, time)| counts(number, time));
        let all: Vec<Condition> = std::iter::once(counts(number, seconds)).chain(shorter).collect();
        match all.len() {
            1 => all.into_iter().next().unwrap_or(Condition::Constant(false)),
            _ => Condition::All(all),
        }
    }

    /// Whether a condition holds in no moment but that of a movement: it needs something to *become* so.
    fn is_momentary(&self, condition: &Condition) -> bool {
        match condition {
            Condition::Becomes(..) => true,
            Condition::All(of) => of.iter().any(|of| self.is_momentary(of)),
            Condition::Any(of) => !of.is_empty() && of.iter().all(|of| self.is_momentary(of)),
            Condition::Named(id) => self.momentary.get(usize::from(id.0)).copied().unwrap_or(false),
            _ => false,
        }
    }

    fn is_momentary_name(&self, named: &Named) -> bool {
        matches!(&named.kind, NamedKind::Plain(condition) if self.is_momentary(condition))
    }
}
