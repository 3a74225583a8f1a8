//! `arming/slow`: the news of the arming switch can be late, even when nothing is lost on the way.

use crate::findings::Severity;
use crate::fleet::Dimension;
use crate::fleet::model::Telemetry;
use crate::radio::timing::worst_latency_ms;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (Some(bay), Some(link)) = (setup.bay, setup.link) else { return };
    let Some(rate) = bay.module.update_rate else { return };
    let telemetry = bay.module.telemetry.is_some_and(|telemetry| telemetry.value != Telemetry::Off);
    for channel in setup.arm_channels() {
        let carry = link.carry(channel);
        let every = carry.and_then(|carry| carry.every).map_or(1, |every| u32::from(every.value));
        let wait = worst_latency_ms(rate.value.to_f64(), every, telemetry);
        let limit = |name| out.parameter(name, Dimension::Time).to_f64() * 1000.0;
        let severity = match wait {
            wait if wait > limit("far-after") => Severity::Caution,
            wait if wait > limit("after") => Severity::Note,
            _ => continue,
        };
        let telemetry = if telemetry { ", some of which go to telemetry" } else { "" };
        let message = format!(
            "Channel {channel} can reach the aircraft {wait:.0} ms late: it travels in one update of {every}, at {} updates a second{telemetry}.",
            rate.value
        );
        let finding = out.find(setup.channel_place(channel), message).severity(severity);
        if let Some(carry) = carry {
            finding.other(link.head.place(carry.span), "how the link carries it");
        }
    }
}
