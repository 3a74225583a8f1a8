//! Movements in words: `left-front=down`, `"roll trim"=4`, `wait 2 s`.

use super::no_position;
use crate::fleet::words::AxisPosition;
use crate::fleet::{Decimal, no_such, read_quoted};
use crate::setup::Signals;
use crate::signal::{ControlKind, Handle, Path, Rational64, Setting, whole};
use compact_str::CompactString;

/// The path of a start in which controls stand somewhere, and of movements from there, each as `trace --set` and `--then` take it.
///
/// # Errors
/// What is wrong with one of them, in words.
pub fn path(signals: &Signals, set: &[String], then: &[String]) -> Result<Path, String> {
    let mut start = signals.program().rest();
    for text in set {
        let (handle, setting) = parse_setting(signals, text)?;
        start.set(handle, setting);
    }
    let mut path = Path::at(start);
    for text in then {
        path = match parse_wait(text) {
            Some(seconds) => signals.waited(&path, seconds?),
            None => {
                let sets = parts(text).map(|text| parse_setting(signals, text)).collect::<Result<_, _>>()?;
                signals.moved(&path, sets)
            }
        };
    }
    Ok(path)
}

/// The seconds of `wait 2 s`; `None` where it is something else.
fn parse_wait(text: &str) -> Option<Result<Decimal, String>> {
    let time = text.trim().strip_prefix("wait")?;
    if text.contains('=') || !time.is_empty() && !time.starts_with(' ') {
        return None;
    }
    let number = time.trim().strip_suffix('s').unwrap_or(time).trim();
    let seconds = if number.is_empty() { Some(Decimal::whole(0)) } else { Decimal::parse(number.as_bytes()) };
    Some(seconds.ok_or_else(|| format!("\"{text}\" is no wait: give seconds, as in `wait 2 s`")))
}

/// The parts of a movement between commas that stand in no quotes.
fn parts(text: &str) -> impl Iterator<Item = &str> {
    let (mut quoted, mut escaped) = (false, false);
    text.split(move |letter| {
        quoted ^= letter == '"' && !escaped;
        escaped = quoted && letter == '\\' && !escaped;
        letter == ',' && !quoted
    })
}

/// The name before `=` and what stands behind it. In quotes a name may hold anything, with the escapes of rig files; of `roll trim`
/// the trim of the stick is meant where no control is called so.
fn name_and_value<'t>(signals: &Signals, text: &'t str) -> Option<(CompactString, bool, &'t str)> {
    let text = text.trim();
    let (name, rest) = match read_quoted(text) {
        Some(parts) => parts,
        None => {
            let (name, rest) = text.split_at(text.find('=')?);
            (name.into(), rest)
        }
    };
    let (before, value) = rest.split_once('=')?;
    let name = name.trim();
    let is_control = signals.lowered().control(name).is_some();
    match (before.trim(), name.strip_suffix(" trim")) {
        ("trim", _) => Some((name.into(), true, value.trim())),
        ("", Some(stick)) if !is_control => Some((stick.trim().into(), true, value.trim())),
        ("", _) => Some((name.into(), false, value.trim())),
        _ => None,
    }
}

fn parse_setting(signals: &Signals, text: &str) -> Result<(Handle, Setting), String> {
    let (name, trim, value) =
        name_and_value(signals, text).ok_or_else(|| format!("\"{text}\" is not CONTROL=VALUE"))?;
    let Some(control) = signals.lowered().control(&name) else {
        let controls = signals.program().parts().controls.iter().map(|control| control.name.as_str());
        return Err(no_such("control", &name, controls));
    };
    if signals.positions(control) > 0 && !trim {
        let position = signals.lowered().position(control, value);
        let position = position.ok_or_else(|| no_position(signals, control, &name, value))?;
        return Ok((Handle::Control(control), Setting::Position(position)));
    }
    let kind = signals.program().parts().controls.get(usize::from(control.0)).map(|control| &control.kind);
    let most = match (kind, trim) {
        (Some(ControlKind::Stick { trim: Some(range), .. }), true) => *range,
        (_, true) => return Err(format!("\"{name}\" has no trim in this model")),
        _ => whole(100),
    };
    let number = match AxisPosition::find(value) {
        Some(position) => Some(whole(position.percent())),
        None => parse_number(value.trim_end_matches('%').trim()),
    };
    let number = number.filter(|number| *number <= most && *number >= most.negate());
    let number = number
        .ok_or_else(|| format!("\"{value}\" is no place of \"{name}\": give a number from -{most} to {most} (in %)"))?;
    Ok((if trim { Handle::Trim(control) } else { Handle::Control(control) }, Setting::Percent(number)))
}

fn parse_number(text: &str) -> Option<Rational64> {
    // An exact third has no other text.
    if let Some((top, bottom)) = text.split_once('/') {
        return Rational64::new(top.trim().parse().ok()?, bottom.trim().parse().ok()?);
    }
    let found = Decimal::parse(text.as_bytes())?;
    Rational64::decimal(found.mantissa(), u32::from(found.scale()))
}
