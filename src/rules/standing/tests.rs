//! Each special need where it is there, where it is not there, and where it is open.

use super::{Subject, There};
use crate::findings::coverage::Missing;
use crate::fleet::day::Day;
use crate::fleet::words::Tested;
use crate::inspect::{Options, Workspace};
use crate::rules::book::{BOOK, Need, Special, preamble};
use crate::setup::ModelSetup;

/// The shared files of an aircraft with a flight controller, or of one with surfaces, with changes, each as `(from, to)`.
#[derive(Clone, Copy)]
struct Fleet(&'static str, &'static [(&'static str, &'static str)]);

/// With a flight controller.
const fn knot(changes: &'static [(&'static str, &'static str)]) -> Fleet {
    Fleet("knot", changes)
}

/// With surfaces.
const fn wing(changes: &'static [(&'static str, &'static str)]) -> Fleet {
    Fleet("wing", changes)
}

/// A fleet in which a need is there, one in which it is not, and one in which it is open, with what is missing then. Where one of
/// the last two is left out, that can't be.
struct Cases {
    yes: Fleet,
    no: Option<Fleet>,
    open: Option<(Fleet, &'static str)>,
}

/// What the aircraft of a fleet has of a special need, on its first way.
fn there(fleet: Fleet, special: Special) -> There {
    let Fleet(base, changes) = fleet;
    let model = format!("{base}-model");
    let names = ["link", "handset", "place", base, &model];
    let text = names.into_iter().map(|name| preamble(name).unwrap().text.replacen("rig 1\n", "", 1));
    let mut text: String = text.collect();
    for (from, to) in changes {
        assert!(text.contains(from), "{special:?}: {from}");
        text = text.replacen(from, to, 1);
    }
    let mut workspace = Workspace::new();
    // Of this one no file says anything.
    if special == Special::TestsAsked {
        let (today, tested) = (Day::new(2027, 3, 1), vec![(Tested::Range, 90)]);
        workspace.settings(Options { today, tested, ..Options::default() });
    }
    workspace.set("all.rig", format!("rig 1\n{text}").into_bytes());
    workspace.read();
    let context = workspace.context();
    let view = ModelSetup::new(&context, &workspace.fleet().models[0]);
    if special == Special::AllFlies {
        // It is asked of an aircraft that no model at hand flies.
        let subject = Subject::of_craft(&context, &workspace.fleet().crafts[0]);
        return subject.special(special, &super::Way::default());
    }
    let subject = match view.setups.first() {
        Some(setup) => Subject::of_setup(&view, setup),
        None => Subject::of_model(&view),
    };
    let way = subject.ways.first().copied().unwrap_or_default();
    subject.special(special, &way)
}

/// What is missing, in a word: what to type, or what kind of thing it is.
fn told(missing: &Missing) -> String {
    match missing {
        Missing::Statement { .. } => missing.to_type().unwrap(),
        Missing::Line(_) => "a line".to_owned(),
        Missing::SignalPath { why, .. } => why.to_string(),
        Missing::UnreadFile => "a file".to_owned(),
        Missing::NoTable { region, .. } => format!("no table for {region}"),
    }
}

/// Lines that are not understood.
const LOST_MODE: (&str, &str) =
    ("    mode home  channel 8 1660..2140 us kind return", "    mode home channel 8 1660..2140 mm");
const LOST_ALARM: (&str, &str) = ("  alarm battery below 3.5 V per-cell under-load", "  alarm battery below 3.5 ohm");
const SECOND_CRAFT: (&str, &str) = ("model \"knot dusk\"", "craft ruff { kind multirotor }\n\nmodel \"knot dusk\"");

fn cases(special: Special) -> Cases {
    let (yes, no, open) = match special {
        Special::Signal => (knot(&[]), None, Some((knot(&[("  scale 1500 us plus-minus 500 us\n", "")]), "scale"))),
        Special::ArmMode => (
            knot(&[]),
            Some(knot(&[
                ("arm by switch needs low-throttle, seen-off", "arm by sticks"),
                ("    mode arm   channel 7 1660..2140 us\n", ""),
            ])),
            Some((knot(&[("    mode arm   channel 7 1660..2140 us\n", "")]), "mode arm channel … … us")),
        ),
        Special::ArmNeeds => (
            knot(&[]),
            Some(knot(&[("arm by switch needs low-throttle, seen-off", "arm by sticks")])),
            Some((knot(&[("arm by switch needs low-throttle, seen-off", "arm by switch")]), "arm by switch needs")),
        ),
        Special::OtherMode => (
            knot(&[]),
            Some(knot(&[
                ("    mode level channel 6 1340..2140 us\n", ""),
                ("    mode home  channel 8 1660..2140 us kind return\n", ""),
            ])),
            Some((knot(&[("    mode level channel 6 1340..2140 us\n", ""), LOST_MODE]), "a line")),
        ),
        Special::ExcludingMode => (
            knot(&[("kind return", "kind return excludes level")]),
            Some(knot(&[])),
            Some((knot(&[LOST_MODE]), "a line")),
        ),
        Special::GroundMode => {
            (knot(&[("kind return", "kind stop")]), Some(knot(&[])), Some((knot(&[LOST_MODE]), "a line")))
        }
        Special::EndingMode => (
            knot(&[("kind return", "kind land")]),
            Some(knot(&[("kind return", "kind locator")])),
            Some((knot(&[LOST_MODE]), "a line")),
        ),
        Special::HeldMode => {
            (knot(&[]), Some(knot(&[("kind return", "kind land")])), Some((knot(&[LOST_MODE]), "a line")))
        }
        Special::EnableMode => {
            (knot(&[("kind return", "kind enable")]), Some(knot(&[])), Some((knot(&[LOST_MODE]), "a line")))
        }
        Special::FliesHome => {
            (knot(&[]), Some(knot(&[("kind return", "kind locator")])), Some((knot(&[LOST_MODE]), "a line")))
        }
        Special::Motor => (knot(&[]), None, Some((knot(&[("    order A E T R\n", "")]), "order"))),
        Special::ForwardMotor => (
            wing(&[]),
            Some(wing(&[("motor channel 3 idle-below 1080 us", "motor channel 3 reversible")])),
            Some((wing(&[("motor channel 3 idle-below 1080 us", "motor channel 3 idle-below 1080 mm")]), "a line")),
        ),
        Special::ReversibleMotor => (
            wing(&[("motor channel 3 idle-below 1080 us", "motor channel 3 reversible")]),
            Some(wing(&[])),
            Some((wing(&[("    channel 4 yaw", "    motor channel 4 idle-below 9 mm")]), "a line")),
        ),
        Special::SeveralMotors => (
            wing(&[("    channel 4 yaw", "    motor channel 4 idle-below 1080 us")]),
            Some(wing(&[])),
            Some((wing(&[("    channel 4 yaw", "    motor channel 4 idle-below 9 mm")]), "a line")),
        ),
        // Each motor idles somewhere: where it is not stated, it is open.
        Special::Idle => (
            wing(&[]),
            None,
            Some((
                wing(&[("motor channel 3 idle-below 1080 us", "motor channel 3")]),
                "motor channel … idle-below … us",
            )),
        ),
        Special::MixedSurfaces => (
            wing(&[
                ("    channel 1 roll\n", "    channel 1 roll + pitch\n"),
                ("    channel 2 pitch\n", "    channel 2 roll + pitch\n"),
            ]),
            Some(wing(&[])),
            Some((wing(&[("    channel 4 yaw", "    channel 4 9 mm")]), "a line")),
        ),
        Special::Links => (
            knot(&[]),
            None,
            Some((knot(&[("  receiver {\n    link shore-24\n", "  receiver {\n")]), "receiver { link")),
        ),
        Special::BayOn => (
            knot(&[]),
            None,
            Some((
                knot(&[(
                    "  module built-in {\n    receiver-number 9\n    match on\n    send-on chain 1\n    update-rate 185 Hz\n    telemetry 2 %\n    power 160 mW\n    key club\n  }\n",
                    "",
                )]),
                "module",
            )),
        ),
        // Which bays are on is read off the model: what is not named is off.
        Special::SeveralBays => {
            (knot(&[("  module plug-in off", "  module plug-in { power 40 mW }")]), Some(knot(&[])), None)
        }
        Special::Chains => (
            knot(&[("    send-on chain 1\n", ""), ("    chains 2\n", "    chains 1\n")]),
            None,
            Some((knot(&[("    send-on chain 1\n", "")]), "send-on")),
        ),
        Special::MatchOn => (
            knot(&[]),
            Some(knot(&[("    match on", "    match off")])),
            Some((knot(&[("    match on\n", "")]), "match")),
        ),
        // How many aircraft a model flies is read off its names.
        Special::SeveralAircraft => {
            (knot(&[SECOND_CRAFT, ("  flies knot", "  flies knot, ruff")]), Some(knot(&[])), None)
        }
        Special::AllFlies => (knot(&[]), None, Some((knot(&[("  flies knot\n", "")]), "flies"))),
        // A receiver does something when the link is lost: where it is not stated, it is open.
        Special::Failsafe => (knot(&[]), None, Some((knot(&[("    failsafe output-stops\n", "")]), "failsafe"))),
        Special::Preset => {
            (wing(&[]), Some(knot(&[])), Some((knot(&[("    failsafe output-stops\n", "")]), "failsafe")))
        }
        Special::Hold => (
            knot(&[("failsafe output-stops", "failsafe hold")]),
            Some(knot(&[])),
            Some((knot(&[("    failsafe output-stops\n", "")]), "failsafe")),
        ),
        Special::OutputStops => {
            (knot(&[]), Some(wing(&[])), Some((knot(&[("failsafe output-stops", "failsafe output-stop")]), "a line")))
        }
        Special::BatteryAlarm => (
            knot(&[]),
            Some(knot(&[("  alarm battery below 3.5 V per-cell under-load\n", "")])),
            Some((knot(&[LOST_ALARM]), "a line")),
        ),
        Special::PackAlarm => {
            (knot(&[("3.5 V per-cell under-load", "21 V")]), Some(knot(&[])), Some((knot(&[LOST_ALARM]), "a line")))
        }
        Special::LinkAlarm => (
            knot(&[]),
            Some(knot(&[("  alarm link-quality below 65 %\n", "")])),
            Some((knot(&[("alarm link-quality below 65 %", "alarm link-quality below 65 V")]), "a line")),
        ),
        Special::NoSignalAlarm => (knot(&[]), Some(wing(&[])), Some((knot(&[LOST_ALARM]), "a line"))),
        // An alarm of a pack, and what one cell has hangs on how many there are.
        Special::CellVoltage => {
            (knot(&[]), None, Some((knot(&[("3.5 V per-cell under-load", "21 V"), ("cells 6; ", "")]), "cells")))
        }
        Special::HandOver => (
            knot(&[("  trims off", "  trims off\n  trainer when shoulder down gives roll, pitch")]),
            Some(knot(&[])),
            Some((knot(&[("  trims off", "  trims off\n  trainer when shoulder down gives 3 mm")]), "a line")),
        ),
        // Where the line of the hand-over is lost, the hand-over itself is open, which is needed first.
        Special::ThrottleGiven => (
            knot(&[("  trims off", "  trims off\n  trainer when shoulder down gives throttle")]),
            Some(knot(&[("  trims off", "  trims off\n  trainer when shoulder down gives roll")])),
            None,
        ),
        Special::FullSweep => (
            knot(&[("channel 1 = roll", "channel 1 { value roll; full-sweep 1 s }")]),
            Some(knot(&[])),
            Some((knot(&[("channel 1 = roll", "channel 1 { value roll; full-sweep 1 mm }")]), "a line")),
        ),
        Special::RateExpo => (
            knot(&[("  trims off", "  trims off\n  rates roll { rate 80 % expo 30 % }")]),
            Some(knot(&[("  trims off", "  trims off\n  rates roll { rate 80 % }")])),
            Some((knot(&[("  trims off", "  trims off\n  rates roll { rate 80 mm expo 30 % }")]), "a line")),
        ),
        Special::Sensitivity => {
            (knot(&[]), None, Some((knot(&[("  sensitivity -97 dBm at 185 Hz\n", "")]), "sensitivity")))
        }
        Special::NoController => {
            (wing(&[]), Some(knot(&[])), Some((wing(&[("  surfaces {", "  controller 5\n  surfaces {")]), "a line")))
        }
        Special::NoSurfaces => {
            (knot(&[]), Some(wing(&[])), Some((knot(&[("  controller {", "  surfaces 5\n  controller {")]), "a line")))
        }
        Special::TestsAsked => (knot(&[]), None, None),
        Special::RegionTable => (knot(&[]), None, Some((knot(&[("region AU", "region FJ")]), "no table for FJ"))),
        Special::BandTable => (knot(&[]), None, Some((knot(&[("2405..2475 MHz", "100..101 MHz")]), "no table for AU"))),
        Special::PowerFacts => (
            knot(&[]),
            None,
            Some((
                knot(&[("    antenna-gain 2 dBi\n    firmware", "    firmware"), ("power 160 mW", "power 720 mW")]),
                "antenna-gain",
            )),
        ),
        Special::ReceiverBattery => (
            wing(&[("  flown-at", "  battery for receiver li-fe { cells 2 }\n  flown-at")]),
            Some(wing(&[])),
            Some((wing(&[("  flown-at", "  battery for nobody li-fe { cells 2 }\n  flown-at")]), "a line")),
        ),
        Special::AntennaHeight => (wing(&[]), None, Some((wing(&[("kind aeroplane", "kind boat")]), "height"))),
        Special::DutyFacts => (
            knot(&[("region AU", "region GB"), ("power 160 mW", "power 10 mW")]),
            None,
            Some((knot(&[("region AU", "region GB"), ("  adaptive off\n", "")]), "adaptive")),
        ),
    };
    Cases { yes, no, open }
}

#[test]
fn each_special_need_is_there_or_not_there_or_open() {
    let mut all: Vec<Special> = Vec::new();
    for list in BOOK.iter().flat_map(|doc| doc.needs.iter().chain(doc.clear_needs).chain(doc.applies.has)) {
        for need in *list {
            if let Need::Special(special) = need
                && !all.contains(special)
            {
                all.push(*special);
            }
        }
    }
    assert!(all.len() > 35, "{}", all.len());
    let mut wrong = Vec::new();
    for special in all {
        let Cases { yes, no, open } = cases(special);
        let mut hold = |found: There, fits: bool, wanted: &str| {
            if !fits {
                wrong.push(format!("{special:?} is {found:?}, not {wanted}"));
            }
        };
        let found = there(yes, special);
        hold(found.clone(), found == There::Yes, "there");
        if let Some(no) = no {
            let found = there(no, special);
            hold(found.clone(), found == There::No, "not there");
        }
        if let Some((open, wanted)) = open {
            let found = there(open, special);
            let fits = match &found {
                There::Open(missing) => missing.iter().any(|one| told(one).contains(wanted)),
                There::Yes | There::No => false,
            };
            hold(found, fits, wanted);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
