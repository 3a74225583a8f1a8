//! `channels/lost-signal`: a pulse that the controller takes for a lost link.

use crate::rules::out::{Out, replace};
use crate::rules::wording::us;
use crate::setup::signals::{above, below};
use crate::setup::{Setup, float, number};
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(valid) = setup.craft.controller.as_ref().and_then(|controller| controller.valid) else { return };
    let Some((centre, span)) = setup.handset.and_then(|handset| handset.scale.as_ref()).map(|scale| scale.value) else {
        return;
    };
    let (low, high) = (valid.value.0.to_f64(), valid.value.1.to_f64());
    for (channel, what, _) in setup.used() {
        let Some(known) = setup.model.channel(channel) else { continue };
        let middle = known.centre.map_or(centre, |centre| centre.value).to_f64();
        let (least, most) =
            known.travel.map_or((-100.0, 100.0), |travel| (travel.value.0.to_f64(), travel.value.1.to_f64()));
        let pulse = |percent: f64| middle + span.to_f64() * percent / 100.0;
        // The clamp keeps it inside: nothing to ask.
        if pulse(least) >= low && pulse(most) <= high {
            continue;
        }
        let Some(signals) = setup.signals() else { return };
        let place = setup.in_model(known.header);
        for bounds in [below(number(valid.value.0)), above(number(valid.value.1))] {
            let Some(Answer::Yes(witness)) = out.ask(signals, &Question::received(u16::from(channel), bounds), place)
            else {
                continue;
            };
            let reading = signals.program().play(&witness.path);
            let Some(seen) = reading.channel(u16::from(channel)).and_then(|seen| seen.received.as_ref()) else {
                continue;
            };
            let message = format!(
                "Channel {channel} ({what}) can read {}, outside {} to {} us: the controller takes that for a lost link.",
                us(float(seen)),
                valid.value.0,
                valid.value.1
            );
            let finding = out.find_text(place, message);
            finding
                .shown_by(signals.witness(&witness.path))
                .other(setup.in_craft(valid.span), "the pulses that count as a signal");
            let fits = |pulse: f64| ((pulse - middle) / span.to_f64() * 100.0).trunc();
            let text = format!("travel {}..{} %", fits(low).max(least), fits(high).min(most));
            if let Some(travel) = known.travel {
                finding.mend_sure(format!("write `{text}`"), vec![replace(&setup.model.head, travel.span, text)]);
            }
            break;
        }
    }
}
