//! What a rule that is asked needs besides for its silence to mean that all is well.

use super::wanted::{Channels, Wanted};
use super::{Subject, There, Way, add};
use crate::findings::coverage::Missing;
use crate::fleet::table::Block;
use crate::rules::book::Need;

/// What of it is missing: what the rule's page says, the channels that it looks at, and the links that they come over.
pub(super) fn needs(subject: &Subject<'_>, wanted: &Wanted) -> There {
    let mut missing = Vec::new();
    let mut take = |there| match there {
        There::Open(needed) => add(&mut missing, needed),
        There::Yes | There::No => {}
    };
    let nowhere = [Way::default()];
    let ways = if subject.ways.is_empty() { &nowhere[..] } else { &subject.ways };
    for way in ways {
        for list in wanted.doc.clear_needs.iter().filter(|list| list.iter().all(|need| subject.has_block(need, way))) {
            take(subject.one_of(list, way));
        }
    }
    take(subject.channels_of(wanted.channels));
    if wanted.over_links {
        take(subject.air.get_or_init(|| subject.find_air()).clone());
    }
    if missing.is_empty() { There::Yes } else { There::Open(missing) }
}

impl<'f> Subject<'f> {
    /// Whether the block is there, or should be, that a need speaks of.
    fn has_block(&self, need: &Need, way: &Way<'f>) -> bool {
        let Need::Stated(block, _) = need else { return true };
        match block {
            Block::ModelModule | Block::HandsetModule => way.bay.is_some(),
            Block::Receiver => way.receiver.is_some() || self.craft.is_some_and(|craft| craft.receivers.is_empty()),
            Block::Link => way.bay.is_some() || way.receiver.is_some(),
            Block::Controller | Block::Surfaces | Block::CraftBattery | Block::HandsetBattery => {
                self.instance(*block, way).is_some()
            }
            _ => true,
        }
    }

    /// The same, found once for each set of channels.
    fn channels_of(&self, wanted: Channels) -> There {
        if !wanted.any {
            return There::Yes;
        }
        if let Some((_, known)) = self.channels.borrow().iter().find(|(known, _)| *known == wanted) {
            return known.clone();
        }
        let found = self.channels(wanted);
        self.channels.borrow_mut().push((wanted, found.clone()));
        found
    }

    /// The channels that a rule looks at: the model defines each, and where the signal is looked at, each link carries it.
    fn channels(&self, wanted: Channels) -> There {
        let Some(setup) = self.setup else { return There::Yes };
        let Channels { signal, motors, .. } = wanted;
        let mut missing = Vec::new();
        let mut channels: Vec<u8> =
            setup.used().filter(|(_, what, _)| wanted.hold(what)).map(|(channel, ..)| channel).collect();
        if motors {
            channels.extend(setup.motor_channels().iter().map(|motor| motor.channel));
        }
        let head = &setup.model.head;
        for channel in channels {
            if setup.model.channel(channel).is_none() {
                let line = head.line_that_may_be(&["channel"], &channel.to_string()).map(Missing::Line);
                let line = line.unwrap_or_else(|| self.statement(Block::Model, "channel", &Way::default(), ""));
                add(&mut missing, vec![line]);
            }
            if signal && setup.unknown_channels().contains(&channel) {
                let why = "what it gives is not known".into();
                add(&mut missing, vec![Missing::SignalPath { place: setup.channel_place(channel), why }]);
            }
            for way in self.ways.iter().filter(|way| signal && way.bay.is_some() && way.receiver.is_some()) {
                if way.link.is_some_and(|link| !link.carries_channel(channel)) {
                    let open = self.open(Block::Link, "carry", way, "");
                    if let There::Open(needed) = open {
                        add(&mut missing, needed);
                    }
                }
            }
        }
        // Motors are looked at only where each stick is on its own channel.
        if motors
            && signal
            && let Some(crossed) = setup.crossed().first()
        {
            let place = setup.channel_place(crossed.channel);
            let why = "another function's stick is on this channel".into();
            add(&mut missing, vec![Missing::SignalPath { place, why }]);
        }
        if missing.is_empty() { There::Yes } else { There::Open(missing) }
    }

    /// The links over which a rule looks: beside those that are known, no bay and no receiver may have an unknown one.
    fn find_air(&self) -> There {
        let count = |wanted: &dyn Fn(&Way<'_>) -> bool| self.ways.iter().filter(|way| wanted(way)).count();
        let alone = count(&|way| way.bay.is_none());
        // One bay and one receiver are taken to be for each other.
        let several = alone > 1 || count(&|way| way.bay.is_some() && way.receiver.is_some()) > 0;
        let mut missing = Vec::new();
        if alone > 1
            && count(&|way| way.bay.is_some()) == 0
            && let There::Open(needed) = self.bay_on()
        {
            add(&mut missing, needed);
        }
        for way in self.ways.iter().filter(|way| way.link.is_none()) {
            let of_bay = way.bay.and_then(|bay| bay.hardware).is_some_and(|hardware| hardware.link.is_some());
            let open = match (way.bay, way.receiver) {
                // One that is named, and not defined anywhere, is not known either.
                (Some(_), _) if of_bay => self.link_of_bay(way),
                (Some(_), None) if several && alone > 0 => self.link_of_bay(way),
                (None, Some(receiver)) if receiver.link.is_some() => {
                    There::Open(vec![self.statement(Block::Receiver, "link", way, "")])
                }
                (None, Some(_)) if several => self.stated(Block::Receiver, "link", way),
                _ => There::Yes,
            };
            if let There::Open(needed) = open {
                add(&mut missing, needed);
            }
        }
        if missing.is_empty() { There::Yes } else { There::Open(missing) }
    }
}
