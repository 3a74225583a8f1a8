//! Rules about which receiver answers which model.

rules_of!(receiver);

use super::out::{Out, replace};
use crate::findings::fact::{Fact, FactValue, Joined, channel, channels, list, name, text, word};
use crate::findings::hands::called;
use crate::findings::{Edit, Finding, Severity};
use crate::fleet::craft::Receiver;
use crate::fleet::words::Stick;
use crate::setup::{Arms, Context, Numbered, OtherWay, Setup, Wrong};

/// The edits that give a model another number, and the receivers of its aircraft that are locked to the old one.
fn renumber<'f>(context: &Context<'f>, old: &Numbered<'f>, new: u16) -> Vec<Edit> {
    let own = replace(&old.model.head, old.number.span, new.to_string());
    let receivers = old.locked(context).map(|(craft, span)| replace(&craft.head, span, format!("number {new}")));
    std::iter::once(own).chain(receivers).collect()
}

/// Adds to a finding about a receiver that does not connect what is so where another one of the aircraft does.
fn in_part(setup: &Setup<'_>, receiver: &Receiver, finding: &mut Finding) {
    match setup.dead_without(receiver).as_deref() {
        None => {}
        Some([]) => {
            finding.case("spare").also("spare", "Another receiver of the aircraft connects without it.", []);
        }
        Some(dead) => {
            let numbers = dead.iter().map(|(channel, _)| *channel);
            let sentence = "Another receiver of the aircraft connects, and these channels get nothing: {dead}.";
            finding.case("in part").also("in part", sentence, [channels("dead", numbers)]);
            if dead.iter().any(|(_, vital)| *vital) {
                finding.severity(Severity::Danger);
            }
        }
    }
}

/// Says of each aircraft that a control moves the other way round than another of the same handset, where those two are `meant`.
pub(super) fn other_way_round(
    ways: &[OtherWay<'_>],
    out: &mut Out<'_>,
    meant: impl Fn(&Arms, &Arms) -> bool,
    key: &'static str,
    sentence: &str,
) {
    for OtherWay { arm, other, position } in ways.iter().filter(|way| meant(way.arm, way.other)) {
        let facts = [
            name("control", arm.control.clone()),
            text("position", (*position).clone()),
            name("other", other.craft.clone()),
            name("model", other.model.clone()),
        ];
        out.find(arm.place, key, sentence, facts)
            .other(other.place, "the other way round here")
            .about([arm.craft.clone(), other.craft.clone()]);
    }
}

/// What a strange model would do with an aircraft: the case, as a part of a sentence, and its facts. `None` where it would do
/// nothing else, or where that was not decided.
pub(super) fn would(wrong: &Wrong) -> Option<(&'static str, &'static str, Vec<Fact>)> {
    Some(match wrong {
        Wrong::Crossed { function, channel: number, stick } => (
            "crossed",
            "the {stick} would move {function} (channel {channel})",
            vec![word("stick", called(stick.0, stick.1)), word("function", function.word()), channel(*number)],
        ),
        Wrong::Follows { channel: number, functions, sticks } => {
            let what = match functions.as_slice() {
                [] => word("what", "a motor"),
                functions => list("what", Joined::Plus, functions.iter().cloned().map(FactValue::Text)),
            };
            let sticks = match sticks.as_slice() {
                [] => {
                    return Some((
                        "follows",
                        "channel {channel} ({what}) would follow no stick",
                        vec![channel(*number), what],
                    ));
                }
                sticks => list(
                    "sticks",
                    Joined::And,
                    sticks.iter().map(|&(grip, stick)| FactValue::Word(called(grip, stick))),
                ),
            };
            ("follows", "channel {channel} ({what}) would follow the {sticks}", vec![channel(*number), what, sticks])
        }
        Wrong::Arms { control, position, .. } => (
            "arms",
            "{control} at {position}, which is off for this aircraft, would ask to arm",
            vec![name("control", control.clone()), text("position", (*position).clone())],
        ),
        Wrong::Lifts { channel: number, stopped_by: Some((control, position)), .. } => (
            "lifts",
            "with {control} at {position}, which keeps the motor of this aircraft still, the motor on channel {channel} would run",
            vec![name("control", control.clone()), text("position", position.clone()), channel(*number)],
        ),
        Wrong::Lifts { channel: number, stopped_by: None, grip, .. } => (
            "lifts",
            "with the {stick} where the motor of this aircraft stands still, the motor on channel {channel} would run",
            vec![word("stick", called(*grip, Stick::Throttle)), channel(*number)],
        ),
        Wrong::Channel(number) => ("channel", "channel {channel} would carry something else", vec![channel(*number)]),
        Wrong::Conditions => ("conditions", "its conditions or controls would work otherwise", Vec::new()),
        Wrong::Alike | Wrong::Open => return None,
    })
}
