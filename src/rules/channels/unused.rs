//! `channels/unused`: a channel that no aircraft of the model reads.

use crate::rules::out::Out;
use crate::rules::subject::{ModelView, Pair};

pub(in crate::rules) fn check(view: &ModelView<'_>, out: &mut Out<'_>) {
    let model = view.model;
    let known =
        !view.pairs.is_empty() && view.pairs.len() == model.flies.len() && view.pairs.iter().all(Pair::reads_are_known);
    if !known || model.simulator.is_some() {
        return;
    }
    let used = |number: u8| view.pairs.iter().flat_map(|pair| pair.used()).any(|(channel, ..)| channel == number);
    for channel in &model.channels {
        let number = channel.number.value;
        if used(number) {
            continue;
        }
        // A channel that feeds another, a condition or a timer has a job.
        let feeds = model.channels.iter().flat_map(|other| &other.lines).any(|line| {
            let mut found = false;
            line.value.walk(&mut |value| {
                found |= matches!(&value.kind, crate::fleet::condition::ValueKind::Channel(other) if other.value == number);
            });
            found
        });
        let watched = model.all_conditions().any(|condition| {
            let mut found = false;
            condition.walk(&mut |part| {
                found |= matches!(&part.kind, crate::fleet::condition::ConditionKind::Channel { channel, .. } if channel.value == number);
            });
            found
        });
        let carried = view.pairs.iter().all(|pair| pair.link.is_none_or(|link| link.carries_channel(number)));
        if !feeds && !watched && carried {
            out.find(model.head.place(channel.header), format!("No aircraft of this model reads channel {number}."));
        }
    }
}
