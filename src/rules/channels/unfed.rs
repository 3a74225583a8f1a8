//! `channels/unfed`: the aircraft reads a channel that the model does not define.

use crate::findings::Severity;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let model = setup.model;
    // A model without any channel says nothing of them.
    if model.channels.is_empty() {
        return;
    }
    for (channel, what, vital) in setup.used() {
        if model.channel(channel).is_some() || model.head.may_be_lost(&["channel"], &channel.to_string()) {
            continue;
        }
        let severity = if vital { Severity::Danger } else { Severity::Caution };
        let message =
            format!("The aircraft reads {what} from channel {channel}, and this model does not define that channel.");
        out.find_text(setup.in_model(model.head.header), message)
            .severity(severity)
            .other(setup.in_craft(place(setup, channel)), format!("{what} is read there"));
    }
}

/// Where the craft says that it reads a channel.
fn place(setup: &Setup<'_>, channel: u8) -> crate::source::Span {
    let controller = setup.craft.controller.as_ref();
    let mode = controller
        .iter()
        .flat_map(|controller| &controller.modes)
        .find(|mode| mode.tests.iter().any(|test| test.channel.value == channel));
    let order = controller.and_then(|controller| controller.order).filter(|_| channel <= 4);
    let surfaces = setup.craft.surfaces.as_ref();
    let surface =
        surfaces.and_then(|surfaces| surfaces.channels.iter().find(|surface| surface.channel.value == channel));
    let motor = surfaces.and_then(|surfaces| surfaces.motors.iter().find(|motor| motor.channel.value == channel));
    order
        .map(|order| order.span)
        .or(mode.map(|mode| mode.span))
        .or(surface.map(|surface| surface.span))
        .or(motor.map(|motor| motor.span))
        .unwrap_or(setup.craft.head.header)
}
