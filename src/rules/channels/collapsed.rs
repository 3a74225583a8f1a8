//! `channels/collapsed`: positions of a switch arrive as one level, though they were sent apart.

use crate::fleet::condition::ValueKind;
use crate::fleet::model::Channel;
use crate::rules::out::Out;
use crate::rules::wording::us;
use crate::setup::{Setup, Signals, float};
use crate::signal::{Carriage, ControlId, Handle, Path, Setting};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let arm = setup.arm_channels();
    for (channel, what, _) in setup.used() {
        let Some(known) = setup.model.channel(channel).filter(|_| !arm.contains(&channel)) else { continue };
        let Some(signals) = setup.signals() else { return };
        let Some(Carriage::Levels(levels)) = signals.program().channel(u16::from(channel)).map(|known| known.carriage)
        else {
            continue;
        };
        for control in switches(signals, known) {
            let count = signals.positions(control);
            // A switch as it is has its positions a level apart or more where the link has as many levels.
            if u32::from(count) <= levels && is_plain(known) {
                continue;
            }
            let read = |position| {
                let set = (Handle::Control(control), Setting::Position(position));
                let reading = signals.program().read_with(&[set], u16::from(channel))?;
                Some((float(&reading.sent), reading.received.as_ref().map(float)?))
            };
            let mut before = read(0);
            let same = (1..count).find_map(|position| {
                let (last, now) = (before, read(position));
                before = now;
                let (last, now) = (last?, now?);
                (last.1 == now.1 && last.0 != now.0).then_some((position, last.0, now.0, now.1))
            });
            let Some((position, first, second, seen)) = same else { continue };
            let name = |position| signals.position_name(control, position);
            let message = format!(
                "\"{}\" at {} is sent as {} and at {} as {}, and both arrive as {} on channel {channel} ({what}): the link keeps {levels} levels there.",
                signals.name(control),
                name(position - 1),
                us(first),
                name(position),
                us(second),
                us(seen)
            );
            out.find_text(setup.in_model(known.header), message)
                .shown_by(signals.witness(&Path::at(signals.start(&[(control, Setting::Position(position))]))));
        }
    }
}

/// The switches that stand in a channel's values.
fn switches(signals: &Signals, channel: &Channel) -> Vec<ControlId> {
    let mut found = Vec::new();
    for line in &channel.lines {
        line.value.walk(&mut |value| {
            if let ValueKind::Control(name) = &value.kind
                && let Some(id) = signals.lowered().control(name)
                && signals.positions(id) > 0
                && !found.contains(&id)
            {
                found.push(id);
            }
        });
    }
    found
}

fn is_plain(channel: &Channel) -> bool {
    let plain = |kind: &ValueKind| matches!(kind, ValueKind::Control(_));
    channel.lines.len() == 1
        && channel.lines.iter().all(|line| plain(&line.value.kind))
        && channel.subtrim.is_none()
        && channel.travel.is_none()
        && channel.centre.is_none()
}
