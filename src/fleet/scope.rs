//! The names in one model: its handset's controls, its own conditions, curves and channels, its aircraft's modes.

use super::condition::{Condition, ConditionKind, Name, Value, ValueKind};
use super::craft::Craft;
use super::equipment::{ControlKind, Handset};
use super::miss::any_of;
use super::model::{Model, NamedKind};
use super::problem::{Problem, ProblemKind};
use super::read::unknown_position;
use super::resolve::{Fleet, number_in_range, quoted};
use super::unknown::Problems;
use super::words::{AxisPosition, Grip};
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
        let known = stick_names(handset.grip());
        let known = known.chain(handset.controls.iter().map(|control| control.name.value.as_str()));
        let known = known.chain(model.conditions.iter().map(|condition| condition.name.value.as_str()));
        let known = known.chain(model.mixes.iter().map(|mix| mix.name.value.as_str()));
        self.problems.unknown(self.model.head.place(name.span), what, name, known);
    }

    /// Says that something of the model has the name of a control of its handset.
    fn not_a_control(&mut self, what: &str, name: &Name) {
        let span = match (self.handset.control(&name.value), self.handset.grip) {
            (Some(control), _) => control.span,
            (None, Some(grip)) if self.handset.stick(&name.value).is_some() => grip.span,
            _ => return,
        };
        let message = format!("a {what} and a control of the handset are both called \"{}\"", name.value);
        let mend = format!("give the {what} another name");
        let problem = Problem::new(ProblemKind::NameTwice, self.place(name.span), message, mend);
        self.problems.push(problem.other(self.handset.head.place(span), "the control"));
    }

    /// Mixes share their names with controls, conditions and curves.
    fn mixes(&mut self) {
        let model = self.model;
        for mix in &model.mixes {
            let name = &mix.name;
            self.not_a_control("mix", name);
            let condition = model.condition(&name.value).map(|known| ("condition", known.name.span));
            let curve = || model.curve(&name.value).map(|known| ("curve", known.name.span));
            if let Some((what, span)) = condition.or_else(curve) {
                let message = format!("a mix and a {what} are both called \"{}\"", name.value);
                let mend = "give one of them another name";
                let problem = Problem::new(ProblemKind::NameTwice, self.place(name.span), message, mend);
                self.problems.push(problem.other(self.place(span), format!("the {what}")));
            }
        }
    }

    pub(super) fn check(&mut self) {
        let model = self.model;
        for condition in &model.conditions {
            self.not_a_control("condition", &condition.name);
            match &condition.kind {
                NamedKind::When(when) => self.condition(when),
                NamedKind::Latch { set, reset } => {
                    self.condition(set);
                    self.condition(reset);
                }
                NamedKind::Toggle { control, position } => self.toggle(control, position.as_ref()),
                NamedKind::Reported => {}
            }
        }
        self.mixes();
        for line in model.value_lines() {
            self.value(&line.value);
            line.when.iter().for_each(|when| self.condition(when));
        }
        for rates in &model.rates {
            if self.handset.stick(rates.name).is_none() {
                self.unknown_stick(&Located::new(rates.name.into(), rates.stick.span));
            }
        }
        for line in model.rates.iter().flat_map(|rates| &rates.lines) {
            line.when.iter().for_each(|when| self.condition(when));
        }
        for timer in &model.timers {
            timer.when.iter().for_each(|when| self.condition(when));
        }
        if let Some((when, functions)) = model.trainer.as_ref().and_then(|trainer| trainer.hand_over.as_ref()) {
            self.condition(when);
            for name in functions.iter().filter(|name| self.handset.stick(&name.value).is_none()) {
                self.unknown_stick(name);
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

    fn unknown_stick(&mut self, name: &Name) {
        let known = stick_names(self.handset.grip());
        self.problems.unknown(self.place(name.span), "stick", name, known);
    }

    /// Whether the model is known to fly no aircraft.
    fn flies_nothing(&self) -> bool {
        self.model.flies.is_empty() && !self.model.head.lost_here(&["flies"])
    }

    fn condition(&mut self, condition: &Condition) {
        condition.walk(&mut |condition| match &condition.kind {
            ConditionKind::Position { control, position, .. } => self.position(control, position),
            ConditionKind::Axis { axis, .. } => self.axis(axis),
            ConditionKind::Channel { channel, .. } => self.channel(*channel),
            ConditionKind::Mode(name)
                if (!self.crafts.is_empty() || self.flies_nothing()) && !self.model.head.lost_here(&["flies"]) =>
            {
                self.fleet.check_mode(name, &self.model.head, self.crafts, self.problems);
            }
            ConditionKind::Named(name) if self.model.mix(&name.value).is_some() => self.is_a_mix(name),
            ConditionKind::Named(name)
                if self.model.condition(&name.value).is_none()
                    && !self.model.head.may_be_lost(&["condition"], &name.value) =>
            {
                self.named(name);
            }
            _ => {}
        });
    }

    /// A name alone in a condition that no condition has.
    fn named(&mut self, name: &Name) {
        let place = self.place(name.span);
        if self.handset.stick(&name.value).is_some() {
            let word = name.value.as_str();
            let message = format!("`{word}` is a stick: a condition says where it is");
            let mend = format!("write `{word} low`, `{word} above 50 %` or `{word} below 50 %`");
            return self.problems.push(Problem::new(ProblemKind::UnknownName, place, message, mend));
        }
        let Some(control) = self.handset.control(&name.value) else {
            return self.unknown_control("condition", name);
        };
        let kind = control.kind;
        let whole = quoted(&name.value);
        let message = format!("\"{}\" is a control: a condition says in which position it is", name.value);
        let problem = Problem::new(ProblemKind::UnknownName, place, message, "name the position");
        let positions = (0..kind.positions()).map(|index| format!("{whole} {}", kind.position_name(index)));
        let problem = match kind.positions() {
            0 => Problem { mend: format!("write `{whole} above 50 %` or `{whole} below 50 %`"), ..problem },
            _ => positions.fold(problem, |problem, text| problem.repair(format!("write `{text}`"), name.span, text)),
        };
        self.problems.push(problem);
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

    /// Says that a condition names a mix.
    fn is_a_mix(&mut self, name: &Name) {
        let message = format!("\"{}\" is a mix: a value, and no condition", name.value);
        let mend = "give the value to a channel, and ask for that channel: `channel 5 above 10 %`";
        self.problems.push(Problem::new(ProblemKind::UnknownName, self.place(name.span), message, mend));
    }

    /// What turns a condition over: a button, or a switch that comes to a position.
    fn toggle(&mut self, control: &Name, position: Option<&Name>) {
        if let Some(position) = position {
            return self.position(control, position);
        }
        match self.handset.control(&control.value).map(|known| known.kind) {
            Some(ControlKind::Button { .. }) => {}
            None if self.handset.stick(&control.value).is_none() => {
                if !self.may_be_lost_control(&control.value) {
                    self.unknown_control("button", control);
                }
            }
            _ => {
                let name = &control.value;
                let message = format!("\"{name}\" is no button, so it is not known what turns the condition over");
                let mend = format!("name a button, or the position too: `toggle on {} …`", quoted(name));
                self.problems.push(Problem::new(ProblemKind::UnknownName, self.place(control.span), message, mend));
            }
        }
    }

    fn axis(&mut self, name: &Name) {
        if self.handset.stick(&name.value).is_some() {
            return;
        }
        if self.model.mix(&name.value).is_some() {
            return self.is_a_mix(name);
        }
        match self.handset.control(&name.value).map(|control| control.kind) {
            Some(ControlKind::Knob { .. } | ControlKind::Slider { .. }) => {}
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
        let kind = self.handset.control(&control.value).map(|known| known.kind);
        let moves_all_the_way = self.handset.stick(&control.value).is_some()
            || matches!(kind, Some(ControlKind::Knob { .. } | ControlKind::Slider { .. }));
        match kind {
            _ if moves_all_the_way && AxisPosition::find(&position.value).is_some() => {}
            _ if moves_all_the_way => {
                let name = quoted(&control.value);
                let message = format!("`{name}` has no position \"{}\": it moves all the way", position.value);
                let mend = format!("write `{name} low`, `centre` or `high`, or `above` or `below` and a number of %");
                let problem = Problem::new(ProblemKind::UnknownName, place, message, mend);
                let ends = ["low", "centre", "high"].into_iter();
                let repaired = ends
                    .fold(problem, |problem, end| problem.repair(format!("write `{name} {end}`"), position.span, end));
                self.problems.push(repaired);
            }
            Some(kind) if kind.position(&position.value).is_none() => {
                let whose = format!("\"{}\"", control.value);
                self.problems.push(unknown_position(place, position, &whose, kind));
            }
            Some(_) => {}
            None if self.model.mix(&control.value).is_some() => self.is_a_mix(control),
            None if !self.may_be_lost_control(&control.value) => self.unknown_control("control", control),
            None => {}
        }
    }

    fn value(&mut self, value: &Value) {
        value.walk(&mut |value| match &value.kind {
            ValueKind::Control(name) => {
                let known = self.handset.stick(name).is_some()
                    || self.handset.control(name).is_some()
                    || self.model.mix(name).is_some()
                    || self.model.head.may_be_lost(&["mix"], name);
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
            ValueKind::Unshaped(name) if self.handset.stick(&name.value).is_none() => self.unknown_stick(name),
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

/// The names of the sticks of a handset that is held so.
fn stick_names<'n>(grip: Grip) -> impl Iterator<Item = &'n str> {
    grip.sticks().iter().map(|(_, name)| *name)
}
