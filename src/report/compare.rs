//! What a change does to the aircraft, for people and for programs.

use super::json::{to_writer, witness_value};
use super::paint::Paint;
use super::paragraphs::wrapped;
use super::plain::plain;
use super::witness::{list, number, standing, way};
use crate::compare::{Change, Comparison, Example, Subject, Told, What};
use crate::findings::{Severity, Witness};
use crate::rules::matrix::Connects;
use serde_json::{Value, json};
use std::io::{self, Write};

/// The version of the JSON form; it rises when something is taken away or changes its meaning.
pub const VERSION: u32 = 1;

/// Writes the comparison for people. `sides` are what was compared, in words.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(
    comparison: &Comparison,
    sides: [&str; 2],
    paint: Paint,
    width: usize,
    out: &mut dyn Write,
) -> io::Result<()> {
    let width = width.max(40);
    for subject in &comparison.subjects {
        let kind = if subject.kind == "aircraft" { String::new() } else { format!("{} ", subject.kind) };
        let before = subject.before.as_ref().map_or_else(String::new, |name| format!(" (before: {})", plain(name)));
        writeln!(out, "{}", paint.head(&format!("{kind}{}{before}", plain(&subject.name))))?;
        for (line, worst) in lines(subject) {
            let severity = match worst {
                4.. => Some(Severity::Danger),
                2..=3 => Some(Severity::Caution),
                _ => None,
            };
            for (number, part) in wrapped(&line, width - 4).into_iter().enumerate() {
                let lead = if number == 0 { "  " } else { "    " };
                match severity.filter(|_| number == 0) {
                    Some(severity) => writeln!(out, "{lead}{}", paint.severity(severity, &part))?,
                    None => writeln!(out, "{lead}{part}")?,
                }
            }
        }
        for open in &subject.open {
            let line = format!("not decided: {} ({})", plain(&open.what), plain(&open.why));
            for (number, part) in wrapped(&line, width - 4).into_iter().enumerate() {
                writeln!(out, "{}{part}", if number == 0 { "  " } else { "    " })?;
            }
        }
        writeln!(out)?;
    }
    for (word, told) in [("comes", &comparison.came), ("goes", &comparison.went)] {
        for one in told {
            let aircraft =
                if one.aircraft.is_empty() { String::new() } else { format!(" ({})", one.aircraft.join(", ")) };
            let head = paint.severity(one.severity.0, one.severity.0.word());
            let line = format!("{}{}: {}", one.rule, plain(&aircraft), plain(&one.message));
            let mut parts = wrapped(&line, width - 16).into_iter();
            writeln!(out, "{word}: {head} {}", parts.next().unwrap_or_default())?;
            parts.try_for_each(|part| writeln!(out, "    {part}"))?;
        }
    }
    if !(comparison.came.is_empty() && comparison.went.is_empty()) {
        writeln!(out)?;
    }
    let end = closing(comparison, sides);
    wrapped(&end, width).into_iter().try_for_each(|line| writeln!(out, "{line}"))
}

/// What it comes to, in a sentence or three.
pub(super) fn closing(comparison: &Comparison, [old, new]: [&str; 2]) -> String {
    let (old, new) = (plain(old), plain(new));
    let (subjects, same) = (comparison.subjects.len(), comparison.same);
    let aircraft =
        |count: usize| if count == 1 { "1 aircraft does".to_owned() } else { format!("{count} aircraft do") };
    let mut end = match (subjects, same) {
        (0, 0) => format!("From {old} to {new}: no aircraft is described on both sides."),
        (0, _) => format!("From {old} to {new}: {} the same as before.", aircraft(same)),
        (_, 0) => format!("From {old} to {new}."),
        _ => format!("From {old} to {new}: {} the same as before.", aircraft(same)),
    };
    if comparison.faults != (0, 0) {
        let (before, now) = comparison.faults;
        end += &format!(
            " The description has {now} {} (before: {before}), so this may not be all: `walkaround inspect` shows where.",
            if now == 1 { "fault" } else { "faults" }
        );
    }
    if subjects > 0 {
        end += " Try what is new on the bench, propellers off.";
    }
    end
}

/// So many channels are told of one example at most.
const CHANNELS_AT_MOST: usize = 4;

/// A line for each of the positions that show something, and for each thing that needs none, with the worst in it.
fn lines(subject: &Subject) -> Vec<(String, u8)> {
    /// What is told of one example, or of none: where it is so, under which models, and the words.
    struct Line {
        positions: String,
        over: Option<String>,
        models: Vec<String>,
        words: Vec<String>,
        channels: usize,
        worst: u8,
    }
    let mut lines: Vec<Line> = Vec::new();
    let moved = moved(&subject.changes);
    for (at, change) in subject.changes.iter().enumerate() {
        if moved.iter().any(|(gone, _)| *gone == at) {
            continue;
        }
        let positions = change.example.as_ref().map_or_else(String::new, |example| positions(example));
        let models: Vec<String> = change.model.iter().cloned().collect();
        let is_pulse = matches!(change.what, What::Pulse { .. });
        let same = |line: &&mut Line| {
            !positions.is_empty() && line.positions == positions && line.over == change.over && line.models == models
        };
        let from = moved.iter().find(|(_, come)| *come == at).and_then(|(gone, _)| subject.changes.get(*gone));
        let words = match from {
            Some(from) => moved_in_words(&from.what, &change.what),
            None => in_words(change),
        };
        match lines.iter_mut().find(same) {
            Some(line) => {
                line.channels += usize::from(is_pulse);
                if !is_pulse || line.channels <= CHANNELS_AT_MOST {
                    line.words.push(words);
                }
            }
            None => lines.push(Line {
                positions,
                over: change.over.clone(),
                models,
                words: vec![words],
                channels: usize::from(is_pulse),
                worst: change.weight(),
            }),
        }
    }
    // What is so under several models is told once.
    let mut told: Vec<Line> = Vec::new();
    for line in lines {
        let same = |known: &&mut Line| {
            (&known.positions, &known.over, &known.words) == (&line.positions, &line.over, &line.words)
        };
        match told.iter_mut().find(same) {
            Some(known) => known.models.extend(line.models),
            None => told.push(line),
        }
    }
    let text = |line: Line| {
        let mut text = String::new();
        // Which model it is goes without saying where there is no other.
        if !line.models.is_empty() && line.models.len() < subject.models.len() {
            let models = list(line.models.iter().map(|model| format!("\"{}\"", plain(model))));
            text += &format!("under {models}: ");
        }
        if let Some(link) = &line.over {
            text += &format!("over link {}: ", plain(link));
        }
        text += &line.positions;
        text += &line.words.join("; ");
        match line.channels.saturating_sub(CHANNELS_AT_MOST) {
            0 => {}
            1 => text += "; and 1 more channel",
            more => text += &format!("; and {more} more channels"),
        }
        (text, line.worst)
    };
    told.into_iter().map(text).collect()
}

/// What is sent on another channel than before, as the places of the two changes that say so: one channel is no longer sent and one
/// is that was not, the same controls move them, and they are for the same.
fn moved(changes: &[Change]) -> Vec<(usize, usize)> {
    let mut moved: Vec<(usize, usize)> = Vec::new();
    for (gone, before) in changes.iter().enumerate() {
        let What::Defined { label, movers, arrives: true, now: false, .. } = &before.what else { continue };
        let is_same = |(come, after): &(usize, &Change)| {
            let What::Defined { label: l, movers: m, arrives: true, now: true, .. } = &after.what else { return false };
            (l, m, &after.model, &after.over) == (label, movers, &before.model, &before.over)
                && !movers.is_empty()
                && moved.iter().all(|(_, taken)| taken != come)
        };
        let mut matching = changes.iter().enumerate().filter(is_same);
        // Of two that come nobody knows which it is.
        if let (Some((come, _)), None) = (matching.next(), matching.next()) {
            moved.push((gone, come));
        }
    }
    moved
}

/// The same in words.
fn moved_in_words(before: &What, after: &What) -> String {
    let (What::Defined { channel: from, movers, .. }, What::Defined { channel: to, label, .. }) = (before, after)
    else {
        return String::new();
    };
    let label = if label.is_empty() { String::new() } else { format!(" ({label})") };
    let movers = list(movers.iter().cloned());
    plain(&format!("what {movers} moves{label} is sent on channel {to} now, and no longer on channel {from}"))
        .into_owned()
}

/// The positions of an example, as the start of a sentence.
pub(super) fn positions(example: &Example) -> String {
    let settings = |witness: &Witness| witness.path.iter().map(Vec::len).sum::<usize>();
    // A control that one side alone has is named by that side.
    let witness = if settings(&example.old) > settings(&example.new) { &example.old } else { &example.new };
    match witness.path.as_slice() {
        [] => "at rest, ".to_owned(),
        [start] if witness.trims.is_empty() => match start.is_empty() {
            true => "at rest, ".to_owned(),
            false => format!("with {}, ", list(start.iter().map(|set| standing(witness.hands, set)))),
        },
        _ => format!("{} Then: ", way(witness).trim_end()),
    }
}

/// What is otherwise, as it was, and as it is.
pub(super) fn side_by_side(what: &What) -> [String; 3] {
    let either = |now: &bool, yes: &str, no: &str| {
        let word = |is: bool| if is { yes } else { no }.to_owned();
        [word(!now), word(*now)]
    };
    let of_channel = |channel: &u16, label: &str| {
        if label.is_empty() { format!("channel {channel}") } else { format!("channel {channel} ({label})") }
    };
    let stated = |all: &[String]| if all.is_empty() { "not stated".to_owned() } else { all.join("; ") };
    let (what, [old, new]) = match what {
        What::Mode { name, now } if name == "arm" => ("asks to arm".to_owned(), either(now, "yes", "no")),
        What::Mode { name, now } => (format!("mode {name}"), either(now, "on", "off")),
        What::Still { channel, now } => {
            (format!("motor on channel {channel}"), either(now, "stands still", "does not stand still"))
        }
        What::Condition { name, now } => (name.clone(), either(now, "holds", "does not hold")),
        What::Pulse { channel, label, old, new, modes: (was, is), way } => {
            let told = !(was.is_empty() && is.is_empty());
            let of = |us: f64, names: &[String]| {
                let modes = if told { format!(" ({})", modes(names)) } else { String::new() };
                format!("{} us{modes}", number(us))
            };
            let way = if way.is_empty() { String::new() } else { format!(": {way}") };
            (format!("{}{way}", of_channel(channel, label)), [of(*old, was), of(*new, is)])
        }
        What::Position { control, position, reads } => {
            let read = |(channel, us, on): &(u16, f64, Vec<String>)| {
                let on = if on.is_empty() { String::new() } else { format!(" ({})", modes(on)) };
                format!("channel {channel} {} us{on}", number(*us))
            };
            let reads = match reads.as_slice() {
                [] => "nothing is otherwise than at rest".to_owned(),
                reads => list(reads.iter().map(read)),
            };
            (format!("{control} {position}"), ["no such position".to_owned(), reads])
        }
        What::Defined { channel, label, arrives, now, .. } => {
            let sent = if *arrives { "sent" } else { "sent, and not carried by the link" };
            (of_channel(channel, label), either(now, sent, "not sent"))
        }
        What::Exchanged { channels: [one, other], labels: [a, b], movers: [by_one, by_other] } => {
            let moved = |first: &[String], second: &[String]| {
                let by = |movers: &[String]| {
                    if movers.is_empty() { "nothing".to_owned() } else { list(movers.iter().cloned()) }
                };
                format!("{one} moved by {}; {other} moved by {}", by(first), by(second))
            };
            let both = format!("{} and {}: places", of_channel(one, a), of_channel(other, b));
            (both, [moved(by_other, by_one), moved(by_one, by_other)])
        }
        What::Carried { channel, label, now } => {
            (of_channel(channel, label), either(now, "carried by the link", "not carried by the link"))
        }
        What::Connects { model, old, new, listed } => {
            let word = |connects: Connects| match connects {
                Connects::Yes => "connects",
                Connects::Depends => "may connect",
                Connects::No => "does not connect",
            };
            let meant = if *listed { "" } else { ", which is not meant for it" };
            (format!("model \"{model}\"{meant}"), [old.map_or("was not there", word).to_owned(), word(*new).to_owned()])
        }
        What::Statement { about, within, old, new } => {
            let within = if within.is_empty() { about } else { within };
            (within.clone(), [stated(old), stated(new)])
        }
        What::NotReadable => {
            ("one side can't be put together, so that nothing is compared".to_owned(), Default::default())
        }
        What::New => ("the whole".to_owned(), ["not described".to_owned(), "described".to_owned()]),
        What::Gone => ("the whole".to_owned(), ["described".to_owned(), "not described".to_owned()]),
    };
    [what, old, new].map(|text| plain(&text).into_owned())
}

fn modes(names: &[String]) -> String {
    if names.is_empty() { "no mode".to_owned() } else { names.join(", ") }
}

/// A change in the pilot's words, without its positions.
fn in_words(change: &Change) -> String {
    let text = match &change.what {
        What::Mode { name, now } if name == "arm" => match now {
            true => "it now asks to arm".to_owned(),
            false => "it no longer asks to arm".to_owned(),
        },
        What::Mode { name, now: true } => format!("mode {name} is on now"),
        What::Mode { name, now: false } => format!("mode {name} is no longer on"),
        What::Still { channel, now: true } => format!("the motor on channel {channel} now stands still"),
        What::Still { channel, now: false } => format!("the motor on channel {channel} no longer stands still"),
        What::Condition { name, now: true } => format!("{name} holds now"),
        What::Condition { name, now: false } => format!("{name} no longer holds"),
        What::Pulse { channel, label, old, new, modes: (was, is), way } => {
            let label = if label.is_empty() { String::new() } else { format!(" ({label})") };
            let told = !(was.is_empty() && is.is_empty());
            let of = |names: &[String]| if told { format!(" ({})", modes(names)) } else { String::new() };
            let way = if way.is_empty() { String::new() } else { format!(": {way}") };
            format!(
                "channel {channel}{label} was {} us{}, now {} us{}{way}",
                number(*old),
                of(was),
                number(*new),
                of(is)
            )
        }
        What::Position { control, position, reads } => {
            let read = |(channel, us, on): &(u16, f64, Vec<String>)| {
                let on = if on.is_empty() { String::new() } else { format!(" ({})", modes(on)) };
                format!("channel {channel} is {} us{on}", number(*us))
            };
            let reads = match reads.as_slice() {
                [] => "nothing is otherwise than at rest".to_owned(),
                reads => list(reads.iter().map(read)),
            };
            format!("{control} has a position that it did not have, {position}: {reads} there")
        }
        What::Defined { channel, label, movers, arrives, now } => {
            let label = if label.is_empty() { String::new() } else { format!(" ({label})") };
            let movers = match movers.as_slice() {
                [] => String::new(),
                [one] => format!("; {one} moves it"),
                several => format!("; {} move it", list(several.iter().cloned())),
            };
            match (now, arrives) {
                (true, true) => format!("channel {channel}{label} is sent now, and was not{movers}"),
                (true, false) => {
                    format!("channel {channel}{label} is sent now, and does not arrive: the link does not carry it")
                }
                (false, _) => format!("channel {channel}{label} is no longer sent"),
            }
        }
        What::Exchanged { channels: [one, other], labels, movers: [by_one, by_other] } => {
            let [a, b] = labels.each_ref().map(|it| if it.is_empty() { String::new() } else { format!(" ({it})") });
            let moves = |movers: &[String], channel: &u16| match movers {
                [] => format!("nothing moves channel {channel}"),
                [control] => format!("{control} moves channel {channel}"),
                several => format!("{} move channel {channel}", list(several.iter().cloned())),
            };
            format!(
                "channels {one}{a} and {other}{b} have changed places, each does exactly what the other did: {} now, and {}",
                moves(by_one, one),
                moves(by_other, other)
            )
        }
        What::Carried { channel, label, now } => {
            let label = if label.is_empty() { String::new() } else { format!(" ({label})") };
            match now {
                true => format!("channel {channel}{label} arrives now; the link did not carry it"),
                false => format!("channel {channel}{label} no longer arrives: the link does not carry it"),
            }
        }
        What::Connects { model, old, new, listed } => {
            let word = |connects: Connects| match connects {
                Connects::Yes => "connects to it",
                Connects::Depends => "may connect to it",
                Connects::No => "does not connect to it",
            };
            let meant = if *listed { "" } else { ", which it is not meant for" };
            let before = old.map_or_else(String::new, |old| format!(" (before: {})", word(old)));
            format!("model \"{model}\"{meant}, now {}{before}", word(*new))
        }
        What::Statement { within, old, new, .. } => {
            let quoted = |all: &[String]| list(all.iter().map(|text| format!("`{text}`")));
            match (old.as_slice(), new.as_slice()) {
                (old, new) if old == new => format!("{} names something else now", quoted(old)),
                ([], new) if within.is_empty() => format!("new: {}", quoted(new)),
                (old, []) if within.is_empty() => format!("gone: {}", quoted(old)),
                ([], new) => format!("new in {within}: {}", quoted(new)),
                (old, []) => format!("gone from {within}: {}", quoted(old)),
                (old, new) => {
                    let within = if within.is_empty() { String::new() } else { format!("{within}: ") };
                    format!("{within}was {}, now {}", quoted(old), quoted(new))
                }
            }
        }
        What::NotReadable => "one side can't be put together, so that nothing is compared".to_owned(),
        What::New => "is described now, and was not".to_owned(),
        What::Gone => "is no longer described".to_owned(),
    };
    plain(&text).into_owned()
}

/// Writes the comparison as one JSON value.
///
/// # Errors
/// When `out` can't be written to.
pub fn write_json(comparison: &Comparison, sides: [&str; 2], out: &mut dyn Write) -> io::Result<()> {
    let change = |change: &Change| {
        json!({
            "what": kind(&change.what),
            "facts": facts(&change.what),
            "words": in_words(change),
            "model": change.model,
            "over": change.over,
            "example": change.example.as_ref().map(|example| json!({
                "before": witness_value(&example.old),
                "now": witness_value(&example.new),
            })),
        })
    };
    let subject = |subject: &Subject| {
        json!({
            "kind": subject.kind,
            "name": subject.name,
            "before": subject.before,
            "models": subject.models,
            "changes": subject.changes.iter().map(change).collect::<Vec<_>>(),
            "not_decided": subject.open.iter().map(|open| json!({"what": open.what, "why": open.why})).collect::<Vec<_>>(),
        })
    };
    let told = |told: &Told| {
        let severity = told.severity.0.word();
        json!({"severity": severity, "rule": told.rule, "message": told.message, "aircraft": told.aircraft})
    };
    let value = json!({
        "version": VERSION,
        "old": sides[0],
        "new": sides[1],
        "subjects": comparison.subjects.iter().map(subject).collect::<Vec<_>>(),
        "came": comparison.came.iter().map(told).collect::<Vec<_>>(),
        "went": comparison.went.iter().map(told).collect::<Vec<_>>(),
        "same": comparison.same,
        "faults": {"before": comparison.faults.0, "now": comparison.faults.1},
    });
    to_writer(&value, out)
}

const fn kind(what: &What) -> &'static str {
    match what {
        What::Mode { .. } => "mode",
        What::Still { .. } => "motor",
        What::Condition { .. } => "condition",
        What::Pulse { .. } => "pulse",
        What::Position { .. } => "position",
        What::Defined { .. } => "channel",
        What::Exchanged { .. } => "exchanged",
        What::Carried { .. } => "carried",
        What::Connects { .. } => "connects",
        What::Statement { .. } => "statement",
        What::NotReadable => "not readable",
        What::New => "new",
        What::Gone => "gone",
    }
}

fn facts(what: &What) -> Value {
    let connects = |connects: Connects| match connects {
        Connects::Yes => "connects",
        Connects::Depends => "depends",
        Connects::No => "does not",
    };
    match what {
        What::Mode { name, now } => json!({"mode": name, "now_on": now}),
        What::Condition { name, now } => json!({"condition": name, "now_holds": now}),
        What::Still { channel, now } => json!({"channel": channel, "now_still": now}),
        What::Pulse { channel, label, old, new, modes: (was, is), way } => json!({
            "channel": channel, "label": label, "old_us": old, "new_us": new, "old_modes": was, "new_modes": is, "way": way,
        }),
        What::Position { control, position, reads } => {
            let read = |(channel, us, on): &(u16, f64, Vec<String>)| json!({"channel": channel, "us": us, "modes": on});
            json!({"control": control, "position": position, "reads": reads.iter().map(read).collect::<Vec<_>>()})
        }
        What::Defined { channel, label, movers, arrives, now } => {
            json!({"channel": channel, "label": label, "movers": movers, "arrives": arrives, "now": now})
        }
        What::Exchanged { channels, labels, movers } => {
            json!({"channels": channels, "labels": labels, "movers": movers})
        }
        What::Carried { channel, label, now } => json!({"channel": channel, "label": label, "now": now}),
        What::Connects { model, old, new, listed } => {
            json!({"model": model, "old": old.map(connects), "new": connects(*new), "listed": listed})
        }
        What::Statement { about, within, old, new } => {
            json!({"about": about, "within": within, "old": old, "new": new})
        }
        What::NotReadable | What::New | What::Gone => json!({}),
    }
}
