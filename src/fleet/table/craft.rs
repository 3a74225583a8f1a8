//! Aircraft and what is built into them.

use super::Block::{Controller, Craft, CraftBattery, Preset, Receiver, Surfaces};
use super::{Entry, Taken};

pub(super) const FAILSAFE: &[&str] =
    &["[hold <hold:duration> then] preset {", "[hold <hold:duration> then] <action=output-stops|hold>"];
pub(super) const EXPECT: &[&str] =
    &["[<severity=danger|caution|note>] <kind=never|always|reachable> <condition:condition>"];
pub(super) const EXPECT_HELP: &str =
    "A rule of the pilot's own, proved like the built-in ones; a failure is a danger unless the line says otherwise.";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::new(
        Craft,
        "kind",
        &["<kind=multirotor|aeroplane|flying-wing|glider|helicopter|autogyro|vtol|car|tracked|boat|hovercraft>"],
        "What sort of craft it is.",
    ),
    Entry::new(Craft, "receiver", &["[<name:name>] {"], "A receiver; with more than one, each has a name.")
        .opens(Receiver)
        .keyed(),
    Entry::new(Craft, "controller", &["{"], "The flight controller.").opens(Controller),
    Entry::new(Craft, "surfaces", &["{"], "What the channels move, on an aircraft without a flight controller.").opens(Surfaces),
    Entry::new(
        Craft,
        "receivers",
        &["<sharing=combined>"],
        "How several receivers share the channels that more than one of them drives; combined: the one that hears the handset drives them.",
    ),
    Entry::new(
        Craft,
        "battery",
        &["[for <feeds=motor|receiver|both>] <chemistry=li-po|li-hv|li-ion|li-fe|ni-mh|ni-cd|lead> {"],
        "A battery and what it feeds. Without `for` it is the flight battery, which drives the motor where there is one; whether it \
         feeds the receiver too is not known then.",
    )
    .opens(CraftBattery)
    .keyed_by(1),
    Entry::new(
        Craft,
        "supply",
        &["<voltage:number voltage>"],
        "The regulated voltage that the receiver and the servos are fed with, where they are not fed from a battery as it is.",
    ),
    Entry::new(Craft, "servo-voltage", &["<range:range voltage>"], "The voltages that the receiver and the servos are made for."),
    Entry::new(Craft, "motor", &["<kind=electric|combustion|none>"], "What drives it."),
    Entry::new(Craft, "weight", &["<mass:number mass>"], "Its mass as it flies."),
    Entry::new(
        Craft,
        "height",
        &["<height:number distance>"],
        "How high its antenna is above the ground or the water, on a craft that stays down.",
    ),
    Entry::new(
        Craft,
        "tested",
        &["<what=failsafe|range|directions> <day:day>"],
        "The day on which the pilot last saw it work on the aircraft itself, such as 2027-03-01.",
    )
    .keyed()
    .taken(Taken::Nothing),
    Entry::new(Craft, "flown-at", &["<place:name>"], "The place where it is flown.").default("the settings' place"),
    Entry::new(Craft, "expect", EXPECT, EXPECT_HELP).many().taken(Taken::Each),
    Entry::new(Receiver, "link", &["<link:name>"], "The link that the receiver speaks.").required(),
    Entry::new(Receiver, "chains", &["<count:int 1..8>"], "How many receive chains it has."),
    Entry::new(
        Receiver,
        "number",
        &["any", "<number:int 0..65535>"],
        "The number that it is locked to; any: not locked to a model.",
    )
    .taken(Taken::Nothing),
    Entry::new(Receiver, "key", &["<key:name>"], "A label for the binding key; never the secret itself."),
    Entry::new(Receiver, "firmware", &["<version:name>"], "The version of its firmware, in quotes."),
    Entry::new(
        Receiver,
        "domain",
        &["<domain:name>"],
        "The regulatory domain it was built for: an ISO 3166-1 alpha-2 code, EU, or any.",
    ),
    Entry::new(Receiver, "antenna-gain", &["<gain:number gain>"], "The gain of its antenna."),
    Entry::new(
        Receiver,
        "outputs",
        &["serial [<flags=flags-loss>]", "<pulses=pulses>"],
        "How it hands the channels on: as serial data, perhaps with a flag for a lost link, or as pulses.",
    ),
    Entry::new(
        Receiver,
        "drives",
        &["channel <channels:ints 1..64>"],
        "The channels that its outputs reach; the aircraft takes no other from it.",
    )
    .default("all channels"),
    Entry::new(Receiver, "failsafe", FAILSAFE, "What the receiver does when the link is lost.").opens(Preset),
    Entry::new(Preset, "channel", &["<channel:int 1..64> <pulse:number pulse 300..3000>"], "The pulse that a channel then gives.").keyed(),
    Entry::new(
        Controller,
        "order",
        &["<first=A|E|T|R> <second=A|E|T|R> <third=A|E|T|R> <fourth=A|E|T|R>"],
        "Which function the controller reads from channels 1 to 4: aileron (roll), elevator (pitch), throttle, rudder (yaw).",
    ),
    Entry::new(
        Controller,
        "reads",
        &["<function:name> channel <channel:int 1..64>"],
        "A function and the channel that the controller reads it from. The functions are throttle and those of a surface; anything else \
         stands in quotes. `order` is short for four of them.",
    )
    .keyed(),
    Entry::new(Controller, "idle-below", &["<pulse:number pulse>"], "The throttle counts as idle under this pulse."),
    Entry::new(Controller, "full-above", &["<pulse:number pulse>"], "A function counts as full above this pulse."),
    Entry::new(Controller, "deadband", &["<width:number pulse>"], "How far from the centre a function still counts as centred."),
    Entry::new(Controller, "valid", &["<range:range pulse>"], "The pulses that count as a signal; others count as a lost one."),
    Entry::new(
        Controller,
        "arm",
        &["by switch [needs <needs=low-throttle|seen-off,>]", "<by=by> sticks"],
        "How it is armed, and what it asks for before it arms: both as `needs low-throttle, seen-off`; a need that is not stated is not known.",
    ),
    Entry::new(
        Controller,
        "mode",
        &["<name:name> channel <channel:int 1..64> <range:range pulse> \
           (and channel <channel:int 1..64> <range:range pulse>)* \
           (or channel <channel:int 1..64> <range:range pulse> (and channel <channel:int 1..64> <range:range pulse>)*)* \
           [kind <kind=return|land|stop|enable|locator|on-ground>] [excludes <excludes:name>]"],
        "A mode and the pulses that turn it on, ends included; `and` binds tighter than `or`. The mode called arm is the request to arm.",
    )
    .keyed(),
    Entry::new(
        Controller,
        "on-loss",
        &["<action=motors-off|descend|circle|fly-back|nothing> [after <delay:duration>]"],
        "What the controller does when the link is lost.",
    ),
    Entry::new(Controller, "expo", &["<stick=roll|pitch|throttle|yaw> <expo:number percent 0..100>"], "Shaping done on the controller.")
        .keyed(),
    Entry::new(Controller, "reversed", &["<stick=roll|pitch|throttle|yaw>"], "A function that the controller reads the other way round.")
        .keyed(),
    Entry::new(Controller, "arm-any-throttle", &["<state=on|off>"], "Whether it arms with the throttle up."),
    Entry::new(Controller, "arming", &["refuses-stop-aloft"], "It may refuse to stop the motors aloft when the arming switch is turned off."),
    Entry::new(Controller, "position", &["<state=on|off>"], "Whether it has a position sensor."),
    Entry::new(Controller, "fall-accepted", &[""], "The pilot has thought about a fall when the link is lost."),
    Entry::new(
        Surfaces,
        "channel",
        &["<channel:int 1..64> <functions:sum> [<side=left|right>] [high-is <way=up|down|left|right|open|on>]"],
        "What a channel moves: one function, or a mix such as roll + pitch on one side. The functions are roll (aileron), pitch \
         (elevator), yaw (rudder), steering, flap, spoiler, brake, collective, tail, gain, gear, ignition, release, winch, light \
         and camera; anything else stands in quotes. `high-is` says which way the part moves when the pulse rises, as it is seen \
         from behind.",
    )
    .keyed(),
    Entry::new(
        Surfaces,
        "motor",
        &[
            "channel <channel:int 1..64> [<side=left|right>] [idle-below <below:number pulse>] [full-above <full:number pulse>] \
             [<reversible=reversible>]",
            "channel <channel:int 1..64> [<side=left|right>] idle-above <above:number pulse> [full-below <full:number pulse>] \
             [<reversible=reversible>]",
            "channel <channel:int 1..64> [<side=left|right>] idle <idle:range pulse> [full-above <full:number pulse>] \
             [<reversible=reversible>]",
        ],
        "A motor's channel and the pulses at which the motor stands still: low ones, high ones, or a range in the middle, ends \
         included.",
    )
    .keyed_by(1),
    Entry::new(
        Surfaces,
        "ignition",
        &["channel <channel:int 1..64> <when=on-above|on-below> <pulse:number pulse>"],
        "A channel that switches the ignition of an engine, and the pulses that turn it on.",
    )
    .keyed_by(1),
    Entry::new(
        Surfaces,
        "tail",
        &["<shape=upright-v|inverted-v>"],
        "The shape of a tail whose two surfaces are both rudder and elevator.",
    ),
    Entry::new(Surfaces, "canard", &[""], "The elevator is in front of the wing: it goes down to raise the nose."),
    Entry::new(CraftBattery, "cells", &["<count:int 1..64>"], "How many cells in series."),
    Entry::new(CraftBattery, "capacity", &["<charge:number charge>"], "Its capacity."),
    Entry::new(CraftBattery, "draw", &["<current:number current>"], "The average current in flight."),
];
