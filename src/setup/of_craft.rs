//! One model and one aircraft with every bay, every receiver, and every fact that is found at most once.

use super::arming::{Arming, Arms, arms, cuts};
use super::at_rest::{self, AtStart, RunsAtRest, Unmet};
use super::bay::Bay;
use super::channel_use::{self, Crossed, Flight, What};
use super::context::Context;
use super::failsafe::AtLoss;
use super::ignition::{self, Ignition};
use super::lawful::{self, Foreign, Ruled, ShortWay};
use super::misstated::{self, Misstated};
use super::motors::{self, Motor, MotorChannel};
use super::radio::{self, RadioWay, Region, Sender};
use super::rates;
use super::signals::Signals;
use super::start_check::{self, Driver, Starters};
use super::stop::Stop;
use super::subject::Subject;
use super::terms::hangs_on;
use super::timers;
use super::trainer;
use super::way::{LinkPath, Way, agreed, ways};
use crate::fleet::Decimal;
use crate::fleet::condition::{Condition as Written, Name};
use crate::fleet::craft::{Craft, Receiver};
use crate::fleet::equipment::{Handset, Link};
use crate::fleet::model::{BeforeStart, Model, Timer};
use crate::fleet::words::{CraftKind, Stick};
use crate::signal::{Allowance, Condition, ControlId, Question, Reason, Refused, Setting, Unknown, Why};
use crate::source::{Place, Span};
use std::cell::OnceCell;
use std::ops::Deref;
use std::rc::Rc;

/// A model with one of its aircraft.
#[derive(Debug)]
pub struct Setup<'f> {
    subject: Subject<'f>,
    /// The bays that are on.
    pub bays: Vec<Bay<'f>>,
    /// The bay that reaches the aircraft: one that is on and speaks a link of a receiver, else the first that is on.
    pub bay: Option<Bay<'f>>,
    /// The receiver that the bay reaches, else the first.
    pub receiver: Option<&'f Receiver>,
    /// The link between them; where the bay reaches none, the one that all bays that are on speak, else the one that all receivers
    /// hear. `None` where that is not known.
    pub link: Option<&'f Link>,
    ways: Vec<Way<'f>>,
    paths: Vec<Rc<LinkPath<'f>>>,
    flights: OnceCell<Vec<Flight<'f>>>,
    used: OnceCell<Vec<(u8, What<'f>, bool)>>,
    unknown_channels: OnceCell<Vec<u8>>,
    misstated: OnceCell<Vec<Misstated<'f>>>,
    motor_channels: OnceCell<Vec<MotorChannel>>,
    motors: OnceCell<Vec<Motor<'f>>>,
    drivers: OnceCell<Result<Vec<Driver>, (Why, Place)>>,
    at_loss: OnceCell<Vec<AtLoss<'f>>>,
    region: OnceCell<Option<Region<'f>>>,
    ruled: OnceCell<Vec<Ruled<'f>>>,
    radio_ways: OnceCell<Vec<RadioWay<'f>>>,
}

impl<'f> Deref for Setup<'f> {
    type Target = Subject<'f>;

    fn deref(&self) -> &Subject<'f> {
        &self.subject
    }
}

impl<'f> Setup<'f> {
    /// A model with an aircraft, whether it lists it or not. `bays` are the model's bays that are on; `allowance` is what may be
    /// looked at for the model.
    pub fn new(
        context: &'f Context<'f>,
        model: &'f Model,
        handset: Option<&'f Handset>,
        craft: &'f Craft,
        bays: &[Bay<'f>],
        allowance: &Allowance,
    ) -> Self {
        let fleet = context.fleet;
        let link_of = |receiver: &Receiver| receiver.link.as_ref().and_then(|name| fleet.link(&name.value));
        let same = |a: &Link, b: &Link| a.head.name.value == b.head.name.value;
        let matching = bays.iter().find_map(|bay| {
            let link = bay.link?;
            let receiver =
                craft.receivers.iter().find(|receiver| link_of(receiver).is_some_and(|own| same(own, link)))?;
            Some((*bay, receiver))
        });
        let bay = matching.map(|(bay, _)| bay).or_else(|| bays.first().copied());
        let receiver = matching.map(|(_, receiver)| receiver).or_else(|| craft.receivers.first());
        let link = match matching {
            Some((bay, _)) => bay.link,
            // What is sent counts; else what is heard.
            None if bays.iter().any(|bay| bay.link.is_some()) => agreed(bays.iter().map(|bay| bay.link)),
            None => agreed(craft.receivers.iter().map(link_of)),
        };
        let place = craft.flown_at.as_ref().map(|name| name.value.as_str()).or(context.default_place);
        let site = place.and_then(|name| fleet.site(name));
        let subject = Subject { context, model, handset, craft, site };
        let (ways, paths) = ways(subject, bays, link, allowance);
        Self {
            subject,
            bays: bays.to_vec(),
            bay,
            receiver,
            link,
            ways,
            paths,
            flights: OnceCell::new(),
            used: OnceCell::new(),
            unknown_channels: OnceCell::new(),
            misstated: OnceCell::new(),
            motor_channels: OnceCell::new(),
            motors: OnceCell::new(),
            drivers: OnceCell::new(),
            at_loss: OnceCell::new(),
            region: OnceCell::new(),
            ruled: OnceCell::new(),
            radio_ways: OnceCell::new(),
        }
    }

    /// The way to each receiver of the aircraft, in their order.
    pub fn ways(&self) -> &[Way<'f>] {
        &self.ways
    }

    /// The links that reach the aircraft, each once with its signal path, the main one first.
    pub fn paths(&self) -> impl Iterator<Item = &LinkPath<'f>> {
        self.paths.iter().map(Rc::as_ref)
    }

    /// The signal path of the main link; `None` where it can't be put together at all, as [`Setup::refused`] tells.
    pub fn signals(&self) -> Option<&Signals> {
        self.paths.first()?.signals()
    }

    /// Why there is no signal path, and which line causes it.
    pub fn refused(&self) -> Option<&Refused> {
        self.paths.first()?.refused()
    }

    /// What keeps the signal path, or a part of it, from being put together, each with its place and once.
    pub fn not_put_together(&self) -> Vec<(&Reason, Place)> {
        let mut found: Vec<(&Reason, Place)> = Vec::new();
        for path in self.paths() {
            let parts = path.signals().map(|signals| signals.program().parts());
            let parts = parts.into_iter().flat_map(|parts| &parts.unknown).filter_map(|unknown| match unknown {
                Unknown::NotUnderstood(place, reason) => Some((reason, *place)),
                Unknown::NotStated(_) => None,
            });
            let whole = path.refused().map(|refused| (&refused.reason, refused.place));
            for reason in whole.into_iter().chain(parts) {
                if !found.contains(&reason) {
                    found.push(reason);
                }
            }
        }
        found
    }

    /// Every bay that is on and speaks a link that is defined; none for a simulator. All of them transmit where the aircraft is
    /// flown.
    pub fn senders(&self) -> impl Iterator<Item = Sender<'f>> {
        radio::senders(&self.subject)
    }

    /// The region in which the aircraft is flown, where that is stated.
    pub fn region(&self) -> Option<Region<'f>> {
        *self.region.get_or_init(|| radio::region(&self.subject))
    }

    /// The senders that a table of the region is about.
    pub fn ruled(&self) -> &[Ruled<'f>] {
        self.ruled.get_or_init(|| lawful::ruled(&self.subject, self.region()))
    }

    /// The modules and receivers that were built for the radio rules of another region.
    pub fn foreign(&self) -> Vec<Foreign> {
        lawful::foreign(&self.subject, self.region())
    }

    /// The ways from each sender to the aircraft that have less than a margin in dB.
    pub fn short_ways(&self, asked: Decimal) -> Vec<ShortWay<'f>> {
        let ways =
            || radio::senders(&self.subject).flat_map(|sender| radio::to_receivers(&self.subject, sender)).collect();
        let ways = self.radio_ways.get_or_init(ways);
        // Of combined receivers the better one drives, so that the others may be short; where it is not known how far the other
        // reaches, it may be the better one.
        let stands_back = |way: &RadioWay<'f>| {
            let others = self
                .ways
                .iter()
                .filter(|other| other.bay.is_some() && self.may_drive_for(other.receiver, way.receiver));
            others.map(|other| ways.iter().find(|known| known.receiver.header == other.receiver.header)).any(|other| {
                let ahead = |other: &RadioWay<'f>| {
                    let (one, two) = (other.margin_db(), way.margin_db());
                    one > two || one == two && other.receiver.header.start < way.receiver.header.start
                };
                other.is_none_or(ahead)
            })
        };
        lawful::short_ways(ways.iter().filter(|way| !stands_back(way)), self.ruled(), asked)
    }

    /// Whether the receivers are combined, and one of them drives every channel that another does and the aircraft uses.
    fn may_drive_for(&self, one: &Receiver, other: &Receiver) -> bool {
        self.craft.combined.is_some()
            && one.header != other.header
            && self.used().all(|(channel, ..)| one.drives(channel) || !other.drives(channel))
    }

    /// Whether another receiver drives the same channels as long as it hears the handset, so that the link is lost only once all of
    /// them have lost it.
    pub fn is_backed(&self, at: &AtLoss<'_>) -> bool {
        let own = at.receiver.filter(|_| at.hears);
        own.is_some_and(|own| {
            let mut others = self.at_loss().iter().filter(|other| other.hears).filter_map(|other| other.receiver);
            others.any(|other| self.may_drive_for(other, own))
        })
    }

    /// The functions of the sticks that the controller reads; none where it is not stated from which channels.
    pub fn functions(&self) -> impl Iterator<Item = (Stick, u8)> + use<'f> {
        channel_use::functions(&self.subject)
    }

    /// The same with what is known of their channels.
    pub fn flights(&self) -> &[Flight<'f>] {
        self.flights.get_or_init(|| {
            self.functions().map(|(function, channel)| Flight::new(&self.subject, function, channel)).collect()
        })
    }

    /// The functions that another stick than their own moves.
    pub fn crossed(&self) -> Vec<Crossed> {
        let crossed = |flight: &Flight<'_>| {
            Some(Crossed { function: flight.function, channel: flight.channel, stick: flight.crossed()? })
        };
        self.flights().iter().filter_map(crossed).collect()
    }

    /// Whether a function falls where its own stick rises, over a link that carries it: at rest and in each position of the switches
    /// that its channel names. `None` where another stick, or none, moves it, where it stands still, or where it falls in some positions
    /// and rises in others.
    pub fn falls(&self, flight: &Flight<'_>) -> Option<bool> {
        if *flight.sticks != [flight.function] {
            return None;
        }
        if flight.known.is_some_and(|known| channel_use::is_straight(self.model, known)) {
            return Some(false);
        }
        let signals = self.paths().filter_map(LinkPath::signals);
        let seen = signals.map(|signals| flight.seen(signals)).find(|seen| !seen.ends.is_empty())?;
        let mut moving = seen.ends.iter().filter(|ends| ends.low != ends.high).map(|ends| ends.high < ends.low);
        let first = moving.next()?;
        moving.all(|falls| falls == first).then_some(first)
    }

    /// Whether the model carries the functions in the order of another aircraft that it flies.
    pub fn suits_another(&self) -> bool {
        channel_use::suits_another(&self.subject)
    }

    /// The order in which the model's channels carry the sticks, where each is carried once on the four that the controller
    /// reads its functions from.
    pub fn order_sent(&self) -> Option<Vec<Stick>> {
        channel_use::order_sent(self.flights())
    }

    /// Where the aircraft's description says that it reads a channel; its header where it does not.
    pub fn read_at(&self, channel: u8) -> Place {
        channel_use::read_at(&self.subject, channel)
    }

    /// Whether a multirotor's flight controller reads this channel as a flight function.
    pub fn is_flight(&self, channel: u8) -> bool {
        self.is(CraftKind::Multirotor) && self.functions().any(|(_, known)| known == channel)
    }

    /// The channels that the aircraft reads, each with what it is for and whether the aircraft can't fly without it.
    pub fn used(&self) -> impl Iterator<Item = (u8, What<'f>, bool)> {
        self.used.get_or_init(|| channel_use::used(&self.subject)).iter().copied()
    }

    /// The channels that the aircraft reads and the model defines, of which it is not known what they give where every control is
    /// at rest: a line of them was not understood, or names what is not there.
    pub fn unknown_channels(&self) -> &[u8] {
        self.unknown_channels.get_or_init(|| {
            let paths: Vec<_> = self.paths().filter_map(LinkPath::signals).collect();
            let is_unknown = |channel: u8| {
                paths.iter().any(|signals| signals.program().read_with(&[], u16::from(channel)).is_none())
            };
            let defined =
                self.used().map(|(channel, ..)| channel).filter(|&channel| self.model.channel(channel).is_some());
            defined.filter(|&channel| is_unknown(channel)).collect()
        })
    }

    /// The channels that drive motors, as the aircraft's description states them; none where it says that nothing drives it. Those of
    /// which it is [misstated](Setup::misstated) where they idle are left out.
    pub fn motor_channels(&self) -> &[MotorChannel] {
        self.motor_channels.get_or_init(|| {
            let mut channels = motors::channels(&self.subject);
            channels.retain(|motor| !self.is_misstated(motor.channel));
            channels
        })
    }

    /// The motors whose channels the model defines; none where a stick is on the wrong channel, which `channels/order` says. Those of
    /// which it is [misstated](Setup::misstated) where they idle are left out.
    pub fn motors(&self) -> &[Motor<'f>] {
        self.motors.get_or_init(|| {
            let mut found = if self.crossed().is_empty() { motors::find(&self.subject) } else { Vec::new() };
            found.retain(|motor| !self.is_misstated(motor.number()));
            found
        })
    }

    fn is_misstated(&self, channel: u8) -> bool {
        self.misstated().iter().any(|wrong| wrong.motor.channel == channel)
    }

    /// For each motor the switches that keep it idle; the reason where that was not decided.
    pub fn stops<'s>(&self, signals: &'s Signals) -> &'s [Result<Vec<Stop>, Why>] {
        signals.stops(|| self.motors().iter().map(|motor| motor.stops(signals)).collect())
    }

    /// Where the pilot leaves the throttle, in percent; `None` for a motor that can run backwards, where it is not stated.
    pub fn throttle_rest(&self, motor: &Motor<'_>) -> Option<i64> {
        start_check::throttle_rest(&self.subject, motor)
    }

    /// Whether two motors do the same work on two sides: it is stated, or they are the only ones and there is nothing else that they
    /// could do.
    pub fn are_sides(&self, one: &Motor<'_>, other: &Motor<'_>) -> bool {
        match (one.side, other.side) {
            (Some(one), Some(other)) => one != other,
            // One lifts and one pushes, or one hovers and one flies.
            (None, None) => self.motors().len() == 2 && !self.is(CraftKind::Hovercraft) && !self.is(CraftKind::Vtol),
            _ => false,
        }
    }

    /// Whether a motor stands still where the throttle springs to by itself. `None` where it is not stated whether it springs.
    pub fn stands_still_at_rest(&self, signals: &Signals, motor: &Motor<'_>) -> Option<bool> {
        start_check::stands_still_at_rest(&self.subject, signals, motor)
    }

    /// The sticks, knobs and sliders that move motors, without those that the start check asks for where the motor stands still.
    ///
    /// # Errors
    /// Why it was not decided, and for which channel.
    pub fn drivers(&self) -> Result<&[Driver], (Why, Place)> {
        // Where a stick is on the wrong channel nothing is asked of the signal path.
        let find = || match self.crossed().is_empty() {
            true => start_check::drivers(&self.subject, self.signals(), self.motors()),
            false => Ok(start_check::any_driver(&self.subject)),
        };
        self.drivers.get_or_init(find).as_deref().map_err(|why| *why)
    }

    /// Whether a motor runs when the handset is turned on with its switches where they let it run.
    pub fn runs_at_start(&self, signals: &Signals, motor: &Motor<'_>, stops: &[Stop]) -> bool {
        start_check::runs_at_start(signals, motor, stops)
    }

    /// What switches the ignition of its engine, as the aircraft's description states it.
    pub fn ignitions(&self) -> Vec<Ignition> {
        ignition::ignitions(&self.subject)
    }

    /// The channels that tilt the blades of a rotor all at once, as the aircraft's description states them.
    pub fn collective_channels(&self) -> Vec<u8> {
        let surfaces = self.craft.surfaces.iter().flat_map(|surfaces| &surfaces.channels);
        let collective = surfaces.filter(|surface| surface.functions.iter().any(|name| name.value == "collective"));
        let reads = self.craft.controller.iter().flat_map(|controller| &controller.reads);
        let read = reads.filter(|read| read.function.value == "collective").map(|read| read.channel.value);
        collective.map(|surface| surface.channel.value).chain(read).collect()
    }

    /// The switches that may start a motor, to above `lifted`, without those with which that is in order.
    ///
    /// # Errors
    /// Why it was not decided for one of them.
    pub fn starters(
        &self,
        signals: &Signals,
        motor: &Motor<'_>,
        stops: &[Stop],
        lifted: &Condition,
    ) -> Result<Starters, Why> {
        start_check::starters(&self.subject, signals, motor, stops, lifted)
    }

    /// What happens at each of the aircraft's receivers when the link is lost; none for a simulator.
    pub fn at_loss(&self) -> &[AtLoss<'f>] {
        self.at_loss.get_or_init(|| match self.model.simulator {
            None => AtLoss::of(&self.subject, &self.ways),
            Some(_) => Vec::new(),
        })
    }

    /// The request to arm over a link; `None` without a `mode arm`.
    pub fn arming<'s>(&self, signals: &'s Signals) -> Option<Arming<'s>> {
        Arming::of(&self.subject, signals)
    }

    /// What the arming controls do over each link that reaches the aircraft; the reason where that was not decided.
    ///
    /// # Errors
    /// Why it was not decided.
    pub fn arms(&self) -> Result<Vec<Arms>, Why> {
        let mut found: Vec<Arms> = Vec::new();
        for signals in self.paths().filter_map(LinkPath::signals) {
            for arm in arms(&self.subject, signals)? {
                if !found.iter().any(|known| known.control == arm.control && known.is_alike(&arm)) {
                    found.push(arm);
                }
            }
        }
        Ok(found)
    }

    /// What the switches do that cut a motor and don't ask to arm; the reason where that was not decided.
    ///
    /// # Errors
    /// Why it was not decided.
    pub fn cuts(&self) -> Result<Vec<Arms>, Why> {
        let Some(signals) = self.signals() else { return Ok(Vec::new()) };
        cuts(&self.subject, signals, self.motors(), self.stops(signals))
    }

    /// Whether functions that are handed over to a pupil are what runs the motors.
    pub fn hands_over_motors(&self, signals: &Signals, functions: &[Name]) -> bool {
        trainer::hands_over_motors(&self.subject, signals, functions)
    }

    /// What `before-start` demands of switches and of the throttle.
    pub fn demands(&self, signals: &Signals) -> Vec<(ControlId, Setting)> {
        start_check::demands(&self.subject, signals)
    }

    /// The position of a switch or button that `before-start` demands.
    pub fn demanded(&self, signals: &Signals, control: ControlId) -> Option<u8> {
        self.demands(signals).into_iter().find_map(|(known, setting)| match setting {
            Setting::Position(position) if known == control => Some(position),
            _ => None,
        })
    }

    /// The channels that the aircraft reads and the model defines, and that the outputs of no receiver reach, as far as every receiver
    /// says which it drives; each with what it is for and whether the aircraft can't fly without it.
    pub fn not_driven(&self) -> Vec<(u8, What<'f>, bool)> {
        let receivers = &self.craft.receivers;
        if receivers.is_empty() || receivers.iter().any(|receiver| receiver.drives.is_none()) {
            return Vec::new();
        }
        let lost = |channel: u8| !receivers.iter().any(|receiver| receiver.drives(channel));
        self.used().filter(|&(channel, ..)| lost(channel) && self.model.channel(channel).is_some()).collect()
    }

    /// Whether the start check asks for what keeps a motor still: for a position that stops it, and for each control that moves a motor
    /// where it stands still. Of a motor that runs on switches alone it has to ask for each of them.
    pub fn is_checked(&self, signals: &Signals, motor: &Motor<'_>, stops: &[Stop]) -> bool {
        let asked = |stop: &Stop| self.demanded(signals, stop.control).is_some_and(|at| stop.stops.contains(&at));
        let some = motor.is_on_an_axis(signals) == Ok(true);
        let all_asked = if some { stops.iter().any(asked) } else { !stops.is_empty() && stops.iter().all(asked) };
        all_asked && self.drivers().is_ok_and(|drivers| drivers.is_empty())
    }

    /// A start check of another switch that stands in a latch on which a motor's lines hang, where the latch is reset by this switch
    /// and not by that one; with the latch.
    pub fn latched_by_another(
        &self,
        signals: &Signals,
        motor: &Motor<'_>,
        control: ControlId,
    ) -> Option<(&'f BeforeStart, Span)> {
        start_check::latched_by_another(&self.subject, signals, motor, control)
    }

    /// Whether a control stands in no channel but those of motors.
    pub fn moves_motors_alone(&self, signals: &Signals, control: ControlId) -> bool {
        let is_motor = |number: u8| self.motors().iter().any(|motor| motor.number() == number);
        let others = self.model.channels.iter().map(|channel| channel.number.value).filter(|&number| !is_motor(number));
        !others.into_iter().any(|number| signals.program().mentions(u16::from(number)).controls.contains(&control))
    }

    /// For a helicopter whose throttle hold is let go, in the flight mode that the start check asks for and with the stick at its
    /// lowest: does its motor idle, and does it run?
    pub fn let_go(&self, signals: &Signals, motor: &Motor<'_>, stops: &[Stop]) -> Option<[Question; 2]> {
        start_check::let_go(&self.subject, signals, motor, stops)
    }

    /// The start checks that are met only while a control that springs back is held.
    pub fn unmet_checks(&self) -> Vec<Unmet<'f>> {
        at_rest::unmet(&self.subject)
    }

    /// The start checks of a switch, button, knob or slider that stands in no channel and hands nothing over.
    pub fn moot_checks(&self) -> Vec<&'f BeforeStart> {
        let Some(signals) = self.signals().filter(|_| self.unknown_channels().is_empty()) else { return Vec::new() };
        let channels = self.model.channels.iter().map(|channel| u16::from(channel.number.value));
        let named: Vec<ControlId> = channels.flat_map(|channel| signals.program().mentions(channel).controls).collect();
        let hand_over = self.model.trainer.iter().filter_map(|trainer| trainer.hand_over.as_ref());
        let gives: Vec<_> = hand_over.map(|(when, _)| when).collect();
        let is_moot = |start: &&BeforeStart| {
            let control = start.control.value.as_str();
            let known = self.handset.is_some_and(|handset| handset.control(control).is_some());
            let moves = signals.lowered().control(control).is_none_or(|control| named.contains(&control));
            known && !moves && !gives.iter().any(|when| hangs_on(self.model, when, control))
        };
        self.model.before_start.iter().filter(is_moot).collect()
    }

    /// For each axis that springs back and drives a motor that runs one way: does it run while that is let go?
    pub fn run_at_rest(&self, signals: &Signals, motor: &Motor<'_>) -> Vec<RunsAtRest> {
        at_rest::run_at_rest(&self.subject, signals, motor)
    }

    /// Does a motor run while a pupil has the throttle and does not touch it?
    pub fn runs_for_pupil(
        &self,
        signals: &Signals,
        motor: &Motor<'_>,
        pupil: &Handset,
        hand_over: &Condition,
    ) -> Option<Question> {
        at_rest::runs_for_pupil(signals, motor, pupil, hand_over)
    }

    /// What stands where it should not with the controls as the start check asks for them.
    pub fn at_start(&self, signals: &Signals) -> Vec<AtStart<'f>> {
        at_rest::at_start(&self.subject, signals, &self.demands(signals))
    }

    /// Whether a timer is longer than the battery of the aircraft lasts, where that is known.
    pub fn outlasts(&self, timer: &Timer) -> bool {
        timers::outlasts(&self.subject, timer)
    }

    /// Whether a condition hangs on a channel of the aircraft, or on a control that moves one.
    pub fn is_of_the_aircraft(&self, signals: &Signals, when: &Written) -> bool {
        timers::is_of_the_aircraft(&self.subject, signals, when)
    }

    /// Do all motors run with more than a share, in percent, of their range while something does not hold?
    pub fn runs_without(&self, signals: &Signals, holds: &Condition, share: Decimal) -> Option<Question> {
        timers::runs_without(&self.subject, signals, self.motors(), holds, share)
    }

    /// The greatest rate of a stick, where the model has rates for it.
    pub fn greatest_rate(&self, stick: Stick) -> Option<Span> {
        rates::greatest_rate(self.model, stick).map(|line| line.span)
    }

    /// The motors of which the place where they are said to idle is likely wrong, since nothing that is meant to stop them does.
    pub fn misstated(&self) -> &[Misstated<'f>] {
        self.misstated.get_or_init(|| misstated::find(&self.subject, self.signals(), self.at_loss()))
    }
}
