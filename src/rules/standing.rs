//! Whether a rule is asked about a subject: what its data file says it applies to and needs, held against what is stated.

mod clear;
mod special;
#[cfg(test)]
mod tests;
mod wanted;

pub use wanted::Wanted;

use super::book::{Applies, Need, RuleDoc, Special};
use crate::findings::coverage::Missing;
use crate::fleet::craft::{Craft, Receiver};
use crate::fleet::equipment::{Body, Handset, Head, Link, Site};
use crate::fleet::model::Model;
use crate::fleet::quoted;
use crate::fleet::table::Block;
use crate::fleet::words::MotorKind;
use crate::setup::pairing::Heard;
use crate::setup::{Bay, Context, ModelSetup, Setup};
use compact_str::{CompactString, format_compact};
use std::cell::{OnceCell, RefCell};
use wanted::{Channels, Parts};

/// Whether a rule is asked.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Asked {
    /// It is; what is missing keeps it from some bay or receiver.
    Yes(Vec<Missing>),
    /// Something that it needs is missing.
    No(Vec<Missing>),
    /// It is about something else.
    DoesNotApply,
}

/// What a rule is asked about: as much of a model, its handset and one of its aircraft as there is.
#[derive(Debug)]
pub struct Subject<'f> {
    context: &'f Context<'f>,
    model: Option<&'f Model>,
    handset: Option<&'f Handset>,
    craft: Option<&'f Craft>,
    site: Option<&'f Site>,
    setup: Option<&'f Setup<'f>>,
    several_aircraft: bool,
    /// Each bay that is on with each receiver that hears it, or with none; each receiver that no bay speaks to.
    ways: Vec<Way<'f>>,
    /// What no single statement says, once it was looked for.
    specials: [OnceCell<There>; Special::COUNT],
    /// Whether all links are known over which a rule looks, once it was looked for.
    air: OnceCell<There>,
    /// Whether the channels are there at which a rule looks, for those that were looked for.
    channels: RefCell<Vec<(Channels, There)>>,
}

/// One way from a bay to a receiver, or as much of it as there is.
#[derive(Clone, Copy, Debug, Default)]
struct Way<'f> {
    bay: Option<Bay<'f>>,
    receiver: Option<&'f Receiver>,
    link: Option<&'f Link>,
}

/// Whether something that is needed is there.
#[derive(Clone, PartialEq, Eq, Debug)]
enum There {
    Yes,
    /// There is no such thing.
    No,
    /// It is not known: this is missing.
    Open(Vec<Missing>),
}

impl There {
    const fn known(there: bool) -> Self {
        if there { Self::Yes } else { Self::No }
    }

    /// Both are needed.
    fn and(self, other: impl FnOnce() -> Self) -> Self {
        match self {
            Self::No => Self::No,
            Self::Yes => other(),
            Self::Open(mut missing) => match other() {
                Self::No => Self::No,
                Self::Yes => Self::Open(missing),
                Self::Open(more) => {
                    add(&mut missing, more);
                    Self::Open(missing)
                }
            },
        }
    }

    /// One of both is enough.
    fn or(self, other: impl FnOnce() -> Self) -> Self {
        match (self, other) {
            (Self::Yes, _) => Self::Yes,
            (Self::No, other) => other(),
            (Self::Open(mut missing), other) => match other() {
                Self::Yes => Self::Yes,
                Self::No => Self::Open(missing),
                Self::Open(more) => {
                    add(&mut missing, more);
                    Self::Open(missing)
                }
            },
        }
    }
}

fn add(missing: &mut Vec<Missing>, more: Vec<Missing>) {
    for one in more {
        if !missing.contains(&one) {
            missing.push(one);
        }
    }
}

impl<'f> Subject<'f> {
    /// A model with one of its aircraft.
    pub fn of_setup(view: &'f ModelSetup<'f>, setup: &'f Setup<'f>) -> Self {
        let mut subject = Self::of_model(view);
        subject.craft = Some(setup.craft);
        subject.site = setup.site;
        subject.setup = Some(setup);
        subject.ways = ways(setup);
        subject
    }

    /// A model without an aircraft.
    pub fn of_model(view: &'f ModelSetup<'f>) -> Self {
        Self {
            context: view.context,
            model: Some(view.model),
            handset: view.handset,
            craft: None,
            site: None,
            setup: None,
            several_aircraft: view.setups.len() > 1,
            ways: view.bays.iter().map(|&bay| Way { bay: Some(bay), receiver: None, link: bay.link }).collect(),
            specials: [const { OnceCell::new() }; Special::COUNT],
            air: OnceCell::new(),
            channels: RefCell::default(),
        }
    }

    /// An aircraft by itself.
    pub fn of_craft(context: &'f Context<'f>, craft: &'f Craft) -> Self {
        let place = craft.flown_at.as_ref().map(|name| name.value.as_str()).or(context.default_place);
        let site = place.and_then(|name| context.fleet.site(name));
        let ways = craft.receivers.iter().map(|receiver| Way { receiver: Some(receiver), ..Way::default() }).collect();
        Self { craft: Some(craft), site, ways, ..Self::empty(context) }
    }

    /// A handset by itself.
    pub fn of_handset(context: &'f Context<'f>, handset: &'f Handset) -> Self {
        Self { handset: Some(handset), ..Self::empty(context) }
    }

    fn empty(context: &'f Context<'f>) -> Self {
        Self {
            context,
            model: None,
            handset: None,
            craft: None,
            site: None,
            setup: None,
            several_aircraft: false,
            ways: Vec::new(),
            specials: [const { OnceCell::new() }; Special::COUNT],
            air: OnceCell::new(),
            channels: RefCell::default(),
        }
    }
}

fn ways<'f>(setup: &Setup<'f>) -> Vec<Way<'f>> {
    let (mut ways, mut hearing, mut heard) = (Vec::new(), Vec::new(), Vec::new());
    for Heard { receiver, bays, link } in setup.heard() {
        hearing.push(receiver.header);
        for bay in bays {
            heard.push(bay.module.header);
            ways.push(Way { bay: Some(bay), receiver: Some(receiver), link: Some(link) });
        }
    }
    let alone = setup.bays.iter().filter(|bay| !heard.contains(&bay.module.header));
    ways.extend(alone.map(|&bay| Way { bay: Some(bay), receiver: None, link: bay.link }));
    let deaf = setup.ways().iter().filter(|way| !hearing.contains(&way.receiver.header));
    ways.extend(deaf.map(|way| Way { bay: None, receiver: Some(way.receiver), link: way.link }));
    ways
}

/// Whether a rule is asked about a subject.
pub fn asked(wanted: &Wanted, subject: &Subject<'_>) -> Asked {
    // A rule that does not apply is not missed, whatever else is unknown.
    let Wanted { doc, parts, .. } = *wanted;
    let applies = subject.applies(&doc.applies).and(|| subject.is_flown(wanted));
    if applies == There::No {
        return Asked::DoesNotApply;
    }
    let (mut runs, mut missing, mut open) = (false, Vec::new(), false);
    let mut note = |there| match there {
        There::Yes => runs = true,
        There::No => {}
        There::Open(needed) => {
            open = true;
            add(&mut missing, needed);
        }
    };
    if parts.any() {
        let mut ways = subject.ways.iter().filter(|way| parts.are_in(way)).peekable();
        if ways.peek().is_none() {
            note(subject.no_way(parts));
        }
        ways.for_each(|way| note(applies.clone().and(|| subject.way_has(doc, way))));
    } else {
        note(applies.and(|| subject.way_has(doc, &Way::default())));
    }
    if runs && let There::Open(needed) = clear::needs(subject, wanted) {
        add(&mut missing, needed);
    }
    match (runs, open) {
        (true, _) => Asked::Yes(missing),
        (false, true) => Asked::No(missing),
        (false, false) => Asked::DoesNotApply,
    }
}

impl<'f> Subject<'f> {
    /// Why no way has all the parts that a rule looks at; no where none will.
    fn no_way(&self, parts: Parts) -> There {
        let no_bay = !self.ways.iter().any(|way| way.bay.is_some());
        let no_receiver = !self.ways.iter().any(|way| way.receiver.is_some());
        let mut there = There::Yes;
        if no_bay && (parts.bay || parts.link) {
            there = there.and(|| self.stated(Block::Model, "module", &Way::default()));
            if there == There::Yes {
                there = There::Open(vec![self.statement(Block::Model, "module", &Way::default(), "")]);
            }
        }
        if no_receiver && parts.receiver {
            there = there.and(|| self.stated(Block::Craft, "receiver", &Way::default()));
        }
        if there != There::Yes {
            return there;
        }
        // There are both, and they do not hear each other, or it is not stated what they speak.
        let open = self.ways.iter().fold(There::Yes, |there, way| match (way.bay, way.link) {
            (Some(_), None) => there.and(|| self.link_of_bay(way)),
            (None, None) => there.and(|| self.stated(Block::Receiver, "link", way)),
            _ => there,
        });
        if open == There::Yes { There::No } else { open }
    }

    /// The link of what is in a bay, which is not known.
    fn link_of_bay(&self, way: &Way<'f>) -> There {
        match self.stated(Block::HandsetModule, "link", way) {
            // It is named there, and not defined anywhere, which is a fault.
            There::Yes => There::Open(vec![self.statement(Block::HandsetModule, "link", way, "")]),
            open => open,
        }
    }

    /// Whether a model flies the aircraft, where the rule looks at models.
    fn is_flown(&self, wanted: &Wanted) -> There {
        if wanted.by_itself || self.model.is_some() {
            There::Yes
        } else {
            self.stated(Block::Model, "flies", &Way::default())
        }
    }

    fn applies(&self, applies: &Applies) -> There {
        let nothing = Way::default();
        let mut there = There::Yes;
        if let Some(craft) = self.craft {
            if !applies.kinds.is_empty() || !applies.not_kinds.is_empty() {
                let kind = craft.kind.map(|kind| kind.value.word());
                there = match kind {
                    Some(kind) if applies.not_kinds.contains(&kind) => There::No,
                    Some(kind) => There::known(applies.kinds.is_empty() || applies.kinds.contains(&kind)),
                    None if applies.kinds.is_empty() => self.unless_lost(Block::Craft, "kind", There::Yes),
                    None => self.stated(Block::Craft, "kind", &nothing),
                };
            }
            let has = [
                (applies.controller, craft.controller.is_some(), "controller", craft.surfaces.is_some()),
                (applies.surfaces, craft.surfaces.is_some(), "surfaces", craft.controller.is_some()),
            ];
            for (wanted, has, word, other) in has {
                there = there.and(|| match wanted {
                    Some(true) if !has && !other => self.stated(Block::Craft, word, &nothing),
                    Some(true) if !has => self.unless_lost(Block::Craft, word, There::No),
                    Some(false) if !has => self.unless_lost(Block::Craft, word, There::Yes),
                    Some(wanted) => There::known(wanted == has),
                    None => There::Yes,
                });
            }
            if let Some(wanted) = applies.powered {
                there = there.and(|| match self.is_powered(craft) {
                    There::Open(missing) => There::Open(missing),
                    powered => There::known(wanted == (powered == There::Yes)),
                });
            }
            if let Some(wanted) = applies.combustion {
                let burns = craft.motor.map(|motor| motor.value == MotorKind::Combustion);
                there = there.and(|| match burns {
                    Some(burns) => There::known(wanted == burns),
                    None => self.unless_lost(Block::Craft, "motor", There::known(!wanted)),
                });
            }
        }
        if let (Some(wanted), Some(model)) = (applies.simulator, self.model) {
            there = there.and(|| match (wanted, model.simulator.is_some()) {
                (false, false) => self.unless_lost(Block::Model, "purpose", There::Yes),
                (wanted, is) => There::known(wanted == is),
            });
        }
        there
    }

    fn is_powered(&self, craft: &Craft) -> There {
        if let Some(motor) = craft.motor {
            return There::known(motor.value != MotorKind::None);
        }
        match (&craft.controller, &craft.surfaces) {
            (None, Some(surfaces)) if surfaces.motors.is_empty() => {
                self.unless_lost(Block::Surfaces, "motor", There::No)
            }
            _ => self.unless_lost(Block::Craft, "motor", There::Yes),
        }
    }

    /// Whether all that a rule needs is there for one way.
    fn way_has(&self, doc: &RuleDoc, way: &Way<'f>) -> There {
        let has = doc.applies.has.iter().fold(There::Yes, |there, list| {
            there.and(|| list.iter().fold(There::No, |any, need| any.or(|| self.has(need, way))))
        });
        let needs = doc.needs.iter().fold(has, |there, list| there.and(|| self.one_of(list, way)));
        doc.looks_at.iter().fold(needs, |there, &(block, word)| there.and(|| self.not_lost(block, word, way)))
    }

    /// Something that a rule is about.
    fn has(&self, need: &Need, way: &Way<'f>) -> There {
        match *need {
            Need::Special(special) => self.special(special, way),
            Need::Stated(block, word) => self.said(block, word, way),
        }
    }

    /// A statement: what is not stated is not there, unless a line may have said it.
    fn said(&self, block: Block, word: &'static str, way: &Way<'f>) -> There {
        match (self.instance(block, way), self.opener(block, way)) {
            (Some((_, body)), _) if body.states(block, word) => There::Yes,
            (Some((head, body)), _) => lost(head, body, block, word).map_or(There::No, |line| There::Open(vec![line])),
            (None, Some((outer, opener))) => match self.said(outer, opener, way) {
                There::Open(line) => There::Open(line),
                There::Yes | There::No => There::No,
            },
            (None, None) => There::No,
        }
    }

    /// One of several needs: where none is there, what the blocks that are there would have to say.
    fn one_of(&self, list: &[Need], way: &Way<'f>) -> There {
        // Most lists hold one, which needs no weighing against others.
        if let [need] = list {
            return self.need(need, way);
        }
        let mut open = Vec::new();
        let mut any = There::No;
        for need in list {
            match self.need(need, way) {
                There::Yes => return There::Yes,
                There::No => {}
                There::Open(missing) => {
                    let there = match need {
                        Need::Stated(block, _) => self.instance(*block, way).is_some(),
                        Need::Special(_) => true,
                    };
                    open.push((there, missing));
                }
            }
        }
        // Of a block that is not there the other alternatives are shorter.
        let some_there = open.iter().any(|(there, _)| *there);
        for (there, missing) in open {
            if there || !some_there {
                any = any.or(|| There::Open(missing));
            }
        }
        any
    }

    fn need(&self, need: &Need, way: &Way<'f>) -> There {
        match *need {
            Need::Stated(block, word) => self.stated(block, word, way),
            Need::Special(special) => self.special(special, way),
        }
    }

    /// Whether a statement is there. Where its block is not, what would have to open it is missing.
    fn stated(&self, block: Block, word: &'static str, way: &Way<'f>) -> There {
        let Some((head, body)) = self.instance(block, way) else {
            let Some((outer, opener)) = self.opener(block, way) else {
                // What no model flies lacks the line that says so.
                let flies = self.statement(Block::Model, "flies", way, "");
                return if block == Block::Model { There::Open(vec![flies]) } else { There::No };
            };
            return match self.stated(outer, opener, way) {
                // It is named there, and not defined anywhere, which is a fault.
                There::Yes => There::Open(vec![self.statement(outer, opener, way, "")]),
                there => there,
            };
        };
        if body.states(block, word) {
            return There::Yes;
        }
        match lost(head, body, block, word) {
            Some(line) => There::Open(vec![line]),
            None => There::Open(vec![self.statement(block, word, way, "")]),
        }
    }

    /// This, unless a line was lost that may have been such a statement.
    fn unless_lost(&self, block: Block, word: &'static str, there: There) -> There {
        match self.not_lost(block, word, &Way::default()) {
            There::Yes => there,
            open => open,
        }
    }

    fn not_lost(&self, block: Block, word: &'static str, way: &Way<'f>) -> There {
        let line = self.instance(block, way).and_then(|(head, body)| lost(head, body, block, word));
        line.map_or(There::Yes, |line| There::Open(vec![line]))
    }

    /// The block of a kind that a way has, with the block at the top level around it.
    fn instance(&self, block: Block, way: &Way<'f>) -> Option<(&'f Head, &'f Body)> {
        let top = |head: &'f Head| Some((head, &head.body));
        let in_craft = |body: Option<&'f Body>| Some((&self.craft?.head, body?));
        match block {
            Block::Place => top(&self.site?.head),
            Block::Link => top(&way.link?.head),
            Block::Handset => top(&self.handset?.head),
            Block::HandsetBattery => Some((&self.handset?.head, &self.handset?.battery.as_ref()?.body)),
            Block::HandsetModule => Some((&self.handset?.head, way.bay?.hardware?.body.as_ref()?)),
            Block::Craft => top(&self.craft?.head),
            Block::Receiver => in_craft(way.receiver.map(|receiver| &receiver.body)),
            Block::Controller => in_craft(self.craft?.controller.as_ref().map(|controller| &controller.body)),
            Block::Surfaces => in_craft(self.craft?.surfaces.as_ref().map(|surfaces| &surfaces.body)),
            Block::CraftBattery => in_craft(self.craft?.watched_battery().map(|battery| &battery.body)),
            Block::Model => top(&self.model?.head),
            Block::ModelModule => Some((&self.model?.head, way.bay?.module.body.as_ref()?)),
            Block::Top | Block::Preset | Block::Curve | Block::Rates | Block::Mix | Block::Channel => None,
        }
    }

    /// The statement that opens or names a block that is not there.
    fn opener(&self, block: Block, way: &Way<'f>) -> Option<(Block, &'static str)> {
        Some(match block {
            Block::Place => (Block::Craft, "flown-at"),
            Block::Link if way.bay.is_some() => (Block::HandsetModule, "link"),
            Block::Link if way.receiver.is_some() => (Block::Receiver, "link"),
            Block::Link | Block::ModelModule => (Block::Model, "module"),
            Block::Handset => (Block::Model, "handset"),
            Block::HandsetBattery => (Block::Handset, "battery"),
            Block::HandsetModule if way.bay.is_some() => (Block::Handset, "module"),
            Block::HandsetModule => (Block::Model, "module"),
            Block::Craft => (Block::Model, "flies"),
            Block::Receiver => (Block::Craft, "receiver"),
            Block::Controller => (Block::Craft, "controller"),
            Block::Surfaces => (Block::Craft, "surfaces"),
            Block::CraftBattery => (Block::Craft, "battery"),
            _ => return None,
        })
    }

    /// A statement that is missing, with the blocks around it as they are written.
    fn statement(&self, block: Block, word: &'static str, way: &Way<'f>, form: &'static str) -> Missing {
        let named = |word: &str, head: Option<&Head>| {
            head.map_or_else(
                || CompactString::from(word),
                |head| format_compact!("{word} {}", quoted(&head.name.value)),
            )
        };
        let handset = || named("handset", self.handset.map(|handset| &handset.head));
        let model = || named("model", self.model.map(|model| &model.head));
        let bay = || {
            way.bay.map_or_else(|| "module …".into(), |bay| format_compact!("module {}", quoted(&bay.module.bay.value)))
        };
        let within = match block {
            Block::Place => named("place", self.site.map(|site| &site.head)),
            Block::Link => named("link", way.link.map(|link| &link.head)),
            Block::Handset => handset(),
            Block::HandsetBattery => format_compact!("{} {{ battery …", handset()),
            Block::HandsetModule => format_compact!("{} {{ {}", handset(), bay()),
            Block::Craft => named("craft", self.craft.map(|craft| &craft.head)),
            Block::Receiver => match way.receiver.and_then(|receiver| receiver.name.as_ref()) {
                Some(name) => format_compact!("receiver {}", quoted(&name.value)),
                None => "receiver".into(),
            },
            Block::Controller => "controller".into(),
            Block::Surfaces => "surfaces".into(),
            Block::CraftBattery => "battery …".into(),
            Block::Model => model(),
            Block::ModelModule => format_compact!("{} {{ {}", model(), bay()),
            _ => CompactString::default(),
        };
        Missing::Statement { block, word, within, form }
    }

    /// What is missing, as an answer.
    fn open(&self, block: Block, word: &'static str, way: &Way<'f>, form: &'static str) -> There {
        match self.stated(block, word, way) {
            There::Open(missing) if missing.iter().any(|one| matches!(one, Missing::Line(_))) => There::Open(missing),
            There::Open(missing) if self.instance(block, way).is_none() => There::Open(missing),
            _ => There::Open(vec![self.statement(block, word, way, form)]),
        }
    }
}

/// The first line of a block that was not understood and may have been this statement.
fn lost(head: &Head, body: &Body, block: Block, word: &str) -> Option<Missing> {
    let may = |lost: &&crate::fleet::equipment::Lost| {
        // What a block can't do without and has not is noted at its header: that is no line which may say it.
        let is_line = lost.span.start > body.whole.start;
        is_line && lost.block == block && (lost.word == word || lost.word.is_empty()) && body.whole.holds(lost.span)
    };
    head.lost.iter().find(may).map(|lost| Missing::Line(head.place(lost.span)))
}
