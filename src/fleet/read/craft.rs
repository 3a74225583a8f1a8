//! Aircraft.

use super::file::push_few;
use super::{Found, Reader};
use crate::fleet::condition::Name;
use crate::fleet::craft::{
    Arm, Controller, Craft, CraftBattery, Expect, Failsafe, Mode, ModeTest, Motor, OnLoss, Outputs, PresetPulse,
    Receiver, ReceiverNumber, Surface, Surfaces,
};
use crate::fleet::problem::{Problem, ProblemKind};
use crate::fleet::shape::Capture;
use crate::fleet::table::{Block, lists};
use crate::fleet::words::{
    CraftKind, ExpectKind, ExpectSeverity, FailsafeAction, LossAction, ModeKind, MotorKind, Side, Stick,
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
                            reader.problems.push(problem.other(reader.place(first), "the first one"));
                        }
                        (None, _) => push_few(&mut craft.receivers, 1, receiver),
                    }
                }
                "controller" => craft.controller = Some(reader.controller(statement)),
                "surfaces" => craft.surfaces = Some(reader.surfaces(statement)),
                "battery" => craft.battery = Some(reader.craft_battery(statement)),
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
        let place = self.place(channel.span);
        let problem =
            Problem::new(ProblemKind::RepeatedStatement, place, message, "keep one of the two, or correct the number");
        self.problems.push(problem.other(self.place(first), "the first one"));
    }

    fn controller(&mut self, found: Found) -> Controller {
        let mut controller =
            Controller { header: found.header, body: found.body.unwrap_or_default(), ..Controller::default() };
        let stated =
            self.block(Block::Controller, Some(found.index), found.header, |reader, statement| match statement.word {
                "order" => controller.order = reader.order(statement),
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
        controller.body.stated = stated;
        controller
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
        let channels = self.captures.all("channel").filter_map(|capture| match capture.value {
            Capture::Integer(number) => Some(Located::new(number as u8, capture.span)),
            _ => None,
        });
        let ranges = self.captures.all("range").filter_map(|capture| match capture.value {
            Capture::Range(low, high) => Some(Located::new((low, high), capture.span)),
            _ => None,
        });
        let tests = channels.zip(ranges).map(|(channel, range)| ModeTest { channel, range }).collect();
        let kind = self.word("kind", ModeKind::find);
        Some(Mode { span: statement.header, name, tests, kind, excludes: self.name("excludes") })
    }

    fn surfaces(&mut self, found: Found) -> Surfaces {
        let mut surfaces =
            Surfaces { header: found.header, body: found.body.unwrap_or_default(), ..Surfaces::default() };
        let stated = self.block(Block::Surfaces, Some(found.index), found.header, |reader, statement| {
            if !matches!(statement.word, "channel" | "motor") {
                return reader.unread(statement);
            }
            let Some(channel) = reader.small("channel") else { return };
            let first = surfaces.channels.iter().map(|known| (known.channel, known.span));
            let first = first.chain(surfaces.motors.iter().map(|known| (known.channel, known.span)));
            let first = first.filter(|(known, _)| known.value == channel.value).map(|(_, span)| span).next();
            if let Some(first) = first {
                return reader.channel_twice(channel, first, "these surfaces");
            }
            match statement.word {
                "channel" => {
                    let Some(functions) = reader.functions() else { return reader.refuse(statement) };
                    let side = reader.word("side", Side::find);
                    surfaces.channels.push(Surface { span: statement.header, channel, functions, side });
                }
                _ => surfaces.motors.push(Motor {
                    span: statement.header,
                    channel,
                    idle_below: reader.number("idle"),
                    full_above: reader.number("full"),
                    reversible: reader.captures.word("reversible").is_some(),
                }),
            }
        });
        surfaces.body.stated = stated;
        surfaces
    }

    /// What a surface moves: words of the list of functions, or anything in quotes; `None` where a word is in no list.
    fn functions(&mut self) -> Option<Vec<Name>> {
        let mut functions = self.names("functions");
        let mut known = true;
        for name in &mut functions {
            if name.span.of(self.bytes).first() == Some(&b'"') {
                continue;
            }
            match lists::listed(lists::FUNCTIONS, name.value.as_bytes()) {
                Some(word) => name.value = CompactString::const_new(word),
                None => {
                    known = false;
                    let quoted = format!("\"{}\"", name.value);
                    let problem = self.unknown_word(name.span, "a function of a surface", lists::FUNCTIONS);
                    self.problems.push(problem.repair("put it in quotes: a name of your own", name.span, quoted));
                }
            }
        }
        known.then_some(functions)
    }

    fn craft_battery(&mut self, found: Found) -> CraftBattery {
        let chemistry = self.listed("chemistry").unwrap_or_default();
        let body = found.body.unwrap_or_default();
        let mut battery = CraftBattery { header: found.header, body, chemistry, ..CraftBattery::default() };
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
