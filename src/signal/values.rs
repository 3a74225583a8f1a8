//! Values and channels compiled into the net.

use super::fix::Fix;
use super::net::{Fits, Net, Num, NumId, fits};
use super::number::Number;
use super::parts::*;
use super::program::Program;
use super::state::Handle;

impl Net {
    pub(super) fn number(&mut self, value: Number) -> NumId {
        self.add_num(Num::Const(Fix::of(value)))
    }

    fn shaped(&mut self, program: &Program, id: ControlId) -> Fits<NumId> {
        if let Some(&known) = self.shaped.get(&id.0) {
            return Ok(known);
        }
        let var = self.var(program, Handle::Control(id))?;
        let raw = self.add_num(Num::Var(var));
        let kind = fits(program.parts.controls.get(usize::from(id.0)))?.kind.clone();
        let node = match kind {
            ControlKind::Stick { trim, rates, .. } => {
                let mut lines = Vec::new();
                for rate in &rates {
                    let when = match &rate.when {
                        Some(when) => self.condition(program, when)?,
                        None => self.constant(true),
                    };
                    let share = fits(Fix::of(rate.rate).div(Fix::HUNDRED))?;
                    let k = Fix::of(rate.expo);
                    let node = if k.is_zero() { raw } else { self.add_num(Num::Expo { of: raw, k }) };
                    lines.push((when, self.lin(Fix::ZERO, vec![(share, node)])?));
                }
                let stick = self.choose(lines, raw);
                match trim {
                    Some(trim) if !Fix::of(trim).is_zero() => {
                        let trim = self.var(program, Handle::Trim(id))?;
                        let trim = self.add_num(Num::Var(trim));
                        self.lin(Fix::ZERO, vec![(Fix::ONE, stick), (Fix::ONE, trim)])?
                    }
                    _ => stick,
                }
            }
            _ => raw,
        };
        self.shaped.insert(id.0, node);
        Ok(node)
    }

    pub(super) fn value(&mut self, program: &Program, value: &Value) -> Fits<NumId> {
        Ok(match value {
            Value::Percent(number) => self.number(*number),
            Value::Control(id) => self.shaped(program, *id)?,
            Value::Unshaped(id) => {
                let var = self.var(program, Handle::Control(*id))?;
                self.add_num(Num::Var(var))
            }
            Value::Channel(number) => self.percent(program, *number)?,
            Value::Curve(id, of) => {
                let of = self.value(program, of)?;
                match self.num(of).clone() {
                    Num::Const(at) => {
                        let y = fits(program.shapes.get(usize::from(id.0)))?.small_at(at);
                        self.add_num(Num::Const(fits(y)?))
                    }
                    _ => self.add_num(Num::Curve { curve: id.0, of }),
                }
            }
            Value::Min(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.least(a, b)
            }
            Value::Max(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.greatest(a, b)
            }
            Value::Add(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.lin(Fix::ZERO, vec![(Fix::ONE, a), (Fix::ONE, b)])?
            }
            Value::Subtract(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.lin(Fix::ZERO, vec![(Fix::ONE, a), (Fix::whole(-1), b)])?
            }
            Value::Multiply(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.product(a, b)?
            }
            Value::Negate(of) => {
                let of = self.value(program, of)?;
                self.lin(Fix::ZERO, vec![(Fix::whole(-1), of)])?
            }
        })
    }

    pub(super) fn least(&mut self, a: NumId, b: NumId) -> NumId {
        match (self.num(a), self.num(b)) {
            (Num::Const(x), Num::Const(y)) => {
                if x <= y {
                    a
                } else {
                    b
                }
            }
            _ if a == b => a,
            _ => self.add_num(Num::Min(a.min(b), a.max(b))),
        }
    }

    pub(super) fn greatest(&mut self, a: NumId, b: NumId) -> NumId {
        match (self.num(a), self.num(b)) {
            (Num::Const(x), Num::Const(y)) => {
                if x >= y {
                    a
                } else {
                    b
                }
            }
            _ if a == b => a,
            _ => self.add_num(Num::Max(a.min(b), a.max(b))),
        }
    }

    /// A channel's value before output. The channel is there: that was checked.
    pub(super) fn percent(&mut self, program: &Program, number: u16) -> Fits<NumId> {
        if let Some(&known) = self.channels.get(&number) {
            return Ok(known);
        }
        let channel = fits(program.channel(number))?;
        let mut lines = Vec::with_capacity(channel.lines.len());
        for line in &channel.lines {
            let when = match &line.when {
                Some(when) => self.condition(program, when)?,
                None => self.constant(true),
            };
            lines.push((when, self.value(program, &line.value)?));
        }
        let zero = self.add_num(Num::Const(Fix::ZERO));
        let node = self.choose(lines, zero);
        self.channels.insert(number, node);
        Ok(node)
    }

    /// The pulse that a channel sends, in microseconds.
    pub(super) fn sent(&mut self, program: &Program, number: u16) -> Fits<NumId> {
        if let Some(&known) = self.sent.get(&number) {
            return Ok(known);
        }
        let channel = fits(program.channel(number))?.clone();
        let value = self.percent(program, number)?;
        let sign = if channel.reversed { Fix::whole(-1) } else { Fix::ONE };
        let turned = self.lin(Fix::of(channel.subtrim), vec![(sign, value)])?;
        let (low, high) = (self.number(channel.travel.0), self.number(channel.travel.1));
        let under = self.least(turned, high);
        let clamped = self.greatest(under, low);
        let scale = program.parts.scale;
        let centre = Fix::of(channel.centre.unwrap_or(scale.centre));
        let node = self.lin(centre, vec![(fits(Fix::of(scale.span).div(Fix::HUNDRED))?, clamped)])?;
        self.sent.insert(number, node);
        Ok(node)
    }
}
