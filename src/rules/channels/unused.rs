//! `channels/unused`: a channel that no aircraft of the model reads.

use crate::rules::out::Out;
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let model = view.model;
    let known = !view.setups.is_empty()
        && view.setups.len() == model.flies.len()
        && view.setups.iter().all(|setup| setup.reads_are_known());
    if !known || model.simulator.is_some() {
        return;
    }
    let used = |number: u8| view.setups.iter().flat_map(|setup| setup.used()).any(|(channel, ..)| channel == number);
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
        let carried = view.setups.iter().all(|setup| setup.link.is_none_or(|link| link.carries_channel(number)));
        if !feeds && !watched && carried {
            out.find_text(
                model.head.place(channel.header),
                format!("No aircraft of this model reads channel {number}."),
            );
        }
    }
}
