//! The names in one model: its handset's controls, its own conditions, curves and channels, its aircraft's modes.

use super::condition::{Condition, ConditionKind, Name, Value, ValueKind};
use super::craft::Craft;
use super::equipment::{ControlKind, Handset};
use super::miss::any_of;
use super::model::{Model, NamedKind};
use super::problem::{Problem, ProblemKind};
use super::read::unknown_position;
use super::resolve::{Fleet, number_in_range};
use super::unknown::Problems;
use super::words::Stick;
use crate::source::{Located, Place, Span};
use compact_str::CompactString;

/// What the names in one model can mean.
pub(super) struct Scope<'f> {
    pub(super) fleet: &'f Fleet,
    pub(super) model: &'f Model,
    pub(super) handset: &'f Handset,
    pub(super) crafts: &'f [&'f Craft],
    pub(super) problems: &'f mut Problems,
}

impl Scope<'_> {
    fn place(&self, span: Span) -> Place {
        self.model.head.place(span)
    }

    fn unknown_control(&mut self, what: &str, name: &Name) {
        let (handset, model) = (self.handset, self.model);
        let known = Stick::ALL.iter().map(|stick| stick.word());
        let known = known.chain(handset.controls.iter().map(|control| control.name.value.as_str()));
        let known = known.chain(model.conditions.iter().map(|condition| condition.name.value.as_str()));
        self.problems.unknown(self.model.head.place(name.span), what, name, known);
    }

    pub(super) fn check(&mut self) {
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
                self.problems.unknown(
                    self.place(name.span),
                    "stick",
                    name,
                    Stick::ALL.iter().map(|stick| stick.word()),
                );
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
                if self.handset.head.may_be_lost(&["module"], &module.bay.value) {
                    continue;
                }
                let bays = self.handset.modules.iter().map(|bay| bay.bay.value.as_str());
                self.problems.unknown(self.place(module.bay.span), "module bay", &module.bay, bays);
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
            ConditionKind::Mode(name) if !self.crafts.is_empty() || self.model.flies.is_empty() => {
                self.fleet.check_mode(name, &self.model.head, self.crafts, self.problems);
            }
            ConditionKind::Named(name)
                if self.model.condition(&name.value).is_none()
                    && !self.model.head.may_be_lost(&["condition"], &name.value) =>
            {
                self.unknown_control("condition", name);
            }
            _ => {}
        });
    }

    /// Whether a name that no control has may be one of a control whose line was lost.
    fn may_be_lost_control(&self, name: &str) -> bool {
        self.handset.head.may_be_lost(&["switch", "button", "knob", "slider"], name)
    }

    /// A channel that is used must be defined, but not where its lines may have been lost.
    fn channel(&mut self, channel: Located<u8>) {
        let head = &self.model.head;
        if self.model.channel(channel.value).is_none() && !head.may_be_lost(&["channel"], &channel.value.to_string()) {
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
                let names: Vec<_> = (0..kind.positions()).map(|index| kind.position_name(index)).collect();
                let words: Vec<&str> = names.iter().map(CompactString::as_str).collect();
                let message = format!("\"{}\" has positions, so it is never above or below a number of %", name.value);
                let mend = format!("name the position: {}", any_of(&words));
                self.problems.push(Problem::new(ProblemKind::UnknownName, self.place(name.span), message, mend));
            }
            None if !self.may_be_lost_control(&name.value) => self.unknown_control("control", name),
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
            (None, None) if !self.may_be_lost_control(&control.value) => self.unknown_control("control", control),
            (None, None) => {}
        }
    }

    fn value(&mut self, value: &Value) {
        value.walk(&mut |value| match &value.kind {
            ValueKind::Control(name) => {
                let known = Stick::find(name).is_some() || self.handset.control(name).is_some();
                if !known && !self.may_be_lost_control(name) {
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
                self.problems.unknown(
                    self.place(name.span),
                    "stick",
                    name,
                    Stick::ALL.iter().map(|stick| stick.word()),
                );
            }
            ValueKind::Curve(name, _)
                if self.model.curve(&name.value).is_none() && !self.model.head.may_be_lost(&["curve"], &name.value) =>
            {
                let curves = self.model.curves.iter().map(|curve| curve.name.value.as_str());
                self.problems.unknown(self.place(name.span), "curve", name, curves);
            }
            ValueKind::Channel(channel) => self.channel(*channel),
            _ => {}
        });
    }
}
