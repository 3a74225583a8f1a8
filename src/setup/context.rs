//! What holds for the whole inspection.

use super::compared::Compared;
use super::numbers::UsedNumbers;
use crate::fleet::Fleet;
use crate::fleet::craft::Craft;
use crate::fleet::day::Day;
use crate::fleet::equipment::Link;
use crate::fleet::model::Model;
use crate::fleet::words::Tested;
use crate::signal::Answers;
use std::cell::{Cell, OnceCell};

/// What holds for the whole inspection.
#[derive(Debug)]
pub struct Context<'s> {
    /// The fleet of all files.
    pub fleet: &'s Fleet,
    /// The place of aircraft that name none.
    pub default_place: Option<&'s str>,
    /// The day of the inspection; `None`: not known.
    pub today: Option<Day>,
    /// What each aircraft is to be tested for, with how many days later again.
    pub tested: &'s [(Tested, u16)],
    /// The analysis budget of one question; `None`: the program's own.
    pub budget: Option<u64>,
    /// The receiver numbers that are used.
    pub used: &'s UsedNumbers,
    /// Whether anybody asked for numbers that are free: what was found then hangs on the whole fleet.
    pub numbers_asked: Cell<bool>,
    /// What was found when two models were compared.
    pub compared: &'s Compared,
    /// What models that are alike were answered.
    pub answers: Option<&'s Answers>,
    /// The number of the first model that does not say what it flies, once it was looked for.
    pub open_model: OnceCell<Option<usize>>,
}

impl Context<'_> {
    /// The first model that does not say what it flies, though it is none for a simulator.
    pub fn open_model(&self) -> Option<&Model> {
        let is_open = |model: &Model| model.flies.is_empty() && model.simulator.is_none();
        let number = *self.open_model.get_or_init(|| self.fleet.models.iter().position(is_open));
        self.fleet.models.get(number?)
    }

    /// Whether another model flies an aircraft with match on under a number.
    pub fn is_sent_by_another(&self, model: &Model, craft: &Craft, number: u16) -> bool {
        self.used.is_sent_by_another(self.fleet, model, craft, number)
    }

    /// The receiver numbers of a link that no model and no receiver uses, lowest first, but for the lowest of the link: most
    /// pilots begin with it, so that it meets another handset's most easily.
    pub fn free_numbers(&self, link: &Link) -> impl Iterator<Item = u16> + '_ {
        self.numbers_asked.set(true);
        self.used.free(self.fleet, link)
    }
}
