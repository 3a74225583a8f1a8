//! Channels, conditions and latches that feed themselves, also by way of a mode of the aircraft.

use super::condition::{Condition, ConditionKind, Value, ValueKind};
use super::craft::Craft;
use super::model::{Model, NamedKind};
use super::problem::{Problem, ProblemKind};
use super::unknown::Problems;
use crate::source::Span;

/// Something that is computed from others: an index into the model's channels, then its conditions, then its rates.
type Node = usize;

/// A node on the path, what it needs, and the index of the need that is looked at next.
type Step = (Node, Vec<(Node, Span)>, usize);

/// Says which loop of channels and conditions feeds itself, one problem a loop. `crafts` are the aircraft that it flies.
pub(super) fn check(model: &Model, crafts: &[&Craft], problems: &mut Problems) {
    let graph = Graph { model, crafts };
    let count = graph.count();
    // 0: not seen, 1: on the path, 2: done.
    let mut state = vec![0u8; count];
    let mut path: Vec<Step> = Vec::new();
    for start in 0..count {
        if state[start] != 0 {
            continue;
        }
        state[start] = 1;
        path.push((start, graph.needs(start), 0));
        while let Some((node, needs, next)) = path.last_mut() {
            let Some(&(need, span)) = needs.get(*next) else {
                state[*node] = 2;
                path.pop();
                continue;
            };
            *next += 1;
            match state[need] {
                0 => {
                    state[need] = 1;
                    let needs = graph.needs(need);
                    path.push((need, needs, 0));
                }
                1 => {
                    let from = path.iter().position(|(node, ..)| *node == need).unwrap_or(0);
                    let names: Vec<String> = path.iter().skip(from).map(|(node, ..)| graph.name(*node)).collect();
                    let message = format!("{} feeds itself: {} → {}", names[0], names.join(" → "), names[0]);
                    let mend = "break the loop: one of these lines has to stand on controls alone";
                    let mut problem = Problem::new(ProblemKind::Cycle, model.head.place(span), message, mend);
                    for (node, ..) in path.iter().skip(from) {
                        problem = problem.other(model.head.place(graph.span(*node)), graph.name(*node));
                    }
                    problems.push(problem);
                }
                _ => {}
            }
        }
    }
}

struct Graph<'m> {
    model: &'m Model,
    crafts: &'m [&'m Craft],
}

impl Graph<'_> {
    fn count(&self) -> usize {
        self.model.channels.len() + self.model.conditions.len() + self.model.rates.len()
    }

    fn name(&self, node: Node) -> String {
        let channels = self.model.channels.len();
        let conditions = self.model.conditions.len();
        if let Some(channel) = self.model.channels.get(node) {
            return format!("channel {}", channel.number.value);
        }
        if let Some(condition) = self.model.conditions.get(node - channels) {
            return format!("condition \"{}\"", condition.name.value);
        }
        self.model
            .rates
            .get(node - channels - conditions)
            .map_or(String::new(), |rates| format!("rates {}", rates.stick.value.word()))
    }

    fn span(&self, node: Node) -> Span {
        let channels = self.model.channels.len();
        let conditions = self.model.conditions.len();
        if let Some(channel) = self.model.channels.get(node) {
            return channel.header;
        }
        if let Some(condition) = self.model.conditions.get(node - channels) {
            return condition.span;
        }
        self.model.rates.get(node - channels - conditions).map_or(Span::default(), |rates| rates.header)
    }

    /// What a node needs, each with the place where it says so.
    fn needs(&self, node: Node) -> Vec<(Node, Span)> {
        let (channels, conditions) = (self.model.channels.len(), self.model.conditions.len());
        let mut needs = Vec::new();
        if let Some(channel) = self.model.channels.get(node) {
            for line in &channel.lines {
                self.value(&line.value, &mut needs);
                line.when.iter().for_each(|when| self.condition(when, &mut needs));
            }
        } else if let Some(condition) = self.model.conditions.get(node - channels) {
            match &condition.kind {
                NamedKind::When(when) => self.condition(when, &mut needs),
                NamedKind::Latch { set, reset } => {
                    self.condition(set, &mut needs);
                    self.condition(reset, &mut needs);
                }
            }
        } else if let Some(rates) = self.model.rates.get(node - channels - conditions) {
            rates.lines.iter().filter_map(|line| line.when.as_ref()).for_each(|when| self.condition(when, &mut needs));
        }
        needs
    }

    fn channel(&self, number: u8, span: Span, needs: &mut Vec<(Node, Span)>) {
        let at = self.model.channels.iter().position(|channel| channel.number.value == number);
        needs.extend(at.map(|at| (at, span)));
    }

    fn condition(&self, condition: &Condition, needs: &mut Vec<(Node, Span)>) {
        condition.walk(&mut |condition| match &condition.kind {
            ConditionKind::Named(name) => {
                let at = self.model.conditions.iter().position(|known| known.name.value == name.value);
                needs.extend(at.map(|at| (self.model.channels.len() + at, condition.span)));
            }
            ConditionKind::Channel { channel, .. } => self.channel(channel.value, condition.span, needs),
            // `mode M` inside of a model looks at the pulses that its channels send.
            ConditionKind::Mode(name) => {
                let controllers = self.crafts.iter().filter_map(|craft| craft.controller.as_ref());
                let modes = controllers.filter_map(|controller| controller.mode(&name.value));
                for test in modes.flat_map(|mode| &mode.tests) {
                    self.channel(test.channel.value, condition.span, needs);
                }
            }
            _ => {}
        });
    }

    fn value(&self, value: &Value, needs: &mut Vec<(Node, Span)>) {
        value.walk(&mut |value| match &value.kind {
            ValueKind::Channel(channel) => self.channel(channel.value, value.span, needs),
            ValueKind::Control(name) => {
                let base = self.model.channels.len() + self.model.conditions.len();
                let at = self.model.rates.iter().position(|rates| rates.stick.value.word() == name.as_str());
                needs.extend(at.map(|at| (base + at, value.span)));
            }
            _ => {}
        });
    }
}
