//! The facts of a model's bay and of a receiver, as the pairing takes them.

use super::bay::{Bay, bay, handset_of};
use super::context::Context;
use super::of_craft::Setup;
use super::of_model::ModelSetup;
use super::way::Way;
use crate::fleet::craft::{Craft, Receiver, ReceiverNumber};
use crate::fleet::equipment::Link;
use crate::fleet::model::{Model, ModelModule};
use crate::fleet::words::{FirmwareCheck, NumberCheck};
use crate::radio::pairing::{
    self as radio, Connection, LinkChecks, ModelSide, Obstacle, Pairing, ReceiverSide, Unstated,
};
use crate::radio::regions::{Agreement, Domain, domains_agree};

/// A receiver with every bay that is on and speaks its link: at least one.
#[derive(Clone, Debug)]
pub struct Heard<'f> {
    /// The receiver.
    pub receiver: &'f Receiver,
    /// The bays.
    pub bays: Vec<Bay<'f>>,
    /// Their link.
    pub link: &'f Link,
}

impl<'f> Heard<'f> {
    /// What is wrong with each bay; nothing where one of them suits, since that one is enough.
    pub fn wrong<T>(&self, wrong: impl Fn(&Bay<'f>) -> Option<T>) -> Vec<T> {
        self.bays.iter().map(wrong).collect::<Option<_>>().unwrap_or_default()
    }
}

impl<'f> Setup<'f> {
    /// The receivers on whose links a bay sends.
    pub fn heard(&self) -> impl Iterator<Item = Heard<'f>> {
        self.ways().iter().filter_map(|way| {
            let link = way.link?;
            let speaks = |bay: &&Bay<'_>| bay.link.is_some_and(|own| own.head.name.value == link.head.name.value);
            let bays: Vec<_> = self.bays.iter().filter(speaks).copied().collect();
            (!bays.is_empty()).then_some(Heard { receiver: way.receiver, bays, link })
        })
    }

    /// What the aircraft reads from channels that only this receiver drives, and whether it can't fly or drive without it, where the model
    /// reaches it by another receiver; `None` where it does not.
    pub fn dead_without(&self, receiver: &Receiver) -> Option<Vec<(u8, bool)>> {
        let is_other = |other: &Receiver| !std::ptr::eq(other, receiver);
        let Reaches::Yes(reached, _) = reach(self.context, &self.bays, self.craft) else { return None };
        let others = || self.craft.receivers.iter().filter(|other| is_other(other));
        let dead = self.used().filter(|&(channel, ..)| !others().any(|other| other.drives(channel)));
        let mut dead: Vec<(u8, bool)> = dead.map(|(channel, _, vital)| (channel, vital)).collect();
        dead.sort_unstable();
        is_other(reached).then_some(dead)
    }
}

impl<'f> ModelSetup<'f> {
    /// The aircraft of the model that answer it for certain, each with the receiver that does.
    pub fn answering(&self) -> Vec<(&Setup<'f>, &'f Receiver)> {
        let answers = |setup: &'_ Setup<'f>| match reach(self.context, &self.bays, setup.craft) {
            Reaches::Yes(receiver, _) => Some(receiver),
            _ => None,
        };
        self.setups.iter().filter_map(|setup| Some((setup, answers(setup)?))).collect()
    }
}

impl<'f> ModelSetup<'f> {
    /// The aircraft of the model that may answer it, each with what is not stated and decides it.
    pub fn perhaps_answering(&self) -> Vec<(&Setup<'f>, Vec<Unstated>)> {
        let perhaps = |setup: &'_ Setup<'f>| match reach(self.context, &self.bays, setup.craft) {
            Reaches::Perhaps(_, unstated) => Some(unstated),
            _ => None,
        };
        self.setups.iter().filter_map(|setup| Some((setup, perhaps(setup)?))).collect()
    }
}

/// A bay of a model that is off and has the link of one of the aircraft's receivers.
pub fn off_and_heard<'f>(context: &Context<'f>, model: &'f Model, craft: &Craft) -> Option<&'f ModelModule> {
    let handset = handset_of(context.fleet, model);
    let off = model.modules.iter().filter(|module| module.off.is_some());
    off.map(|module| bay(context.fleet, module, handset)).find_map(|bay| {
        let name = &bay.link?.head.name.value;
        let hears = |receiver: &Receiver| receiver.link.as_ref().is_some_and(|link| link.value == *name);
        craft.receivers.iter().any(hears).then_some(bay.module)
    })
}

/// Whether a bay and a receiver connect. Both must speak a link that is defined; `None` otherwise.
pub fn pair<'f>(context: &Context<'f>, bay: &Bay<'f>, receiver: &'f Receiver) -> Option<Pairing<'f>> {
    let link = bay.link?;
    context.fleet.link(&receiver.link.as_ref()?.value)?;
    Some(radio::pairing(&model_side(bay, link), &receiver_side(receiver), checks(link)))
}

fn model_side<'f>(bay: &Bay<'f>, link: &'f Link) -> ModelSide<'f> {
    let hardware = bay.hardware;
    ModelSide {
        link: Some(&link.head.name.value),
        key: bay.module.key.as_ref().map(|key| key.value.as_str()),
        domain: hardware.and_then(|hardware| Domain::parse(&hardware.domain.as_ref()?.value)),
        firmware: hardware.and_then(|hardware| hardware.firmware.as_ref()).map(|version| version.value.as_str()),
        matching: bay.module.matching.map(|matching| matching.value),
        number: bay.module.receiver_number.map(|number| u32::from(number.value)),
    }
}

/// What a receiver says that a pairing looks at.
pub fn receiver_side(receiver: &Receiver) -> ReceiverSide<'_> {
    ReceiverSide {
        link: receiver.link.as_ref().map(|link| link.value.as_str()),
        key: receiver.key.as_ref().map(|key| key.value.as_str()),
        domain: receiver.domain.as_ref().and_then(|domain| Domain::parse(&domain.value)),
        firmware: receiver.firmware.as_ref().map(|version| version.value.as_str()),
        number: receiver.number.map(|number| match number.value {
            ReceiverNumber::Any => radio::ReceiverNumber::Any,
            ReceiverNumber::Locked(number) => radio::ReceiverNumber::Locked(u32::from(number)),
        }),
    }
}

fn checks(link: &Link) -> LinkChecks {
    LinkChecks {
        number: link.number_check.map(|check| match check.value {
            NumberCheck::Strict => radio::NumberCheck::Strict,
            NumberCheck::Learns => radio::NumberCheck::Learns,
            NumberCheck::BlocksOutputs => radio::NumberCheck::BlocksOutputs,
            NumberCheck::None => radio::NumberCheck::None,
        }),
        firmware: link.firmware_check.map(|check| match check.value {
            FirmwareCheck::SameMajor => radio::FirmwareCheck::SameMajor,
            FirmwareCheck::None => radio::FirmwareCheck::None,
        }),
    }
}

/// The domains of a receiver and of the module that it hears, where both are known and do not connect.
pub fn other_domains(way: &Way<'_>) -> Option<(Domain, Domain)> {
    let receiver = Domain::parse(&way.receiver.domain.as_ref()?.value)?;
    let module = Domain::parse(&way.bay?.hardware?.domain.as_ref()?.value)?;
    (domains_agree(receiver, module) == Agreement::Different).then_some((receiver, module))
}

/// How a model reaches an aircraft.
#[derive(Clone, Debug)]
pub enum Reaches<'f> {
    /// It connects and moves the outputs.
    Yes(&'f Receiver, Connection),
    /// The radio link comes up, and the outputs stand still.
    Still(&'f Receiver),
    /// It may: something that decides it is not stated.
    Perhaps(&'f Receiver, Vec<Unstated>),
    /// It does not, and this is what decides it; `None` where nothing transmits on a link of the aircraft.
    No(Option<Obstacle<'f>>),
}

/// How bays that are on reach an aircraft: the best of all its receivers.
pub fn reach<'f>(context: &Context<'f>, bays: &[Bay<'f>], craft: &'f Craft) -> Reaches<'f> {
    let mut best = Reaches::No(None);
    for bay in bays {
        for receiver in &craft.receivers {
            match pair(context, bay, receiver) {
                Some(Pairing::Connects(connection)) if connection.outputs_move => {
                    return Reaches::Yes(receiver, connection);
                }
                Some(Pairing::Connects(_)) if !matches!(best, Reaches::Perhaps(..)) => best = Reaches::Still(receiver),
                Some(Pairing::Depends(unstated)) => best = Reaches::Perhaps(receiver, unstated),
                Some(Pairing::DoesNot(obstacle)) if matches!(best, Reaches::No(None)) => {
                    best = Reaches::No(Some(obstacle))
                }
                _ => {}
            }
        }
    }
    best
}
