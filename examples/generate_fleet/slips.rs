//! Slips put into a clean file, to have findings to time.

use super::dice::Dice;
use super::outline::Entry;
use super::plan::{Plan, Sort};

/// Changes the file so that about `wanted` more findings are made. The slips that a pilot really makes come first, each once a
/// model; then lines that are never reached, as many as are needed.
pub(crate) fn add(entries: &mut [Entry], plan: &Plan, wanted: u32, dice: &mut Dice) {
    let mut left = wanted;
    for _ in 0..wanted.min(4) {
        left -= u32::from(slip(entries, plan, dice));
    }
    // A model that is like another has the other's channels.
    let mut models = blocks(entries, "model ");
    models.retain(|body| first_channel(body).is_some());
    let share = left.div_ceil(models.len() as u32);
    for body in models {
        let extra = share.min(left);
        if extra > 0 {
            dead_lines(body, plan.sort, extra, dice);
        }
        left -= extra;
    }
}

/// The bodies of the blocks whose head starts so.
fn blocks<'e>(entries: &'e mut [Entry], start: &str) -> Vec<&'e mut Vec<Entry>> {
    entries
        .iter_mut()
        .filter_map(|entry| match entry {
            Entry::Block(head, body) if head.starts_with(start) => Some(body),
            _ => None,
        })
        .collect()
}

/// Makes one of the slips of the trade; false where that slip does not suit this file or was made before.
fn slip(entries: &mut [Entry], plan: &Plan, dice: &mut Dice) -> bool {
    let multirotor = plan.sort.has_controller();
    match dice.between(1, 5) {
        1 if multirotor => replace(entries, "stick-filter off", "stick-filter on"),
        2 if multirotor => replace(entries, "order A E T R", "order E A T R"),
        3 if plan.sort == Sort::Racer => replace(entries, "send-on chain 1", "send-on chains 1, 2"),
        4 if multirotor => replace(entries, "trainer off", "trainer when shoulder down gives roll"),
        5 => replace(entries, &format!("number {}", plan.receiver_number), "number 24"),
        _ => false,
    }
}

/// Replaces the first line that reads so.
fn replace(entries: &mut [Entry], line: &str, with: &str) -> bool {
    entries.iter_mut().any(|entry| match entry {
        Entry::Line(text) if text == line => {
            *text = with.to_string();
            true
        }
        Entry::Block(_, body) => replace(body, line, with),
        _ => false,
    })
}

/// Where the first channel stands in a model.
fn first_channel(body: &[Entry]) -> Option<usize> {
    body.iter().position(|entry| matches!(entry, Entry::Line(text) if text.starts_with("channel 1 ")))
}

/// Adds lines that no position reaches, in a channel that the aircraft reads.
fn dead_lines(body: &mut [Entry], sort: Sort, count: u32, dice: &mut Dice) {
    let switch = if sort == Sort::Surveyor { "shoulder" } else { "left-rear" };
    let Some(place) = first_channel(body) else { return };
    let whole = match &body[place] {
        Entry::Line(text) => text.split_once(" = ").map_or("roll", |(_, value)| value).to_string(),
        _ => return,
    };
    let mut lines = vec![Entry::line(format!("value {whole}"))];
    for _ in 0..count {
        lines.push(Entry::line(format!("value {} % * roll when {switch} up", dice.between(60, 95))));
    }
    body[place] = Entry::block("channel 1", lines);
}
