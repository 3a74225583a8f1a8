//! What is shown between the lines: the pulses that arrive, what a block has from the one that it is like, and the verdict over each
//! model.

use super::hover::{channel_of, name_of, rows};
use super::text::Text;
use crate::findings::caution::{Caution, before_the_bench};
use crate::findings::outcome::Outcome;
use crate::fleet::Fleet;
use crate::fleet::table;
use crate::inspect::Workspace;
use crate::report::plain::plain;
use crate::report::traced::{movers, span};
use crate::report::verdict::in_words;
use crate::setup::ModelSetup;
use crate::setup::trace::{Pulses, Traced, trace};
use crate::source::Span;
use crate::syntax::{Tables, parse};

/// A few words behind a byte.
#[derive(Debug)]
pub(super) struct Hint {
    pub(super) at: u32,
    pub(super) text: String,
}

/// The hints for the statements of a text in a range.
pub(super) fn hints(workspace: &Workspace, text: &Text<'_>, range: Span) -> Vec<Hint> {
    let mut found = Vec::new();
    for top in text.tables.body(None) {
        let whole = text.tables.whole(top);
        if whole.end < range.start || range.end < whole.start {
            continue;
        }
        found.extend(inherited(workspace, text, top));
        found.extend(arriving(workspace, text, top));
    }
    found.retain(|hint| range.start <= hint.at && hint.at <= range.end);
    found
}

/// So many statements are named that a block has from another.
const NAMED_AT_MOST: usize = 6;

/// What a block has from the one that it is like.
fn inherited(workspace: &Workspace, text: &Text<'_>, top: u32) -> Option<Hint> {
    let statement = text.statement(top)?;
    let (kind, name) = name_of(text, top)?;
    let is_like = text.tables.items(statement).iter().any(|item| text.str(item.span()) == "like");
    let whole = workspace.spelled_out(kind, &name).filter(|_| is_like)?;
    let mut tables = Tables::default();
    parse(whole.as_bytes(), table::vocabulary, &mut tables);
    let key = |tables: &Tables, bytes: &[u8], index: u32| {
        let statement = tables.statements.get(index as usize)?;
        let word = String::from_utf8_lossy(tables.word(statement).of(bytes)).into_owned();
        let first = tables.items(statement).first().map(|item| String::from_utf8_lossy(item.of(bytes)).into_owned());
        Some(match first.filter(|_| word == "channel") {
            Some(number) => format!("{word} {number}"),
            None => word,
        })
    };
    let own: Vec<String> =
        text.tables.body(Some(top)).filter_map(|index| key(&text.tables, text.bytes, index)).collect();
    let outer = tables.body(None).next()?;
    let mut others: Vec<String> =
        tables.body(Some(outer)).filter_map(|index| key(&tables, whole.as_bytes(), index)).collect();
    others.retain(|one| !own.contains(one));
    others.dedup();
    let count = others.len();
    others.truncate(NAMED_AT_MOST);
    if count > others.len() {
        others.push(format!("{} more", count - others.len()));
    }
    let at = text.tables.header(statement).end;
    (count > 0).then(|| Hint { at, text: plain(&format!("has from there: {}", others.join(", "))).into_owned() })
}

/// The channels of a model, with each of its aircraft; none where the block is no model.
fn traced(workspace: &Workspace, text: &Text<'_>, top: u32) -> Vec<(String, Vec<Traced>)> {
    let Some((Fleet::MODEL, name)) = name_of(text, top) else { return Vec::new() };
    let Some(model) = workspace.fleet().model(&name) else { return Vec::new() };
    let context = workspace.context();
    let view = ModelSetup::new(&context, model);
    let setups = view.setups.iter();
    setups.filter_map(|setup| Some((setup.craft.head.name.value.to_string(), trace(setup)?))).collect()
}

/// The pulses that arrive on the channels of a model, with the first of its aircraft.
fn arriving(workspace: &Workspace, text: &Text<'_>, top: u32) -> Vec<Hint> {
    let Some((_, channels)) = traced(workspace, text, top).into_iter().next() else { return Vec::new() };
    let hint = |index: u32| {
        let number = channel_of(text, index)?;
        let channel = channels.iter().find(|known| known.channel == number.value)?;
        let arriving = channel.rows.iter().map(|row| row.received);
        let text_of = match arriving.collect::<Option<Vec<Pulses>>>() {
            None => "does not arrive".to_owned(),
            Some(rows) => {
                let ranges = rows.iter().filter(|row| **row != Pulses::Never).map(|row| row.range());
                let ranges = ranges.collect::<Option<Vec<(f64, f64)>>>()?;
                let low = ranges.iter().map(|range| range.0).reduce(f64::min)?;
                let high = ranges.iter().map(|range| range.1).reduce(f64::max)?;
                format!("arrives as {} us", span(Pulses::Between(low, high)))
            }
        };
        Some(Hint { at: text.tables.header(text.statement(index)?).end, text: text_of })
    };
    text.tables.body(Some(top)).filter_map(hint).collect()
}

/// The models of a text: name and place of the header.
pub(super) fn models(text: &Text<'_>) -> Vec<(String, Span)> {
    let tops = text.tables.body(None).filter_map(|top| {
        let (kind, name) = name_of(text, top)?;
        (kind == Fleet::MODEL).then(|| Some((name.to_string(), text.tables.header(text.statement(top)?))))?
    });
    tops.collect()
}

/// The verdicts of the aircraft that a model flies, in words.
pub(super) fn verdicts(workspace: &Workspace, outcome: &Outcome, model: &str) -> Vec<String> {
    let flies = workspace.fleet().model(model).map_or(&[][..], |model| &model.flies);
    let told = flies.iter().filter_map(|craft| {
        let known = outcome.aircraft.iter().find(|known| known.name == craft.value)?;
        let counts = known.counts;
        let words = in_words(known.verdict, outcome.coverage.of(&known.name));
        let counted =
            [(counts.fault, "fault"), (counts.danger, "danger"), (counts.caution, "caution"), (counts.note, "note")];
        let counted: Vec<String> = counted
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, word)| format!("{count} {word}{}", if count == 1 { "" } else { "s" }))
            .collect();
        let counted = if counted.is_empty() { String::new() } else { format!(" ({})", counted.join(", ")) };
        Some(plain(&format!("{}: {words}{counted}", craft.value)).into_owned())
    });
    told.collect()
}

/// What the flight controller receives from a model, as a table of text; `None` where no such model is known.
pub(super) fn trace_of(workspace: &Workspace, text: &Text<'_>, model: &str) -> Option<String> {
    let top = text
        .tables
        .body(None)
        .find(|top| name_of(text, *top).is_some_and(|(kind, name)| kind == Fleet::MODEL && name == model))?;
    let mut out = String::new();
    let mut seen = Vec::new();
    for (craft, channels) in traced(workspace, text, top) {
        out += &format!("{} flies {}\n", plain(model), plain(&craft));
        seen.extend(workspace.fleet().craft(&craft).map(Caution::of));
        for channel in channels {
            let lost = if channel.carried { "" } else { "  NOT CARRIED by the link" };
            let head =
                format!("channel {:<3}{:<14} {}{lost}", channel.channel, channel.label, movers(&channel.moved_by));
            out += &format!("\n{}\n", plain(&head));
            rows(&channel).lines().for_each(|line| out += &format!("  {line}\n"));
        }
    }
    out += &format!("\nPulses in microseconds. {}\n", before_the_bench(seen));
    Some(out)
}
