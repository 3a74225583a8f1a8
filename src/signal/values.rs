//! Values and channels compiled into the net.

use super::fix::Fix;
use super::net::{Fits, Net, Num, NumId, fits, remember};
use super::number::Number;
use super::parts::*;
use super::program::Program;
use super::state::Handle;

impl Net {
    fn number(&mut self, value: Number) -> NumId {
        self.num_node(Num::Const(Fix::of(value)))
    }

    /// The raw position of a control.
    pub(super) fn raw(&mut self, program: &Program, id: ControlId) -> Fits<NumId> {
        let var = self.var(program, Handle::Control(id))?;
        Ok(self.num_node(Num::Var(var)))
    }

    /// A control's value as channels see it: a stick after rates, with its trim.
    fn shaped(&mut self, program: &Program, id: ControlId) -> Fits<NumId> {
        let index = usize::from(id.0);
        if let Some(known) = self.made.shaped.get(index).copied().flatten() {
            return Ok(known);
        }
        let raw = self.raw(program, id)?;
        let node = match &fits(program.parts.controls.get(index))?.kind {
            ControlKind::Stick { trim, rates, .. } => {
                let mut lines = Vec::with_capacity(rates.len());
                for rate in rates {
                    let when = self.when(program, rate.when.as_ref())?;
                    let share = fits(Fix::of(rate.rate).div(Fix::HUNDRED))?;
                    let k = Fix::of(rate.expo);
                    let node = if k.is_zero() { raw } else { self.num_node(Num::Expo { of: raw, k }) };
                    lines.push((when, self.lin(Fix::ZERO, &[(share, node)])?));
                }
                let stick = self.choose(lines, raw);
                match trim {
                    Some(trim) if !Fix::of(*trim).is_zero() => {
                        let trim = self.var(program, Handle::Trim(id))?;
                        let trim = self.num_node(Num::Var(trim));
                        self.lin(Fix::ZERO, &[(Fix::ONE, stick), (Fix::ONE, trim)])?
                    }
                    _ => stick,
                }
            }
            _ => raw,
        };
        remember(&mut self.made.shaped, index, node);
        Ok(node)
    }

    fn value(&mut self, program: &Program, value: &Value) -> Fits<NumId> {
        let minus = Fix::whole(-1);
        Ok(match value {
            Value::Percent(number) => self.number(*number),
            Value::Control(id) => self.shaped(program, *id)?,
            Value::Unshaped(id) => self.raw(program, *id)?,
            Value::Channel(number) => self.percent(program, *number)?,
            Value::Curve(id, of) => {
                let of = self.value(program, of)?;
                match self.num(of) {
                    Num::Const(at) => {
                        let y = fits(program.shapes.get(usize::from(id.0)))?.small_at(at);
                        self.num_node(Num::Const(fits(y)?))
                    }
                    _ => self.num_node(Num::Curve { curve: id.0, of }),
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
                self.lin(Fix::ZERO, &[(Fix::ONE, a), (Fix::ONE, b)])?
            }
            Value::Subtract(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.lin(Fix::ZERO, &[(Fix::ONE, a), (minus, b)])?
            }
            Value::Multiply(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.product(a, b)?
            }
            Value::Negate(of) => {
                let of = self.value(program, of)?;
                self.lin(Fix::ZERO, &[(minus, of)])?
            }
        })
    }

    /// A channel's value before output. The channel is there: that was checked.
    pub(super) fn percent(&mut self, program: &Program, number: u16) -> Fits<NumId> {
        let index = fits(program.channel_index(number))?;
        if let Some(known) = self.made.percents.get(index).copied().flatten() {
            return Ok(known);
        }
        let channel = &program.parts.channels[index];
        let mut lines = Vec::with_capacity(channel.lines.len());
        for line in &channel.lines {
            let when = self.when(program, line.when.as_ref())?;
            lines.push((when, self.value(program, &line.value)?));
        }
        let zero = self.num_node(Num::Const(Fix::ZERO));
        let node = self.choose(lines, zero);
        remember(&mut self.made.percents, index, node);
        Ok(node)
    }

    /// The pulse that a channel sends, in microseconds.
    pub(super) fn sent(&mut self, program: &Program, number: u16) -> Fits<NumId> {
        let index = fits(program.channel_index(number))?;
        if let Some(known) = self.made.sent.get(index).copied().flatten() {
            return Ok(known);
        }
        let channel = &program.parts.channels[index];
        let value = self.percent(program, number)?;
        let sign = if channel.reversed { Fix::whole(-1) } else { Fix::ONE };
        let turned = self.lin(Fix::of(channel.subtrim), &[(sign, value)])?;
        let (low, high) = (self.number(channel.travel.0), self.number(channel.travel.1));
        let under = self.least(turned, high);
        let clamped = self.greatest(under, low);
        let scale = program.parts.scale;
        let centre = Fix::of(channel.centre.unwrap_or(scale.centre));
        let node = self.lin(centre, &[(fits(Fix::of(scale.span).div(Fix::HUNDRED))?, clamped)])?;
        remember(&mut self.made.sent, index, node);
        Ok(node)
    }
}
