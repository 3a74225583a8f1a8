//! The list of all rules that ask something, made by `build.rs` from the data files in `rules/`. What the reading of the description finds is in `reading`; what is wrong
//! with waivers is found where they are applied.

use super::out::Out;
use crate::findings::RuleId;
use crate::fleet::craft::Craft;
use crate::fleet::equipment::Handset;
use crate::fleet::model::Model;
use crate::setup::{Context, ModelSetup, OtherWay, Setup, Signals, Way};

/// What a rule looks at.
#[derive(Clone, Copy, Debug)]
pub enum Check {
    /// Each model with each of its aircraft, over each link that reaches it.
    Signals(fn(&Setup<'_>, &Signals, &mut Out<'_>)),
    /// Each model with each of its aircraft, and the way to each of its receivers.
    Way(fn(&Setup<'_>, &Way<'_>, &mut Out<'_>)),
    /// Each model with each of its aircraft.
    Setup(fn(&Setup<'_>, &mut Out<'_>)),
    /// Each model.
    Model(fn(&ModelSetup<'_>, &mut Out<'_>)),
    /// Each aircraft.
    Craft(fn(&Context<'_>, &Craft, &mut Out<'_>)),
    /// The controls that start one aircraft and stop another, over all models.
    Arms(fn(&[OtherWay<'_>], &mut Out<'_>)),
    /// Each handset.
    Handset(fn(&Context<'_>, &Handset, &mut Out<'_>)),
    /// The text of each file, while it is read.
    Text,
    /// The models that share something with another, in the order of the files. The first function gives what a model has that
    /// another may have too, as hashes: should two have one hash, the second is shown models that share nothing.
    Sharing(fn(&Context<'_>, &Model) -> Vec<u64>, fn(&Context<'_>, &[&Model], &mut Out<'_>)),
    /// The whole fleet.
    Fleet(fn(&Context<'_>, &mut Out<'_>)),
}

/// A rule of the list.
#[derive(Clone, Copy, Debug)]
pub struct Rule {
    /// Its name; its page is in the book.
    pub id: RuleId,
    /// What it looks at, and how.
    pub check: Check,
}

include!(concat!(env!("OUT_DIR"), "/list.rs"));
