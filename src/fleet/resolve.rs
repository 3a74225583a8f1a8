//! Names over all files: what is defined twice, what is not defined, what feeds itself.

use super::condition::{Condition, ConditionKind, Name, Value, ValueKind};
use super::craft::{Craft, ReceiverNumber};
use super::equipment::{ControlKind, Handset, Head, Link, Site};
use super::items::any_of;
use super::model::{Model, NamedKind};
use super::problem::{Problem, ProblemKind, nearest};
use super::read::{FileFleet, unknown_position};
use super::words::Stick;
use crate::source::{Located, Place, Span};
use rustc_hash::FxHashMap;

/// The fleet of all files.
#[derive(Debug, Default)]
pub struct Fleet {
    /// Places.
    pub sites: Vec<Site>,
    /// Links.
    pub links: Vec<Link>,
    /// Handsets.
    pub handsets: Vec<Handset>,
    /// Aircraft.
    pub crafts: Vec<Craft>,
    /// Models.
    pub models: Vec<Model>,
    names: [FxHashMap<compact_str::CompactString, usize>; 5],
}

impl Fleet {
    /// Puts the files together, in their order, and says which names are defined twice. The first definition counts.
    pub fn gather(files: impl IntoIterator<Item = FileFleet>) -> (Self, Vec<Problem>) {
        let (mut fleet, mut problems) = (Self::default(), Vec::new());
        for file in files {
            fleet.sites.extend(file.sites);
            fleet.links.extend(file.links);
            fleet.handsets.extend(file.handsets);
            fleet.crafts.extend(file.crafts);
            fleet.models.extend(file.models);
            problems.extend(file.problems);
        }
        let kinds: [(&str, Vec<&Head>); 5] = [
            ("places", fleet.sites.iter().map(|site| &site.head).collect()),
            ("links", fleet.links.iter().map(|link| &link.head).collect()),
            ("handsets", fleet.handsets.iter().map(|handset| &handset.head).collect()),
            ("craft", fleet.crafts.iter().map(|craft| &craft.head).collect()),
            ("models", fleet.models.iter().map(|model| &model.head).collect()),
        ];
        let mut names: [FxHashMap<_, usize>; 5] = Default::default();
        for ((what, heads), names) in kinds.iter().zip(&mut names) {
            for (index, head) in heads.iter().enumerate() {
                let first = *names.entry(head.name.value.clone()).or_insert(index);
                if let Some(first) = heads.get(first).filter(|_| first != index) {
                    let message = format!("there are two {what} called \"{}\"", head.name.value);
                    let place = head.place(head.name.span);
                    let problem = Problem::new(ProblemKind::NameTwice, place, message, "give one of them another name");
                    problems.push(problem.other(first.place(first.name.span), "the first one"));
                }
            }
        }
        fleet.names = names;
        (fleet, problems)
    }

    fn index(&self, kind: usize, name: &str) -> Option<usize> {
        self.names.get(kind)?.get(name).copied()
    }

    /// The place with a name.
    pub fn site(&self, name: &str) -> Option<&Site> {
        self.sites.get(self.index(0, name)?)
    }

    /// The link with a name.
    pub fn link(&self, name: &str) -> Option<&Link> {
        self.links.get(self.index(1, name)?)
    }

    /// The handset with a name.
    pub fn handset(&self, name: &str) -> Option<&Handset> {
        self.handsets.get(self.index(2, name)?)
    }

    /// The craft with a name.
    pub fn craft(&self, name: &str) -> Option<&Craft> {
        self.crafts.get(self.index(3, name)?)
    }

    /// The model with a name.
    pub fn model(&self, name: &str) -> Option<&Model> {
        self.models.get(self.index(4, name)?)
    }

    /// What a handset, craft or model names and nobody defines, and what feeds itself.
    pub fn check(&self) -> Vec<Problem> {
        let mut problems = Vec::new();
        for handset in &self.handsets {
            self.check_handset(handset, &mut problems);
        }
        for craft in &self.crafts {
            self.check_craft(craft, &mut problems);
        }
        for model in &self.models {
            self.check_model(model, &mut problems);
        }
        problems
    }

    fn known(&self, kind: usize) -> impl Iterator<Item = &str> {
        self.names.get(kind).into_iter().flatten().map(|(name, _)| name.as_str())
    }

    fn defined(&self, kind: usize, what: &str, name: &Name, head: &Head, problems: &mut Vec<Problem>) -> bool {
        let found = self.index(kind, &name.value).is_some();
        if !found {
            problems.push(unknown(head.place(name.span), what, name, self.known(kind)));
        }
        found
    }

    fn check_handset(&self, handset: &Handset, problems: &mut Vec<Problem>) {
        for link in handset.modules.iter().filter_map(|module| module.link.as_ref()) {
            self.defined(1, "link", link, &handset.head, problems);
        }
    }

    fn check_craft(&self, craft: &Craft, problems: &mut Vec<Problem>) {
        let before = problems.len();
        if let Some(site) = &craft.flown_at {
            self.defined(0, "place", site, &craft.head, problems);
        }
        for receiver in &craft.receivers {
            let Some(name) = &receiver.link else { continue };
            if !self.defined(1, "link", name, &craft.head, problems) {
                continue;
            }
            if let (Some(link), Some(Located { value: ReceiverNumber::Locked(number), span })) =
                (self.link(&name.value), receiver.number)
            {
                number_in_range(link, number, craft.head.place(span), problems);
            }
        }
        if let Some(controller) = &craft.controller {
            let known = || controller.modes.iter().map(|mode| mode.name.value.as_str());
            for excluded in controller.modes.iter().filter_map(|mode| mode.excludes.as_ref()) {
                if controller.mode(&excluded.value).is_none() {
                    problems.push(unknown(craft.head.place(excluded.span), "mode", excluded, known()));
                }
            }
        }
        for expect in &craft.expects {
            expect.condition.walk(&mut |condition| match &condition.kind {
                ConditionKind::Mode(name) => self.check_mode(name, &craft.head, std::slice::from_ref(&craft), problems),
                // The controls are those of whichever model flies the craft; they are looked up there.
                _ => {}
            });
        }
        attribute(problems, before, &craft.head);
    }

    fn check_mode(&self, name: &Name, head: &Head, crafts: &[&Craft], problems: &mut Vec<Problem>) {
        let modes =
            || crafts.iter().filter_map(|craft| craft.controller.as_ref()).flat_map(|controller| &controller.modes);
        if !modes().any(|mode| mode.name.value == name.value) {
            problems.push(unknown(head.place(name.span), "mode", name, modes().map(|mode| mode.name.value.as_str())));
        }
    }

    fn check_model(&self, model: &Model, problems: &mut Vec<Problem>) {
        let before = problems.len();
        let mut crafts = Vec::new();
        for name in &model.flies {
            if self.defined(3, "craft", name, &model.head, problems) {
                crafts.extend(self.craft(&name.value));
            }
        }
        super::cycles::check(model, problems);
        let handset = match &model.handset {
            Some(name) if self.defined(2, "handset", name, &model.head, problems) => self.handset(&name.value),
            _ => None,
        };
        if let Some(handset) = handset {
            let mut scope = Scope { fleet: self, model, handset, crafts: &crafts, problems };
            scope.check();
        }
        attribute(problems, before, &model.head);
    }
}

fn attribute(problems: &mut [Problem], from: usize, head: &Head) {
    for problem in problems.iter_mut().skip(from) {
        problem.about = Some(head.name.value.clone());
    }
}

fn number_in_range(link: &Link, number: u16, place: Place, problems: &mut Vec<Problem>) {
    let Some(range) = link.receiver_numbers else { return };
    let (low, high) = range.value;
    if !(low..=high).contains(&number) {
        let message =
            format!("receiver number {number} is outside what link \"{}\" has: {low}..{high}", link.head.name.value);
        let problem = Problem::new(ProblemKind::Range, place, message, format!("choose a number from {low} to {high}"));
        problems.push(problem.other(link.head.place(range.span), "the numbers of the link"));
    }
}

fn unknown<'w>(place: Place, what: &str, name: &Name, known: impl IntoIterator<Item = &'w str>) -> Problem {
    let mut known: Vec<&str> = known.into_iter().collect();
    known.sort_unstable();
    let near = nearest(&name.value, known.iter().copied());
    let message = match near {
        Some(near) => format!("there is no {what} called \"{}\"; the nearest is \"{near}\"", name.value),
        None => format!("there is no {what} called \"{}\"", name.value),
    };
    let problem =
        Problem::new(ProblemKind::UnknownName, place, message, format!("correct the name, or define the {what}"));
    match near {
        Some(near) => problem.repair(format!("write {near}"), name.span, quoted(near)),
        None => problem,
    }
}

/// A name as it is written: in quotes where it is no word.
pub fn quoted(name: &str) -> String {
    let mut bytes = name.bytes();
    let word = bytes.next().is_some_and(|byte| byte.is_ascii_alphabetic())
        && bytes.all(|byte| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_');
    if word {
        return name.to_owned();
    }
    let mut out = String::from("\"");
    for character in name.chars() {
        match character {
            '"' => out += "\\\"",
            '\\' => out += "\\\\",
            '\n' => out += "\\n",
            '\t' => out += "\\t",
            control if control.is_control() => out += &format!("\\u{{{:x}}}", u32::from(control)),
            other => out.push(other),
        }
    }
    out.push('"');
    out
}

/// What the names in one model can mean.
struct Scope<'f> {
    fleet: &'f Fleet,
    model: &'f Model,
    handset: &'f Handset,
    crafts: &'f [&'f Craft],
    problems: &'f mut Vec<Problem>,
}

impl Scope<'_> {
    fn place(&self, span: Span) -> Place {
        self.model.head.place(span)
    }

    fn control_names(&self) -> Vec<&str> {
        let sticks = Stick::ALL.iter().map(|stick| stick.word());
        sticks.chain(self.handset.controls.iter().map(|control| control.name.value.as_str())).collect()
    }

    fn unknown_control(&mut self, what: &str, name: &Name) {
        let mut known = self.control_names();
        known.extend(self.model.conditions.iter().map(|condition| condition.name.value.as_str()));
        let problem = unknown(self.place(name.span), what, name, known);
        self.problems.push(problem);
    }

    fn check(&mut self) {
        let model = self.model;
        for condition in &model.conditions {
            if let Some(control) = self.handset.control(&condition.name.value) {
                let message =
                    format!("a condition and a control of the handset are both called \"{}\"", condition.name.value);
                let place = self.place(condition.name.span);
                let problem = Problem::new(ProblemKind::NameTwice, place, message, "give the condition another name");
                self.problems.push(problem.other(self.handset.head.place(control.span), "the control"));
            }
            match &condition.kind {
                NamedKind::When(when) => self.condition(when),
                NamedKind::Latch { set, reset } => {
                    self.condition(set);
                    self.condition(reset);
                }
            }
        }
        for line in model.channels.iter().flat_map(|channel| &channel.lines) {
            self.value(&line.value);
            line.when.iter().for_each(|when| self.condition(when));
        }
        for line in model.rates.iter().flat_map(|rates| &rates.lines) {
            line.when.iter().for_each(|when| self.condition(when));
        }
        for timer in &model.timers {
            timer.when.iter().for_each(|when| self.condition(when));
        }
        if let Some((when, functions)) = model.trainer.as_ref().and_then(|trainer| trainer.hand_over.as_ref()) {
            self.condition(when);
            for name in functions.iter().filter(|name| Stick::find(&name.value).is_none()) {
                let problem =
                    unknown(self.place(name.span), "stick", name, Stick::ALL.iter().map(|stick| stick.word()));
                self.problems.push(problem);
            }
        }
        for expect in &model.expects {
            self.condition(&expect.condition);
        }
        for start in &model.before_start {
            self.position(&start.control, &start.position);
        }
        for module in &model.modules {
            let Some(bay) = self.handset.module(&module.bay.value) else {
                let bays = self.handset.modules.iter().map(|bay| bay.bay.value.as_str());
                let problem = unknown(self.place(module.bay.span), "module bay", &module.bay, bays);
                self.problems.push(problem);
                continue;
            };
            let link = bay.link.as_ref().and_then(|link| self.fleet.link(&link.value));
            if let (Some(link), Some(number)) = (link, module.receiver_number) {
                number_in_range(link, number.value, self.model.head.place(number.span), self.problems);
            }
        }
    }

    fn condition(&mut self, condition: &Condition) {
        condition.walk(&mut |condition| match &condition.kind {
            ConditionKind::Position { control, position, .. } => self.position(control, position),
            ConditionKind::Axis { axis, .. } => self.axis(axis),
            ConditionKind::Channel { channel, .. } => self.channel(*channel),
            ConditionKind::Mode(name) => {
                if !self.crafts.is_empty() || self.model.flies.is_empty() {
                    self.fleet.check_mode(name, &self.model.head, self.crafts, self.problems);
                }
            }
            ConditionKind::Named(name) if self.model.condition(&name.value).is_none() => {
                if self.model.head.lost.is_empty() {
                    self.unknown_control("condition", name);
                }
            }
            _ => {}
        });
    }

    /// A channel that is used must be defined, but not where its lines may have been lost.
    fn channel(&mut self, channel: Located<u8>) {
        if self.model.channel(channel.value).is_none() && self.model.head.lost.is_empty() {
            let message = format!("channel {} is used here, but this model does not define it", channel.value);
            let place = self.place(channel.span);
            let mend = "define the channel, or correct the number";
            self.problems.push(Problem::new(ProblemKind::UnknownName, place, message, mend));
        }
    }

    fn axis(&mut self, name: &Name) {
        if Stick::find(&name.value).is_some() {
            return;
        }
        match self.handset.control(&name.value).map(|control| control.kind) {
            Some(ControlKind::Knob | ControlKind::Slider) => {}
            Some(kind) => {
                let names: Vec<String> = (0..kind.positions()).map(|index| kind.position_name(index)).collect();
                let words: Vec<&str> = names.iter().map(String::as_str).collect();
                let message = format!("\"{}\" has positions, so it is never above or below a number of %", name.value);
                let mend = format!("name the position: {}", any_of(&words));
                self.problems.push(Problem::new(ProblemKind::UnknownName, self.place(name.span), message, mend));
            }
            None if self.handset.head.lost.is_empty() => self.unknown_control("control", name),
            None => {}
        }
    }

    fn position(&mut self, control: &Name, position: &Name) {
        let place = self.place(position.span);
        match (Stick::find(&control.value), self.handset.control(&control.value)) {
            (Some(Stick::Throttle), _) if position.value == "low" => {}
            (Some(stick), _) => {
                let message = format!("the stick `{}` has no position \"{}\"", stick.word(), position.value);
                let mend = "write `throttle low`, or `above` or `below` and a number of %";
                self.problems.push(Problem::new(ProblemKind::UnknownName, place, message, mend));
            }
            (None, Some(found)) if found.kind.position(&position.value).is_none() => {
                let whose = format!("\"{}\"", control.value);
                self.problems.push(unknown_position(place, position, &whose, found.kind));
            }
            (None, Some(_)) => {}
            (None, None) if self.handset.head.lost.is_empty() => self.unknown_control("control", control),
            (None, None) => {}
        }
    }

    fn value(&mut self, value: &Value) {
        value.walk(&mut |value| match &value.kind {
            ValueKind::Control(name) => {
                let known = Stick::find(name).is_some() || self.handset.control(name).is_some();
                if !known && self.handset.head.lost.is_empty() {
                    let name = Located::new(name.clone(), value.span);
                    match self.model.condition(&name.value) {
                        Some(_) => {
                            let message = format!("\"{}\" is a condition, not a value", name.value);
                            let mend = "use it in `when`, with the value in front of it";
                            self.problems.push(Problem::new(
                                ProblemKind::UnknownName,
                                self.place(name.span),
                                message,
                                mend,
                            ));
                        }
                        None => self.unknown_control("control", &name),
                    }
                }
            }
            ValueKind::Unshaped(name) if Stick::find(&name.value).is_none() => {
                let problem =
                    unknown(self.place(name.span), "stick", name, Stick::ALL.iter().map(|stick| stick.word()));
                self.problems.push(problem);
            }
            ValueKind::Curve(name, _) if self.model.curve(&name.value).is_none() && self.model.head.lost.is_empty() => {
                let curves = self.model.curves.iter().map(|curve| curve.name.value.as_str());
                let problem = unknown(self.place(name.span), "curve", name, curves);
                self.problems.push(problem);
            }
            ValueKind::Channel(channel) => self.channel(*channel),
            _ => {}
        });
    }
}
