//! `channels/double-expo`: expo in the handset and on the controller, one on top of the other.

use crate::findings::coverage::Missing;
use crate::findings::fact::{Amount, Unit, amount, percent, text};
use crate::findings::hands::called;
use crate::fleet::table::Block;
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::rates::{double_expo, expo_open};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for stick in expo_open(setup) {
        let form = match stick {
            Stick::Roll => "roll <expo>",
            Stick::Pitch => "pitch <expo>",
            Stick::Throttle => "throttle <expo>",
            Stick::Yaw => "yaw <expo>",
        };
        out.misses(Missing::Statement { block: Block::Controller, word: "expo", within: "controller".into(), form });
    }
    for double in double_expo(setup) {
        let facts = [
            text("stick", called(setup.hands().grip, double.stick)),
            percent("handset", double.handset),
            percent("controller", double.controller.value),
            amount("left", Amount::Computed(double.slope, 0), Unit::Percent),
        ];
        let sentence = "The {stick} has {handset} expo in the handset and {controller} on the controller: around the centre {left} of a straight stick is left.";
        out.find(setup.in_model(double.rates.header), "double", sentence, facts)
            .other(setup.in_craft(double.controller.span), "the expo of the controller");
    }
}
