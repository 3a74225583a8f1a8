//! What the names of a model mean in its parts, and its conditions put together.

use crate::fleet::Decimal;
use crate::fleet::condition as written;
use crate::fleet::equipment;
use crate::fleet::words::AxisPosition;
use crate::signal::number::rational64::Rational64;
use crate::signal::program::held::HeldConditions;
use crate::signal::program::parts::*;
use crate::signal::program::reason::Reason;
use compact_str::CompactString;

/// What the names of a model mean in its parts.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct Names {
    pub(in crate::signal::program) controls: Vec<(CompactString, Stands)>,
    pub(in crate::signal::program) conditions: Vec<CompactString>,
    pub(in crate::signal::program) mixes: Vec<CompactString>,
    pub(in crate::signal::program) curves: Vec<CompactString>,
    pub(in crate::signal::program) modes: Vec<CompactString>,
    pub(in crate::signal::program) held: HeldConditions,
}

/// How a control is named where it stands.
#[derive(Clone, Copy, Debug)]
pub(in crate::signal::program) enum Stands {
    /// A stick, knob or slider: low, centre or high.
    Axis,
    /// In one of the positions of a switch or button.
    At(equipment::ControlKind),
    /// What telemetry tells: on or off. Conditions name it as a condition.
    Told,
}

/// The positions of what telemetry tells.
const OFF_ON: [&str; 2] = ["off", "on"];

pub(in crate::signal::program) type Clear<T> = Result<T, Reason>;

impl Names {
    /// A condition of `expect` or of a query (`Measure::Received`), or of `when` or `while` (`Measure::Sent`).
    ///
    /// # Errors
    /// What it names that is not there.
    pub(in crate::signal) fn asked(&self, condition: &written::Condition, pulses: Measure) -> Clear<Condition> {
        Ok(self.held.ordered(&self.condition(condition, pulses)?))
    }

    /// How long the `held` condition of a number has to hold until it counts, in seconds.
    pub(in crate::signal) fn held_for(&self, number: u8) -> Option<Decimal> {
        self.held.seconds(number)
    }

    /// As [`HeldConditions::after`].
    pub(in crate::signal) fn held_after(&self, seconds: Decimal, holds: &dyn Fn(&Condition) -> bool) -> u64 {
        self.held.after(seconds, holds)
    }

    /// The control with a name; sticks too.
    pub(in crate::signal) fn control(&self, name: &str) -> Option<ControlId> {
        let at = self.controls.iter().position(|(known, _)| known == name)?;
        Some(ControlId(at as u16))
    }

    /// The mode with a name.
    pub(in crate::signal) fn mode(&self, name: &str) -> Option<ModeId> {
        let at = self.modes.iter().position(|known| known == name)?;
        Some(ModeId(at as u16))
    }

    /// The position of a control by its name, from 0.
    pub(in crate::signal) fn position(&self, control: ControlId, name: &str) -> Option<u8> {
        match self.controls.get(usize::from(control.0))?.1 {
            Stands::Axis => None,
            Stands::At(kind) => kind.position(name),
            Stands::Told => OFF_ON.iter().position(|known| *known == name).map(|at| at as u8),
        }
    }

    /// A control that a condition or value names.
    pub(in crate::signal::program) fn control_of(&self, name: &str) -> Clear<ControlId> {
        let found = self.control(name).filter(|id| !matches!(self.controls[usize::from(id.0)].1, Stands::Told));
        found.ok_or_else(|| Reason::NoControl(name.into()))
    }

    /// Where a control stands in a position that a condition names.
    pub(in crate::signal::program) fn place(&self, control: &str, position: &str) -> Clear<(ControlId, Position)> {
        let id = self.control_of(control)?;
        let axis = || match self.controls.get(usize::from(id.0))?.1 {
            Stands::Axis => AxisPosition::find(position).map(place),
            _ => None,
        };
        let found = self.position(id, position).map(Position::Index).or_else(axis);
        Ok((id, found.ok_or_else(|| Reason::NoPosition(position.into()))?))
    }

    pub(in crate::signal::program) fn condition(
        &self,
        condition: &written::Condition,
        pulses: Measure,
    ) -> Clear<Condition> {
        use written::ConditionKind as Kind;
        let each =
            |list: &[written::Condition]| list.iter().map(|part| self.condition(part, pulses)).collect::<Clear<_>>();
        Ok(match &condition.kind {
            Kind::Any(list) => Condition::Any(each(list)?),
            Kind::All(list) => Condition::All(each(list)?),
            Kind::Not(inner) => Condition::Not(Box::new(self.condition(inner, pulses)?)),
            Kind::Held(time, inner) => {
                let inner = self.condition(inner, pulses)?;
                self.held.met(*time, inner)?
            }
            Kind::Position { control, position, becomes } => {
                let (id, place) = self.place(&control.value, &position.value)?;
                if *becomes { Condition::Becomes(id, place) } else { Condition::At(id, place) }
            }
            Kind::Axis { axis, above, threshold } => {
                let id = self.control_of(&axis.value)?;
                let bound = Some(Bound { at: number(*threshold)?, strict: true });
                let bounds = if *above { Bounds { low: bound, high: None } } else { Bounds { low: None, high: bound } };
                Condition::Axis(id, bounds)
            }
            Kind::Channel { channel, test, measure } => {
                let bound = |at: Decimal, strict| Ok::<_, Reason>(Some(Bound { at: number(at)?, strict }));
                let bounds = match *test {
                    written::Test::Above(at) => Bounds { low: bound(at, true)?, high: None },
                    written::Test::Below(at) => Bounds { low: None, high: bound(at, true)? },
                    written::Test::Between(low, high) => Bounds { low: bound(low, false)?, high: bound(high, false)? },
                };
                let measure = match measure {
                    written::Measure::Percent => Measure::Percent,
                    written::Measure::Pulse => pulses,
                };
                Condition::Channel(u16::from(channel.value), measure, bounds)
            }
            Kind::Mode(name) => {
                let mode = self.mode(&name.value).ok_or_else(|| Reason::NoMode(name.value.clone()))?;
                Condition::Mode(mode, pulses)
            }
            Kind::Named(name) => {
                let at = self.conditions.iter().position(|known| *known == name.value);
                Condition::Named(ConditionId(at.ok_or_else(|| Reason::NoCondition(name.value.clone()))? as u16))
            }
        })
    }
}

/// The number of a decimal, where it can be computed with.
pub(in crate::signal::program) fn number(decimal: Decimal) -> Clear<Rational64> {
    Rational64::decimal(decimal.mantissa(), u32::from(decimal.scale())).ok_or(Reason::Number)
}

const fn place(position: AxisPosition) -> Position {
    match position {
        AxisPosition::Low => Position::Low,
        AxisPosition::Centre => Position::Centre,
        AxisPosition::High => Position::High,
    }
}
