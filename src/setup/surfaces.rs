//! What the surfaces of an aircraft do together, and what they lack.
//!
//! | file | holds |
//! |---|---|
//! | `answers` | what each stick does to each surface in each position of the controls, and which way is right |
//! | `directions` | surfaces that another stick moves, or the wrong way, or hardly |
//! | `pairs` | what the left and the right surface do together |
//! | `held` | what surfaces do while no stick steers |
//! | `hover` | the control that changes between hovering and flying as a wing |

pub mod answers;
pub mod directions;
pub mod held;
pub mod hover;
pub mod pairs;
#[cfg(test)]
mod tests;

use super::channel_use::function;
use super::signals::{Signals, float};
use super::subject::Subject;
use crate::fleet::craft::{Craft, Surface, Surfaces};
use crate::fleet::words::{CraftKind, Stick};
use crate::signal::{Handle, Setting, whole};

/// How far a stick is moved from its centre to see what a surface answers, in percent.
const NUDGE: i64 = 50;

/// Two mixes count as the same where the sine of the angle between them is less than this (common practice, no source).
const ALIKE_BELOW: f64 = 0.1;

/// Two surfaces that answer two functions in the same way.
#[derive(Clone, Copy, Debug)]
pub struct AlikeSurfaces<'f> {
    /// The surfaces.
    pub surfaces: [&'f Surface; 2],
    /// The functions that both are said to have.
    pub functions: [Stick; 2],
    /// The one of them that works.
    pub kept: Stick,
    /// The one in which the surfaces work against each other.
    pub lost: Stick,
}

/// Pairs of surfaces that share two functions, roll and pitch or pitch and yaw, and move alike, or exactly against each other,
/// with both sticks.
pub fn alike_surfaces<'f>(subject: &Subject<'f>, signals: &Signals) -> Vec<AlikeSurfaces<'f>> {
    let surfaces = subject.craft.surfaces.as_ref().map(|surfaces| surfaces.channels.as_slice()).unwrap_or_default();
    let mut found = Vec::new();
    for (at, first) in surfaces.iter().enumerate() {
        for second in surfaces.iter().skip(at + 1) {
            found.extend(alike(signals, first, second));
        }
    }
    found
}

fn alike<'f>(signals: &Signals, first: &'f Surface, second: &'f Surface) -> Option<AlikeSurfaces<'f>> {
    let has = |surface: &Surface, word: &str| surface.functions.iter().any(|name| name.value == word);
    let shared = first.functions.iter().filter(|name| has(second, &name.value));
    let shared: Vec<Stick> = shared.filter_map(|name| Stick::find(&name.value)).collect();
    let &[one, other] = shared.as_slice() else { return None };
    let (a, b) = (first.channel.value, second.channel.value);
    let (aa, ab) = (answer(signals, one, a)?, answer(signals, other, a)?);
    let (ba, bb) = (answer(signals, one, b)?, answer(signals, other, b)?);
    let size = (aa.hypot(ab) * ba.hypot(bb)).max(f64::MIN_POSITIVE);
    if ((aa * bb - ab * ba) / size).abs() > ALIKE_BELOW {
        return None;
    }
    let (kept, lost) = if aa * ba > 0.0 { (other, one) } else { (one, other) };
    Some(AlikeSurfaces { surfaces: [first, second], functions: [one, other], kept, lost })
}

/// How far a stick moves what arrives on a channel, in microseconds, while all else rests.
fn answer(signals: &Signals, stick: Stick, channel: u8) -> Option<f64> {
    let control = signals.stick(function(stick))?;
    let arrives = |percent| {
        let set = (Handle::Control(control), Setting::Percent(whole(percent)));
        signals.program().read_with(&[set], u16::from(channel))?.received.as_ref().map(float)
    };
    Some(arrives(NUDGE)? - arrives(-NUDGE)?)
}

/// What the surfaces of an aircraft lack.
#[derive(Clone, Copy, Debug)]
pub struct Lacking<'f> {
    /// The surfaces.
    pub surfaces: &'f Surfaces,
    /// The functions of which the aircraft needs one, and none of its surfaces has any.
    pub functions: &'static [Stick],
}

/// What an aircraft of this kind can't do without, and none of its surfaces has. An aeroplane may be flown with rudder and
/// elevator, or without a rudder.
pub fn lacking(craft: &Craft) -> Option<Lacking<'_>> {
    let (surfaces, kind) = (craft.surfaces.as_ref()?, craft.kind?);
    let needed: &[&[Stick]] = match kind.value {
        CraftKind::Aeroplane | CraftKind::Glider | CraftKind::Autogyro => {
            &[&[Stick::Pitch], &[Stick::Roll, Stick::Yaw]]
        }
        CraftKind::FlyingWing => &[&[Stick::Pitch], &[Stick::Roll]],
        CraftKind::Helicopter => &[&[Stick::Pitch], &[Stick::Roll], &[Stick::Yaw]],
        _ => &[],
    };
    let has = |stick: &Stick| {
        surfaces.channels.iter().any(|surface| surface.functions.iter().any(|name| name.value == stick.word()))
    };
    let functions = needed.iter().find(|any| !any.iter().any(has))?;
    Some(Lacking { surfaces, functions })
}
