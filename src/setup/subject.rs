//! A model, its handset and one aircraft, with what is read off their statements.

use super::bay::Bay;
use super::context::Context;
use crate::fleet::Decimal;
use crate::fleet::condition::Name;
use crate::fleet::craft::{Craft, Mode, Receiver};
use crate::fleet::equipment::{ControlKind, Handset, Lost, Site};
use crate::fleet::model::Model;
use crate::fleet::table::Block;
use crate::fleet::words::{CraftKind, Hands, Stick};
use crate::signal::{Exact, Rational64, exact};
use crate::source::{Place, Span};

/// What a setup is about.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'f> {
    /// What holds for all.
    pub context: &'f Context<'f>,
    /// The model.
    pub model: &'f Model,
    /// Its handset, where it is defined.
    pub handset: Option<&'f Handset>,
    /// The aircraft.
    pub craft: &'f Craft,
    /// Where the aircraft is flown.
    pub site: Option<&'f Site>,
}

impl<'f> Subject<'f> {
    /// What the pilot's hands have hold of.
    pub fn hands(&self) -> Hands {
        self.handset.map_or_else(Hands::default, Handset::hands)
    }

    /// What the handset calls a stick; the language's own word where there is no handset.
    pub fn stick_name(&self, stick: Stick) -> &'static str {
        self.handset.and_then(|handset| handset.stick_name(stick)).unwrap_or(stick.word())
    }

    /// Whether the craft is of this kind.
    pub fn is(&self, kind: CraftKind) -> bool {
        self.craft.kind.is_some_and(|known| known.value == kind)
    }

    /// A range of the model's file.
    pub fn in_model(&self, span: Span) -> Place {
        self.model.head.place(span)
    }

    /// A range of the craft's file.
    pub fn in_craft(&self, span: Span) -> Place {
        self.craft.head.place(span)
    }

    /// The place of a channel's header in the model; the model's header where it is not defined.
    pub fn channel_place(&self, channel: u8) -> Place {
        self.in_model(self.model.channel(channel).map_or(self.model.head.header, |channel| channel.header))
    }

    /// The line that was not understood and may define a channel, where the model defines no such channel.
    pub fn lost_channel(&self, channel: u8) -> Option<Place> {
        let may = |lost: &&Lost| {
            lost.block == Block::Model
                && (lost.word.is_empty() || lost.word == "channel")
                && lost.key.as_ref().and_then(|key| key.parse().ok()).is_none_or(|key: u8| key == channel)
        };
        let lost = || self.model.head.lost.iter().find(may).map(|lost| self.in_model(lost.span));
        if self.model.channel(channel).is_some() { None } else { lost() }
    }

    /// Whether it is stated what the aircraft reads, and every line of that was understood.
    pub fn reads_are_known(&self) -> bool {
        let controller =
            self.craft.controller.as_ref().is_some_and(|controller| controller.functions().next().is_some());
        let head = &self.craft.head;
        let lost = head.lost_here(&["controller", "surfaces"])
            || self
                .craft
                .controller
                .as_ref()
                .is_some_and(|it| head.lost_within(it.body.whole, &["order", "reads", "mode"]))
            || self
                .craft
                .surfaces
                .as_ref()
                .is_some_and(|it| head.lost_within(it.body.whole, &["channel", "motor", "ignition"]));
        (controller || self.craft.surfaces.is_some()) && !lost
    }

    /// The receivers of the aircraft that speak the link of what is in a bay.
    pub fn receivers_of(&self, bay: &Bay<'_>) -> impl Iterator<Item = &'f Receiver> + use<'f> {
        let link = bay.hardware.and_then(|hardware| hardware.link.as_ref()).map(|link| link.value.clone());
        let speaks = move |own: &Name| link.as_ref().is_some_and(|link| own.value == *link);
        self.craft.receivers.iter().filter(move |receiver| receiver.link.as_ref().is_some_and(&speaks))
    }

    /// Whether the aircraft has a receiver that speaks the link of what is in a bay.
    pub fn hears(&self, bay: &Bay<'_>) -> bool {
        self.receivers_of(bay).next().is_some()
    }

    /// The channels of `mode arm`, in the order in which the mode names them, without doubles.
    pub fn arm_channels(&self) -> Vec<u8> {
        let mode = self.craft.controller.as_ref().and_then(|controller| controller.arm_mode());
        mode.map(Mode::channels).unwrap_or_default()
    }

    /// The position that a switch or button springs back to when it is let go.
    pub fn springs_to(&self, control: &str) -> Option<u8> {
        self.handset?.control(control)?.kind.rest()
    }

    /// The names of the two-position switches that stay where they are put and that the model does not use.
    pub fn spare_switches(&self) -> Vec<&'f str> {
        let used = self.model.control_names();
        let controls = self.handset.iter().flat_map(|handset| &handset.controls);
        let spare = controls.filter(|control| control.kind == ControlKind::Switch { positions: 2, sprung_to: None });
        spare.map(|control| control.name.value.as_str()).filter(|name| !used.contains(name)).collect()
    }
}

/// The number of a decimal, as the signal path computes with it. Only what a unit makes larger than descriptions write it does
/// not fit, and is rounded.
pub fn number(decimal: Decimal) -> Rational64 {
    exactly(decimal).rounded()
}

/// The number of a decimal, whatever its size.
pub(super) fn exactly(decimal: Decimal) -> Exact {
    let fits = Rational64::decimal(decimal.mantissa(), u32::from(decimal.scale()));
    fits.map_or_else(|| decimal.to_ratio().into(), exact)
}

/// The numbers that lie so far below and above a middle.
pub fn around(middle: Decimal, off: Decimal) -> [Rational64; 2] {
    let (middle, off) = (exactly(middle), exactly(off));
    [middle.minus(&off).rounded(), middle.plus(&off).rounded()]
}
