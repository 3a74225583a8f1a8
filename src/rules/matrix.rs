//! Which model connects to which aircraft, and what a wrong connection would do.

use super::receiver::would;
use crate::findings::{Witness, fact};
use crate::fleet::craft::{Craft, ReceiverNumber};
use crate::fleet::model::Model;
use crate::radio::pairing::{Obstacle, ReceiverSide};
use crate::rules::wording::{obstacle, unstated};
use crate::setup::pairing::{Reaches, off_and_heard, reach, receiver_side};
use crate::setup::strange::would_do;
use crate::setup::{Context, ModelSetup, Wrong};
use crate::source::{Located, Place};
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Arc;

/// Whether a model and an aircraft connect.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Connects {
    /// They do.
    Yes,
    /// Something that decides it is not stated.
    Depends,
    /// They don't.
    No,
}

/// One model with one aircraft.
#[derive(Clone, Debug)]
pub struct Cell<'f> {
    /// The model.
    pub model: &'f Model,
    /// The aircraft.
    pub craft: &'f Craft,
    /// Whether the model lists the aircraft.
    pub listed: bool,
    /// Whether they connect.
    pub connects: Connects,
    /// The first thing that decides it, as a sentence without a capital and a full stop.
    pub decides: Arc<str>,
}

impl Cell<'_> {
    /// Whether a pilot would not expect it: the model connects to what it does not list, lists what it does not connect to, or
    /// it depends.
    pub fn surprises(&self) -> bool {
        match self.connects {
            Connects::Yes => !self.listed,
            Connects::Depends => true,
            Connects::No => self.listed,
        }
    }
}

/// The matrix of a fleet, made row by row.
#[derive(Debug)]
pub struct Matrix<'f> {
    context: &'f Context<'f>,
    /// The first model that lists an aircraft.
    own: FxHashMap<&'f str, &'f Model>,
    /// By the place of its header, the first aircraft whose receivers say the same.
    like: FxHashMap<Place, Place>,
}

impl<'f> Matrix<'f> {
    /// Prepares the matrix of a fleet.
    pub fn new(context: &'f Context<'f>) -> Self {
        let mut own = FxHashMap::default();
        for model in &context.fleet.models {
            for name in &model.flies {
                own.entry(name.value.as_str()).or_insert(model);
            }
        }
        let mut first: FxHashMap<Vec<ReceiverSide<'_>>, Place> = FxHashMap::default();
        let places = context.fleet.crafts.iter().map(|craft| {
            let place = craft.head.place(craft.head.header);
            (place, *first.entry(craft.receivers.iter().map(receiver_side).collect()).or_insert(place))
        });
        Self { context, own, like: places.collect() }
    }

    /// A model with each of these aircraft, made one after the other. What decides is found once for all aircraft whose
    /// receivers say the same, so that many of one number take no longer than they are shown.
    pub fn row<'m>(
        &'m self,
        model: &'f Model,
        crafts: impl IntoIterator<Item = &'f Craft> + 'm,
    ) -> impl Iterator<Item = Cell<'f>> + 'm {
        let view = ModelSetup::new(self.context, model);
        let listed: FxHashSet<&str> = model.flies.iter().map(|name| name.value.as_str()).collect();
        let listed = move |craft: &Craft| listed.contains(craft.head.name.value.as_str());
        let mut known: FxHashMap<Place, (Connects, Arc<str>)> = FxHashMap::default();
        crafts.into_iter().map(move |craft| {
            let place = craft.head.place(craft.head.header);
            let like = self.like.get(&place).copied().unwrap_or(place);
            let (connects, decides) = known.entry(like).or_insert_with(|| decided(&view, craft)).clone();
            Cell { model, craft, listed: listed(craft), connects, decides }
        })
    }

    /// For a model that does not list the aircraft and may connect: what the aircraft would do under it, and a state that
    /// shows it.
    pub fn would(&self, cell: &Cell<'f>) -> Option<(String, Option<Witness>)> {
        let own = self.own.get(cell.craft.head.name.value.as_str());
        let own = own.filter(|_| !cell.listed && cell.connects != Connects::No)?;
        let wrong = would_do(self.context, cell.model, own, cell.craft);
        let words = match would(&wrong) {
            Some((_, part, facts)) => fact::fill(part, &facts),
            None if matches!(wrong, Wrong::Alike) => "it would fly as under its own model".to_owned(),
            None => "what it would do was not decided".to_owned(),
        };
        Some((words, wrong.witness().cloned()))
    }
}

/// Whether a model and an aircraft connect, and what decides it.
fn decided(view: &ModelSetup<'_>, craft: &Craft) -> (Connects, Arc<str>) {
    let reached = reach(view.context, &view.bays, craft);
    let apart = view.model.simulator.is_none() && matches!(reached, Reaches::No(None | Some(Obstacle::Link(..))));
    let (connects, decides) = match reached {
        _ if view.model.simulator.is_some() => (Connects::No, "the model is for a simulator".to_owned()),
        Reaches::Yes(_, connection) if connection.locks_itself => {
            (Connects::Yes, "the receiver is not locked yet, and locks itself to the model's number".to_owned())
        }
        Reaches::Yes(receiver, _) => (Connects::Yes, agrees(receiver.number)),
        Reaches::Perhaps(_, list) => (
            Connects::Depends,
            format!("{} {} not stated", unstated(&list), if list.len() == 1 { "is" } else { "are" }),
        ),
        Reaches::Still(_) => {
            (Connects::No, "the radio link comes up, and the numbers keep the outputs from moving".to_owned())
        }
        Reaches::No(Some(why)) => (Connects::No, obstacle(&why)),
        Reaches::No(None) => (Connects::No, nothing(view, craft).to_owned()),
    };
    // What could connect and is off is the first thing that a pilot looks for.
    let off = apart.then(|| off_and_heard(view.context, view.model, craft)).flatten();
    match off {
        Some(off) => {
            (connects, format!("{decides}; module {} has the aircraft's link, and is off", off.bay.value).into())
        }
        None => (connects, decides.into()),
    }
}

fn agrees(number: Option<Located<ReceiverNumber>>) -> String {
    match number.map(|number| number.value) {
        Some(ReceiverNumber::Locked(number)) => format!("number {number} on both sides"),
        Some(ReceiverNumber::Any) => "match is off, and the receiver is not locked".to_owned(),
        None => "the numbers are not looked at".to_owned(),
    }
}

/// Why there is nothing to compare.
fn nothing(view: &ModelSetup<'_>, craft: &Craft) -> &'static str {
    if craft.receivers.is_empty() {
        "the aircraft has no receiver"
    } else if view.bays.is_empty() {
        "no module of the model is on"
    } else {
        "a link of the two is not defined"
    }
}
