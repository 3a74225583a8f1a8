//! What a flight controller receives, channel by channel, as a pilot sees it when moving sticks and switches.

use super::channel_use::What;
use super::of_craft::Setup;
use super::signals::{Signals, float};
use super::terms::switches_of;
use crate::fleet::model::{Channel, Mix, ValueLine};
use crate::signal::{Condition, ControlId, Handle, Kept, Measure, Parts, Path, Reach, Setting, Why, Within};

/// One channel of the table.
#[derive(Clone, Debug)]
pub struct Traced {
    /// Its number.
    pub channel: u8,
    /// The pilot's word for it, or what the aircraft reads there.
    pub label: String,
    /// The controls that can change it, or why that is not decided.
    pub moved_by: Result<Vec<String>, String>,
    /// Its rows: a position or a condition, with the pulses then.
    pub rows: Vec<Row>,
    /// Whether the link carries it.
    pub carried: bool,
}

/// One row: what holds, and the pulses that are sent and received while it does.
#[derive(Clone, Debug)]
pub struct Row {
    /// A position, a condition, or empty for the whole.
    pub when: String,
    /// The pulses sent.
    pub sent: Pulses,
    /// The pulses received; `None` where the link does not carry the channel.
    pub received: Option<Pulses>,
    /// The modes that are on in the whole row.
    pub modes: Vec<String>,
}

/// The pulses of a row.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Pulses {
    /// From the least to the greatest, in microseconds.
    Between(f64, f64),
    /// None: what the row says can't occur.
    Never,
    /// Not decided.
    Open(Why),
}

impl Pulses {
    /// From the least to the greatest, where that is known.
    pub const fn range(self) -> Option<(f64, f64)> {
        match self {
            Self::Between(low, high) => Some((low, high)),
            Self::Never | Self::Open(_) => None,
        }
    }
}

/// One mix of the table.
#[derive(Clone, Debug)]
pub struct TracedMix {
    /// Its name.
    pub name: String,
    /// The controls that can change it, or why that is not decided.
    pub moved_by: Result<Vec<String>, String>,
    /// For each value line when it counts, and the least and greatest value then, in percent.
    pub rows: Vec<(String, Pulses)>,
}

/// The mixes of a setup, in their order; none where the signal path is unclear.
pub fn mixes(setup: &Setup<'_>) -> Vec<TracedMix> {
    let Some(signals) = setup.signals() else { return Vec::new() };
    let mix = |(at, mix): (u16, &Mix)| {
        let number = Parts::mix(at);
        let value = |(when, within): (String, Within)| {
            let value = pulses(signals, number, Measure::Percent, &within);
            (when, value.unwrap_or(Pulses::Open(Why::NotKnown(number))))
        };
        let alone = matches!(mix.lines.as_slice(), [line] if line.when.is_none());
        let lines = if alone { vec![(String::new(), Within::default())] } else { each_line(signals, &mix.lines) };
        TracedMix {
            name: mix.name.value.to_string(),
            moved_by: moved_by(signals, number),
            rows: lines.into_iter().map(value).filter(|row| !is_never(&row.0, row.1)).collect(),
        }
    };
    (0..).zip(&setup.model.mixes).map(mix).collect()
}

/// The controls that can change a channel or a mix.
fn moved_by(signals: &Signals, number: u16) -> Result<Vec<String>, String> {
    let names = |controls: Vec<ControlId>| controls.iter().map(|&control| signals.name(control).to_owned()).collect();
    signals.program().moved_by(number).map(names).map_err(|why| why.to_string())
}

/// The table of a setup; `None` where faults of the description leave the signal path unclear.
pub fn trace(setup: &Setup<'_>) -> Option<Vec<Traced>> {
    let signals = setup.signals()?;
    let mut channels: Vec<&Channel> = setup.model.channels.iter().collect();
    channels.sort_by_key(|channel| channel.number.value);
    let used: Vec<(u8, What<'_>, bool)> = setup.used().collect();
    Some(channels.into_iter().map(|channel| traced(setup, signals, channel, &used)).collect())
}

fn traced(setup: &Setup<'_>, signals: &Signals, channel: &Channel, used: &[(u8, What<'_>, bool)]) -> Traced {
    let number = channel.number.value;
    let label = channel.label.as_ref().map(|label| label.value.to_string());
    let label = label.or_else(|| used.iter().find(|(known, ..)| *known == number).map(|(_, what, _)| what.to_string()));
    Traced {
        channel: number,
        label: label.unwrap_or_default(),
        moved_by: moved_by(signals, u16::from(number)),
        rows: rows(setup, signals, channel),
        carried: setup.link.is_none_or(|link| link.carries_channel(number)),
    }
}

/// One row for each position of a switch that stands in the value, or for each value line.
fn rows(setup: &Setup<'_>, signals: &Signals, channel: &Channel) -> Vec<Row> {
    let number = channel.number.value;
    let mut found = Vec::new();
    if matches!(channel.lines.as_slice(), [line] if line.when.is_none()) {
        match switches_of(setup.model, signals, channel).as_slice() {
            [control] => {
                for position in 0..signals.positions(*control) {
                    let fixed = vec![(Handle::Control(*control), Kept::At(Setting::Position(position)))];
                    let within = Within { fixed, ..Within::default() };
                    let when = format!("{} {}", signals.name(*control), signals.position_name(*control, position));
                    found.push(row(setup, signals, number, when, &within));
                }
            }
            _ => found.push(row(setup, signals, number, String::new(), &Within::default())),
        }
        return merged(found);
    }
    let lines = each_line(signals, &channel.lines).into_iter();
    let rows = lines.map(|(when, within)| row(setup, signals, number, when, &within));
    rows.filter(|row| !is_never(&row.when, row.sent)).collect()
}

/// When each of some value lines counts, in words and as what is asked.
fn each_line(signals: &Signals, lines: &[ValueLine]) -> Vec<(String, Within)> {
    let mut before: Vec<Condition> = Vec::new();
    let each = lines.iter().map(|line| {
        let here =
            line.when.as_ref().and_then(|when| signals.lowered().when(when).ok()).unwrap_or(Condition::Constant(true));
        let mut all = before.clone();
        all.push(here.clone());
        before.push(Condition::Not(Box::new(here)));
        let when = line.when.as_ref().map_or_else(|| "otherwise".to_owned(), |when| format!("when {when}"));
        (when, Within { given: Condition::All(all), ..Within::default() })
    });
    let mut each: Vec<_> = each.collect();
    // Where no line holds the value is 0 %, which is as good as a line of its own.
    if lines.last().is_some_and(|line| line.when.is_some()) {
        each.push((NO_LINE.to_owned(), Within { given: Condition::All(before), ..Within::default() }));
    }
    each
}

/// What a channel or a mix reaches; `None` where nothing is received.
fn pulses(signals: &Signals, number: u16, measure: Measure, within: &Within) -> Option<Pulses> {
    Some(match signals.program().range(number, measure, within)? {
        Reach::Range(range) => Pulses::Between(range.low, range.high),
        Reach::Nowhere => Pulses::Never,
        Reach::NotDecided(why) => Pulses::Open(why),
    })
}

/// What a row says of the case that no value line holds.
const NO_LINE: &str = "no line holds: 0 %";

/// Whether a row speaks of the case that no value line holds, which can't occur.
fn is_never(when: &str, reached: Pulses) -> bool {
    when == NO_LINE && reached == Pulses::Never
}

fn row(setup: &Setup<'_>, signals: &Signals, channel: u8, when: String, within: &Within) -> Row {
    let range = |measure| pulses(signals, u16::from(channel), measure, within);
    let received = range(Measure::Received);
    let mut modes = Vec::new();
    for mode in setup.craft.controller.iter().flat_map(|controller| &controller.modes) {
        let on = |(low, high): (f64, f64)| {
            mode.any_of.iter().any(|tests| {
                let mut here = tests.iter().filter(|test| test.channel.value == channel).peekable();
                here.peek().is_some()
                    && here.all(|test| test.range.value.0.to_f64() <= low && high <= test.range.value.1.to_f64())
            })
        };
        if received.and_then(Pulses::range).is_some_and(on) {
            modes.push(mode.name.value.to_string());
        }
    }
    let sent = range(Measure::Sent).unwrap_or(Pulses::Open(Why::NotKnown(u16::from(channel))));
    Row { when, sent, received, modes }
}

/// Neighbouring rows with the same pulses become one.
fn merged(rows: Vec<Row>) -> Vec<Row> {
    let mut merged: Vec<Row> = Vec::new();
    for row in rows {
        match merged.last_mut() {
            Some(last) if last.sent == row.sent && last.received == row.received => {
                last.when = format!("{}, {}", last.when, row.when.rsplit(' ').next().unwrap_or_default());
            }
            _ => merged.push(row),
        }
    }
    merged
}

/// One state or path read out: what every channel, function and mode is then.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Channel, label, percent before output, pulse sent, pulse received.
    pub channels: Vec<(u8, String, f64, f64, Option<f64>)>,
    /// The mixes, in percent; `None` where that is not known.
    pub mixes: Vec<(String, Option<f64>)>,
    /// The functions that the controller reads, in microseconds.
    pub functions: Vec<(String, Option<f64>)>,
    /// The modes; `None` where a pulse is not known.
    pub modes: Vec<(String, Option<bool>)>,
}

/// Reads out a path at its end.
pub fn reading(setup: &Setup<'_>, signals: &Signals, path: &Path) -> Reading {
    let reading = signals.program().play(path);
    let parts = signals.program().parts();
    let mut channels: Vec<_> = reading
        .channels
        .iter()
        .map(|channel| {
            let known = parts.channels.iter().find(|known| known.number == channel.number);
            let label = known.map_or_else(String::new, |known| known.name.to_string());
            let received = channel.received.as_ref().map(float);
            (channel.number as u8, label, float(&channel.percent), float(&channel.sent), received)
        })
        .collect();
    channels.sort_by_key(|channel| channel.0);
    let of = |number: u8| channels.iter().find(|channel| channel.0 == number).and_then(|channel| channel.4);
    let functions = setup.functions().map(|(stick, channel)| (stick.word().to_owned(), of(channel))).collect();
    let modes = parts.modes.iter().zip(&reading.modes).map(|(mode, on)| (mode.name.to_string(), *on)).collect();
    let names = setup.model.mixes.iter().map(|mix| mix.name.value.to_string());
    let mixes = names.zip(&reading.mixes).map(|(name, value)| (name, value.as_ref().map(float))).collect();
    Reading { channels, mixes, functions, modes }
}
