//! What rules need and no single statement says.

use super::{Subject, There, Way};
use crate::findings::coverage::Missing;
use crate::fleet::craft::{Arm, Controller, Failsafe, Mode};
use crate::fleet::model::AlarmKind;
use crate::fleet::table::Block;
use crate::fleet::words::{FailsafeAction, LossAction, ModeKind, Stick};
use crate::radio::regions::{BandVerdict, Fact};
use crate::rules::book::Special;
use crate::setup::alarms::sensitivity as lowest_signal;
use crate::setup::lawful::Ruled;
use crate::setup::surfaces::has_mixed_pair;
use crate::signal::{Reason, Refused};
use compact_str::ToCompactString;

/// The words of an alarm or an arm statement that a need names.
const ARM_MODE: &str = "arm channel … … us";

impl Special {
    /// Whether it is asked of each bay that is on.
    pub(super) const fn is_of_a_bay(self) -> bool {
        matches!(
            self,
            Self::Chains | Self::MatchOn | Self::Sensitivity | Self::BandTable | Self::PowerFacts | Self::DutyFacts
        )
    }
}

impl<'f> Subject<'f> {
    /// Whether it is there; what is not asked of each bay is found once.
    pub(super) fn special(&self, special: Special, way: &Way<'f>) -> There {
        match self.specials.get(special as usize) {
            Some(known) if !special.is_of_a_bay() => {
                known.get_or_init(|| self.find_special(special, &Way::default())).clone()
            }
            _ => self.find_special(special, way),
        }
    }

    fn find_special(&self, special: Special, way: &Way<'f>) -> There {
        match special {
            Special::Signal => self.signal(way),
            Special::ArmMode => self.arm_mode(way),
            Special::ArmNeeds => self.arm_needs(way),
            Special::OtherMode => {
                self.mode(way, &|controller| controller.modes.iter().any(|mode| mode.name.value != "arm"))
            }
            Special::ExcludingMode => {
                self.some_mode(&|controller| controller.modes.iter().any(|mode| mode.excludes.is_some()))
            }
            Special::GroundMode => self.mode_of(&[ModeKind::OnGround, ModeKind::Stop]),
            Special::EndingMode => self.mode_of(&[ModeKind::Return, ModeKind::Land, ModeKind::Stop]),
            Special::HeldMode => self.mode_of(&[ModeKind::Return, ModeKind::Stop]),
            Special::EnableMode => self.mode_of(&[ModeKind::Enable]),
            Special::FliesHome => self.some_mode(&|controller| {
                let mut kinds = controller.modes.iter().filter_map(|mode| mode.kind);
                let back = controller.on_loss.is_some_and(|loss| loss.action == LossAction::FlyBack);
                back || kinds.any(|kind| kind.value == ModeKind::Return)
            }),
            Special::Motor => self.motors(way, &|motors| !motors.is_empty()),
            Special::ForwardMotor => self.motors(way, &|motors| motors.contains(&false)),
            Special::ReversibleMotor => self.motors(way, &|motors| motors.contains(&true)),
            Special::SeveralMotors => self.motors(way, &|motors| motors.len() > 1),
            Special::Idle => self.idle(way),
            Special::MixedSurfaces => self.mixed_surfaces(way),
            Special::Links => self.links(),
            Special::BayOn => self.bay_on(),
            Special::SeveralBays => There::known(self.model.is_some_and(|model| model.modules_on().count() > 1)),
            Special::Chains => self.chains(way),
            Special::MatchOn => match way.bay.and_then(|bay| bay.module.matching) {
                Some(matching) => There::known(matching.value),
                None => self.stated(Block::ModelModule, "match", way),
            },
            Special::SeveralAircraft => There::known(self.several_aircraft),
            Special::AllFlies => self.all_flies(),
            Special::Failsafe => self.failsafe(way, &|_| true),
            Special::Preset => self.failsafe(way, &|action| action == FailsafeAction::Preset),
            Special::Hold => self.failsafe(way, &|action| action == FailsafeAction::Hold),
            Special::OutputStops => self.failsafe(way, &|action| action == FailsafeAction::OutputStops),
            Special::BatteryAlarm => self.alarm(&|kind| matches!(kind, AlarmKind::Battery { .. })),
            Special::PackAlarm => self.alarm(&|kind| matches!(kind, AlarmKind::Battery { per_cell: false, .. })),
            Special::LinkAlarm => self.alarm(&|kind| !matches!(kind, AlarmKind::Battery { .. })),
            Special::NoSignalAlarm => match self.alarm(&|kind| matches!(kind, AlarmKind::Signal(_))) {
                There::Yes => There::No,
                There::No => There::Yes,
                open => open,
            },
            Special::CellVoltage => match self.alarm(&|kind| matches!(kind, AlarmKind::Battery { per_cell: true, .. }))
            {
                There::Yes => There::Yes,
                _ => self.stated(Block::CraftBattery, "cells", way),
            },
            Special::HandOver => {
                let trainer = self.model.and_then(|model| model.trainer.as_ref());
                let known = trainer.is_some_and(|trainer| trainer.hand_over.is_some());
                self.or_lost(known, Block::Model, "trainer")
            }
            Special::ThrottleGiven => {
                let trainer = self.model.and_then(|model| model.trainer.as_ref());
                let functions = trainer.and_then(|trainer| trainer.hand_over.as_ref()).map(|(_, functions)| functions);
                There::known(functions.is_some_and(|list| list.iter().any(|name| name.value == "throttle")))
            }
            Special::FullSweep => {
                let mut channels = self.model.iter().flat_map(|model| &model.channels);
                let known = channels.any(|channel| channel.full_sweep.is_some());
                self.or_lost(known, Block::Channel, "full-sweep")
            }
            Special::RateExpo => {
                let rates = self.model.iter().flat_map(|model| &model.rates).flat_map(|rates| &rates.lines);
                let known = rates.filter_map(|line| line.expo).any(|expo| expo.value.mantissa() > 0);
                self.or_lost(known, Block::Rates, "rate")
            }
            Special::Sensitivity => self.sensitivity(way),
            Special::NoController => {
                let none = There::known(self.craft.is_none_or(|craft| craft.controller.is_none()));
                self.unless_lost(Block::Craft, "controller", none)
            }
            Special::NoSurfaces => {
                let none = There::known(self.craft.is_none_or(|craft| craft.surfaces.is_none()));
                self.unless_lost(Block::Craft, "surfaces", none)
            }
            Special::ReceiverBattery => {
                let known = There::known(self.craft.is_some_and(|craft| craft.receiver_battery().is_some()));
                if known == There::Yes { known } else { self.unless_lost(Block::Craft, "battery", known) }
            }
            Special::AntennaHeight => match self.craft.and_then(|craft| craft.kind) {
                Some(kind) if kind.value.stays_down() => self.stated(Block::Craft, "height", way),
                _ => There::Yes,
            },
            Special::TestsAsked => There::known(self.context.today.is_some() && !self.context.tested.is_empty()),
            Special::RegionTable => self.region_table(),
            Special::BandTable => self.band_table(way),
            Special::PowerFacts => self.radio_facts(way, true),
            Special::DutyFacts => self.radio_facts(way, false),
        }
    }

    /// Known to be there; else not there, unless a line anywhere in the model may have said it.
    fn or_lost(&self, known: bool, block: Block, word: &str) -> There {
        let lost = self.model.iter().flat_map(|model| model.head.lost.iter().map(move |lost| (model, lost)));
        let mut lost = lost.filter(|(_, lost)| lost.block == block && (lost.word == word || lost.word.is_empty()));
        match (known, lost.next()) {
            (true, _) => There::Yes,
            (false, Some((model, lost))) => There::Open(vec![Missing::Line(model.head.place(lost.span))]),
            (false, None) => There::No,
        }
    }

    fn signal(&self, way: &Way<'f>) -> There {
        let stated = self.stated(Block::Handset, "scale", way).and(|| self.stated(Block::Model, "channel", way));
        if stated != There::Yes {
            return stated;
        }
        let Some(pair) = self.setup else { return self.stated(Block::Model, "flies", way) };
        if pair.signals().is_some() {
            return There::Yes;
        }
        let refused = pair.paths().filter_map(|path| path.refused());
        let missing = refused.map(|Refused { reason, place }| match reason {
            Reason::Line | Reason::ScaleNotUnderstood => Missing::Line(*place),
            reason => Missing::SignalPath { place: *place, why: reason.to_compact_string() },
        });
        There::Open(missing.collect())
    }

    /// The controller, where the aircraft has one.
    fn controller(&self) -> Option<&'f Controller> {
        self.craft?.controller.as_ref()
    }

    fn arm_mode(&self, way: &Way<'f>) -> There {
        let controller = self.controller();
        if controller.is_some_and(|controller| controller.arm_mode().is_some()) {
            return There::Yes;
        }
        if controller.and_then(|controller| controller.arm).is_some_and(|arm| arm.value == Arm::Sticks) {
            return There::No;
        }
        match self.unless_lost(Block::Controller, "mode", There::Yes) {
            There::Yes => self.open(Block::Controller, "mode", way, ARM_MODE),
            open => open,
        }
    }

    fn arm_needs(&self, way: &Way<'f>) -> There {
        match self.controller().and_then(|controller| controller.arm).map(|arm| arm.value) {
            Some(Arm::Sticks) => There::No,
            Some(Arm::Switch { low_throttle: false, seen_off: false }) | None => {
                self.open(Block::Controller, "arm", way, "by switch needs …")
            }
            Some(Arm::Switch { .. }) => There::Yes,
        }
    }

    /// Something that is there where a controller has a mode of some sort, with modes stated at all.
    fn mode(&self, way: &Way<'f>, wanted: &dyn Fn(&Controller) -> bool) -> There {
        match self.stated(Block::Controller, "mode", way) {
            There::Yes => self.some_mode(wanted),
            open => open,
        }
    }

    /// Whether the controller has a mode of one of these kinds.
    fn mode_of(&self, kinds: &[ModeKind]) -> There {
        let is_one = |mode: &Mode| mode.kind.is_some_and(|kind| kinds.contains(&kind.value));
        self.some_mode(&|controller| controller.modes.iter().any(is_one))
    }

    fn some_mode(&self, wanted: &dyn Fn(&Controller) -> bool) -> There {
        let there = There::known(self.controller().is_some_and(wanted));
        if there == There::Yes { there } else { self.unless_lost(Block::Controller, "mode", there) }
    }

    /// Whether the motors that the description names, each with whether it can run backwards, are as wanted.
    fn motors(&self, way: &Way<'f>, wanted: &dyn Fn(&[bool]) -> bool) -> There {
        let surfaces = self.craft.and_then(|craft| craft.surfaces.as_ref());
        let throttle = self.controller().and_then(|controller| controller.channel_of(Stick::Throttle));
        let mut motors: Vec<bool> = throttle.iter().map(|_| false).collect();
        motors.extend(surfaces.iter().flat_map(|surfaces| &surfaces.motors).map(|motor| motor.runs_both_ways()));
        if wanted(&motors) {
            return There::Yes;
        }
        if self.controller().is_some() && throttle.is_none() {
            return self.stated(Block::Controller, "order", way);
        }
        if surfaces.is_some() {
            return match motors.is_empty() {
                true => self.stated(Block::Surfaces, "motor", way),
                false => self.unless_lost(Block::Surfaces, "motor", There::No),
            };
        }
        if self.controller().is_some() { There::No } else { self.stated(Block::Craft, "controller", way) }
    }

    /// Whether two surfaces mix two sticks each; not known where it is not stated what any channel moves.
    fn mixed_surfaces(&self, way: &Way<'f>) -> There {
        let surfaces = self.craft.and_then(|craft| craft.surfaces.as_ref());
        let Some(surfaces) = surfaces else { return self.stated(Block::Surfaces, "channel", way) };
        // What drives or floats may have nothing but motors; what flies has surfaces.
        let stays_down = self.craft.and_then(|craft| craft.kind).is_some_and(|kind| kind.value.stays_down());
        match (has_mixed_pair(surfaces), surfaces.channels.is_empty() && !stays_down) {
            (true, _) => There::Yes,
            (false, true) => self.stated(Block::Surfaces, "channel", way),
            (false, false) => self.unless_lost(Block::Surfaces, "channel", There::No),
        }
    }

    fn idle(&self, way: &Way<'f>) -> There {
        let mut there = There::Yes;
        if self.controller().is_some_and(|controller| controller.channel_of(Stick::Throttle).is_some()) {
            there = there.and(|| self.stated(Block::Controller, "idle-below", way));
        }
        let motors = self.craft.and_then(|craft| craft.surfaces.as_ref()).map(|surfaces| &surfaces.motors);
        if motors.into_iter().flatten().any(|motor| motor.idle.is_none()) {
            there = there.and(|| self.open(Block::Surfaces, "motor", way, "channel … idle-below … us"));
        }
        there
    }

    fn links(&self) -> There {
        let receivers = self.stated(Block::Craft, "receiver", &Way::default());
        self.ways.iter().fold(self.bay_on().and(|| receivers), |there, way| {
            let there = match way.bay {
                Some(_) => there.and(|| self.stated(Block::HandsetModule, "link", way)),
                None => there,
            };
            match way.receiver {
                Some(_) => there.and(|| self.stated(Block::Receiver, "link", way)),
                None => there,
            }
        })
    }

    pub(super) fn bay_on(&self) -> There {
        if self.ways.iter().any(|way| way.bay.is_some()) {
            return There::Yes;
        }
        self.open(Block::Model, "module", &Way::default(), "")
    }

    fn chains(&self, way: &Way<'f>) -> There {
        let one = way.bay.and_then(|bay| bay.hardware?.chains).is_some_and(|chains| chains.value == 1);
        if one { There::Yes } else { self.stated(Block::ModelModule, "send-on", way) }
    }

    fn all_flies(&self) -> There {
        if self.setup.is_some() {
            // A model that flies the aircraft is at hand: what others say makes no difference.
            return There::Yes;
        }
        let fleet = self.context.fleet;
        match self.context.open_model() {
            Some(model) => {
                let subject = Subject { model: Some(model), ..Subject::empty(self.context) };
                subject.open(Block::Model, "flies", &Way::default(), "")
            }
            None if fleet.unread => There::Open(vec![Missing::UnreadFile]),
            None => There::Yes,
        }
    }

    /// What the receiver does when the link is lost: its own word goes before the model's.
    fn failsafe(&self, way: &Way<'f>, wanted: &dyn Fn(FailsafeAction) -> bool) -> There {
        let action = |failsafe: &Failsafe| failsafe.action.value;
        let own = self.craft.iter().flat_map(|craft| &craft.receivers);
        let all: Vec<Option<FailsafeAction>> = match self.setup {
            Some(setup) => {
                let acting = setup.at_loss().iter().filter(|at| at.hears || at.plan.is_some());
                acting.map(|at| at.plan.map(|plan| plan.action())).collect()
            }
            None => own.map(|receiver| receiver.failsafe.as_ref().map(action)).collect(),
        };
        let known: Vec<FailsafeAction> = all.iter().flatten().copied().collect();
        if known.iter().any(|&action| wanted(action)) {
            return There::Yes;
        }
        if known.len() == all.len() {
            return There::No;
        }
        let receiver = self.craft.and_then(|craft| craft.receivers.iter().find(|receiver| receiver.failsafe.is_none()));
        let receiver = receiver.or_else(|| self.craft?.receivers.first());
        let way = Way { receiver: receiver.or(way.receiver), ..*way };
        self.unless_lost(Block::Model, "failsafe", There::Yes).and(|| self.open(Block::Receiver, "failsafe", &way, ""))
    }

    /// The figure of the link at the update rate of a bay.
    fn sensitivity(&self, way: &Way<'f>) -> There {
        let stated =
            self.stated(Block::ModelModule, "update-rate", way).and(|| self.stated(Block::Link, "sensitivity", way));
        match way.bay.as_ref().map(lowest_signal) {
            _ if stated != There::Yes => stated,
            Some(Some(_)) => There::Yes,
            _ => self.open(Block::Link, "sensitivity", way, ""),
        }
    }

    /// Whether there is a table of radio rules for the region. Where no region is stated, the rules that need one say so
    /// themselves.
    fn region_table(&self) -> There {
        match self.setup.and_then(|pair| pair.region()) {
            Some(region) if region.table.is_none() => {
                There::Open(vec![Missing::NoTable { region: region.name.value.clone(), link: None }])
            }
            _ => There::Yes,
        }
    }

    /// Whether the table says something of the whole band of a way's link.
    fn band_table(&self, way: &Way<'f>) -> There {
        self.region_table().and(|| match self.ruled(way).map(Ruled::band_verdict) {
            Some(BandVerdict::NotKnown { .. }) => self.no_table(way),
            _ => There::Yes,
        })
    }

    /// The radio rules of the region for the link of a way are not there.
    fn no_table(&self, way: &Way<'f>) -> There {
        let region = self.setup.and_then(|pair| pair.region()).map(|region| region.name.value.clone());
        let link = way.link.map(|link| link.head.name.value.clone());
        There::Open(vec![Missing::NoTable { region: region.unwrap_or_default(), link }])
    }

    /// What the radio rules of the region say of what a bay sends.
    fn ruled(&self, way: &Way<'f>) -> Option<&'f Ruled<'f>> {
        let bay = way.bay?;
        self.setup?.ruled().iter().find(|ruled| ruled.sender.bay.module.header == bay.module.header)
    }

    fn alarm(&self, wanted: &dyn Fn(AlarmKind) -> bool) -> There {
        let known = self.model.is_some_and(|model| model.alarms.iter().any(|alarm| wanted(alarm.kind)));
        self.or_lost(known, Block::Model, "alarm")
    }

    /// What decides the power, or the time on air, that a region's rules are held against.
    fn radio_facts(&self, way: &Way<'f>, power: bool) -> There {
        if self.band_table(way) != There::Yes {
            return self.band_table(way);
        }
        let ruled = self.ruled(way);
        let open = match power {
            true => ruled.map(Ruled::open_of_power),
            false => ruled.map(Ruled::open_of_time),
        };
        let open = open.unwrap_or_default();
        open.iter().fold(There::Yes, |there, fact| there.and(|| self.fact(*fact, way)))
    }

    /// What a region's rules ask for and the description leaves open: never there, even where a statement says something else
    /// of the kind, as an air time at another rate does.
    fn fact(&self, fact: Fact, way: &Way<'f>) -> There {
        let rate = way.bay.is_some_and(|bay| bay.module.update_rate.is_some());
        let (block, word) = match fact {
            Fact::Family => (Block::Link, "modulation"),
            Fact::HopChannels => (Block::Link, "hop-channels"),
            Fact::Bandwidth => (Block::Link, "bandwidth"),
            Fact::Adaptive => (Block::Link, "adaptive"),
            Fact::AntennaGain => (Block::HandsetModule, "antenna-gain"),
            Fact::Chains => (Block::ModelModule, "send-on"),
            Fact::TimeOnAir if !rate => (Block::ModelModule, "update-rate"),
            Fact::TimeOnAir => (Block::Link, "air-time"),
            Fact::Telemetry => (Block::ModelModule, "telemetry"),
            Fact::Usage => (Block::Craft, "kind"),
            Fact::Indoors => (Block::Place, "reach"),
            // No statement can say it: the table has no figure.
            Fact::Limit => return self.no_table(way),
        };
        self.open(block, word, way, "")
    }
}
