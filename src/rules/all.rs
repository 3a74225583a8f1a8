//! The list of all rules that ask something. What the reading of the description finds is in `reading`; what is wrong
//! with waivers is found where they are applied.

use super::out::Out;
use crate::findings::RuleId;
use crate::fleet::craft::Craft;
use crate::fleet::equipment::Handset;
use crate::setup::{Arms, Context, ModelSetup, Setup, Signals, Way};

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
    /// What the arming controls of all models do.
    Arms(fn(&Context<'_>, &[Arms], &mut Out<'_>)),
    /// Each handset.
    Handset(fn(&Context<'_>, &Handset, &mut Out<'_>)),
    /// The text of each file, while it is read.
    Text,
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

const fn rule(id: RuleId, check: Check) -> Rule {
    Rule { id, check }
}

/// All rules that ask something, by name.
pub const RULES: &[Rule] = &[
    rule("alarms/battery-early", Check::Setup(super::alarms::battery_early::check)),
    rule("alarms/battery-late", Check::Setup(super::alarms::battery_late::check)),
    rule("alarms/cell-count", Check::Setup(super::alarms::cell_count::check)),
    rule("alarms/handset-battery", Check::Handset(super::alarms::handset_battery::check)),
    rule("alarms/link-alarm-late", Check::Model(super::alarms::link_alarm_late::check)),
    rule("alarms/no-limit", Check::Setup(super::alarms::no_limit::check)),
    rule("alarms/no-link-alarm", Check::Model(super::alarms::no_link_alarm::check)),
    rule("alarms/no-telemetry", Check::Model(super::alarms::no_telemetry::check)),
    rule("alarms/timer-long", Check::Setup(super::alarms::timer_long::check)),
    rule("alarms/timer-never", Check::Setup(super::alarms::timer_never::check)),
    rule("arming/always", Check::Signals(super::arming::always::check)),
    rule("arming/at-rest", Check::Signals(super::arming::at_rest::check)),
    rule("arming/momentary", Check::Signals(super::arming::momentary::check)),
    rule("arming/never", Check::Signals(super::arming::never::check)),
    rule("arming/no-way-back", Check::Signals(super::arming::no_way_back::check)),
    rule("arming/not-stated", Check::Craft(super::arming::not_stated::check)),
    rule("arming/pupil", Check::Signals(super::arming::pupil::check)),
    rule("arming/several-positions", Check::Signals(super::arming::several_positions::check)),
    rule("arming/shared-control", Check::Signals(super::arming::shared_control::check)),
    rule("arming/slow", Check::Way(super::arming::slow::check)),
    rule("arming/start-demands-armed", Check::Signals(super::arming::start_demands_armed::check)),
    rule("arming/start-unchecked", Check::Signals(super::arming::start_unchecked::check)),
    rule("arming/sticks-fly", Check::Model(super::arming::sticks_fly::check)),
    rule("arming/thin-margin", Check::Signals(super::arming::thin_margin::check)),
    rule("arming/undecided-position", Check::Signals(super::arming::undecided_position::check)),
    rule("channels/clipped", Check::Setup(super::channels::clipped::check)),
    rule("channels/collapsed", Check::Setup(super::channels::collapsed::check)),
    rule("channels/dead-line", Check::Setup(super::channels::dead_line::check)),
    rule("channels/dead-stick", Check::Setup(super::channels::dead_stick::check)),
    rule("channels/double-expo", Check::Setup(super::channels::double_expo::check)),
    rule("channels/elevons-alike", Check::Setup(super::channels::elevons_alike::check)),
    rule("channels/gap", Check::Setup(super::channels::gap::check)),
    rule("channels/lost-signal", Check::Setup(super::channels::lost_signal::check)),
    rule("channels/missing", Check::Setup(super::channels::missing::check)),
    rule("channels/mixed", Check::Setup(super::channels::mixed::check)),
    rule("channels/not-carried", Check::Model(super::channels::not_carried::check)),
    rule("channels/off-centre", Check::Setup(super::channels::off_centre::check)),
    rule("channels/order", Check::Setup(super::channels::order::check)),
    rule("channels/reversed", Check::Setup(super::channels::reversed::check)),
    rule("channels/short-travel", Check::Setup(super::channels::short_travel::check)),
    rule("channels/slowed", Check::Setup(super::channels::slowed::check)),
    rule("channels/subtrim", Check::Setup(super::channels::subtrim::check)),
    rule("channels/trims", Check::Setup(super::channels::trims::check)),
    rule("channels/twice", Check::Setup(super::channels::twice::check)),
    rule("channels/unfed", Check::Setup(super::channels::unfed::check)),
    rule("channels/unused", Check::Model(super::channels::unused::check)),
    rule("failsafe/disagree", Check::Setup(super::failsafe::disagree::check)),
    rule("failsafe/disarms", Check::Setup(super::failsafe::disarms::check)),
    rule("failsafe/drop", Check::Craft(super::failsafe::drop::check)),
    rule("failsafe/hides-loss", Check::Setup(super::failsafe::hides_loss::check)),
    rule("failsafe/hold", Check::Setup(super::failsafe::hold::check)),
    rule("failsafe/incomplete", Check::Setup(super::failsafe::incomplete::check)),
    rule("failsafe/no-action", Check::Craft(super::failsafe::no_action::check)),
    rule("failsafe/not-stated", Check::Setup(super::failsafe::not_stated::check)),
    rule("failsafe/preset-arms", Check::Setup(super::failsafe::preset_arms::check)),
    rule("failsafe/pulses-stop", Check::Setup(super::failsafe::pulses_stop::check)),
    rule("failsafe/restarts", Check::Craft(super::failsafe::restarts::check)),
    rule("failsafe/throttle", Check::Setup(super::failsafe::throttle::check)),
    rule("handset/copied-model", Check::Fleet(super::handset::copied_model::check)),
    rule("handset/name-alike", Check::Fleet(super::handset::name_alike::check)),
    rule("handset/stick-filter", Check::Setup(super::handset::stick_filter::check)),
    rule("handset/trainer", Check::Model(super::handset::trainer::check)),
    rule("handset/trainer-stays", Check::Model(super::handset::trainer_stays::check)),
    rule("modes/clash", Check::Signals(super::modes::clash::check)),
    rule("modes/ground-only", Check::Signals(super::modes::ground_only::check)),
    rule("modes/no-stop", Check::Craft(super::modes::no_stop::check)),
    rule("modes/return-alone", Check::Craft(super::modes::return_alone::check)),
    rule("modes/stuck", Check::Signals(super::modes::stuck::check)),
    rule("modes/unreachable", Check::Signals(super::modes::unreachable::check)),
    rule("house/expect-failed", Check::Setup(super::house::expect_failed::check)),
    rule("house/secret", Check::Text),
    rule("module/both-on", Check::Setup(super::module::both_on::check)),
    rule("module/chains-idle", Check::Setup(super::module::chains_idle::check)),
    rule("module/chains-missing", Check::Model(super::module::chains_missing::check)),
    rule("module/chains-wasted", Check::Model(super::module::chains_wasted::check)),
    rule("module/empty-bay", Check::Model(super::module::empty_bay::check)),
    rule("module/firmware", Check::Setup(super::module::firmware::check)),
    rule("module/none-on", Check::Model(super::module::none_on::check)),
    rule("module/power-step", Check::Model(super::module::power_step::check)),
    rule("module/update-rate", Check::Model(super::module::update_rate::check)),
    rule("module/wrong-link", Check::Setup(super::module::wrong_link::check)),
    rule("receiver/arm-differs", Check::Arms(super::receiver::arm_differs::check)),
    rule("receiver/duplicate-number", Check::Fleet(super::receiver::duplicate_number::check)),
    rule("receiver/first-number", Check::Fleet(super::receiver::first_number::check)),
    rule("receiver/key-differs", Check::Setup(super::receiver::key_differs::check)),
    rule("receiver/locked-elsewhere", Check::Setup(super::receiver::locked_elsewhere::check)),
    rule("receiver/not-locked", Check::Setup(super::receiver::not_locked::check)),
    rule("receiver/number-differs", Check::Setup(super::receiver::number_differs::check)),
    rule("receiver/orphan-craft", Check::Fleet(super::receiver::orphan_craft::check)),
    rule("receiver/orphan-model", Check::Model(super::receiver::orphan_model::check)),
    rule("receiver/several-answer", Check::Model(super::receiver::several_answer::check)),
    rule("receiver/wrong-model", Check::Fleet(super::receiver::wrong_model::check)),
    rule("spectrum/band", Check::Setup(super::spectrum::band::check)),
    rule("spectrum/bench-power", Check::Setup(super::spectrum::bench_power::check)),
    rule("spectrum/domain", Check::Setup(super::spectrum::domain::check)),
    rule("spectrum/domain-differs", Check::Setup(super::spectrum::domain_differs::check)),
    rule("spectrum/duty", Check::Setup(super::spectrum::duty::check)),
    rule("spectrum/no-table", Check::Setup(super::spectrum::no_table::check)),
    rule("spectrum/power", Check::Setup(super::spectrum::power::check)),
    rule("spectrum/reach", Check::Setup(super::spectrum::reach::check)),
    rule("throttle/cut-fails", Check::Signals(super::throttle::cut_fails::check)),
    rule("throttle/hidden-high", Check::Signals(super::throttle::hidden_high::check)),
    rule("throttle/jump", Check::Signals(super::throttle::jump::check)),
    rule("throttle/neutral-reverse", Check::Signals(super::throttle::neutral_reverse::check)),
    rule("throttle/no-cut", Check::Signals(super::throttle::no_cut::check)),
    rule("throttle/not-monotonic", Check::Signals(super::throttle::not_monotonic::check)),
    rule("throttle/one-motor-live", Check::Signals(super::throttle::one_motor_live::check)),
    rule("throttle/other-control", Check::Signals(super::throttle::other_control::check)),
    rule("throttle/too-high", Check::Signals(super::throttle::too_high::check)),
    rule("throttle/unchecked", Check::Setup(super::throttle::unchecked::check)),
    rule("throttle/with-throttle", Check::Signals(super::throttle::with_throttle::check)),
];
