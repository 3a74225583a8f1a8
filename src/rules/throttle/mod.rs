//! Rules about the throttle: what idles the motors, what cuts them, and what starts them.

rules_of!(throttle);

use crate::findings::Edit;
use crate::findings::coverage::Missing;
use crate::fleet::craft::Arm;
use crate::fleet::model::Channel;
use crate::fleet::quoted;
use crate::fleet::table::Block;
use crate::rules::out::Out;
use crate::setup::{Motor, Setup, Signals};
use crate::signal::{Answer, Condition, Path, Question};
use crate::source::{Place, Span};

/// Whether the throttle springs to its centre, which is not stated.
fn spring() -> Missing {
    Missing::Statement { block: Block::Handset, word: "throttle-stick", within: "handset".into(), form: "" }
}

/// Whether the controller refuses to arm until it has seen a low throttle, as its description states.
fn insists(setup: &Setup<'_>) -> bool {
    let arm = setup.craft.controller.as_ref().and_then(|controller| controller.arm);
    matches!(arm.map(|arm| arm.value), Some(Arm::Switch { low_throttle: true, .. }))
}

/// One way to a state in which a motor runs, and another condition holds where it is given, for each position of each switch that
/// its channel names. `keeping` says what else has to hold: `centred`, that everything that springs to a centre is there.
fn running(
    out: &mut Out<'_>,
    signals: &Signals,
    motor: &Motor<'_>,
    given: Option<&Condition>,
    place: Place,
    keeping: impl Fn(&Signals, Question) -> Question,
) -> Vec<Path> {
    let mut paths = Vec::new();
    for state in motor.running(signals) {
        let state = Condition::All([state].into_iter().chain(given.cloned()).collect());
        if let Some(Answer::Yes(witness)) = out.ask(signals, &keeping(signals, Question::is(state)), place) {
            paths.push(witness.path);
        }
    }
    paths
}

/// The edits that give a channel a cut which lets go only with a low stick: a latch on a switch, and two lines.
/// `running` is what the channel is while the latch is on.
fn latched(setup: &Setup<'_>, channel: &Channel, control: &str, off: &str, on: &str, running: &str) -> Vec<Edit> {
    let head = &setup.model.head;
    let taken = |name: &str| {
        setup.model.condition(name).is_some() || setup.handset.is_some_and(|handset| handset.control(name).is_some())
    };
    let name = ["live", "motor-live", "throttle-live", "motor-live-2"]
        .into_iter()
        .find(|name| !taken(name))
        .unwrap_or("motor-live-3");
    let control = quoted(control);
    let latch =
        format!("condition {name} latch set {control} becomes {on} and throttle low reset {control} {off}\n\n  ");
    let first = setup.model.channels.first().map_or(channel.header, |channel| channel.header);
    let mut edits = vec![Edit { place: head.place(Span::new(first.start, first.start)), text: latch }];
    let lines = (format!("value {running} when {name}"), "value -100 %".to_owned());
    match (channel.body, channel.lines.as_slice()) {
        (Some(_), [one, other]) => {
            edits.push(Edit { place: head.place(one.span), text: lines.0 });
            edits.push(Edit { place: head.place(other.span), text: lines.1 });
        }
        (None, [line]) => {
            // `channel 3 label = value` becomes a block.
            let from = channel.label.as_ref().map_or(channel.number.span.end, |label| label.span.end);
            let text = format!(" {{\n    {}\n    {}\n  }}", lines.0, lines.1);
            edits.push(Edit { place: head.place(Span::new(from, line.value.span.end)), text });
        }
        _ => return Vec::new(),
    }
    edits
}
