//! `channels/order`: a stick reaches the controller on another function's channel.

use crate::findings::Choice;
use crate::fleet::condition::{ConditionKind, ValueKind};
use crate::fleet::model::Model;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::sticks;
use crate::source::Located;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let crossed: Vec<_> = setup.crossed().iter().map(|it| (it.function, it.channel, it.stick)).collect();
    let Some(&(_, channel, _)) = crossed.first() else { return };
    let (Some(controller), Some(place)) = (&setup.craft.controller, setup.model.channel(channel)) else { return };
    let Some(order) = controller.order else { return };
    let moves: Vec<String> = crossed
        .iter()
        .map(|(function, channel, stick)| {
            format!("channel {channel} carries {}, and the controller reads {} there", stick.word(), function.word())
        })
        .collect();
    let sentence = moves.join("; ");
    let (first, rest) = sentence.split_at(1);
    let message = format!("{}{rest}: each of these sticks would do what another should.", first.to_uppercase());
    let mut choices = vec![model_side(setup, &crossed), controller_side(setup, order.value, order.span)];
    let (in_model, in_craft) = (setup.in_model(place.header), setup.in_craft(order.span));
    let odd_craft = right_for_others(setup);
    let finding = out.find_text(if odd_craft { in_craft } else { in_model }, message);
    if odd_craft {
        choices.reverse();
        finding.other(in_model, "crossed here; the model is right for another aircraft");
    } else {
        finding.other(in_craft, "the order in which the controller reads them");
    }
    for &(_, channel, _) in crossed.iter().skip(1) {
        finding.other(setup.channel_place(channel), "crossed too");
    }
    finding.mend_choices(
        "Change one side, not both: the model's channels, or the controller's order.",
        choices.into_iter().flatten().collect(),
    );
}

/// Whether the model is right for another aircraft that it flies, so that this one's controller is the odd one.
fn right_for_others(setup: &Setup<'_>) -> bool {
    let others = setup.model.flies.iter().filter(|name| name.value != setup.craft.head.name.value);
    let orders = others.filter_map(|name| setup.context.fleet.craft(&name.value)?.controller.as_ref()?.order);
    let crossed = |(function, channel)| matches!(*sticks(setup.model, channel), [one] if one != function);
    orders.map(|order| order.value.into_iter().zip(1..)).any(|mut functions| !functions.any(crossed))
}

/// The choice that gives each crossed channel the number at which the controller reads its stick. What the model says of the
/// channel elsewhere goes with it.
fn model_side(setup: &Setup<'_>, crossed: &[(Stick, u8, Stick)]) -> Option<Choice> {
    let controller = setup.craft.controller.as_ref()?;
    let (mut edits, named) = (Vec::new(), named(setup.model));
    for &(_, channel, stick) in crossed {
        let to = controller.channel_of(stick)?;
        // Only where the channels change places among themselves is nothing written over.
        if !crossed.iter().any(|&(_, other, _)| other == to) {
            return None;
        }
        let header = setup.model.channel(channel)?.number;
        let all = named.iter().chain([&header]).filter(|number| number.value == channel);
        edits.extend(all.map(|number| replace(&setup.model.head, number.span, to.to_string())));
    }
    Some(choice("put the model's channels in the controller's order", edits))
}

/// Where a model names channels by their numbers, but for their own headers.
fn named(model: &Model) -> Vec<Located<u8>> {
    let mut found = Vec::new();
    for condition in model.all_conditions().chain(model.expects.iter().map(|expect| &expect.condition)) {
        condition.walk(&mut |part| {
            if let ConditionKind::Channel { channel, .. } = &part.kind {
                found.push(*channel);
            }
        });
    }
    for line in model.channels.iter().flat_map(|channel| &channel.lines) {
        line.value.walk(&mut |part| {
            if let ValueKind::Channel(channel) = &part.kind {
                found.push(*channel);
            }
        });
    }
    found.extend(model.failsafe.iter().flat_map(|failsafe| &failsafe.preset).map(|pulse| pulse.channel));
    found
}

fn controller_side(setup: &Setup<'_>, order: [Stick; 4], span: crate::source::Span) -> Option<Choice> {
    let mut letters = Vec::new();
    for (stick, channel) in order.into_iter().zip(1..) {
        let moved = match *sticks(setup.model, channel) {
            [one] => one,
            _ => stick,
        };
        letters.push(moved.letter().to_string());
    }
    let mut sorted = letters.clone();
    sorted.sort();
    sorted.dedup();
    let text = format!("order {}", letters.join(" "));
    let label =
        format!("tell the controller that the order is {}, and set it so on the controller itself", letters.join(" "));
    (sorted.len() == 4).then(|| choice(label, vec![replace(&setup.craft.head, span, text)]))
}
