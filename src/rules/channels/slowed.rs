//! `channels/slowed`: a channel is slowed that has to be quick.

use crate::findings::Severity;
use crate::findings::fact::{FactValue, Joined, Unit, amount, channel, channel_as, list};
use crate::fleet::Dimension;
use crate::fleet::craft::Surfaces;
use crate::rules::out::{Out, choice, remove, replace};
use crate::setup::Setup;
use crate::setup::surfaces::slowed::{Slow, slow_surfaces, unlike_sides};
use crate::setup::terms::has_constant_line;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let allowed = out.parameter("cut", Dimension::Time);
    let motors = setup.motor_channels();
    for known in &setup.model.channels {
        let Some(sweep) = known.full_sweep else { continue };
        let slowest = sweep.value.up.max(sweep.value.down);
        // A cut lets the pulse fall, or rise on a channel that is turned round.
        let (stops, starts) = match known.reversed {
            None => (sweep.value.down, sweep.value.up),
            Some(_) => (sweep.value.up, sweep.value.down),
        };
        let number = known.number.value;
        let cut = motors.iter().any(|motor| motor.channel == number) && has_constant_line(known);
        let (key, sentence) = if setup.is_flight(number) && slowest.mantissa() > 0 {
            (
                "function",
                "Channel {channel} takes {sweep} for its whole way, and it is a flight function of a multirotor.",
            )
        } else if cut && stops > allowed {
            (
                "cut",
                "Channel {channel} takes {sweep} for its whole way to where the motor stands still, and a switch is to cut that motor.",
            )
        } else {
            continue;
        };
        let facts = [channel(number), amount("sweep", if key == "cut" { stops } else { slowest }, Unit::S)];
        let mut choices = Vec::new();
        if key == "cut" {
            // Where only the way down is slow, the two changed places.
            let soft = if starts.mantissa() > 0 { starts } else { stops };
            let (up, down) = if known.reversed.is_some() {
                ("0 s".to_owned(), format!("{soft} s"))
            } else {
                (format!("{soft} s"), "0 s".to_owned())
            };
            let text = format!("full-sweep up {up}, down {down}");
            let edit = replace(&setup.model.head, sweep.span, text.clone());
            choices.push(choice(format!("start softly and stop at once: {text}"), vec![edit]));
        }
        choices.push(choice("take the line out", vec![remove(&setup.model.head, sweep.span)]));
        let words = "Let the channel stop at once, or take the line out.";
        let is_long = key == "cut" && stops > out.parameter("long-cut", Dimension::Time);
        let finding = out.find(setup.in_model(sweep.span), key, sentence, facts);
        if key == "cut" {
            finding.case("cut");
        }
        finding.severity(if is_long { Severity::Danger } else { Severity::Caution }).mend_choices(words, choices);
    }
    if let Some(surfaces) = &setup.craft.surfaces {
        steering(setup, surfaces, out);
    }
}

/// What steers has to be quick, and on two sides equally so.
fn steering(setup: &Setup<'_>, surfaces: &Surfaces, out: &mut Out<'_>) {
    let head = &setup.model.head;
    let mut found = Vec::new();
    let long = out.parameter("long", Dimension::Time);
    for slow in slow_surfaces(setup, surfaces) {
        let limit = match slow.what {
            Slow::Aircraft => out.parameter("primary", Dimension::Time),
            Slow::Vessel => out.parameter("vessel", Dimension::Time),
            Slow::Winch => out.parameter("winch", Dimension::Time),
        };
        if slow.takes <= limit {
            continue;
        }
        let number = slow.surface.channel.value;
        found.push(number);
        let functions = slow.surface.functions.iter().map(|name| FactValue::Text(name.value.clone()));
        let facts = [
            channel(number),
            list("functions", Joined::Plus, functions),
            amount("sweep", slow.takes, Unit::S),
            amount("limit", limit, Unit::S),
        ];
        let sentence = "Channel {channel} ({functions}) takes {sweep} for its whole way, and answers that much later; more than {limit} counts.";
        let flies = setup.craft.kind.is_some_and(|kind| !kind.value.stays_down());
        let is_grave = flies && slow.takes > long;
        out.find(setup.in_model(slow.sweep), "steers", sentence, facts)
            .severity(if is_grave { Severity::Danger } else { Severity::Caution })
            .other(setup.in_craft(slow.surface.span), "what the channel moves")
            .mend_offer("take the line out", vec![remove(head, slow.sweep)]);
    }
    for sides in unlike_sides(setup, surfaces, out.parameter("primary", Dimension::Time)) {
        let (slower, other) = (sides.slower.number.value, sides.other.number.value);
        if found.contains(&slower) {
            continue;
        }
        let facts = [
            channel(slower),
            channel_as("other", other),
            amount("sweep", sides.takes, Unit::S),
            amount("other_sweep", sides.other_takes, Unit::S),
        ];
        let sentence = "Channel {channel} takes {sweep} for its whole way, and channel {other}, which does the same on the other side, {other_sweep}: while they move, the two sides differ.";
        let words = "Give both sides the same `full-sweep`.";
        out.find(setup.in_model(sides.sweep), "one side", sentence, facts)
            .other(setup.in_model(sides.other.header), "the other side")
            .mend_choices(words, vec![choice("take the line out", vec![remove(head, sides.sweep)])]);
    }
}
