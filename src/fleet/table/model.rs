//! Models.

use super::Block::{Channel, Curve, Mix, Model, ModelModule, Preset, Rates};
use super::craft::{EXPECT, EXPECT_HELP, FAILSAFE};
use super::{Entry, Taken};

pub(super) const ENTRIES: &[Entry] = &[
    Entry::new(Model, "handset", &["<handset:name>"], "The handset that the model is stored in.").required(),
    Entry::new(Model, "flies", &["<craft:names>"], "The aircraft that are flown with this model.").taken(Taken::Nothing),
    Entry::new(
        Model,
        "module",
        &["<bay:name> <off=off>", "<bay:name> {"],
        "A module bay: off, or on with these settings.",
    )
    .opens(ModelModule)
    .keyed(),
    Entry::new(Model, "stick-filter", &["<state=on|off>"], "Whether the sticks are smoothed for this model.")
        .default("the handset's setting"),
    Entry::new(
        Model,
        "trims",
        &["<throttle=throttle> off", "<state=on|off>"],
        "Whether trims act, or only the throttle's does not.",
    )
    .default("on"),
    Entry::new(
        Model,
        "trainer",
        &["<off=off>", "when <condition:condition> gives <functions:names> [from <pupil:name>]"],
        "When the handset hands functions over to a pupil's, and the model on the pupil's handset.",
    ),
    Entry::new(
        Model,
        "before-start",
        &["<control:name> <position:position>"],
        "What the handset asks for when the model is chosen: the position of a switch or button, or low, centre or high of a stick, \
         knob or slider. Most handsets let the pilot pass it over.",
    )
    .keyed(),
    Entry::new(
        Model,
        "condition",
        &[
            "<name:name> latch set <set:condition> reset <reset:condition>",
            "<name:name> toggle on <control:name> [<position:position>]",
            "<name:name> <reported=reported>",
            "<name:name> when <when:condition>",
        ],
        "A named condition. A latch stays on from its set condition to its reset condition. A toggle turns over at each press of a \
         button, or each time a switch comes to the position; it starts off. A reported one is decided by what telemetry tells: it may \
         be on or off at any time.",
    )
    .keyed(),
    Entry::new(Model, "curve", &["<name:name> {"], "A curve that a value can be sent through.").opens(Curve).keyed(),
    Entry::new(Curve, "points", &["<points:points>"], "The points of the curve, in percent, where it is looked up and what it gives: `points -100:-100, 0:20, 100:80`; the first numbers rise.")
        .required(),
    Entry::new(Curve, "rounded", &[""], "The curve is rounded between its points instead of straight."),
    Entry::new(Model, "rates", &["<stick=roll|pitch|throttle|yaw|wheel|trigger> {"], "How far and how a stick acts.")
        .opens(Rates)
        .keyed(),
    Entry::new(
        Rates,
        "rate",
        &["<rate:number percent -125..125> [expo <expo:number percent -50..100>] [when <when:condition>]"],
        "A rate and expo; the first line whose condition holds wins. Expo above 0 makes the stick softer around the centre, below 0 \
         sharper.",
    )
    .many(),
    Entry::new(
        Model,
        "mix",
        &["<name:name> = <value:value>", "<name:name> {"],
        "A value with a name: channels and other mixes use it by its name.",
    )
    .opens(Mix)
    .keyed(),
    Entry::new(
        Mix,
        "value",
        &["<value:value> [when <when:condition>]"],
        "A value; the first line whose condition holds wins.",
    )
    .many()
    .required(),
    Entry::new(
        Model,
        "channel",
        &["<channel:int 1..64> [<label:name>] = <value:value>", "<channel:int 1..64> [<label:name>] {"],
        "What a channel is made of.",
    )
    .opens(Channel)
    .keyed(),
    Entry::new(
        Channel,
        "value",
        &["<value:value> [when <when:condition>]"],
        "A value; the first line whose condition holds wins.",
    )
    .many()
    .required(),
    Entry::new(Channel, "reversed", &[""], "The sign is flipped."),
    Entry::new(Channel, "subtrim", &["<offset:number percent -40..40>"], "Added after the value.").default("0 %"),
    Entry::new(
        Channel,
        "ends",
        &["<range:range percent -140..140>"],
        "What -100 % and 100 % become: each side of the centre is scaled by itself, after the subtrim. A wider end needs a wider \
         `travel` too.",
    )
    .default("-100..100 %"),
    Entry::new(Channel, "travel", &["<range:range percent -140..140>"], "What the value is clamped to, behind `ends`.")
        .default("-100..100 %"),
    Entry::new(Channel, "centre", &["<pulse:number pulse 1..10000>"], "The pulse that 0 % gives.")
        .default("the handset's scale"),
    Entry::new(
        Channel,
        "full-sweep",
        &["up <up:duration>, down <down:duration>", "<time:duration>"],
        "The time that the channel takes for its whole travel, one way or both.",
    ),
    Entry::new(Model, "failsafe", FAILSAFE, "What the receiver is told to do when the link is lost.").opens(Preset),
    Entry::new(
        Model,
        "alarm",
        &[
            "link-quality below <quality:number percent 0..100>",
            "signal below <level:number level>",
            "battery below <voltage:number voltage> [<cell=per-cell>] [<load=under-load|rested>]",
        ],
        "When the handset warns.",
    )
    .many()
    .taken(Taken::ByFirstItem),
    Entry::new(
        Model,
        "timer",
        &["<time:duration> [while <while:condition>]"],
        "A timer that counts down while the condition holds.",
    )
    .many(),
    Entry::new(Model, "expect", EXPECT, EXPECT_HELP).many().taken(Taken::Each),
    Entry::new(
        Model,
        "purpose",
        &["<purpose=simulator>"],
        "The model is for a simulator; nothing about radio is then asked.",
    ),
    Entry::new(Model, "lesson", &["<state=on|off>"], "A trainer hand-over is meant.").default("off"),
    Entry::new(ModelModule, "receiver-number", &["<number:int 0..65535>"], "The model's own number.").taken(Taken::Nothing),
    Entry::new(
        ModelModule,
        "match",
        &["<state=on|off>"],
        "Whether only receivers locked to this number are to answer.",
    ),
    Entry::new(
        ModelModule,
        "send-on",
        &["chain <chain:int 1..8>", "chains <chains:ints 1..8> [<turn=in-turn>]"],
        "The transmit chains that are used: one, several at once, or several in turn.",
    ),
    Entry::new(ModelModule, "update-rate", &["<rate:number frequency>"], "The update rate that is used."),
    Entry::new(
        ModelModule,
        "telemetry",
        &["<off=off>", "<share:number percent 0..100>"],
        "The share of updates given to telemetry.",
    ),
    Entry::new(
        ModelModule,
        "power",
        &["<power:number power>", "<range:range power>"],
        "The power for each chain; with a range the link chooses.",
    ),
    Entry::new(ModelModule, "key", &["<key:name>"], "A label for the binding key; never the secret itself."),
];
