//! What hands the aircraft over to a pupil.

use super::arming::Arming;
use super::channel_use::sticks;
use super::rates::rates_of;
use super::signals::Signals;
use super::subject::Subject;
use super::terms::rises_with;
use crate::fleet::Decimal;
use crate::fleet::condition::{Condition, ConditionKind, Name};
use crate::fleet::craft::Arm;
use crate::fleet::equipment::{ControlKind, Handset};
use crate::fleet::model::{Model, StickRates};
use crate::fleet::words::{Grip, Stick};
use crate::signal::{Movers, Question};
use crate::source::Span;
use compact_str::CompactString;

/// Whether functions that are handed over are what runs the motors: the throttle, or what starts or stops the request to arm.
pub(super) fn hands_over_motors(subject: &Subject<'_>, signals: &Signals, functions: &[Name]) -> bool {
    let stick = |name: &Name| subject.handset.map_or_else(|| Stick::find(&name.value), |it| it.stick(&name.value));
    let gives = |stick_of: Stick| functions.iter().any(|name| stick(name) == Some(stick_of));
    let arm = subject.craft.controller.as_ref().and_then(|controller| controller.arm).map(|arm| arm.value);
    if gives(Stick::Throttle) || arm == Some(Arm::Sticks) && gives(Stick::Yaw) {
        return true;
    }
    let Some(arming) = Arming::of(subject, signals) else { return false };
    let given: Vec<_> = functions.iter().filter_map(|name| signals.lowered().control(&name.value)).collect();
    let starts = Question::is(arming.quiet.clone()).then(Movers::These(given.clone()), arming.asks.clone());
    let stops = Question::is(arming.asks).then(Movers::These(given), arming.quiet);
    [starts, stops].iter().any(|question| signals.program().decide(question) == Ok(true))
}

/// What of a pupil's handset is other than the instructor's.
#[derive(Clone, Debug)]
pub enum Differs<'f> {
    /// No channel of this model carries a function, so that nothing can be compared.
    Missing(&'f Model),
    /// A function comes on another channel: here, and there.
    Channel(CompactString, u8, u8),
    /// A function goes one way here and the other way there, where its channel is turned round.
    Sign(CompactString, u8),
    /// The stick modes, here and there, with the places of both.
    StickMode(u8, u8, [Span; 2]),
    /// 100 % moves the pulse by so many microseconds, here and there, with the places of both.
    Span(Decimal, Decimal, [Span; 2]),
}

/// A model with its handset.
type Side<'f> = (&'f Model, &'f Handset);

/// What of a pupil's model and handset is other than the instructor's, for the functions that are given.
pub fn differs<'f>(instructor: Side<'f>, pupil: Side<'f>, functions: &[Name]) -> Vec<Differs<'f>> {
    let mut found = Vec::new();
    for name in functions {
        let Some(stick) = instructor.1.stick(&name.value) else { continue };
        let channels = [instructor, pupil].map(|(model, handset)| carrying(model, handset, stick));
        let [Some(here), Some(there)] = channels else {
            let bare = |(model, handset): &Side<'f>| !carriers(model, handset, stick).any(|_| true);
            found.extend([instructor, pupil].into_iter().find(bare).map(|(model, _)| Differs::Missing(model)));
            continue;
        };
        if here != there {
            found.push(Differs::Channel(name.value.clone(), here, there));
        }
        // Whether the pupil's pulse is taken for the stick or for the channel: turned round there alone it is wrong both ways.
        let rises = [(instructor, here), (pupil, there)].map(|((model, handset), number)| {
            // A rate below zero turns the stick round once more.
            let turns = |rates: &StickRates| rates.lines.iter().any(|line| line.rate.value.mantissa() < 0);
            model
                .channel(number)
                .filter(|_| !rates_of(model, stick).is_some_and(turns))
                .and_then(|channel| rises_with(channel, &|control| handset.stick(control) == Some(stick)))
        });
        if rises == [Some(true), Some(false)] {
            found.push(Differs::Sign(name.value.clone(), there));
        }
    }
    let with_sticks = instructor.1.grip() == Grip::Sticks && pupil.1.grip() == Grip::Sticks;
    if let (Some(here), Some(there)) = (instructor.1.stick_mode, pupil.1.stick_mode)
        && with_sticks
        && here.value != there.value
    {
        found.push(Differs::StickMode(here.value, there.value, [here.span, there.span]));
    }
    if let (Some(here), Some(there)) = (instructor.1.scale, pupil.1.scale)
        && here.value.1 != there.value.1
    {
        found.push(Differs::Span(here.value.1, there.value.1, [here.span, there.span]));
    }
    found
}

/// The only channel of a model in whose values a stick stands.
fn carrying(model: &Model, handset: &Handset, stick: Stick) -> Option<u8> {
    let mut channels = carriers(model, handset, stick);
    let found = channels.next()?;
    channels.next().is_none().then_some(found)
}

/// The channels of a model in whose values a stick stands.
fn carriers<'m>(model: &'m Model, handset: &'m Handset, stick: Stick) -> impl Iterator<Item = u8> + 'm {
    let channels = model.channels.iter().map(|channel| channel.number.value);
    channels.filter(move |number| sticks(model, Some(handset), *number).contains(&stick))
}

/// The first switch of a hand-over that stays where it is put, where none of its controls springs back.
pub fn stays<'m>(hand_over: &'m Condition, handset: &Handset) -> Option<&'m Name> {
    let (mut stays, mut springs) = (None, false);
    hand_over.walk(&mut |part| {
        if let ConditionKind::Position { control, .. } = &part.kind {
            match handset.control(&control.value).map(|control| control.kind) {
                Some(kind) if !kind.springs() => stays = stays.or(Some(control)),
                Some(_) => springs = true,
                None => {}
            }
        }
    });
    stays.filter(|_| !springs)
}

/// Whether a hand-over names a control that its handset does not have.
pub fn names_unknown(hand_over: &Condition, handset: &Handset) -> bool {
    let mut unknown = false;
    hand_over.walk(&mut |part| {
        if let ConditionKind::Position { control, .. } = &part.kind {
            unknown |= handset.control(&control.value).is_none();
        }
    });
    unknown
}

/// The controls of a handset that spring back, each with a position away from rest.
pub fn sprung(handset: &Handset) -> Vec<(&str, CompactString)> {
    let away = handset.controls.iter().filter_map(|control| {
        let away = match control.kind {
            ControlKind::Switch { positions, sprung_to: Some(0) } => positions - 1,
            ControlKind::Switch { sprung_to: Some(_), .. } => 0,
            ControlKind::Button { stays: false } => 1,
            _ => return None,
        };
        Some((control.name.value.as_str(), control.kind.position_name(away)))
    });
    away.collect()
}
