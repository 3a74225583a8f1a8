//! Places, links and handsets.

use super::Block::{Handset, HandsetBattery, HandsetModule, Link, Place};
use super::Entry;

pub(super) const ENTRIES: &[Entry] = &[
    Entry::new(Place, "region", &["<code:name>"], "The country whose radio rules hold there, as an ISO 3166-1 alpha-2 code."),
    Entry::new(Place, "reach", &["<distance:number distance>"], "How far out aircraft are flown there."),
    Entry::new(Place, "height", &["<height:number distance>"], "How high above the ground or the water the handset's antenna is held there."),
    Entry::new(Link, "band", &["<range:range frequency>"], "The frequencies that the link uses."),
    Entry::new(
        Link,
        "modulation",
        &["<family=hopping|digital|narrow>"],
        "The family of radio rules that the link falls under: frequency hopping, digital modulation, or narrow channels.",
    ),
    Entry::new(Link, "hop-channels", &["<count:int 1..10000>"], "How many frequencies a hopping link uses."),
    Entry::new(Link, "bandwidth", &["<width:number frequency>"], "The bandwidth of one emission."),
    Entry::new(Link, "adaptive", &["<state=on|off>"], "Whether the link listens before it talks."),
    Entry::new(Link, "update-rate", &["<rates:numbers frequency>"], "How often the sticks can be sent: every rate the link offers."),
    Entry::new(
        Link,
        "air-time",
        &["<time:number time> at <rate:number frequency>"],
        "How long one update is on the air at an update rate, for duty cycles.",
    )
    .many(),
    Entry::new(Link, "channels", &["<count:int 1..64>"], "How many channels the link carries."),
    Entry::new(
        Link,
        "carry",
        &["channel <channels:ints 1..64> [levels <levels:int 2..65536>] [every <cadence:int 1..1000> <_=update|updates>]"],
        "How channels travel: how many levels a channel keeps, and whether every update carries it.",
    )
    .many()
    .default("without any `carry`, all channels travel unchanged in every update"),
    Entry::new(Link, "receiver-number", &["<numbers:int-range 0..65535>"], "The numbers that a receiver can be locked to."),
    Entry::new(
        Link,
        "number-check",
        &["<kind=strict|learns|blocks-outputs|none>"],
        "What the link does with receiver numbers: only equal ones connect; a receiver without one takes the model's; the link comes up and the outputs move only when they agree; they are not looked at.",
    ),
    Entry::new(
        Link,
        "firmware-check",
        &["<kind=same-major|none>"],
        "Whether module and receiver must have the same first number in their firmware versions.",
    ),
    Entry::new(
        Link,
        "sensitivity",
        &["<level:number level> at <rate:number frequency>"],
        "The weakest signal that the receiver still understands at an update rate.",
    )
    .many(),
    Entry::new(
        Handset,
        "grip",
        &["<grip=sticks|pistol>"],
        "How it is held: with two hands at its sticks roll, pitch, throttle and yaw, or as a pistol grip with `wheel` (the \
         function yaw) and `trigger` (throttle), which both spring to their centre.",
    )
    .default("sticks"),
    Entry::new(
        Handset,
        "throttle-stick",
        &["<rest=stays|sprung>"],
        "Whether the throttle stick stays where it is put or springs to its centre.",
    ),
    Entry::new(Handset, "stick-mode", &["<mode:int 1..4>"], "Which function is on which stick: mode 1, 2, 3 or 4."),
    Entry::new(
        Handset,
        "switch",
        &["<name:name> <count:int 2..16> positions [sprung-to <rest:position>]"],
        "A switch. Two positions are called up and down, three up, middle and down, more 1, 2, 3 and so on. Up is away from the pilot, down towards the pilot.",
    )
    .keyed(),
    Entry::new(
        Handset,
        "button",
        &["<name:name> [<stays=stays>]"],
        "A button; its states are released and pressed. One that stays locks where it is put; any other springs back to released.",
    )
    .keyed(),
    Entry::new(
        Handset,
        "knob",
        &["<name:name> [sprung-to <rest=low|centre>]"],
        "A knob, from -100 to 100 %, which stays where it is put unless it springs back. Its ends and its middle are called low, high \
         and centre.",
    )
    .keyed(),
    Entry::new(
        Handset,
        "slider",
        &["<name:name> [sprung-to <rest=low|centre>]"],
        "A slider or lever, from -100 to 100 %, as a knob is.",
    )
    .keyed(),
    Entry::new(
        Handset,
        "scale",
        &["<centre:number pulse> plus-minus <span:number pulse>"],
        "The pulse that 0 % gives, and how far 100 % moves it.",
    ),
    Entry::new(Handset, "trim-range", &["<range:number percent 0..100>"], "How far a trim can move its stick."),
    Entry::new(Handset, "stick-filter", &["<state=on|off>"], "Whether the handset smooths its sticks, for all models."),
    Entry::new(Handset, "battery", &["<chemistry=li-po|li-hv|li-ion|li-fe|ni-mh|ni-cd|lead> {"], "The handset's own battery.").opens(HandsetBattery),
    Entry::new(HandsetBattery, "cells", &["<count:int 1..64>"], "How many cells in series."),
    Entry::new(HandsetBattery, "alarm", &["<voltage:number voltage>"], "The voltage of the whole battery at which the handset warns."),
    Entry::new(
        Handset,
        "module",
        &["<bay:name> empty", "<bay:name> {"],
        "A bay for a transmitter module, with what is in it.",
    )
    .opens(HandsetModule)
    .keyed(),
    Entry::new(HandsetModule, "link", &["<link:name>"], "The link that the module speaks."),
    Entry::new(HandsetModule, "chains", &["<count:int 1..8>"], "How many transmit chains can run at once."),
    Entry::new(HandsetModule, "power", &["<steps:numbers power>"], "The power steps that the module offers, for each chain."),
    Entry::new(HandsetModule, "antenna-gain", &["<gain:number gain>"], "The gain of its antenna."),
    Entry::new(HandsetModule, "feeder-loss", &["<loss:number loss>"], "What the cable to the antenna loses.")
        .default("0 dB"),
    Entry::new(HandsetModule, "firmware", &["<version:name>"], "The version of its firmware, in quotes."),
    Entry::new(
        HandsetModule,
        "domain",
        &["<domain:name>"],
        "The regulatory domain it was built for: an ISO 3166-1 alpha-2 code, EU, or any.",
    ),
];
