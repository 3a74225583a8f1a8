//! The file of a new aircraft that is like no other.

use super::answers::Answers;
use super::shape::{FINE, Shape};
use crate::fleet::quoted;
use crate::fleet::words::{CraftKind, Grip};

/// What one channel moves.
struct Part {
    channel: u8,
    /// Its line in `surfaces`.
    surface: String,
    /// Its lines in the model.
    value: String,
    /// The pulse that the receiver gives when the link is lost.
    rest: i64,
}

/// What the switch that stops the motor is called, and its positions.
struct Stop {
    switch: String,
    off: String,
    on: String,
    /// Whether the last position is "off".
    off_last: bool,
}

/// What an aircraft has in its own way.
#[derive(Default)]
struct Own {
    /// Statements of the aircraft that stand before its receiver.
    craft: Vec<String>,
    /// The block of its controller or its surfaces.
    inside: Vec<String>,
    /// How the receiver hands the channels on, and the failsafe.
    receiver: Vec<String>,
    /// Trims and start checks.
    start: Vec<String>,
    /// Conditions and curves.
    named: Vec<String>,
    channels: Vec<String>,
    failsafe: String,
    timer: String,
    /// A rule of the pilot's own.
    expect: Option<String>,
}

/// The whole text, not laid out yet.
pub(super) fn text(answers: &Answers) -> String {
    let craft = quoted(&answers.name);
    let own = match answers.shape() {
        Shape::Controlled => controlled(answers),
        _ => driven(answers),
    };
    let off = caution(answers.kind);
    let mut lines = vec![
        "rig 1".to_owned(),
        format!("# {}: {}.", answers.name, what(answers)),
        format!("# \"check\" marks a proposal, to be held against the aircraft{off}."),
        String::new(),
        format!("craft {craft} {{"),
        format!("kind {}", answers.kind.word()),
    ];
    lines.extend(own.craft);
    lines.extend([
        "receiver {".to_owned(),
        format!("link {}", quoted(&answers.bay.link.name)),
        "chains 1 # check".to_owned(),
    ]);
    if answers.folder.is_none() {
        lines.push(super::files::domain(answers));
    }
    lines.extend(
        answers.number.map(|number| format!("number {number} # check: the receiver has stored it, as its manual says")),
    );
    lines.extend(own.receiver);
    lines.push("}".to_owned());
    lines.extend(own.inside);
    lines.push(battery(answers).to_owned());
    lines.extend(answers.flown_at.as_ref().map(|place| format!("flown-at {}", quoted(place))));
    lines.extend([
        "}".to_owned(),
        String::new(),
        format!("model {craft} {{"),
        format!("handset {}", quoted(&answers.desk.name)),
        format!("flies {craft}"),
        format!("module {} {{", quoted(&answers.bay.name)),
    ]);
    if let Some(number) = answers.number {
        lines.extend([format!("receiver-number {number}"), "match on # check".to_owned()]);
    }
    // Of a first aircraft it was answered.
    let check = if answers.folder.is_some() { " # check" } else { "" };
    lines.extend(answers.bay.update_rate.as_ref().map(|rate| format!("update-rate {rate}{check}")));
    lines.push("}".to_owned());
    let others = answers.desk.filled.iter().filter(|bay| **bay != answers.bay.name);
    lines.extend(others.map(|bay| format!("module {} off", quoted(bay))));
    for part in [own.start, own.named, own.channels] {
        lines.extend(part);
        lines.push(String::new());
    }
    lines.push(format!("failsafe {} # as the receiver's", own.failsafe));
    lines.push("alarm link-quality below 70 % # check".to_owned());
    lines.push(format!("timer {}", own.timer));
    if let Some(expect) = own.expect {
        lines.push(String::new());
        lines.push("# Rules of your own, proved for every position of every control:".to_owned());
        lines.push(format!("expect never ({expect})"));
    }
    lines.push("}\n".to_owned());
    lines.join("\n")
}

/// What an aircraft is, in words.
fn what(answers: &Answers) -> &'static str {
    match answers.kind {
        CraftKind::Multirotor => "a multirotor",
        CraftKind::Vtol => "an aircraft that takes off upright, with a flight controller",
        CraftKind::Aeroplane => "an aeroplane with a motor",
        CraftKind::FlyingWing => "a flying wing with two elevons and a motor",
        CraftKind::Glider => "a glider without a motor",
        CraftKind::Helicopter => "a helicopter whose head the gyro or the linkage mixes",
        CraftKind::Autogyro => "an autogyro with a motor",
        CraftKind::Car if answers.reverses => "a car whose motor also runs backwards",
        CraftKind::Car => "a car whose motor runs forward only",
        CraftKind::Tracked => "a tracked vehicle with a motor for each track",
        CraftKind::Boat if answers.reverses => "a boat whose motor also runs backwards",
        CraftKind::Boat => "a boat whose motor runs forward only",
        CraftKind::Hovercraft => "a hovercraft with one motor for lift and thrust",
    }
}

/// What is done before it is looked at on the bench, behind a comma.
pub(super) const fn caution(kind: CraftKind) -> &'static str {
    match kind {
        CraftKind::Glider => "",
        CraftKind::Helicopter => ", blades off or the motor unplugged",
        CraftKind::Car | CraftKind::Tracked => ", wheels off the ground",
        CraftKind::Boat => ", propeller off or the motor unplugged",
        _ => ", propellers off",
    }
}

/// What can be said of the battery.
const fn battery(answers: &Answers) -> &'static str {
    match answers.shape() {
        Shape::Glider => {
            "# battery for receiver li-ion { cells 2; capacity 1100 mAh; draw 0.4 A }: then the timer is held against it"
        }
        _ => {
            "# battery li-po { cells 4; capacity 1300 mAh; draw 12 A }, and in the model `alarm battery below 3.4 V per-cell \
             under-load`:\n# then timer and alarm are held against the pack"
        }
    }
}

/// The switch that stops the motor.
fn stop(answers: &Answers) -> Stop {
    let Some(switch) = answers.motor_switch() else {
        return Stop { switch: String::new(), off: String::new(), on: String::new(), off_last: false };
    };
    let (first, last) = (switch.position(0), switch.position(1));
    let off_last = switch.is_off_last();
    let (off, on) = if off_last { (last, first) } else { (first, last) };
    Stop { switch: quoted(&switch.name), off, on, off_last }
}

/// A name that no control of the handset has.
fn free_name(answers: &Answers, name: &str) -> String {
    let taken = |name: &String| answers.desk.controls.contains(name);
    let names = std::iter::once(name.to_owned()).chain((2..).map(|number| format!("{name}-{number}")));
    names.into_iter().find(|name| !taken(name)).unwrap_or_else(|| name.to_owned())
}

fn controlled(answers: &Answers) -> Own {
    let p = |percent| answers.desk.pulse(percent);
    let Stop { switch, off, on, off_last } = stop(answers);
    let (arm, order) = (answers.arm_channel, answers.order);
    let channels = order.map(|letter| letter.to_string());
    let (low, high) = (p(-126), p(128));
    let mut inside = vec![
        "controller {".to_owned(),
        format!("order {}", channels.join(" ")),
        format!("idle-below {} us # check", p(-84)),
        format!("full-above {} us # check", p(76)),
        "deadband 6 us # check".to_owned(),
        format!("valid {low}..{high} us # check: other pulses count as a lost link"),
        "arm by switch needs low-throttle, seen-off # check: the throttle low, and the switch seen off, before it arms"
            .to_owned(),
        format!("mode arm channel {arm} {}..{high} us # check", p(32)),
    ];
    let mut start = vec![
        "stick-filter off # check: a smoothed stick answers late".to_owned(),
        "trims off # the controller keeps it level; a trim would only look like a held stick".to_owned(),
        "before-start throttle low # check: the handset asks for it when the model is chosen".to_owned(),
        format!("before-start {switch} {off} # check"),
    ];
    let stick = |letter: &char| match letter {
        'A' => "roll",
        'E' => "pitch",
        'T' => "throttle",
        _ => "yaw",
    };
    let mut channels: Vec<(u8, String)> = (1..)
        .zip(&order)
        .map(|(channel, letter)| (channel, format!("channel {channel} = {}", stick(letter))))
        .collect();
    let turned = if off_last { " * -100 %" } else { "" };
    channels.push((arm, format!("channel {arm} arm = {switch}{turned} # {off}: off, {on}: armed")));
    let chooser = answers.desk.chooser().filter(|chooser| Some(*chooser) != answers.motor_switch());
    let beside = chooser.and_then(|chooser| {
        let levels = 4 * u32::from(chooser.positions);
        Some((chooser, answers.bay.link.beside(levels, arm)?))
    });
    if let Some((chooser, channel)) = beside {
        let name = quoted(&chooser.name);
        let first = chooser.position(0);
        let last = i32::from(chooser.positions) - 1;
        // Edges half-way between two positions.
        let edge = |after: i32| p(-100 + 100 * (2 * after + 1) / last);
        let (near, far) = (edge(0), edge(last - 1));
        if answers.kind == CraftKind::Vtol {
            inside.extend([
                format!("mode hover channel {channel} {low}..{near} us # check"),
                format!("mode halfway channel {channel} {}..{} us # check", near + 1, far - 1),
                format!("mode forward channel {channel} {far}..{high} us # check"),
            ]);
            start.push(format!("before-start {name} {first} # check"));
            channels.push((channel, format!("channel {channel} \"flight modes\" = {name} # {first}: hover")));
        } else {
            inside.push(format!("mode level channel {channel} {low}..{near} us # check"));
            channels.push((channel, format!("channel {channel} level = {name} # its first position: level")));
        }
    }
    channels.sort();
    inside.extend(["on-loss descend # check: what it does when the link is lost".to_owned(), "}".to_owned()]);
    let minutes = if answers.kind == CraftKind::Vtol { 8 } else { 4 };
    Own {
        inside,
        receiver: vec![
            "outputs serial".to_owned(),
            "# check: switch the handset off, propellers off: the controller must see that the link is lost".to_owned(),
            "failsafe output-stops".to_owned(),
        ],
        start,
        channels: channels.into_iter().map(|(_, line)| line).collect(),
        failsafe: "output-stops".to_owned(),
        timer: format!("{minutes} min while channel {arm} above {} us", p(0)),
        expect: Some(format!("mode arm and {switch} {off}")),
        ..Own::default()
    }
}

/// An aircraft whose servos and motors the receiver drives.
fn driven(answers: &Answers) -> Own {
    let (p, shape, off) = (|percent| answers.desk.pulse(percent), answers.shape(), caution(answers.kind));
    let motors = motors(answers);
    let mut parts = moved(answers);
    let mut own = Own::default();
    let Stop { switch, off: stopped, .. } = stop(answers);
    if shape == Shape::Glider {
        own.craft.push("motor none".to_owned());
        own.timer = "45 min".to_owned();
    } else {
        own.start = motors.start;
        own.named = motors.named;
        let minutes = match answers.kind {
            CraftKind::Car => 9,
            CraftKind::Tracked => 15,
            CraftKind::Helicopter | CraftKind::Boat | CraftKind::Hovercraft => 5,
            _ => 6,
        };
        let first = motors.parts.first().map_or(1, |part| part.channel);
        let runs = if motors.from_centre { p(20) } else { p(-70) };
        own.timer = format!("{minutes} min while channel {first} above {runs} us");
        own.expect = Some(format!("{switch} {stopped} and {}", motors.running));
        parts.extend(motors.parts);
    }
    parts.sort_by_key(|part| part.channel);
    let preset: Vec<String> = parts.iter().map(|part| format!("channel {} {} us", part.channel, part.rest)).collect();
    own.failsafe = format!("preset {{ {} }}", preset.join("; "));
    own.receiver = vec![
        "outputs pulses".to_owned(),
        format!("# check: switch the handset off{off}, and look"),
        format!("failsafe {}", own.failsafe),
    ];
    own.inside = vec!["surfaces {".to_owned()];
    own.inside.extend(parts.iter().map(|part| part.surface.clone()));
    own.inside.push("}".to_owned());
    own.channels = parts.into_iter().map(|part| part.value).collect();
    own
}

/// The surfaces, but for the motors. The directions are those that the values of the model move rightly: what has to be looked at
/// stands beside each.
fn moved(answers: &Answers) -> Vec<Part> {
    let [a, e, r] = ['A', 'E', 'R'].map(|function| answers.channel(function));
    let rest = answers.desk.pulse(0);
    let part = |channel: u8, surface: &str, look: &str, value: &str| Part {
        channel,
        surface: format!("channel {channel} {surface} # check: {look}"),
        value: format!("channel {channel} {value}"),
        rest,
    };
    let rudder = |channel| part(channel, "yaw high-is right", "stick right, the rudder goes right", "rudder = yaw");
    match answers.shape() {
        Shape::Controlled | Shape::Tracks => Vec::new(),
        Shape::Surfaces if answers.kind == CraftKind::Autogyro => vec![
            part(a, "roll high-is right", "stick right, the rotor leans right", "\"head sideways\" = roll"),
            part(e, "pitch high-is down", "stick forward, the rotor leans forward", "\"head fore and aft\" = pitch"),
            rudder(r),
        ],
        Shape::Surfaces | Shape::Glider => vec![
            part(
                a,
                "roll high-is right",
                "stick right, the right aileron goes up and the left one down",
                "ailerons = roll",
            ),
            part(e, "pitch high-is down", "stick back, the elevator goes up", "elevator = pitch"),
            rudder(r),
        ],
        Shape::Elevons => vec![
            part(
                a,
                "roll + pitch left high-is down",
                "stick back or left, the left elevon goes up",
                "\"left elevon\" = 50 % * roll + 50 % * pitch # check",
            ),
            part(
                e,
                "roll + pitch right high-is up",
                "stick back or right, the right elevon goes up",
                "\"right elevon\" = 50 % * roll - 50 % * pitch # check",
            ),
        ],
        Shape::Helicopter => {
            let collective = answers.bay.link.beside(FINE, 5).or_else(|| answers.bay.link.beside(FINE, 0)).unwrap_or(6);
            vec![
                part(a, "roll", "stick right, the swashplate leans right", "roll = roll"),
                part(e, "pitch", "stick forward, the swashplate leans forward", "pitch = pitch"),
                part(r, "tail", "stick right, the nose is pushed to the right", "tail = yaw"),
                part(collective, "collective", "stick up, the blades' pitch grows", "collective = throttle"),
            ]
        }
        Shape::Steered => {
            let (channel, stick, look) = match answers.desk.grip {
                Grip::Pistol => (1, "wheel", "wheel to the right"),
                Grip::Sticks => (r, "yaw", "stick right"),
            };
            let (surface, label, part_of) = match answers.kind {
                CraftKind::Car => ("steering", "steering", "front wheels"),
                CraftKind::Hovercraft => ("yaw", "rudder", "rudder"),
                _ => ("steering", "rudder", "rudder"),
            };
            let goes = if answers.kind == CraftKind::Car { "turn right" } else { "goes right" };
            vec![part(
                channel,
                &format!("{surface} high-is right"),
                &format!("{look}, the {part_of} {goes}"),
                &format!("{label} = {stick}"),
            )]
        }
    }
}

/// The motors of an aircraft without a controller, and what keeps them still.
struct Motors {
    parts: Vec<Part>,
    start: Vec<String>,
    named: Vec<String>,
    /// Whether they stand still in the middle of the control's way.
    from_centre: bool,
    /// A condition that holds while one runs.
    running: String,
}

fn motors(answers: &Answers) -> Motors {
    let (p, shape) = (|percent| answers.desk.pulse(percent), answers.shape());
    let Stop { switch, off, on, .. } = stop(answers);
    let (throttle, yaw) = match answers.desk.grip {
        Grip::Pistol => ("trigger", "wheel"),
        Grip::Sticks => ("throttle", "yaw"),
    };
    // A throttle that springs to its centre idles there, and so does a motor that runs both ways.
    let backwards = answers.reverses;
    let from_centre = backwards || answers.desk.springs && answers.kind.stays_down();
    let rests = if from_centre { "centre" } else { "low" };
    let (rest, idle_value) = if from_centre { (p(0), "0 %") } else { (p(-100), "-100 %") };
    let (idle, running) = match (from_centre, backwards) {
        (_, true) => (format!("idle {}..{} us reversible", p(-10), p(10)), format!("between {}..{} us", p(-10), p(10))),
        (true, _) => (format!("idle-below {} us", p(9)), format!("above {} us", p(9))),
        _ => (format!("idle-below {} us", p(-84)), format!("above {} us", p(-84))),
    };
    let forward = match answers.kind.stays_down() && !backwards {
        true => "# It runs forward only. One that also runs backwards: `idle A..B us reversible`.\n",
        false => "",
    };
    let runs = |channel: u8| match backwards {
        true => format!("not channel {channel} {running}"),
        false => format!("channel {channel} {running}"),
    };
    let motor = |channel: u8, side: &str, label: &str, value: &str, when: &str| Part {
        channel,
        surface: format!("{forward}motor channel {channel} {side}{idle} # check"),
        value: format!("channel {channel} {label} {{\nvalue {value} when {when}\nvalue {idle_value}\n}}"),
        rest,
    };
    let mut start = vec![
        if shape == Shape::Helicopter || shape == Shape::Tracks { "trims off" } else { "trims throttle off" }
            .to_owned(),
        format!("before-start {throttle} {rests} # check: the handset asks for it when the model is chosen"),
        format!("before-start {switch} {off} # check"),
    ];
    let t = if answers.desk.grip == Grip::Pistol { 2 } else { answers.channel('T') };
    if shape == Shape::Helicopter {
        let curve = free_name(answers, "power");
        let value = format!(
            "channel {t} motor {{\nvalue -100 % when {switch} {off} # the throttle hold: the motor stands\nvalue {curve}(throttle)\n}}"
        );
        return Motors {
            parts: vec![Part { channel: t, surface: format!("motor channel {t} {idle} # check"), value, rest }],
            start,
            named: vec![format!(
                "curve {curve} {{ points -100:-100, -40:20, 0:40, 100:70 }} # check: full speed when it hovers"
            )],
            from_centre,
            running: runs(t),
        };
    }
    let live = free_name(answers, "live");
    let mut set = format!("{switch} becomes {on} and {throttle} {rests}");
    let (parts, running) = match shape {
        Shape::Tracks => {
            let values = if from_centre {
                start.push(format!("before-start {yaw} centre # check"));
                set += &format!(" and {yaw} centre");
                ["+", "-"].map(|sign| format!("60 % * {throttle} {sign} 40 % * {yaw}"))
            } else {
                // The more power, the more the stick parts the tracks: with the throttle low neither runs.
                ["+", "-"].map(|sign| format!("80 % * throttle - 20 % {sign} 40 % * yaw * (50 % + 50 % * throttle)"))
            };
            let [left, right] = values;
            let parts = vec![
                motor(1, "left ", "\"left track\"", &left, &live),
                motor(2, "right ", "\"right track\"", &right, &live),
            ];
            (parts, format!("({} or {})", runs(1), runs(2)))
        }
        Shape::Steered if from_centre && !backwards => {
            (vec![motor(t, "", "motor", &format!("max({throttle}, 0 %)"), &live)], runs(t))
        }
        _ => (vec![motor(t, "", "motor", throttle, &live)], runs(t)),
    };
    let still = match from_centre {
        true if answers.desk.springs => "at rest",
        true => "in the middle",
        false => "at the bottom",
    };
    let named = vec![
        String::new(),
        format!(
            "# The motor runs only once the switch was turned on with the {} {still}, and stops when it is turned off.",
            match throttle {
                "trigger" => "trigger",
                _ => "stick",
            }
        ),
        format!("condition {live} latch set {set} reset {switch} {off}"),
    ];
    Motors { parts, start, named, from_centre, running }
}
