//! What the parts of a sheet say in the same words.

use crate::findings::caution::Caution;
use crate::findings::coverage::Row;
use crate::findings::hands;
use crate::findings::verdict::AircraftVerdict;
use crate::fleet::Decimal;
use crate::fleet::model::{AlarmKind, Model};
use crate::report::plain::plain;
use crate::report::totals::counted;
use crate::report::verdict::in_words;
use crate::report::witness::number;
use crate::setup::positions::Effect;
use crate::setup::{Setup, Signals, float};
use crate::sheet::{Page, SignalPages};
use crate::signal::{ControlId, Setting};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// A text of a file, with nothing in it that moves, turns or hides.
pub(super) fn text(text: &str) -> Cow<'_, str> {
    plain(text)
}

/// What a channel is called: the pilot's word for it, else what the aircraft reads there, with the side of a surface or motor.
pub fn label(setup: &Setup<'_>, channel: u8) -> String {
    let own =
        setup.model.channel(channel).and_then(|channel| channel.label.as_ref()).map(|label| label.value.to_string());
    let read = || setup.used().find(|(known, ..)| *known == channel).map(|(_, what, _)| what.to_string());
    let surfaces = setup.craft.surfaces.as_ref();
    let surface = surfaces.and_then(|it| it.channels.iter().find(|surface| surface.channel.value == channel)?.side);
    let motor = surfaces.and_then(|it| it.motors.iter().find(|motor| motor.channel.value == channel)?.side);
    let side = surface.or(motor).map_or("", |side| side.value.word());
    let name = own.or_else(read).unwrap_or_default();
    text(&if side.is_empty() || name.contains(side) { name } else { format!("{side} {name}") }).into_owned()
}

/// Where a control stands or goes: `up`, or of an axis `high (left stick all the way up)`.
pub(super) fn position(setup: &Setup<'_>, signals: &Signals, control: ControlId, at: Setting) -> String {
    let name = signals.name(control);
    match at {
        Setting::Position(at) => text(&signals.position_name(control, at)).into_owned(),
        Setting::Percent(percent) => {
            if let Some(words) = hands::at(setup.hands(), name, percent) {
                return words;
            }
            let [low, high] = hands::ends(setup.hands().grip, name);
            match percent.near() {
                place if place <= -100.0 => format!("all the way {low}"),
                place if place >= 100.0 => format!("all the way {high}"),
                0.0 => "in its middle".to_owned(),
                place => format!("at {} %", number(place)),
            }
        }
    }
}

/// A control with where it stands: `left-front up`, `throttle (left stick all the way down)`.
pub(super) fn standing(page: &Page<'_, '_>, signals: &Signals, (control, at): (ControlId, Setting)) -> String {
    let words = position(page.setup, signals, control, at);
    let name = signals.name(control);
    let is_stick = matches!(at, Setting::Percent(percent) if hands::at(page.setup.hands(), name, percent).is_some());
    // The words of a stick say which one it is only where its side is stated.
    if is_stick { format!("{} ({words})", text(name)) } else { format!("{} {words}", text(name)) }
}

/// How finely what is received is told on paper: in whole microseconds, as a pilot reads them off a screen, and finer on a channel of
/// which two readings that differ would look alike.
pub(super) struct Readings {
    /// The channels that are told finer, with the digits behind the point.
    fine: Vec<(u8, usize)>,
}

/// So many digits behind the point tell pulses apart that anything can tell apart.
const FINEST: usize = 3;

impl Readings {
    /// How finely the readings of an aircraft are told, so that each of them that stands on its page can be told from the others.
    pub(super) fn of(path: &SignalPages<'_, '_>) -> Self {
        let bench = &path.bench;
        let views = [&bench.at_start].into_iter().chain(bench.lines.iter().map(|line| &line.after));
        let views = views.chain(bench.lines.iter().filter_map(|line| Some(&line.half_way.as_ref()?.view)));
        let views = views.chain(path.others.iter().map(|other| &other.at_start));
        let read =
            views.flat_map(|view| &view.pulses).filter_map(|(channel, us)| Some((*channel, float(us.as_ref()?))));
        let effects = path.controls.iter().flat_map(|control| &control.places).flat_map(|place| &place.effects);
        let stands = effects.filter_map(|effect| match effect {
            Effect::Pulse(channel, us) => Some((*channel, *us)),
            _ => None,
        });
        let mut all: BTreeMap<u8, Vec<f64>> = BTreeMap::new();
        for (channel, us) in read.chain(stands) {
            all.entry(channel).or_default().push(us);
        }
        let fine = all.into_iter().map(|(channel, pulses)| (channel, digits(pulses)));
        Self { fine: fine.filter(|(_, digits)| *digits > 0).collect() }
    }

    /// A reading on a channel, without its unit.
    pub(super) fn us(&self, channel: u8, us: f64) -> String {
        let digits = self.fine.iter().find(|(known, _)| *known == channel).map_or(0, |(_, digits)| *digits);
        rounded(us, digits)
    }
}

/// The fewest digits behind the point with which no two of these that differ look alike.
fn digits(mut pulses: Vec<f64>) -> usize {
    pulses.sort_by(f64::total_cmp);
    pulses.dedup();
    let are_told_apart = |digits: &usize| {
        let mut words: Vec<String> = pulses.iter().map(|us| rounded(*us, *digits)).collect();
        words.dedup();
        words.len() == pulses.len()
    };
    (0..FINEST).find(are_told_apart).unwrap_or(FINEST)
}

fn rounded(us: f64, digits: usize) -> String {
    let text = format!("{us:.digits$}");
    match digits {
        0 => text,
        _ => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
    }
}

/// What an inspection says of an aircraft, as the report has it, with how many of each it found.
pub fn verdict(verdict: &AircraftVerdict, row: Option<&Row>) -> String {
    let words = in_words(verdict.verdict, row).into_owned();
    let counts = counted(&verdict.counts);
    if counts.is_empty() { words } else { format!("{words}: {counts}") }
}

/// A time in seconds as pilots say it: `2 min 30 s`.
pub(super) fn time(seconds: f64) -> String {
    let whole = seconds.round().max(0.0) as u64;
    match (whole / 60, whole % 60) {
        (0, _) => format!("{} s", number(seconds)),
        (minutes, 0) => format!("{minutes} min"),
        (minutes, seconds) => format!("{minutes} min {seconds} s"),
    }
}

/// Seconds as they are stated.
pub(super) fn seconds(time: Decimal) -> String {
    format!("{time} s")
}

/// What an alarm of a model is, for an aircraft with this caution.
pub(super) fn alarm(caution: Caution, kind: &AlarmKind) -> String {
    match kind {
        AlarmKind::LinkQuality(at) => format!("link quality below {} %", at.value),
        AlarmKind::Signal(at) => format!("signal below {} dBm", at.value),
        AlarmKind::Battery { voltage, per_cell, under_load } => {
            let cell = if *per_cell { " a cell" } else { "" };
            let how = match under_load {
                Some(true) if caution == Caution::Servos => ", under load",
                Some(false) if caution == Caution::Servos => ", at rest",
                Some(true) => ", motors running",
                Some(false) => ", motors at rest",
                None => "",
            };
            format!("battery below {} V{cell}{how}", voltage.value)
        }
    }
}

/// The receiver numbers of a model's bays that are on: `4 (built-in)`.
pub(super) fn numbers(model: &Model) -> String {
    let one = |module: &crate::fleet::model::ModelModule| {
        let number = module.receiver_number.map_or_else(|| "not stated".to_owned(), |number| number.value.to_string());
        format!("{number} ({})", text(&module.bay.value))
    };
    let all: Vec<String> = model.modules_on().map(one).collect();
    if all.is_empty() { "no module is on".to_owned() } else { all.join(", ") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_are_as_fine_as_they_have_to_be() {
        for (pulses, told) in [
            (&[1499.7, 1000.2, 1499.7][..], ["1500", "1000", "1500"]),
            (&[1499.7, 1500.2, 1000.04], ["1499.7", "1500.2", "1000"]),
            (&[1500.0, 1500.04, 2000.0], ["1500", "1500.04", "2000"]),
            (&[1500.0, 1_500.000_1, 2000.0], ["1500", "1500", "2000"]),
        ] {
            let digits = digits(pulses.to_vec());
            assert_eq!(pulses.iter().map(|us| rounded(*us, digits)).collect::<Vec<_>>(), told);
        }
    }
}
