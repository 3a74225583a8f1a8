//! Aircraft.

use super::file::push_few;
use super::{Found, Reader};
use crate::fleet::condition::Name;
use crate::fleet::craft::{
    Arm, Controller, Craft, CraftBattery, Expect, Failsafe, Idle, Ignition, Mode, ModeTest, Motor, OnLoss, Outputs,
    PresetPulse, Read, Receiver, ReceiverNumber, Surface, Surfaces, Test,
};
use crate::fleet::number::Decimal;
use crate::fleet::problem::{Problem, ProblemKind};
use crate::fleet::quoted;
use crate::fleet::shape::Capture;
use crate::fleet::table::{Block, lists};
use crate::fleet::words::{
    CraftKind, ExpectKind, ExpectSeverity, FailsafeAction, Feeds, LossAction, ModeKind, MotorKind, Side, Stick, Tail,
    Tested, Way,
};
use crate::source::{Located, Span};
use compact_str::CompactString;

impl Reader<'_> {
    pub(super) fn craft(&mut self, found: Found) -> Craft {
        let mut craft = Craft { head: self.head(found), ..Craft::default() };
        let stated =
            self.block(Block::Craft, Some(found.index), found.header, |reader, statement| match statement.word {
                "kind" => craft.kind = reader.word("kind", CraftKind::find),
                "receiver" => {
                    let receiver = reader.receiver(statement);
                    let twice = craft.receivers.iter().find(|first| {
                        first.name.as_ref().map(|name| &name.value) == receiver.name.as_ref().map(|name| &name.value)
                    });
                    match (twice.map(|first| first.header), &receiver.name) {
                        (Some(first), Some(name)) => reader.name_twice("receivers", &name.clone(), first),
                        (Some(first), None) => {
                            let message = "this craft has two receivers without a name";
                            let problem = Problem::new(
                                ProblemKind::NameTwice,
                                reader.place(receiver.header),
                                message,
                                "write `receiver main {` and `receiver spare {`, or keep one",
                            );
                            reader.tell(problem.other(reader.place(first), "the first one"));
                        }
                        (None, _) => push_few(&mut craft.receivers, 1, receiver),
                    }
                }
                "controller" => craft.controller = Some(reader.controller(statement)),
                "surfaces" => craft.surfaces = Some(reader.surfaces(statement)),
                "receivers" => craft.combined = Some(statement.header),
                "battery" => {
                    let battery = reader.craft_battery(statement);
                    let feeds = |battery: &CraftBattery| battery.feeds.map(|feeds| feeds.value);
                    match craft.batteries.iter().find(|first| feeds(first) == feeds(&battery)).map(|first| first.header)
                    {
                        Some(first) => reader.battery_twice(&battery, first),
                        None => push_few(&mut craft.batteries, 1, battery),
                    }
                }
                "supply" => craft.supply = reader.number("voltage"),
                "servo-voltage" => craft.servo_voltage = reader.range("range"),
                "height" => craft.height = reader.number("height"),
                "tested" => {
                    let (Some(what), Some(day)) = (reader.word("what", Tested::find), reader.captures.day("day"))
                    else {
                        return;
                    };
                    match craft.tested.iter().find(|first| first.what == what.value).map(|first| first.span) {
                        Some(first) => {
                            let message = format!("`tested {}` stands twice in this craft", what.value.word());
                            reader.stands_twice(what.span, first, message, "keep the later day");
                        }
                        None => craft.tested.push(Test { span: statement.header, what: what.value, day }),
                    }
                }
                "motor" => craft.motor = reader.word("kind", MotorKind::find),
                "weight" => craft.weight = reader.number("mass"),
                "flown-at" => craft.flown_at = reader.name("place"),
                "expect" => craft.expects.extend(reader.expect(statement)),
                _ => reader.unread(statement),
            });
        craft.head.body.stated = stated;
        craft
    }

    pub(super) fn expect(&mut self, statement: Found) -> Option<Expect> {
        let severity = self.word("severity", ExpectSeverity::find).map(|word| word.value);
        let kind = self.word("kind", ExpectKind::find)?.value;
        Some(Expect { span: statement.header, severity, kind, condition: self.captures.condition("condition")? })
    }

    fn receiver(&mut self, found: Found) -> Receiver {
        let name = self.name("name");
        let body = found.body.unwrap_or_default();
        let mut receiver = Receiver { header: found.header, body, name, ..Receiver::default() };
        let stated =
            self.block(Block::Receiver, Some(found.index), found.header, |reader, statement| match statement.word {
                "link" => receiver.link = reader.name("link"),
                "chains" => receiver.chains = reader.small("count"),
                "number" => {
                    receiver.number = Some(match reader.captures.integer("number") {
                        Some(number) => Located::new(ReceiverNumber::Locked(number.value as u16), statement.header),
                        None => Located::new(ReceiverNumber::Any, statement.header),
                    });
                }
                "key" => receiver.key = reader.name("key"),
                "firmware" => receiver.firmware = reader.name("version"),
                "domain" => receiver.domain = reader.name("domain"),
                "antenna-gain" => receiver.antenna_gain = reader.number("gain"),
                "outputs" => {
                    let outputs = match reader.captures.word("pulses") {
                        Some(_) => Outputs::Pulses,
                        None => Outputs::Serial { flags_loss: reader.captures.word("flags").is_some() },
                    };
                    receiver.outputs = Some(Located::new(outputs, statement.header));
                }
                "drives" => {
                    let ranges = reader.integers("channels");
                    let channels = ranges.iter().map(|&(low, high)| (low as u8, high as u8)).collect();
                    receiver.drives = Some(Located::new(channels, statement.header));
                }
                "failsafe" => receiver.failsafe = Some(reader.failsafe(statement)),
                _ => reader.unread(statement),
            });
        receiver.body.stated = stated;
        receiver
    }

    pub(super) fn failsafe(&mut self, found: Found) -> Failsafe {
        let action = self
            .word("action", FailsafeAction::find)
            .unwrap_or_else(|| Located::new(FailsafeAction::Preset, found.header));
        let hold_first = self.number("hold");
        let mut preset: Vec<PresetPulse> = Vec::new();
        if found.body.is_some() {
            self.block(Block::Preset, Some(found.index), found.header, |reader, statement| {
                if statement.word != "channel" {
                    return reader.unread(statement);
                }
                let (Some(channel), Some(pulse)) = (reader.small("channel"), reader.number("pulse")) else { return };
                match preset.iter().find(|first| first.channel.value == channel.value).map(|first| first.span) {
                    Some(first) => reader.channel_twice(channel, first, "this preset"),
                    None => preset.push(PresetPulse { span: statement.header, channel, pulse }),
                }
            });
        }
        Failsafe { header: found.header, body: found.body, hold_first, action, preset }
    }

    #[cold]
    pub(super) fn channel_twice(&mut self, channel: Located<u8>, first: Span, whose: &str) {
        let message = format!("channel {} stands twice in {whose}", channel.value);
        self.stands_twice(channel.span, first, message, "keep one of the two, or correct the number");
    }

    #[cold]
    fn battery_twice(&mut self, battery: &CraftBattery, first: Span) {
        let whose = battery
            .feeds
            .map_or("a battery without `for`".to_owned(), |feeds| format!("`battery for {}`", feeds.value.word()));
        let mend =
            "say what each is for (`for motor`, `for receiver`, `for both`); packs that are alike are stated once";
        self.stands_twice(battery.header, first, format!("{whose} stands twice in this craft"), mend);
    }

    #[cold]
    fn stands_twice(&mut self, here: Span, first: Span, message: String, mend: &str) {
        let problem = Problem::new(ProblemKind::RepeatedStatement, self.place(here), message, mend);
        self.tell(problem.other(self.place(first), "the first one"));
    }

    fn controller(&mut self, found: Found) -> Controller {
        let mut controller =
            Controller { header: found.header, body: found.body.unwrap_or_default(), ..Controller::default() };
        let stated =
            self.block(Block::Controller, Some(found.index), found.header, |reader, statement| match statement.word {
                "order" => controller.order = reader.order(statement),
                "reads" => reader.reads(statement, &mut controller),
                "idle-below" => controller.idle_below = reader.number("pulse"),
                "full-above" => controller.full_above = reader.number("pulse"),
                "deadband" => controller.deadband = reader.number("width"),
                "valid" => controller.valid = reader.range("range"),
                "arm" => controller.arm = Some(Located::new(reader.arm(), statement.header)),
                "mode" => {
                    let Some(mode) = reader.mode(statement) else { return };
                    match controller.mode(&mode.name.value).map(|first| first.name.span) {
                        Some(first) => reader.name_twice("modes", &mode.name, first),
                        None => controller.modes.push(mode),
                    }
                }
                "on-loss" => {
                    if let Some(action) = reader.word("action", LossAction::find) {
                        let delay = reader.number("delay");
                        controller.on_loss = Some(OnLoss { span: statement.header, action: action.value, delay });
                    }
                }
                "expo" => {
                    if let (Some(stick), Some(expo)) = (reader.word("stick", Stick::find), reader.number("expo")) {
                        controller.expo.push((stick, expo));
                    }
                }
                "reversed" => {
                    let stick = reader.word("stick", Stick::find);
                    controller.reversed.extend(stick.map(|stick| Located::new(stick.value, statement.header)));
                }
                "arm-any-throttle" => controller.arm_any_throttle = reader.on_off("state"),
                "arming" => controller.refuses_stop_aloft = Some(statement.header),
                "position" => controller.position = reader.on_off("state"),
                "fall-accepted" => controller.fall_accepted = Some(statement.header),
                _ => reader.unread(statement),
            });
        self.read_twice(&mut controller);
        controller.body.stated = stated;
        controller
    }

    /// Says which functions are read one by one though the order has them, and keeps to the order.
    fn read_twice(&mut self, controller: &mut Controller) {
        let Some(order) = controller.order else { return };
        let in_order = |function: &str| Stick::find(function).is_some_and(|stick| order.value.contains(&stick));
        controller.reads.retain(|read| {
            let twice = in_order(&read.function.value);
            if twice {
                let message = format!("`reads {}` is about a function that `order` has already", read.function.value);
                let mend = "take the line out, or say each function by a line of its own and leave out `order`";
                self.stands_twice(read.span, order.span, message, mend);
            }
            !twice
        });
    }

    fn order(&mut self, statement: Found) -> Option<Located<[Stick; 4]>> {
        let letter = |slot| Stick::of_letter(self.captures.word(slot)?.value);
        let order = [letter("first")?, letter("second")?, letter("third")?, letter("fourth")?];
        for (index, stick) in order.iter().enumerate() {
            if order.iter().take(index).any(|before| before == stick) {
                let message = format!("`{}` stands twice in the channel order", stick.letter());
                self.problem(ProblemKind::Range, statement.header, message, "name each of A, E, T and R once");
                self.refuse(statement);
                return None;
            }
        }
        Some(Located::new(order, statement.header))
    }

    fn arm(&mut self) -> Arm {
        if self.captures.word("by").is_some() {
            return Arm::Sticks;
        }
        let needs = match self.captures.remove("needs") {
            Some(Located { value: Capture::Words(words), .. }) => words,
            _ => Vec::new(),
        };
        let has = |need: &str| needs.iter().any(|word| word.value == need);
        Arm::Switch { low_throttle: has("low-throttle"), seen_off: has("seen-off") }
    }

    fn mode(&mut self, statement: Found) -> Option<Mode> {
        let name = self.name("name")?;
        let mut any_of: Vec<Vec<ModeTest>> = vec![Vec::new()];
        let mut channel = None;
        for (slot, capture) in &self.captures.list {
            match (*slot, &capture.value) {
                ("or", _) => any_of.push(Vec::new()),
                ("channel", Capture::Integer(number)) => channel = Some(Located::new(*number as u8, capture.span)),
                ("range", Capture::Range(low, high)) => {
                    let range = Located::new((*low, *high), capture.span);
                    if let (Some(tests), Some(channel)) = (any_of.last_mut(), channel.take()) {
                        tests.push(ModeTest { channel, range });
                    }
                }
                _ => {}
            }
        }
        let kind = self.word("kind", ModeKind::find);
        Some(Mode { span: statement.header, name, any_of, kind, excludes: self.name("excludes") })
    }

    fn surfaces(&mut self, found: Found) -> Surfaces {
        let mut surfaces =
            Surfaces { header: found.header, body: found.body.unwrap_or_default(), ..Surfaces::default() };
        let stated = self.block(Block::Surfaces, Some(found.index), found.header, |reader, statement| {
            match statement.word {
                "tail" => return surfaces.tail = reader.word("shape", Tail::find),
                "canard" => return surfaces.canard = Some(statement.header),
                "channel" | "motor" | "ignition" => {}
                _ => return reader.unread(statement),
            }
            let Some(channel) = reader.small("channel") else { return };
            let first = surfaces.channels.iter().map(|known| (known.channel, known.span));
            let first = first.chain(surfaces.motors.iter().map(|known| (known.channel, known.span)));
            let first = first.chain(surfaces.ignitions.iter().map(|known| (known.channel, known.span)));
            let first = first.filter(|(known, _)| known.value == channel.value).map(|(_, span)| span).next();
            if let Some(first) = first {
                return reader.channel_twice(channel, first, "these surfaces");
            }
            let (span, side) = (statement.header, reader.word("side", Side::find));
            match statement.word {
                "channel" => {
                    let Some(functions) = reader.functions() else { return reader.refuse(statement) };
                    let high_is = reader.word("way", Way::find);
                    surfaces.channels.push(Surface { span, channel, functions, side, high_is });
                }
                "motor" => {
                    let reversible = reader.captures.word("reversible").is_some();
                    let (idle, full) = (reader.idle(), reader.number("full"));
                    surfaces.motors.push(Motor { span, channel, side, idle, full, reversible });
                }
                _ => {
                    let on_above = reader.captures.word("when").is_some_and(|when| when.value == "on-above");
                    let Some(pulse) = reader.number("pulse") else { return };
                    surfaces.ignitions.push(Ignition { span, channel, on_above, pulse });
                }
            }
        });
        surfaces.body.stated = stated;
        surfaces
    }

    fn idle(&self) -> Option<Located<Idle>> {
        let of = |edge: Located<Decimal>, idle: fn(Decimal) -> Idle| Located::new(idle(edge.value), edge.span);
        let edge = self.number("below").map(|edge| of(edge, Idle::Below));
        let edge = edge.or_else(|| self.number("above").map(|edge| of(edge, Idle::Above)));
        edge.or_else(|| {
            let Located { value: (low, high), span } = self.range("idle")?;
            Some(Located::new(Idle::Within(low, high), span))
        })
    }

    /// A function that the controller reads; each once, by `order` or one by one.
    fn reads(&mut self, statement: Found, controller: &mut Controller) {
        let (Some(function), Some(channel)) = (self.name("function"), self.small("channel")) else { return };
        let Some(function) = self.function(function, "a function that a controller reads", lists::READ) else {
            return self.refuse(statement);
        };
        match controller.reads.iter().find(|first| first.function.value == function.value).map(|first| first.span) {
            Some(first) => {
                let message = format!("`reads {}` stands twice in this controller", quoted(&function.value));
                self.stands_twice(statement.header, first, message, "keep one of the two");
            }
            None => controller.reads.push(Read { span: statement.header, function, channel }),
        }
    }

    /// What a surface moves: words of the list of functions, or anything in quotes; `None` where a word is in no list.
    fn functions(&mut self) -> Option<Vec<Name>> {
        let names = self.names("functions");
        let known = names.into_iter().map(|name| self.function(name, "a function of a surface", lists::FUNCTIONS));
        // Every word that is in no list is told, and not the first one alone.
        known.collect::<Vec<_>>().into_iter().collect()
    }

    /// A word of a list of functions, or anything in quotes.
    fn function(&mut self, name: Name, what: &str, list: &[&'static str]) -> Option<Name> {
        if name.span.of(self.bytes).first() == Some(&b'"') {
            return Some(name);
        }
        if let Some(word) = lists::listed(list, name.value.as_bytes()) {
            return Some(Located::new(CompactString::const_new(word), name.span));
        }
        let problem = self.unknown_word(name.span, what, list);
        let in_quotes = format!("\"{}\"", name.value);
        self.tell(problem.repair("put it in quotes: a name of your own", name.span, in_quotes));
        None
    }

    fn craft_battery(&mut self, found: Found) -> CraftBattery {
        let chemistry = self.listed("chemistry").unwrap_or_default();
        let body = found.body.unwrap_or_default();
        let feeds = self.word("feeds", Feeds::find);
        let mut battery = CraftBattery { header: found.header, body, feeds, chemistry, ..CraftBattery::default() };
        let stated = self.block(Block::CraftBattery, Some(found.index), found.header, |reader, statement| {
            match statement.word {
                "cells" => battery.cells = reader.small("count"),
                "capacity" => battery.capacity = reader.number("charge"),
                "draw" => battery.draw = reader.number("current"),
                _ => reader.unread(statement),
            }
        });
        battery.body.stated = stated;
        battery
    }
}
