//! What the data file of a rule says it needs, made ready once to be held against many subjects.

use super::Way;
use crate::fleet::table::Block;
use crate::rules::book::{Asks, Need, RuleDoc, Special};
use crate::setup::What;

/// The blocks that stand for a bay.
const BAY: &[Block] = &[Block::ModelModule, Block::HandsetModule];

/// A rule with what follows from its data file alone.
#[derive(Debug)]
pub struct Wanted {
    /// The rule's page.
    pub doc: &'static RuleDoc,
    /// Whether it is asked where no model flies the aircraft too.
    pub(super) by_itself: bool,
    pub(super) parts: Parts,
    pub(super) channels: Channels,
    /// Whether it looks over the links that reach an aircraft.
    pub(super) over_links: bool,
}

/// The parts of a way that a rule looks at: those that its needs name.
#[derive(Clone, Copy, Default, Debug)]
pub(super) struct Parts {
    pub(super) bay: bool,
    pub(super) receiver: bool,
    pub(super) link: bool,
    /// What either side says by itself is asked of each that is there.
    either: bool,
}

/// The channels that a rule looks at, by what they are for.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(super) struct Channels {
    /// Whether it looks at what arrives on them.
    pub(super) signal: bool,
    /// Whether it looks at any.
    pub(super) any: bool,
    pub(super) motors: bool,
    order: bool,
    modes: bool,
    arm: bool,
    surfaces: bool,
    ignition: bool,
}

impl Wanted {
    /// Makes a rule ready.
    pub fn of(doc: &'static RuleDoc) -> Self {
        let by_itself = matches!(doc.asks, Some(Asks::Craft | Asks::Handset | Asks::Text) | None)
            || doc.needs.contains(&[Need::Special(Special::AllFlies)].as_slice());
        Self { doc, by_itself, parts: Parts::of(doc), channels: Channels::of(doc), over_links: over_links(doc) }
    }
}

/// Whether one of several needs is a statement of one of these blocks.
fn stands_in(list: &[Need], blocks: &[Block]) -> bool {
    list.iter().any(|need| matches!(need, Need::Stated(block, _) if blocks.contains(block)))
}

fn needs_of(doc: &RuleDoc) -> impl Iterator<Item = &Need> {
    doc.needs.iter().chain(doc.applies.has).copied().flatten()
}

fn over_links(doc: &RuleDoc) -> bool {
    use Block::{HandsetModule, Link, ModelModule, Receiver};
    use Special::{Failsafe, Hold, OutputStops, Preset, Signal};
    let looks_over = |need: &Need| {
        matches!(
            need,
            Need::Stated(Link | Receiver | HandsetModule | ModelModule, _)
                | Need::Special(Signal | Failsafe | Preset | Hold | OutputStops)
        )
    };
    matches!(doc.asks, Some(Asks::Signals | Asks::Way))
        || needs_of(doc).any(looks_over)
        || doc.looks_at.iter().any(|(block, _)| *block == Receiver)
}

impl Parts {
    fn of(doc: &RuleDoc) -> Self {
        let mut parts = Self::default();
        for need in needs_of(doc) {
            match need {
                Need::Stated(Block::ModelModule | Block::HandsetModule, _) => parts.bay = true,
                Need::Stated(Block::Receiver, _) => parts.receiver = true,
                Need::Stated(Block::Link, _) => parts.link = true,
                Need::Stated(..) => {}
                Need::Special(special) => parts.bay |= special.is_of_a_bay(),
            }
        }
        parts.either = doc.needs.iter().any(|list| stands_in(list, BAY) && stands_in(list, &[Block::Receiver]));
        parts
    }

    pub(super) const fn any(self) -> bool {
        self.bay || self.receiver || self.link
    }

    /// Whether a way has them. A link is looked at where there is one, if nothing else is.
    pub(super) const fn are_in(self, way: &Way<'_>) -> bool {
        match (self.bay, self.receiver) {
            _ if self.either => true,
            (false, false) => way.link.is_some(),
            (bay, receiver) => (!bay || way.bay.is_some()) && (!receiver || way.receiver.is_some()),
        }
    }
}

impl Channels {
    fn of(doc: &RuleDoc) -> Self {
        use Special::{
            ArmMode, EnableMode, EndingMode, ExcludingMode, ForwardMotor, GroundMode, HeldMode, Motor, OtherMode,
            ReversibleMotor, SeveralMotors, Signal,
        };
        let mut channels = Self::default();
        for need in needs_of(doc) {
            match need {
                Need::Special(Signal) => (channels.signal, channels.any) = (true, true),
                Need::Special(Motor | ForwardMotor | ReversibleMotor | SeveralMotors) => channels.motors = true,
                Need::Special(OtherMode | ExcludingMode | GroundMode | EndingMode | HeldMode | EnableMode) => {
                    channels.modes = true;
                }
                Need::Special(ArmMode) => channels.arm = true,
                Need::Stated(Block::Model, "channel") => channels.any = true,
                Need::Stated(Block::Surfaces, "motor") => channels.motors = true,
                Need::Stated(Block::Surfaces, "channel") => channels.surfaces = true,
                Need::Stated(Block::Surfaces, "ignition") => channels.ignition = true,
                Need::Stated(Block::Controller, "order") => channels.order = true,
                Need::Stated(Block::Controller, "mode") => channels.modes = true,
                Need::Special(_) | Need::Stated(..) => {}
            }
        }
        channels
    }

    /// Whether channels of this use are among them.
    pub(super) fn hold(self, what: &What<'_>) -> bool {
        match what {
            What::Function(_) => self.order,
            What::Mode(mode) => self.modes || (self.arm && *mode == "arm"),
            What::Surface(_) => self.surfaces,
            What::Motor => self.motors,
            What::Ignition => self.ignition,
        }
    }
}
