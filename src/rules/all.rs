//! The list of all rules that ask something. What the reading of the description finds is in `reading`; what is wrong
//! with waivers is found where they are applied.

use super::out::Out;
use super::subject::{ModelView, Pair, Setup};
use crate::findings::RuleId;
use crate::fleet::craft::Craft;
use crate::fleet::equipment::Handset;

/// What a rule looks at.
#[derive(Clone, Copy, Debug)]
pub enum Check {
    /// Each model with each of its aircraft.
    Pair(fn(&Pair<'_>, &mut Out<'_>)),
    /// Each model.
    Model(fn(&ModelView<'_>, &mut Out<'_>)),
    /// Each aircraft.
    Craft(fn(&Setup<'_>, &Craft, &mut Out<'_>)),
    /// Each handset.
    Handset(fn(&Setup<'_>, &Handset, &mut Out<'_>)),
    /// The whole fleet.
    Fleet(fn(&Setup<'_>, &mut Out<'_>)),
}

/// A rule of the list.
#[derive(Clone, Copy, Debug)]
pub struct Rule {
    /// Its name; its page is in the book.
    pub id: RuleId,
    /// What it looks at, and how.
    pub check: Check,
}

const fn rule(id: RuleId, check: Check) -> Rule {
    Rule { id, check }
}

/// All rules that ask something, by name.
pub const RULES: &[Rule] = &[rule("handset/stick-filter", Check::Pair(super::handset::stick_filter::check))];
