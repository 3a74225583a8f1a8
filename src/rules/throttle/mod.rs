//! Rules about the throttle: what idles the motors, what cuts them, and what starts them.

rules_of!(throttle);

use crate::findings::Edit;
use crate::fleet::model::Channel;
use crate::fleet::quoted;
use crate::setup::Setup;
use crate::source::Span;

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
