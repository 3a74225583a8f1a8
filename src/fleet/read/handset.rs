//! Places, links and handsets.

use super::{Found, Reader};
use crate::fleet::equipment::{
    AtRate, Carry, Control, ControlKind, Handset, HandsetBattery, HandsetModule, Link, Site,
};
use crate::fleet::problem::ProblemKind;
use crate::fleet::table::Block;
use crate::fleet::words::{AxisPosition, FirmwareCheck, Grip, Modulation, NumberCheck, ThrottleStick};
use crate::source::Located;

impl Reader<'_> {
    pub(super) fn site(&mut self, found: Found) -> Site {
        let mut site = Site { head: self.head(found), ..Site::default() };
        let stated =
            self.block(Block::Place, Some(found.index), found.header, |reader, statement| match statement.word {
                "region" => site.region = reader.name("code"),
                "reach" => site.reach = reader.number("distance"),
                "height" => site.height = reader.number("height"),
                _ => reader.unread(statement),
            });
        site.head.body.stated = stated;
        site
    }

    pub(super) fn link(&mut self, found: Found) -> Link {
        let mut link = Link { head: self.head(found), ..Link::default() };
        let stated =
            self.block(Block::Link, Some(found.index), found.header, |reader, statement| match statement.word {
                "band" => link.band = reader.range("range"),
                "modulation" => link.modulation = reader.word("family", Modulation::find),
                "hop-channels" => {
                    link.hop_channels =
                        reader.captures.integer("count").map(|count| Located::new(count.value as u32, count.span));
                }
                "bandwidth" => link.bandwidth = reader.number("width"),
                "adaptive" => link.adaptive = reader.on_off("state"),
                "update-rate" => link.update_rates = reader.numbers("rates"),
                "air-time" => link.air_times.extend(reader.at_rate(statement, "time")),
                "channels" => link.channels = reader.small("count"),
                "carry" => {
                    let channels =
                        reader.integers("channels").iter().map(|&(low, high)| (low as u8, high as u8)).collect();
                    let levels = reader.captures.integer("levels").map(|n| Located::new(n.value as u32, n.span));
                    let every = reader.captures.integer("cadence").map(|n| Located::new(n.value as u16, n.span));
                    let carry = Carry { span: statement.header, channels, levels, every };
                    reader.carried_twice(&link, &carry);
                    link.carries.push(carry);
                }
                "receiver-number" => {
                    let span = reader.captures.span("numbers").unwrap_or_default();
                    link.receiver_numbers = reader
                        .integers("numbers")
                        .first()
                        .map(|&(low, high)| Located::new((low as u16, high as u16), span));
                }
                "number-check" => link.number_check = reader.word("kind", NumberCheck::find),
                "firmware-check" => link.firmware_check = reader.word("kind", FirmwareCheck::find),
                "sensitivity" => link.sensitivities.extend(reader.at_rate(statement, "level")),
                _ => reader.unread(statement),
            });
        link.head.body.stated = stated;
        link
    }

    fn at_rate(&self, statement: Found, slot: &str) -> Option<AtRate> {
        Some(AtRate { span: statement.header, value: self.number(slot)?.value, rate: self.number("rate")?.value })
    }

    fn carried_twice(&mut self, link: &Link, carry: &Carry) {
        let twice = carry
            .channels
            .iter()
            .flat_map(|&(low, high)| low..=high)
            .find_map(|channel| link.carry(channel).map(|first| (channel, first.span)));
        if let Some((channel, first)) = twice {
            let message = format!("two `carry` lines speak of channel {channel}");
            let problem = crate::fleet::problem::Problem::new(
                ProblemKind::RepeatedStatement,
                self.place(carry.span),
                message,
                "name each channel in one of them",
            );
            self.tell(problem.other(self.place(first), "the first one"));
        }
    }

    pub(super) fn handset(&mut self, found: Found) -> Handset {
        let mut handset = Handset { head: self.head(found), ..Handset::default() };
        let stated =
            self.block(Block::Handset, Some(found.index), found.header, |reader, statement| match statement.word {
                "grip" => handset.grip = reader.word("grip", Grip::find),
                "throttle-stick" => handset.throttle_stick = reader.word("rest", ThrottleStick::find),
                "stick-mode" => handset.stick_mode = reader.small("mode"),
                "switch" => {
                    let positions = reader.small("count").map_or(2, |count| count.value);
                    let mut kind = ControlKind::Switch { positions, sprung_to: None };
                    if let Some(rest) = reader.name("rest") {
                        match kind.position(&rest.value) {
                            Some(index) => kind = ControlKind::Switch { positions, sprung_to: Some(index) },
                            None => {
                                reader.unknown_position(&rest, "this switch", kind);
                                reader.refuse(statement);
                            }
                        }
                    }
                    reader.control(&mut handset, statement, kind);
                }
                "button" => {
                    let stays = reader.captures.word("stays").is_some();
                    reader.control(&mut handset, statement, ControlKind::Button { stays });
                }
                "knob" => {
                    let sprung_to = reader.sprung_axis();
                    reader.control(&mut handset, statement, ControlKind::Knob { sprung_to });
                }
                "slider" => {
                    let sprung_to = reader.sprung_axis();
                    reader.control(&mut handset, statement, ControlKind::Slider { sprung_to });
                }
                "scale" => {
                    if let (Some(centre), Some(span)) = (reader.number("centre"), reader.number("span")) {
                        handset.scale = Some(Located::new((centre.value, span.value), statement.header));
                    }
                }
                "trim-range" => handset.trim_range = reader.number("range"),
                "stick-filter" => handset.stick_filter = reader.on_off("state"),
                "battery" => {
                    let chemistry = reader.listed("chemistry").unwrap_or_default();
                    let body = statement.body.unwrap_or_default();
                    let mut battery =
                        HandsetBattery { header: statement.header, body, chemistry, ..HandsetBattery::default() };
                    battery.body.stated = reader.block(
                        Block::HandsetBattery,
                        Some(statement.index),
                        statement.header,
                        |reader, inner| match inner.word {
                            "cells" => battery.cells = reader.small("count"),
                            "alarm" => battery.alarm = reader.number("voltage"),
                            _ => reader.unread(inner),
                        },
                    );
                    handset.battery = Some(battery);
                }
                "module" => {
                    let module = reader.handset_module(statement);
                    if let Some(first) = handset.module(&module.bay.value).map(|first| first.bay.span) {
                        reader.name_twice("bays", &module.bay, first);
                    } else {
                        handset.modules.push(module);
                    }
                }
                _ => reader.unread(statement),
            });
        handset.head.body.stated = stated;
        self.pistol(&mut handset);
        handset
    }

    fn sprung_axis(&self) -> Option<AxisPosition> {
        self.word("rest", AxisPosition::find).map(|rest| rest.value)
    }

    /// What a pistol grip has of its own.
    fn pistol(&mut self, handset: &mut Handset) {
        let Some(grip) = handset.grip.filter(|grip| grip.value == Grip::Pistol) else { return };
        if let Some(stays) = handset.throttle_stick.filter(|stick| stick.value == ThrottleStick::Stays) {
            let message = "the trigger of a pistol grip springs to its centre, so it does not stay where it is put";
            self.problem(ProblemKind::Range, stays.span, message, "take the line out, or the `grip pistol`");
        }
        for control in handset.controls.iter().filter(|control| handset.stick(&control.name.value).is_some()) {
            self.name_twice("controls", &control.name, grip.span);
        }
        let named = |control: &Control| grip.value.stick(&control.name.value).is_none();
        handset.controls.retain(named);
    }

    fn control(&mut self, handset: &mut Handset, statement: Found, kind: ControlKind) {
        let Some(name) = self.name("name") else { return };
        if super::model::KEYWORDS.contains(&name.value.as_str()) {
            let message = format!("a control can't be called `{}`: conditions and values use this word", name.value);
            self.problem(ProblemKind::Range, name.span, message, "give it another name");
            return self.refuse(statement);
        }
        if let Some(first) = handset.control(&name.value).map(|first| first.name.span) {
            return self.name_twice("controls", &name, first);
        }
        handset.controls.push(Control { span: statement.header, name, kind });
    }

    fn handset_module(&mut self, found: Found) -> HandsetModule {
        let bay = self.name("bay").unwrap_or_default();
        let empty = found.body.is_none();
        let mut module =
            HandsetModule { header: found.header, body: found.body, bay, empty, ..HandsetModule::default() };
        if empty {
            return module;
        }
        let stated = self.block(Block::HandsetModule, Some(found.index), found.header, |reader, statement| {
            match statement.word {
                "link" => module.link = reader.name("link"),
                "chains" => module.chains = reader.small("count"),
                "power" => module.power = reader.numbers("steps"),
                "antenna-gain" => module.antenna_gain = reader.number("gain"),
                "feeder-loss" => module.feeder_loss = reader.number("loss"),
                "firmware" => module.firmware = reader.name("version"),
                "domain" => module.domain = reader.name("domain"),
                _ => reader.unread(statement),
            }
        });
        if let Some(body) = &mut module.body {
            body.stated = stated;
        }
        module
    }
}
