//! Models.

use super::file::push_few;
use super::{Found, Reader};
use crate::fleet::Decimal;
use crate::fleet::condition::Name;
use crate::fleet::equipment::{ControlKind, Lost};
use crate::fleet::miss::any_of;
use crate::fleet::model::{
    Alarm, AlarmKind, BeforeStart, Channel, Curve, Mix, Model, ModelModule, NamedCondition, NamedKind, RateLine,
    SendOn, StickRates, Sweep, Telemetry, Timer, Trainer, Trims, ValueLine,
};
use crate::fleet::problem::{Problem, ProblemKind, nearest};
use crate::fleet::shape::Capture;
use crate::fleet::table::Block;
use crate::fleet::words::Grip;
use crate::source::{Located, Span};
use crate::syntax::Kind;
use compact_str::CompactString;

/// Words that conditions and values use, and that so are no names of controls, conditions or curves.
pub(super) const KEYWORDS: &[&str] = &[
    "roll", "pitch", "throttle", "yaw", "channel", "mode", "unshaped", "min", "max", "and", "or", "not", "held",
    "above", "below", "between", "becomes", "when", "while", "set", "reset", "gives",
];

impl Reader<'_> {
    pub(super) fn unknown_position(&mut self, position: &Name, whose: &str, kind: ControlKind) {
        self.tell(unknown_position(self.place(position.span), position, whose, kind));
    }

    fn is_keyword(&mut self, name: &Name, what: &str) -> bool {
        let keyword = KEYWORDS.contains(&name.value.as_str());
        if keyword {
            let message = format!("{what} can't be called `{}`: conditions and values use this word", name.value);
            self.problem(ProblemKind::Range, name.span, message, "give it another name");
        }
        keyword
    }

    pub(super) fn model(&mut self, found: Found) -> Model {
        let digest = self.digest(found);
        let mut model = Model { head: self.head(found), digest, ..Model::default() };
        model.head.body.stated = self.block(Block::Model, Some(found.index), found.header, |reader, statement| {
            reader.model_statement(&mut model, statement);
        });
        model
    }

    /// A hash of the tokens between the block's braces.
    fn digest(&self, found: Found) -> u64 {
        let Some(statement) = self.statement(found.index) else { return 0 };
        let end = (statement.close as usize).min(self.tables.tokens.len());
        let tokens = self.tables.tokens.get(statement.items_end as usize..end).unwrap_or_default();
        let tokens = tokens.iter().filter(|token| !matches!(token.kind, Kind::EndOfLine | Kind::Semicolon));
        tokens.fold(0, |digest, token| mixed(digest, token.span(), self.bytes))
    }

    fn model_statement(&mut self, model: &mut Model, statement: Found) {
        match statement.word {
            "handset" => model.handset = self.name("handset"),
            "flies" => model.flies = self.names("craft"),
            "module" => {
                let module = self.model_module(statement);
                match model.modules.iter().find(|first| first.bay.value == module.bay.value).map(|first| first.bay.span)
                {
                    Some(first) => self.name_twice("bays", &module.bay, first),
                    None => push_few(&mut model.modules, 2, module),
                }
            }
            "stick-filter" => model.stick_filter = self.on_off("state"),
            "trims" => {
                let trims = match (self.captures.word("throttle"), self.on_off("state")) {
                    (Some(_), _) => Trims::ThrottleOff,
                    (None, Some(Located { value: false, .. })) => Trims::Off,
                    _ => Trims::On,
                };
                model.trims = Some(Located::new(trims, statement.header));
            }
            "trainer" => {
                let functions = self.names("functions");
                let hand_over = self.captures.condition("condition").map(|condition| (condition, functions));
                let from = self.name("pupil");
                model.trainer = Some(Trainer { span: statement.header, hand_over, from });
            }
            "before-start" => {
                if let (Some(control), Some(position)) = (self.name("control"), self.name("position")) {
                    model.before_start.push(BeforeStart { span: statement.header, control, position });
                }
            }
            "condition" => self.named_condition(model, statement),
            "curve" => self.curve(model, statement),
            "mix" => self.mix(model, statement),
            "rates" => self.rates(model, statement),
            "channel" => self.channel(model, statement),
            "failsafe" => model.failsafe = Some(self.failsafe(statement)),
            "alarm" => model.alarms.extend(self.alarm(statement)),
            "timer" => {
                let when = self.captures.condition("while");
                if let Some(time) = self.number("time") {
                    model.timers.push(Timer { span: statement.header, time, when });
                }
            }
            "expect" => model.expects.extend(self.expect(statement)),
            "purpose" => model.simulator = Some(statement.header),
            "lesson" => model.lesson = self.on_off("state"),
            _ => self.unread(statement),
        }
    }

    fn model_module(&mut self, found: Found) -> ModelModule {
        let bay = self.name("bay").unwrap_or_default();
        let off = self.captures.span("off");
        let mut module = ModelModule { header: found.header, body: found.body, bay, off, ..ModelModule::default() };
        if off.is_some() {
            return module;
        }
        let stated =
            self.block(Block::ModelModule, Some(found.index), found.header, |reader, statement| match statement.word {
                "receiver-number" => {
                    let number = reader.captures.integer("number");
                    module.receiver_number = number.map(|number| Located::new(number.value as u16, number.span));
                }
                "match" => module.matching = reader.on_off("state"),
                "send-on" => {
                    let mut chains: Vec<u8> =
                        reader.captures.integer("chain").iter().map(|chain| chain.value as u8).collect();
                    chains.extend(reader.integers("chains").iter().flat_map(|&(low, high)| low as u8..=high as u8));
                    chains.sort_unstable();
                    chains.dedup();
                    let in_turn = reader.captures.word("turn").is_some();
                    module.send_on = Some(Located::new(SendOn { chains, in_turn }, statement.header));
                }
                "update-rate" => module.update_rate = reader.number("rate"),
                "telemetry" => {
                    let telemetry =
                        reader.number("share").map_or(Telemetry::Off, |share| Telemetry::Share(share.value));
                    module.telemetry = Some(Located::new(telemetry, statement.header));
                }
                "power" => {
                    let one = reader.number("power").map(|power| Located::new((power.value, power.value), power.span));
                    module.power = one.or_else(|| reader.range("range"));
                }
                "key" => module.key = reader.name("key"),
                _ => reader.unread(statement),
            });
        if let Some(body) = &mut module.body {
            body.stated = stated;
        }
        module
    }

    fn named_condition(&mut self, model: &mut Model, statement: Found) {
        let Some(name) = self.name("name") else { return };
        if self.is_keyword(&name, "a condition") {
            return self.refuse(statement);
        }
        if let Some(first) = model.condition(&name.value).map(|first| first.name.span) {
            return self.name_twice("conditions", &name, first);
        }
        let kind = if let Some(when) = self.captures.condition("when") {
            NamedKind::When(when)
        } else if let (Some(set), Some(reset)) = (self.captures.condition("set"), self.captures.condition("reset")) {
            NamedKind::Latch { set, reset }
        } else if let Some(control) = self.name("control") {
            NamedKind::Toggle { control, position: self.name("position") }
        } else {
            NamedKind::Reported
        };
        model.conditions.push(NamedCondition { span: statement.header, name, kind });
    }

    fn mix(&mut self, model: &mut Model, statement: Found) {
        let Some(name) = self.name("name") else { return };
        if self.is_keyword(&name, "a mix") {
            return self.refuse(statement);
        }
        if let Some(first) = model.mix(&name.value).map(|first| first.name.span) {
            return self.name_twice("mixes", &name, first);
        }
        let lines = self.value_lines(Block::Mix, statement, |reader, inner| reader.unread(inner));
        model.mixes.push(Mix { header: statement.header, body: statement.body, name, lines });
    }

    /// The value lines of a mix or a channel: the one behind its `=`, or those of its block, whose other statements are handed to
    /// `other`.
    fn value_lines(
        &mut self,
        block: Block,
        statement: Found,
        mut other: impl FnMut(&mut Self, Found),
    ) -> Vec<ValueLine> {
        let mut lines = Vec::new();
        if let Some(value) = self.captures.value("value") {
            push_few(&mut lines, 1, ValueLine { span: value.span, value, when: None });
        }
        if statement.body.is_some() {
            self.block(block, Some(statement.index), statement.header, |reader, inner| match inner.word {
                "value" => {
                    let when = reader.captures.condition("when");
                    if let Some(value) = reader.captures.value("value") {
                        push_few(&mut lines, 2, ValueLine { span: inner.header, value, when });
                    }
                }
                _ => other(reader, inner),
            });
        }
        lines
    }

    fn curve(&mut self, model: &mut Model, statement: Found) {
        let Some(name) = self.name("name") else { return };
        if self.is_keyword(&name, "a curve") {
            return self.refuse(statement);
        }
        let body = statement.body.unwrap_or_default();
        let mut curve = Curve { header: statement.header, body, name, ..Curve::default() };
        self.block(Block::Curve, Some(statement.index), statement.header, |reader, inner| match inner.word {
            "points" => {
                if let Some(Located { value: Capture::Points(points), .. }) = reader.captures.remove("points") {
                    curve.points = points;
                }
            }
            "rounded" => curve.rounded = true,
            _ => reader.unread(inner),
        });
        let (told, name) = (self.told, curve.name.value.clone());
        let falls = curve.points.windows(2).find(|pair| pair[0].0.value >= pair[1].0.value).map(|pair| pair[1].0);
        if let Some(point) = falls {
            let message = format!("the first numbers of a curve's points rise, but {} does not", point.value);
            self.problem(
                ProblemKind::Range,
                point.span,
                message,
                "put the points in rising order, each first number once",
            );
        } else if curve.points.len() == 1 {
            let span = curve.points[0].0.span;
            self.problem(ProblemKind::Range, span, "a curve needs two points or more", "add its other points");
        } else if let Some(first) = model.curve(&curve.name.value).map(|first| first.name.span) {
            self.name_twice("curves", &curve.name, first);
        } else {
            model.curves.push(curve);
        }
        if self.told > told {
            // What was refused is not known, so that nothing is said about its uses.
            self.lost.push(Lost {
                span: body.whole,
                block: Block::Model,
                word: "curve",
                key: Some(name),
                inside: Vec::new(),
            });
        }
    }

    fn rates(&mut self, model: &mut Model, statement: Found) {
        let Some(written) = self.captures.word("stick") else { return };
        let stick = Grip::ALL.iter().find_map(|grip| grip.stick(written.value));
        let Some(stick) = stick.map(|stick| Located::new(stick, written.span)) else { return };
        if let Some(first) = model.rates.iter().find(|known| known.stick.value == stick.value).map(|known| known.header)
        {
            let message = format!("there are two `rates {}`", written.value);
            let problem = Problem::new(
                ProblemKind::RepeatedStatement,
                self.place(statement.header),
                message,
                "put the lines of both into one",
            );
            return self.tell(problem.other(self.place(first), "the first one"));
        }
        let mut lines: Vec<RateLine> = Vec::new();
        let body = statement.body.unwrap_or_default();
        self.block(Block::Rates, Some(statement.index), statement.header, |reader, inner| {
            if inner.word != "rate" {
                return reader.unread(inner);
            }
            let when = reader.captures.condition("when");
            let Some(rate) = reader.number("rate") else { return };
            push_few(&mut lines, 2, RateLine { span: inner.header, rate, expo: reader.number("expo"), when });
        });
        let early = lines.iter().rev().skip(1).rev().find(|line| line.when.is_none()).map(|line| line.span);
        if let Some(span) = early {
            let message = "only the last rate line may stand without `when`: the lines below this one never act";
            self.problem(ProblemKind::Range, span, message, "give it a `when`, or move it to the end");
        }
        model.rates.push(StickRates { header: statement.header, body, stick, name: written.value, lines });
    }

    fn channel(&mut self, model: &mut Model, statement: Found) {
        let Some(number) = self.small("channel") else { return };
        if let Some(first) = model.channel(number.value).map(|first| first.header) {
            return self.channel_twice(number, first, "this model");
        }
        let label = self.name("label");
        let mut channel = Channel {
            header: statement.header,
            body: statement.body,
            number,
            label,
            lines: Vec::new(),
            reversed: None,
            subtrim: None,
            ends: None,
            travel: None,
            centre: None,
            full_sweep: None,
        };
        let lines = self.value_lines(Block::Channel, statement, |reader, inner| {
            let range = |reader: &Self| reader.range("range").map(|range| Located::new(range.value, inner.header));
            match inner.word {
                "reversed" => channel.reversed = Some(inner.header),
                "subtrim" => channel.subtrim = reader.stated("offset", inner),
                "ends" => channel.ends = range(reader),
                "travel" => channel.travel = range(reader),
                "centre" => channel.centre = reader.stated("pulse", inner),
                "full-sweep" => {
                    let one_way = |slot| reader.number(slot).or_else(|| reader.number("time")).map(|time| time.value);
                    if let (Some(up), Some(down)) = (one_way("up"), one_way("down")) {
                        channel.full_sweep = Some(Located::new(Sweep { up, down }, inner.header));
                    }
                }
                _ => reader.unread(inner),
            }
        });
        model.channels.push(Channel { lines, ..channel });
    }

    /// A number with the place of its whole statement.
    fn stated(&self, slot: &str, statement: Found) -> Option<Located<Decimal>> {
        self.number(slot).map(|number| Located::new(number.value, statement.header))
    }

    fn alarm(&mut self, statement: Found) -> Option<Alarm> {
        let kind = if let Some(quality) = self.number("quality") {
            AlarmKind::LinkQuality(quality)
        } else if let Some(level) = self.number("level") {
            AlarmKind::Signal(level)
        } else {
            AlarmKind::Battery {
                voltage: self.number("voltage")?,
                per_cell: self.captures.word("cell").is_some(),
                under_load: self.captures.word("load").map(|word| word.value == "under-load"),
            }
        };
        Some(Alarm { span: statement.header, kind })
    }
}

/// A hash with the bytes of a range mixed in, and how many they are. Most tokens are mixed in at once.
fn mixed(digest: u64, span: Span, text: &[u8]) -> u64 {
    // Odd numbers with bits all over: the first digits of the fractions of the square roots of 2 and 3.
    const ODD: [u64; 2] = [0x6a09_e667_f3bc_c909, 0xbb67_ae85_84ca_a73b];
    let mix = |digest: u64, word: u64, length: usize| {
        let product = u128::from(digest ^ word ^ ODD[0]) * u128::from(ODD[1] ^ length as u64);
        product as u64 ^ (product >> 64) as u64
    };
    let bytes = span.of(text);
    if let (1..=8, Some(chunk)) = (bytes.len(), text.get(span.start as usize..).and_then(|rest| rest.first_chunk())) {
        let word = u64::from_le_bytes(*chunk) & u64::MAX >> (64 - 8 * bytes.len());
        return mix(digest, word, bytes.len());
    }
    bytes.chunks(8).fold(digest, |digest, chunk| {
        let mut word = [0; 8];
        word.iter_mut().zip(chunk).for_each(|(to, from)| *to = *from);
        mix(digest, u64::from_le_bytes(word), bytes.len())
    })
}

/// The problem of a position that a control has not.
pub(in crate::fleet) fn unknown_position(
    place: crate::source::Place,
    position: &Name,
    whose: &str,
    kind: ControlKind,
) -> Problem {
    let names: Vec<_> = (0..kind.positions()).map(|index| kind.position_name(index)).collect();
    let words: Vec<&str> = names.iter().map(CompactString::as_str).collect();
    let span: Span = position.span;
    if words.is_empty() {
        let message = format!("{whose} has no positions: it is moved from -100 to 100 %");
        return Problem::new(ProblemKind::UnknownName, place, message, "write `above` or `below` and a number of %");
    }
    let message = format!("{whose} has no position \"{}\"; it has {}", position.value, any_of(&words));
    let problem = Problem::new(ProblemKind::UnknownName, place, message, "name one of its positions");
    let first = nearest(&position.value, words.iter().copied());
    let mut order: Vec<&str> = first.into_iter().collect();
    order.extend(words.iter().copied().filter(|word| Some(*word) != first));
    order.into_iter().fold(problem, |problem, word| problem.repair(format!("write {word}"), span, word))
}
