//! Whether a stored model and a receiver connect.
//!
//! They need the same link, the same binding key, domains that agree and, where the link checks it, the same major
//! firmware version; then the link's number check decides. What is not stated is tried both ways: only where the
//! outcome differs does the pairing depend on it.

use super::regions::{Agreement, Domain, domains_agree};

/// What the handset brings: the model's settings for its module, and the module.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct ModelSide<'a> {
    /// The module's link.
    pub link: Option<&'a str>,
    /// The label of the binding key.
    pub key: Option<&'a str>,
    /// The domain that the module was built for.
    pub domain: Option<Domain>,
    /// The module's firmware version.
    pub firmware: Option<&'a str>,
    /// Whether the model asks for its own receiver only.
    pub matching: Option<bool>,
    /// The model's receiver number.
    pub number: Option<u32>,
}

/// What the aircraft brings.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct ReceiverSide<'a> {
    /// The receiver's link.
    pub link: Option<&'a str>,
    /// The label of the binding key.
    pub key: Option<&'a str>,
    /// The domain that it was built for.
    pub domain: Option<Domain>,
    /// Its firmware version.
    pub firmware: Option<&'a str>,
    /// The number that it is locked to.
    pub number: Option<ReceiverNumber>,
}

/// A receiver's own number.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum ReceiverNumber {
    /// It is not locked to a model.
    Any,
    /// It is locked to models of this number.
    Locked(u32),
}

/// What a link checks before it connects.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct LinkChecks {
    /// How it uses receiver numbers.
    pub number: Option<NumberCheck>,
    /// How it uses firmware versions.
    pub firmware: Option<FirmwareCheck>,
}

/// How a link uses receiver numbers.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NumberCheck {
    /// With match on the receiver must be locked to the model's number, with match off to none.
    Strict,
    /// As strict, but a receiver locked to none accepts match on and then locks itself.
    Learns,
    /// The link comes up in any case; the outputs move only where strict would connect.
    BlocksOutputs,
    /// Numbers are not looked at.
    None,
}

impl NumberCheck {
    /// Every kind.
    pub const ALL: [Self; 4] = [Self::Strict, Self::Learns, Self::BlocksOutputs, Self::None];
}

/// How a link uses firmware versions.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FirmwareCheck {
    /// Both sides need the same major version.
    SameMajor,
    /// Versions are not looked at.
    None,
}

/// Whether a model and a receiver connect.
#[derive(Clone, PartialEq, Debug)]
pub enum Pairing<'a> {
    /// They do, for certain.
    Connects(Connection),
    /// They don't, for certain; the first check that decides it.
    DoesNot(Obstacle<'a>),
    /// It depends on what is not stated.
    Depends(Vec<Unstated>),
}

/// What a connection is like.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Connection {
    /// Whether the receiver's outputs move. Where not, the radio link is up and the aircraft stands still.
    pub outputs_move: bool,
    /// Whether the receiver locks itself to the model's number by connecting.
    pub locks_itself: bool,
}

/// Why a model and a receiver don't connect.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Obstacle<'a> {
    /// Two kinds of link.
    Link(&'a str, &'a str),
    /// Two binding keys.
    Key(&'a str, &'a str),
    /// Built for different regulatory domains.
    Domain(Domain, Domain),
    /// Two major firmware versions.
    Firmware(&'a str, &'a str),
    /// Match is on and the receiver is locked to another number: the model's number where stated, the receiver's.
    NumberDiffers(Option<u32>, u32),
    /// Match is on and the receiver is not locked to any number.
    NotLocked,
    /// Match is off and the receiver is locked to this number.
    LockedElsewhere(u32),
}

/// What would decide, and is not stated.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Unstated {
    /// The link of either side.
    Link,
    /// The key label of either side.
    Key,
    /// The domain of either side, or whether two domains share their rules.
    Domain,
    /// The link's firmware check.
    FirmwareCheck,
    /// The firmware version of either side.
    Firmware,
    /// The link's number check.
    NumberCheck,
    /// The model's match setting.
    Match,
    /// The model's receiver number.
    ModelNumber,
    /// The receiver's number.
    ReceiverNumber,
}

/// Decides whether a model and a receiver connect.
///
/// A stated obstacle decides, whatever else is not stated; the obstacles are looked at in the order link, key, domain,
/// firmware, number.
pub fn pairing<'a>(model: &ModelSide<'a>, receiver: &ReceiverSide<'a>, checks: LinkChecks) -> Pairing<'a> {
    let mut open = Vec::new();
    let mut need = |unstated, verdict: Option<Option<Obstacle<'a>>>| match verdict {
        Some(obstacle) => obstacle,
        None => {
            open.push(unstated);
            None
        }
    };
    let differ = |one: Option<&'a str>, other: Option<&'a str>, obstacle: fn(&'a str, &'a str) -> Obstacle<'a>| {
        one.zip(other).map(|(one, other)| (one != other).then(|| obstacle(one, other)))
    };
    let domains = model.domain.zip(receiver.domain);
    let domain = match domains.map(|(one, other)| domains_agree(one, other)) {
        Some(Agreement::Same) => Some(None),
        Some(Agreement::Different) => Some(domains.map(|(one, other)| Obstacle::Domain(one, other))),
        // A device for any domain suits the other side's, whichever that is.
        None if model.domain == Some(Domain::Any) || receiver.domain == Some(Domain::Any) => Some(None),
        Some(Agreement::NotKnown) | None => None,
    };
    let obstacles = [
        need(Unstated::Link, differ(model.link, receiver.link, Obstacle::Link)),
        need(Unstated::Key, differ(model.key, receiver.key, Obstacle::Key)),
        need(Unstated::Domain, domain),
    ];
    let firmware = firmware_obstacle(model.firmware, receiver.firmware, checks.firmware);
    let by_number = number_pairing(model, receiver.number, checks.number);
    let before = obstacles.into_iter().flatten().next();
    if let Some(obstacle) = before.or(firmware.ok().flatten()) {
        return Pairing::DoesNot(obstacle);
    }
    open.extend(firmware.err());
    match by_number {
        Pairing::Depends(numbers) => open.extend(numbers),
        Pairing::DoesNot(_) => return by_number,
        Pairing::Connects(_) if open.is_empty() => return by_number,
        Pairing::Connects(_) => {}
    }
    Pairing::Depends(open)
}

/// The major part of a version: what stands before the first full stop, without a leading `v`.
pub fn major_version(version: &str) -> &str {
    let version = version.trim();
    let version = version.strip_prefix(['v', 'V']).unwrap_or(version);
    version.split_once('.').map_or(version, |parts| parts.0)
}

/// The firmware obstacle, none, or what would decide.
fn firmware_obstacle<'a>(
    one: Option<&'a str>,
    other: Option<&'a str>,
    check: Option<FirmwareCheck>,
) -> Result<Option<Obstacle<'a>>, Unstated> {
    if check == Some(FirmwareCheck::None) {
        return Ok(None);
    }
    let same = one.zip(other).map(|(one, other)| major_version(one) == major_version(other));
    match (same, one.zip(other), check) {
        (Some(true), ..) => Ok(None),
        (_, Some((one, other)), Some(FirmwareCheck::SameMajor)) => Ok(Some(Obstacle::Firmware(one, other))),
        (_, _, None) => Err(Unstated::FirmwareCheck),
        _ => Err(Unstated::Firmware),
    }
}

/// What the number check says, trying whatever is not stated both ways.
fn number_pairing(
    model: &ModelSide<'_>,
    receiver: Option<ReceiverNumber>,
    check: Option<NumberCheck>,
) -> Pairing<'static> {
    // Two numbers that differ stand for all: a check only ever compares them.
    let model_number = model.number.or(match receiver {
        Some(ReceiverNumber::Locked(number)) => Some(number),
        _ => None,
    });
    let own = model_number.unwrap_or(1);
    let numbers = if model.number.is_some() { vec![own] } else { vec![own, own.wrapping_add(1)] };
    let receivers = match receiver {
        Some(number) => vec![number],
        None => vec![ReceiverNumber::Any, ReceiverNumber::Locked(own), ReceiverNumber::Locked(own.wrapping_add(1))],
    };
    let checks = check.map_or(NumberCheck::ALL.to_vec(), |check| vec![check]);
    let matches = model.matching.map_or(vec![true, false], |matching| vec![matching]);
    let mut cases = Vec::new();
    for &check in &checks {
        for &matching in &matches {
            for &number in &numbers {
                for &receiver in &receivers {
                    cases.push(((check, matching, number, receiver), by_numbers(check, matching, number, receiver)));
                }
            }
        }
    }
    let same = |one: &NumberOutcome, other: &NumberOutcome| match (one, other) {
        (Ok(one), Ok(other)) => one == other,
        (Err(_), Err(_)) => true,
        _ => false,
    };
    let first = cases[0].1;
    if cases.iter().all(|case| same(&case.1, &first)) {
        return match first {
            Ok(connection) => Pairing::Connects(connection),
            // A number that was only tried is not named.
            Err(Obstacle::NumberDiffers(_, locked)) => Pairing::DoesNot(Obstacle::NumberDiffers(model.number, locked)),
            Err(obstacle) => Pairing::DoesNot(obstacle),
        };
    }
    // A fact decides where two cases that differ in nothing else differ in the outcome.
    let mut open = Vec::new();
    for (one, outcome) in &cases {
        for (other, other_outcome) in &cases {
            let differ = [one.0 != other.0, one.1 != other.1, one.2 != other.2, one.3 != other.3];
            let facts = [Unstated::NumberCheck, Unstated::Match, Unstated::ModelNumber, Unstated::ReceiverNumber];
            if differ.iter().filter(|differ| **differ).count() == 1 && !same(outcome, other_outcome) {
                open.extend(facts.into_iter().zip(differ).filter(|pair| pair.1).map(|pair| pair.0));
            }
        }
    }
    open.sort_unstable();
    open.dedup();
    Pairing::Depends(open)
}

type NumberOutcome = Result<Connection, Obstacle<'static>>;

/// The number check with everything stated.
fn by_numbers(check: NumberCheck, matching: bool, number: u32, receiver: ReceiverNumber) -> NumberOutcome {
    let connects = Connection { outputs_move: true, locks_itself: false };
    let strictly = match (matching, receiver) {
        (true, ReceiverNumber::Locked(locked)) if locked == number => Ok(connects),
        (true, ReceiverNumber::Locked(locked)) => Err(Obstacle::NumberDiffers(Some(number), locked)),
        (true, ReceiverNumber::Any) => Err(Obstacle::NotLocked),
        (false, ReceiverNumber::Any) => Ok(connects),
        (false, ReceiverNumber::Locked(locked)) => Err(Obstacle::LockedElsewhere(locked)),
    };
    match check {
        NumberCheck::Strict => strictly,
        NumberCheck::Learns if matching && receiver == ReceiverNumber::Any => {
            Ok(Connection { locks_itself: true, ..connects })
        }
        NumberCheck::Learns => strictly,
        NumberCheck::BlocksOutputs => Ok(Connection { outputs_move: strictly.is_ok(), ..connects }),
        NumberCheck::None => Ok(connects),
    }
}

#[cfg(test)]
mod tests;
