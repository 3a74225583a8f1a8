//! Channels, mixes, conditions and latches that feed themselves, also by way of a mode of the aircraft.

use super::condition::{Condition, ConditionKind, Value, ValueKind};
use super::craft::Craft;
use super::model::{Channel, Mix, Model, NamedCondition, NamedKind, StickRates};
use super::problem::{Problem, ProblemKind};
use super::unknown::Problems;
use crate::source::Span;

/// Something that is computed from others: an index into the model's channels, then its conditions, its rates and its mixes.
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

/// What a node stands for.
enum Part<'m> {
    Channel(&'m Channel),
    Condition(&'m NamedCondition),
    Rates(&'m StickRates),
    Mix(&'m Mix),
}

impl<'m> Graph<'m> {
    /// Where the nodes of the conditions, the rates and the mixes begin, and where all end.
    fn starts(&self) -> [Node; 4] {
        let conditions = self.model.channels.len();
        let rates = conditions + self.model.conditions.len();
        let mixes = rates + self.model.rates.len();
        [conditions, rates, mixes, mixes + self.model.mixes.len()]
    }

    fn count(&self) -> usize {
        self.starts()[3]
    }

    fn part(&self, node: Node) -> Option<Part<'m>> {
        let [conditions, rates, mixes, _] = self.starts();
        if node >= mixes {
            self.model.mixes.get(node - mixes).map(Part::Mix)
        } else if node >= rates {
            self.model.rates.get(node - rates).map(Part::Rates)
        } else if node >= conditions {
            self.model.conditions.get(node - conditions).map(Part::Condition)
        } else {
            self.model.channels.get(node).map(Part::Channel)
        }
    }

    fn name(&self, node: Node) -> String {
        match self.part(node) {
            Some(Part::Channel(channel)) => format!("channel {}", channel.number.value),
            Some(Part::Condition(condition)) => format!("condition \"{}\"", condition.name.value),
            Some(Part::Rates(rates)) => format!("rates {}", rates.name),
            Some(Part::Mix(mix)) => format!("mix \"{}\"", mix.name.value),
            None => String::new(),
        }
    }

    fn span(&self, node: Node) -> Span {
        match self.part(node) {
            Some(Part::Channel(channel)) => channel.header,
            Some(Part::Condition(condition)) => condition.span,
            Some(Part::Rates(rates)) => rates.header,
            Some(Part::Mix(mix)) => mix.header,
            None => Span::default(),
        }
    }

    /// What a node needs, each with the place where it says so.
    fn needs(&self, node: Node) -> Vec<(Node, Span)> {
        let mut needs = Vec::new();
        match self.part(node) {
            Some(Part::Channel(Channel { lines, .. }) | Part::Mix(Mix { lines, .. })) => {
                for line in lines {
                    self.value(&line.value, &mut needs);
                    line.when.iter().for_each(|when| self.condition(when, &mut needs));
                }
            }
            Some(Part::Condition(condition)) => match &condition.kind {
                NamedKind::When(when) => self.condition(when, &mut needs),
                NamedKind::Latch { set, reset } => {
                    self.condition(set, &mut needs);
                    self.condition(reset, &mut needs);
                }
                NamedKind::Toggle { .. } | NamedKind::Reported => {}
            },
            Some(Part::Rates(rates)) => {
                let conditions = rates.lines.iter().filter_map(|line| line.when.as_ref());
                conditions.for_each(|when| self.condition(when, &mut needs));
            }
            None => {}
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
                for test in modes.flat_map(|mode| mode.tests()) {
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
                let [_, rates, mixes, _] = self.starts();
                let at = self.model.rates.iter().position(|rates| rates.name == name.as_str()).map(|at| rates + at);
                let mix = || self.model.mixes.iter().position(|mix| mix.name.value == *name).map(|at| mixes + at);
                needs.extend(at.or_else(mix).map(|at| (at, value.span)));
            }
            _ => {}
        });
    }
}
