//! A model with each of its aircraft.

use super::bay::{Bay, bays, handset_of};
use super::context::Context;
use super::of_craft::Setup;
use crate::fleet::equipment::{Handset, Link};
use crate::fleet::model::Model;
use crate::signal::Allowance;

/// A model with its handset and its aircraft.
#[derive(Debug)]
pub struct ModelSetup<'f> {
    /// What holds for all.
    pub context: &'f Context<'f>,
    /// The model.
    pub model: &'f Model,
    /// Its handset, where it is defined.
    pub handset: Option<&'f Handset>,
    /// The bays that are on.
    pub bays: Vec<Bay<'f>>,
    /// The model with each of its aircraft.
    pub setups: Vec<Setup<'f>>,
    /// What may be looked at for all of them together.
    pub allowance: Allowance,
}

impl<'f> ModelSetup<'f> {
    /// Looks up what a model names.
    pub fn new(context: &'f Context<'f>, model: &'f Model) -> Self {
        let fleet = context.fleet;
        let handset = handset_of(fleet, model);
        let bays: Vec<Bay<'f>> = bays(fleet, model, handset).collect();
        let crafts = model.flies.iter().filter_map(|name| fleet.craft(&name.value));
        let allowance = Allowance::default();
        let setups = crafts.map(|craft| Setup::new(context, model, handset, craft, &bays, &allowance)).collect();
        Self { context, model, handset, bays, setups, allowance }
    }

    /// Whether another model takes its pupil's sticks from this one.
    pub fn is_a_pupils(&self) -> bool {
        let name = &self.model.head.name.value;
        let mut trainers = self.context.fleet.models.iter().filter_map(|model| model.trainer.as_ref());
        trainers.any(|trainer| trainer.from.as_ref().is_some_and(|from| from.value == *name))
    }

    /// The links that do not carry a channel, each with the aircraft that it reaches.
    pub fn not_carried(&self, channel: u8) -> Vec<(&'f Link, Vec<&Setup<'f>>)> {
        let mut found: Vec<(&Link, Vec<&Setup<'f>>)> = Vec::new();
        for setup in &self.setups {
            for link in setup.paths().filter_map(|path| path.link) {
                if link.carries_channel(channel) || link.head.lost_here(&["carry", "channels"]) {
                    continue;
                }
                match found.iter_mut().find(|(known, _)| known.head.name.value == link.head.name.value) {
                    Some((_, setups)) => setups.push(setup),
                    None => found.push((link, vec![setup])),
                }
            }
        }
        found
    }
}
