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
pub const RULES: &[Rule] = &[
    rule("arming/always", Check::Pair(super::arming::always::check)),
    rule("arming/at-rest", Check::Pair(super::arming::at_rest::check)),
    rule("arming/momentary", Check::Pair(super::arming::momentary::check)),
    rule("arming/never", Check::Pair(super::arming::never::check)),
    rule("arming/not-stated", Check::Craft(super::arming::not_stated::check)),
    rule("arming/pupil", Check::Pair(super::arming::pupil::check)),
    rule("arming/several-positions", Check::Pair(super::arming::several_positions::check)),
    rule("arming/slow", Check::Pair(super::arming::slow::check)),
    rule("arming/start-demands-armed", Check::Pair(super::arming::start_demands_armed::check)),
    rule("arming/start-unchecked", Check::Pair(super::arming::start_unchecked::check)),
    rule("arming/sticks-fly", Check::Model(super::arming::sticks_fly::check)),
    rule("arming/undecided-position", Check::Pair(super::arming::undecided_position::check)),
    rule("handset/copied-model", Check::Fleet(super::handset::copied_model::check)),
    rule("handset/name-alike", Check::Fleet(super::handset::name_alike::check)),
    rule("handset/stick-filter", Check::Pair(super::handset::stick_filter::check)),
    rule("handset/trainer", Check::Model(super::handset::trainer::check)),
    rule("handset/trainer-stays", Check::Model(super::handset::trainer_stays::check)),
    rule("module/both-on", Check::Pair(super::module::both_on::check)),
    rule("module/chains-idle", Check::Pair(super::module::chains_idle::check)),
    rule("module/chains-missing", Check::Model(super::module::chains_missing::check)),
    rule("module/chains-wasted", Check::Model(super::module::chains_wasted::check)),
    rule("module/empty-bay", Check::Model(super::module::empty_bay::check)),
    rule("module/firmware", Check::Pair(super::module::firmware::check)),
    rule("module/none-on", Check::Model(super::module::none_on::check)),
    rule("module/power-step", Check::Model(super::module::power_step::check)),
    rule("module/update-rate", Check::Model(super::module::update_rate::check)),
    rule("module/wrong-link", Check::Pair(super::module::wrong_link::check)),
];
