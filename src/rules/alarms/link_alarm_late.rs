//! `alarms/link-alarm-late`: the link alarm sounds when there is hardly any link left.

use crate::fleet::model::AlarmKind;
use crate::fleet::{Decimal, Dimension};
use crate::rules::out::{Out, choice, replace};
use crate::setup::alarms::sensitivity;
use crate::setup::{Bay, ModelSetup, Setup};

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let head = &view.model.head;
    for alarm in &view.model.alarms {
        match alarm.kind {
            AlarmKind::LinkQuality(quality) => {
                let least = out.parameter("quality", Dimension::Percent);
                if quality.value >= least {
                    continue;
                }
                let message = format!(
                    "The alarm sounds at a link quality below {} %, when the link can go at any moment.",
                    quality.value
                );
                let edit = replace(head, quality.span, format!("{least} %"));
                let choices = vec![choice(format!("sound the alarm at {least} %"), vec![edit])];
                out.find_text(head.place(alarm.span), message)
                    .mend_choices(format!("Raise the alarm to {least} % or more."), choices);
            }
            AlarmKind::Signal(signal) => {
                let above = out.parameter("above-sensitivity", Dimension::Loss).to_f64();
                // The alarm must be in time for every aircraft that the model flies.
                let bays = view.setups.iter().filter_map(|setup| setup.bay.filter(|bay| is_heard(setup, bay)));
                let needed = bays.filter_map(|bay| Some((sensitivity(&bay)?, bay)));
                let needed = needed.reduce(|best, next| if next.0 > best.0 { next } else { best });
                let Some((least, bay)) = needed else { continue };
                let level = signal.value.to_f64();
                if level >= least + above - 1e-9 {
                    continue;
                }
                let rate = bay.module.update_rate.map_or(Decimal::default(), |rate| rate.value);
                let message = format!(
                    "The alarm sounds at {} dBm, {:.0} dB over the {least} dBm that the link needs at {rate} Hz.",
                    signal.value,
                    level - least
                );
                let text = format!("{} dBm", least + above);
                let edit = replace(head, signal.span, text.clone());
                let choices = vec![choice(format!("sound the alarm at {text}"), vec![edit])];
                let words = format!("Raise the alarm to {above} dB or more above what the link needs.");
                out.find_text(head.place(alarm.span), message).mend_choices(words, choices);
            }
            AlarmKind::Battery { .. } => {}
        }
    }
}

/// Whether the aircraft has a receiver for what the bay sends.
fn is_heard(setup: &Setup<'_>, bay: &Bay<'_>) -> bool {
    let name = bay.link.map(|link| &link.head.name.value);
    name.is_some() && setup.craft.receivers.iter().any(|own| own.link.as_ref().map(|link| &link.value) == name)
}
