//! Places, links and handsets.

use super::condition::Name;
use super::number::Decimal;
use super::table::{self, Block};
use super::words::{AxisPosition, FirmwareCheck, Grip, Hands, Modulation, NumberCheck, Stick, ThrottleStick};
use crate::source::{FileId, Located, Place as SourcePlace, Span};
use compact_str::{CompactString, format_compact};
use std::borrow::Cow;

/// The place of a block in its file, and where a statement can be added to it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Body {
    /// From its word to its closing brace.
    pub whole: Span,
    /// The byte before which a new last statement is written.
    pub insert: u32,
    /// Whether that is the start of a line, rather than the place before a `}` on the line of other things.
    pub own_line: bool,
    /// How far the block's header is indented.
    pub indent: u16,
    /// Whether the block has any statement of its own.
    pub empty: bool,
    /// Which of its statements were stated and understood, as a set of the bits that the table of statements gives them.
    pub stated: u64,
}

impl Body {
    /// Whether the statement with this word of the table was stated in the block, which is of this kind, and understood.
    pub fn states(&self, block: Block, word: &str) -> bool {
        table::find(block, word.as_bytes()).is_some_and(|ready| self.stated & ready.bit() != 0)
    }

    /// The text that adds statements at the end of the block, and where it is put.
    pub fn insertion(&self, statements: &[String]) -> (Span, String) {
        let at = Span::new(self.insert, self.insert);
        if self.own_line {
            let line = |one: &String| format!("{:indent$}{one}\n", "", indent = usize::from(self.indent) + 2);
            return (at, statements.iter().map(line).collect());
        }
        let all = statements.join("; ");
        (at, if self.empty { format!(" {all} ") } else { format!("; {all} ") })
    }
}

/// What every block at the top level has.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Head {
    /// The file it stands in.
    pub file: FileId,
    /// Its name.
    pub name: Name,
    /// The name of the block that it is like, where that block is not known or not found: what is stated is then all that is
    /// known of it.
    pub like: Option<Box<Name>>,
    /// Its header line, without the `{`.
    pub header: Span,
    /// The whole block.
    pub body: Body,
    /// Statements in it that could not be understood: what they say is not known, so that nothing may be concluded
    /// from their absence.
    pub lost: Vec<Lost>,
}

/// A statement that could not be understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lost {
    /// Where it stands, with its block.
    pub span: Span,
    /// The kind of block that it stands in.
    pub block: Block,
    /// The word that it begins with, or the known one nearest to it; empty where none is near.
    pub word: &'static str,
    /// What tells it from others with its word, as far as it could still be read: the number of a channel, the name of
    /// a condition, a curve, a bay.
    pub key: Option<CompactString>,
    /// The statements in whose blocks it stands, from the outside in, without the block at the top level.
    pub inside: Vec<Opened>,
}

/// A statement whose block something stands in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opened {
    /// Its word.
    pub word: &'static str,
    /// What tells it from others with its word.
    pub key: Option<CompactString>,
}

impl Lost {
    /// Whether it may have been a statement with one of these words.
    fn may_be(&self, words: &[&str]) -> bool {
        self.word.is_empty() || words.contains(&self.word)
    }
}

impl Head {
    /// A range of the same file as a place.
    pub const fn place(&self, span: Span) -> SourcePlace {
        SourcePlace::new(self.file, span)
    }

    /// Whether a statement in this range could not be understood.
    pub fn lost_in(&self, span: Span) -> bool {
        self.lost.iter().any(|lost| span.holds(lost.span))
    }

    /// Whether a statement that may have been one of these could not be understood, wherever in the block it stands.
    pub fn lost_any(&self, words: &[&str]) -> bool {
        self.lost.iter().any(|lost| lost.may_be(words))
    }

    /// The same, but only directly in the block that this is the head of.
    pub fn lost_here(&self, words: &[&str]) -> bool {
        self.lost.iter().any(|lost| lost.inside.is_empty() && lost.may_be(words))
    }

    /// The same, but only in this range: the block of a controller or a receiver.
    pub fn lost_within(&self, span: Span, words: &[&str]) -> bool {
        self.lost.iter().any(|lost| span.holds(lost.span) && lost.may_be(words))
    }

    /// Whether a statement that is there could not be understood whole: something in its block is lost, or it itself is.
    pub fn lost_key(&self, word: &str, key: &str) -> bool {
        let is = |known: &'static str, found: &Option<CompactString>| known == word && found.as_deref() == Some(key);
        self.lost.iter().any(|lost| match lost.inside.first() {
            Some(outer) => is(outer.word, &outer.key),
            None => is(lost.word, &lost.key),
        })
    }

    /// Whether a statement that is not there may be one of those that could not be understood: nothing may be concluded
    /// from its absence.
    pub fn may_be_lost(&self, words: &[&str], key: &str) -> bool {
        self.line_that_may_be(words, key).is_some()
    }

    /// The first such statement.
    pub fn line_that_may_be(&self, words: &[&str], key: &str) -> Option<SourcePlace> {
        let may_be = |lost: &Lost| lost.may_be(words) && lost.key.as_ref().is_none_or(|known| known == key);
        let lost = self.lost.iter().find(|lost| lost.inside.is_empty() && may_be(lost))?;
        Some(self.place(lost.span))
    }
}

/// A place where aircraft are flown.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Site {
    /// File, name and place.
    pub head: Head,
    /// ISO 3166-1 alpha-2 code.
    pub region: Option<Name>,
    /// How far out aircraft are flown, in metres.
    pub reach: Option<Located<Decimal>>,
    /// How high the handset's antenna is held, in metres.
    pub height: Option<Located<Decimal>>,
}

/// A value that holds at an update rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtRate {
    /// The whole statement.
    pub span: Span,
    /// The value, in its dimension's first unit.
    pub value: Decimal,
    /// The update rate, in hertz.
    pub rate: Decimal,
}

/// How some channels travel over a link.
#[derive(Clone, Debug, PartialEq)]
pub struct Carry {
    /// The whole statement.
    pub span: Span,
    /// The channels, as ranges with their ends.
    pub channels: Vec<(u8, u8)>,
    /// How many levels are told apart; `None`: unchanged.
    pub levels: Option<Located<u32>>,
    /// Every how many updates, where stated.
    pub every: Option<Located<u16>>,
}

impl Carry {
    /// Whether this statement speaks of a channel.
    pub fn covers(&self, channel: u8) -> bool {
        self.channels.iter().any(|&(low, high)| (low..=high).contains(&channel))
    }
}

/// A kind of radio link.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Link {
    /// File, name and place.
    pub head: Head,
    /// The band, in hertz.
    pub band: Option<Located<(Decimal, Decimal)>>,
    /// The family of radio rules.
    pub modulation: Option<Located<Modulation>>,
    /// How many frequencies it hops over.
    pub hop_channels: Option<Located<u32>>,
    /// The bandwidth of one emission, in hertz.
    pub bandwidth: Option<Located<Decimal>>,
    /// Whether it listens before it talks.
    pub adaptive: Option<Located<bool>>,
    /// The update rates it offers, in hertz.
    pub update_rates: Vec<Located<Decimal>>,
    /// Seconds on the air per update, at a rate.
    pub air_times: Vec<AtRate>,
    /// How many channels it carries.
    pub channels: Option<Located<u8>>,
    /// How they travel.
    pub carries: Vec<Carry>,
    /// The numbers receivers can be locked to.
    pub receiver_numbers: Option<Located<(u16, u16)>>,
    /// What it does with receiver numbers.
    pub number_check: Option<Located<NumberCheck>>,
    /// What it does with firmware versions.
    pub firmware_check: Option<Located<FirmwareCheck>>,
    /// The weakest signal in dBm, at a rate.
    pub sensitivities: Vec<AtRate>,
}

impl Link {
    /// The statement that says how a channel travels.
    pub fn carry(&self, channel: u8) -> Option<&Carry> {
        self.carries.iter().find(|carry| carry.covers(channel))
    }

    /// Whether a channel travels at all.
    pub fn carries_channel(&self, channel: u8) -> bool {
        self.channels.is_none_or(|count| channel <= count.value)
            && (self.carries.is_empty() || self.carry(channel).is_some())
    }
}

/// What a control of the handset is, apart from its four sticks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ControlKind {
    /// A switch with so many positions, and the one that it springs back to.
    Switch {
        /// How many positions.
        positions: u8,
        /// The position it springs back to, from 0.
        sprung_to: Option<u8>,
    },
    /// A button.
    Button {
        /// Whether it locks where it is put; else it springs back to released.
        stays: bool,
    },
    /// A knob.
    Knob {
        /// Where it springs back to.
        sprung_to: Option<AxisPosition>,
    },
    /// A slider.
    Slider {
        /// Where it springs back to.
        sprung_to: Option<AxisPosition>,
    },
}

/// A control of the handset.
#[derive(Clone, Debug, PartialEq)]
pub struct Control {
    /// The whole statement.
    pub span: Span,
    /// Its name.
    pub name: Name,
    /// What it is.
    pub kind: ControlKind,
}

impl ControlKind {
    /// How many positions it has; 0 for an axis.
    pub const fn positions(self) -> u8 {
        match self {
            Self::Switch { positions, .. } => positions,
            Self::Button { .. } => 2,
            Self::Knob { .. } | Self::Slider { .. } => 0,
        }
    }

    /// The name of a position, from 0.
    pub fn position_name(self, index: u8) -> CompactString {
        self.position_word(index).map_or_else(|| format_compact!("{}", u16::from(index) + 1), CompactString::const_new)
    }

    /// The same where the name is a word rather than a number.
    const fn position_word(self, index: u8) -> Option<&'static str> {
        Some(match (self, index) {
            (Self::Button { .. }, 0) => "released",
            (Self::Button { .. }, _) => "pressed",
            (Self::Switch { positions: 2 | 3, .. }, 0) => "up",
            (Self::Switch { positions: 3, .. }, 1) => "middle",
            (Self::Switch { positions: 2, .. }, 1) | (Self::Switch { positions: 3, .. }, 2) => "down",
            _ => return None,
        })
    }

    /// The names of all positions, in order.
    pub fn position_names(self) -> Cow<'static, [CompactString]> {
        const TWO: &[CompactString] = &[CompactString::const_new("up"), CompactString::const_new("down")];
        const THREE: &[CompactString] =
            &[CompactString::const_new("up"), CompactString::const_new("middle"), CompactString::const_new("down")];
        match self {
            Self::Switch { positions: 2, .. } => TWO.into(),
            Self::Switch { positions: 3, .. } => THREE.into(),
            _ => (0..self.positions()).map(|index| self.position_name(index)).collect::<Vec<_>>().into(),
        }
    }

    /// The position of a switch or button that it springs back to, from 0.
    pub const fn rest(self) -> Option<u8> {
        match self {
            Self::Switch { sprung_to, .. } => sprung_to,
            Self::Button { stays: false } => Some(0),
            Self::Button { stays: true } | Self::Knob { .. } | Self::Slider { .. } => None,
        }
    }

    /// Whether it springs back when it is let go.
    pub const fn springs(self) -> bool {
        match self {
            Self::Switch { sprung_to, .. } => sprung_to.is_some(),
            Self::Button { stays } => !stays,
            Self::Knob { sprung_to } | Self::Slider { sprung_to } => sprung_to.is_some(),
        }
    }

    /// The position with a name, from 0.
    pub fn position(self, name: &str) -> Option<u8> {
        (0..self.positions()).find(|&index| match self.position_word(index) {
            Some(word) => word == name,
            None => self.position_name(index) == name,
        })
    }
}

/// The handset's own battery.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HandsetBattery {
    /// Its header line.
    pub header: Span,
    /// The block.
    pub body: Body,
    /// Its chemistry.
    pub chemistry: Name,
    /// Cells in series.
    pub cells: Option<Located<u8>>,
    /// The alarm for the whole battery, in volts.
    pub alarm: Option<Located<Decimal>>,
}

/// A module bay of a handset.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HandsetModule {
    /// The header line.
    pub header: Span,
    /// The block, where there is one.
    pub body: Option<Body>,
    /// The bay's name.
    pub bay: Name,
    /// Whether nothing is in it.
    pub empty: bool,
    /// The link it speaks.
    pub link: Option<Name>,
    /// How many chains can send at once.
    pub chains: Option<Located<u8>>,
    /// The power steps, in milliwatts per chain.
    pub power: Vec<Located<Decimal>>,
    /// In dBi.
    pub antenna_gain: Option<Located<Decimal>>,
    /// In dB.
    pub feeder_loss: Option<Located<Decimal>>,
    /// The version of its firmware.
    pub firmware: Option<Name>,
    /// The regulatory domain it was built for.
    pub domain: Option<Name>,
}

/// A handset.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Handset {
    /// File, name and place.
    pub head: Head,
    /// How it is held; not stated: at its sticks.
    pub grip: Option<Located<Grip>>,
    /// Whether the throttle stick springs back, where that is stated.
    pub throttle_stick: Option<Located<ThrottleStick>>,
    /// 1 to 4.
    pub stick_mode: Option<Located<u8>>,
    /// Its controls, apart from the sticks.
    pub controls: Vec<Control>,
    /// The pulse at 0 % and how far 100 % moves it, in microseconds.
    pub scale: Option<Located<(Decimal, Decimal)>>,
    /// How far a trim can move its stick, in percent.
    pub trim_range: Option<Located<Decimal>>,
    /// Whether it smooths its sticks.
    pub stick_filter: Option<Located<bool>>,
    /// Its battery.
    pub battery: Option<HandsetBattery>,
    /// Its bays.
    pub modules: Vec<HandsetModule>,
}

impl Handset {
    /// How it is held.
    pub fn grip(&self) -> Grip {
        self.grip.map_or(Grip::Sticks, |grip| grip.value)
    }

    /// What a pilot's hands have hold of.
    pub fn hands(&self) -> Hands {
        Hands { grip: self.grip(), mode: self.stick_mode.map(|mode| mode.value) }
    }

    /// The stick with a name; on a pistol grip its wheel or its trigger.
    pub fn stick(&self, name: &str) -> Option<Stick> {
        self.grip().stick(name)
    }

    /// The name of the stick that has a function; `None` where the handset has none.
    pub fn stick_name(&self, stick: Stick) -> Option<&'static str> {
        self.grip().sticks().iter().find(|(known, _)| *known == stick).map(|(_, name)| *name)
    }

    /// Whether the throttle springs to its centre, where that is known: a trigger does.
    pub fn throttle_springs(&self) -> Option<bool> {
        match self.grip() {
            Grip::Pistol => Some(true),
            Grip::Sticks => self.throttle_stick.map(|stick| stick.value == ThrottleStick::Sprung),
        }
    }

    /// The control with a name.
    pub fn control(&self, name: &str) -> Option<&Control> {
        self.controls.iter().find(|control| control.name.value == name)
    }

    /// The bay with a name.
    pub fn module(&self, bay: &str) -> Option<&HandsetModule> {
        self.modules.iter().find(|module| module.bay.value == bay)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_names_of_all_positions_are_those_of_each() {
        let switches = (2..9).map(|positions| ControlKind::Switch { positions, sprung_to: None });
        for kind in switches.chain([ControlKind::Button { stays: false }, ControlKind::Knob { sprung_to: None }]) {
            let each: Vec<_> = (0..kind.positions()).map(|index| kind.position_name(index)).collect();
            assert_eq!(*kind.position_names(), *each);
            assert!((0..kind.positions()).all(|index| kind.position(&each[usize::from(index)]) == Some(index)));
        }
    }
}
