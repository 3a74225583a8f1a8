//! `failsafe/disagree`: model and receiver state different failsafes.

use super::words;
use crate::fleet::craft::Failsafe;
use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (Some(told), Some(own)) =
        (&setup.model.failsafe, setup.receiver.and_then(|receiver| receiver.failsafe.as_ref()))
    else {
        return;
    };
    let unknown = |failsafe: &Failsafe| failsafe.action.value == FailsafeAction::Unknown;
    if setup.model.simulator.is_some() || unknown(told) || unknown(own) {
        return;
    }
    let (first, second) = (words(told), words(own));
    let message = if first != second {
        format!(
            "The model says that the receiver {first} when the link is lost, and the receiver says that it {second}. The receiver acts."
        )
    } else if let Some((channel, here, there)) = other_pulse(told, own) {
        format!(
            "The stored pulses differ: for channel {channel} the model says {here}, and the receiver says {there}. The receiver acts."
        )
    } else {
        return;
    };
    out.find_text(setup.in_model(told.header), message).other(setup.in_craft(own.header), "what the receiver says");
}

/// The first channel whose stored pulses differ, with both.
fn other_pulse(told: &Failsafe, own: &Failsafe) -> Option<(u8, String, String)> {
    let pulse = |failsafe: &Failsafe, channel: u8| {
        failsafe.preset.iter().find(|pulse| pulse.channel.value == channel).map(|pulse| pulse.pulse.value)
    };
    let say = |pulse: Option<crate::fleet::Decimal>| pulse.map_or("nothing".to_owned(), |pulse| format!("{pulse} us"));
    let channels = told.preset.iter().chain(&own.preset).map(|pulse| pulse.channel.value);
    let differs = channels.map(|channel| (channel, pulse(told, channel), pulse(own, channel)));
    let first = differs.filter(|(_, here, there)| here != there).min_by_key(|(channel, ..)| *channel)?;
    Some((first.0, say(first.1), say(first.2)))
}
