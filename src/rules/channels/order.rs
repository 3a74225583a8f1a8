//! `channels/order`: a stick reaches the controller on another function's channel.

use super::NAMES;
use crate::findings::fact::{channel_as, text};
use crate::findings::{Choice, Edit};
use crate::rules::out::{Out, choice, replace};
use crate::setup::terms::channels_named;
use crate::setup::{Crossed, Setup};
use crate::source::Place;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let crossed = setup.crossed();
    let Some(first) = crossed.first() else { return };
    let (mut facts, mut moves) = (Vec::new(), Vec::new());
    for (crossed, names) in crossed.iter().zip(NAMES) {
        let begin = if moves.is_empty() { "Channel" } else { "channel" };
        moves.push(format!(
            "{begin} {{{}}} carries {{{}}}, and the controller reads {{{}}} there",
            names.channel, names.stick, names.function
        ));
        facts.push(channel_as(names.channel, crossed.channel));
        facts.push(text(names.stick, crossed.stick.word()));
        facts.push(text(names.function, crossed.function.word()));
    }
    let sentence = format!("{}: each of these sticks would do what another should.", moves.join("; "));
    let (in_model, in_craft) = (setup.channel_place(first.channel), setup.read_at(first.channel));
    let mut choices = vec![model_side(setup, &crossed), controller_side(setup, in_craft)];
    // Where the model is right for another aircraft, this one's controller is the odd one.
    let odd_craft = setup.suits_another();
    let (place, key) = if odd_craft { (in_craft, "odd aircraft") } else { (in_model, "crossed") };
    let finding = out.find(place, key, &sentence, facts);
    if odd_craft {
        choices.reverse();
        finding.other(in_model, "crossed here; the model is right for another aircraft");
    } else {
        finding.other(in_craft, "the order in which the controller reads them");
    }
    for other in crossed.iter().skip(1) {
        finding.other(setup.channel_place(other.channel), "crossed too");
    }
    finding.mend_choices(
        "Change one side, not both: the model's channels, or the controller's order.",
        choices.into_iter().flatten().collect(),
    );
}

/// The choice that gives each crossed channel the number at which the controller reads its stick. What the model says of the
/// channel elsewhere goes with it.
fn model_side(setup: &Setup<'_>, crossed: &[Crossed]) -> Option<Choice> {
    let (mut edits, named) = (Vec::new(), channels_named(setup.model));
    for &Crossed { channel, stick, .. } in crossed {
        let (_, to) = setup.functions().find(|(function, _)| *function == stick)?;
        // Only where the channels change places among themselves is nothing written over.
        if !crossed.iter().any(|other| other.channel == to) {
            return None;
        }
        let header = setup.model.channel(channel)?.number;
        let all = named.iter().chain([&header]).filter(|number| number.value == channel);
        edits.extend(all.map(|number| replace(&setup.model.head, number.span, to.to_string())));
    }
    Some(choice("put the model's channels in the controller's order", edits))
}

fn controller_side(setup: &Setup<'_>, place: Place) -> Option<Choice> {
    let letters: Vec<String> = setup.order_sent()?.iter().map(|stick| stick.letter().to_string()).collect();
    let letters = letters.join(" ");
    let label = format!("tell the controller that the order is {letters}, and set it so on the controller itself");
    Some(choice(label, vec![Edit { place, text: format!("order {letters}") }]))
}
