//! `channels/missing`: a function that the aircraft needs is moved by no control.

use crate::findings::Severity;
use crate::findings::fact::{FactValue, Joined, channel, list, text};
use crate::findings::hands::called;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, choice, replace};
use crate::setup::surfaces::lacking;
use crate::setup::{Setup, Signals, function as stick_function, is_vital, moves, only_percent};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    lacks(setup, out);
    // What moves a channel does not hang on the link.
    let Some(signals) = setup.signals() else { return };
    // A stick that moves its channel, as two states show, need not be asked about.
    let moved =
        setup.flights().iter().filter(|flight| flight.seen(signals).ends.iter().any(|ends| ends.low != ends.high));
    let moved: Vec<u8> = moved.map(|flight| flight.channel).collect();
    for (function, number) in setup.functions().filter(|(_, number)| !moved.contains(number)) {
        unmoved(setup, signals, out, function.word(), number, false);
    }
    for surface in setup.craft.surfaces.iter().flat_map(|surfaces| &surfaces.channels) {
        let number = surface.channel.value;
        if Stick::ALL.iter().any(|&stick| moves(signals, stick, number)) {
            continue;
        }
        for name in surface.functions.iter().filter(|name| is_vital(&name.value)) {
            unmoved(setup, signals, out, &name.value, number, true);
        }
    }
}

/// A function whose channel no control moves, or none that is a stick where that is asked.
fn unmoved(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>, function: &str, number: u8, by_stick: bool) {
    let Some(known) = out.channel(setup, number) else { return };
    let place = setup.in_model(known.header);
    // Only what is decided is a statement.
    let Some(movers) = out.moved_by(signals, number, place) else { return };
    let mut facts = vec![text("function", function), channel(number)];
    let (kind, sentence) = if movers.is_empty() {
        ("unmoved", "The aircraft reads {function} from channel {channel}, and no control moves that channel.")
    } else if by_stick
        && !Stick::ALL
            .iter()
            .any(|&stick| signals.stick(stick_function(stick)).is_some_and(|stick| movers.contains(&stick)))
    {
        let names = movers.iter().map(|&control| FactValue::Text(signals.name(control).into()));
        facts.push(list("controls", Joined::And, names));
        (
            "no stick",
            "The aircraft reads {function} from channel {channel}, and no stick moves that channel, only {controls}.",
        )
    } else {
        return;
    };
    let stick = match function {
        "steering" | "tail" => Some(Stick::Yaw),
        _ => Stick::find(function),
    };
    let choices = only_percent(known).zip(stick).map(|(value, stick)| {
        let edit = replace(&setup.model.head, value.span, setup.stick_name(stick));
        choice(format!("put the {} on channel {number}", called(setup.hands().grip, stick)), vec![edit])
    });
    out.find(place, kind, sentence, facts)
        .severity(Severity::Danger)
        .mend_choices("Give the channel the stick that belongs to it.", choices.into_iter().collect());
}

/// A function that an aircraft of this kind can't do without, and that none of its surfaces has.
fn lacks(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(lacking) = lacking(setup, setup.signals()) else { return };
    let functions = lacking.functions.iter().map(|&name| FactValue::Text(name.into()));
    let facts = [list("functions", Joined::Or, functions)];
    let sentence = if lacking.motors {
        "No surface of this aircraft has {functions}, and its motors can't be driven apart."
    } else {
        "No surface of this aircraft has {functions}."
    };
    out.find(setup.in_craft(lacking.surfaces.header), "no surface", sentence, facts)
        .severity(if lacking.may_be_wanted() { Severity::Caution } else { Severity::Danger });
}
