//! The bench check of a sheet: every line is what `trace` says, every position is shown or named, and what is live is marked.

use crate::sheet::{each, each_in, each_of, plain, sheet};
use crate::testdata::{self, fleet_folder};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::process::Command;
use walkaround::fleet::craft::Idle;
use walkaround::report::sheet::label;
use walkaround::setup::bench::{Aim, Bench};
use walkaround::setup::positions::channels_read;
use walkaround::setup::trace::reading;
use walkaround::signal::{ControlId, Function, Handle, Path as Way, Setting, approximate};

#[test]
fn every_line_of_every_bench_check_is_what_trace_reads() {
    let (mut lines, mut halves) = (0, 0);
    each(|setup, signals| {
        let bench = Bench::of(setup, signals);
        let mut before = reading(setup, signals, &Way::at(signals.start(&setup.demands(signals))));
        for line in &bench.lines {
            lines += 1;
            let now = reading(setup, signals, &line.path);
            for (channel, pulse) in &line.after.pulses {
                let traced = now.channels.iter().find(|(known, ..)| known == channel).and_then(|known| known.4);
                assert_eq!(traced, pulse.as_ref().map(approximate), "channel {channel}: {:?}", line.moved);
            }
            let on: Vec<Option<bool>> = now.modes.iter().map(|(_, on)| *on).collect();
            assert_eq!(on, line.after.modes, "{:?}", line.moved);
            // What the line tells is just what is other than before it.
            let read = channels_read(setup);
            let other = now.channels.iter().zip(&before.channels).filter(|(now, before)| now.4 != before.4);
            let other: BTreeSet<u8> = other.map(|(now, _)| now.0).filter(|channel| read.contains(channel)).collect();
            assert_eq!(other, line.changes.iter().map(|change| change.channel).collect(), "{:?}", line.moved);
            for change in &line.changes {
                let traced = now.channels.iter().find(|(known, ..)| *known == change.channel).and_then(|known| known.4);
                assert_eq!(traced, Some(change.to));
            }
            // Half-way to the end, and from there to the end, is what trace reads too, and the line tells what is other than at the end.
            if let Some(half) = &line.half_way {
                halves += 1;
                let there = reading(setup, signals, &half.path);
                let pairs = there.channels.iter().zip(&now.channels);
                let other = pairs.filter(|(there, now)| there.4 != now.4).map(|(there, _)| there.0);
                let other: BTreeSet<u8> = other.filter(|channel| read.contains(channel)).collect();
                assert_eq!(other, half.changes.iter().map(|change| change.channel).collect(), "{:?}", line.moved);
                for change in &half.changes {
                    let traced =
                        there.channels.iter().find(|(known, ..)| *known == change.channel).and_then(|known| known.4);
                    assert_eq!(traced, Some(change.to), "channel {}", change.channel);
                }
            }
            // After a control that is let go all is as before the line.
            if !line.let_go {
                before = now;
            }
        }
    });
    assert!(lines > 800, "only {lines} lines");
    assert!(halves > 100, "only {halves} lines with expo");
}

#[test]
fn every_position_that_matters_is_shown_once_or_named_as_not_shown() {
    let mut not_shown = BTreeSet::new();
    each(|setup, signals| {
        let bench = Bench::of(setup, signals);
        let mut open: BTreeSet<(ControlId, Setting)> = BTreeSet::new();
        for channel in channels_read(setup) {
            for control in signals.program().mentions(u16::from(channel)).controls {
                open.extend((0..signals.positions(control)).map(|at| (control, Setting::Position(at))));
            }
        }
        let shown: Vec<_> = bench.lines.iter().filter(|line| line.aim == Aim::Shows).collect();
        for (at, line) in shown.iter().enumerate() {
            assert!(!shown[..at].iter().any(|before| before.moved == line.moved), "{:?} is shown twice", line.moved);
        }
        let all = bench.start.iter().chain(bench.lines.iter().map(|line| &line.moved)).chain(&bench.unseen);
        all.for_each(|place| {
            open.remove(place);
        });
        let name = &setup.model.head.name.value;
        let unseen = bench.unseen.iter().map(|(control, _)| format!("{name}: {}", signals.name(*control)));
        not_shown.extend(unseen);
        open.retain(|(control, _)| bench.start.iter().any(|(known, _)| known == control));
        assert!(open.is_empty(), "{}: {open:?}", setup.model.head.name.value);
    });
    // A trigger that, pushed, gives a boat's motor no more than let go; switches that show only while sticks are held; a knob that moves
    // a winch only while a button is pressed and the motor is live.
    let known = [
        "courser-scale: inner-left",
        "pratincole: trigger",
        "shelduck-twin: green",
        "smew-race: trigger",
        "woodcock-trail: dial",
    ];
    assert_eq!(not_shown.into_iter().collect::<Vec<_>>(), known);
}

/// Where something arms, nothing but its own switches, and the sticks that then move something, is moved while it asks to.
#[test]
fn what_arms_comes_last_and_ends_off() {
    let mut arming = 0;
    each_of("clean", |setup, signals| {
        let bench = Bench::of(setup, signals);
        let Some(arm) = signals.program().parts().modes.iter().position(|mode| mode.name == "arm") else { return };
        let first = bench.lines.iter().position(|line| line.after.modes[arm] == Some(true)).unwrap();
        arming += 1;
        let gates = signals.arming_controls().unwrap();
        for line in &bench.lines[first..] {
            let (control, _) = line.moved;
            assert!(gates.contains(&control) || signals.is_axis(control), "{}", signals.name(control));
        }
        assert_eq!(bench.lines.last().unwrap().after.modes[arm], Some(false), "{}", setup.model.head.name.value);
    });
    assert_eq!(arming, 4);
}

/// The throttle goes up while a cut holds, and the cut is let go while the throttle is up: where that is tried no motor gets more than
/// its stated idle and nothing asks to arm; what would start is not tried.
#[test]
fn what_must_not_start_a_motor_is_tried() {
    let (mut cuts, mut let_go) = (0, 0);
    each(|setup, signals| {
        let arm = signals.program().parts().modes.iter().position(|mode| mode.name == "arm");
        let tries: Vec<_> = Bench::of(setup, signals).lines.into_iter().filter(|line| line.aim == Aim::Tries).collect();
        for line in &tries {
            let now = reading(setup, signals, &line.path);
            for motor in setup.motor_channels() {
                let pulse = now.channels.iter().find(|(known, ..)| *known == motor.channel).and_then(|known| known.4);
                let at_rest = match motor.idle {
                    Some(Idle::Below(below)) => pulse.unwrap() < below.to_f64(),
                    Some(Idle::Above(above)) => pulse.unwrap() > above.to_f64(),
                    Some(Idle::Within(low, high)) => (low.to_f64()..=high.to_f64()).contains(&pulse.unwrap()),
                    None => false,
                };
                assert!(at_rest, "{}: {:?} {pulse:?}", setup.model.head.name.value, line.moved);
            }
            assert!(arm.is_none_or(|arm| line.after.modes[arm] == Some(false)), "{:?}", line.moved);
            match signals.is_axis(line.moved.0) {
                true => cuts += 1,
                false => let_go += 1,
            }
        }
    });
    assert!(cuts > 10 && let_go > 5, "{cuts} {let_go}");
}

/// A switch that arms the controller while the handset's own cut holds is not moved with the throttle up.
#[test]
fn what_would_arm_is_not_tried_with_the_throttle_up() {
    let arms_at_once = |(name, text): testdata::File| {
        let text = String::from_utf8(text).unwrap();
        let by_latch = "channel 7 arm {\n    value 100 % when ready\n    value -100 %\n  }";
        assert!(name != "plover.rig" || text.contains(by_latch));
        (name, text.replace(by_latch, "channel 7 arm = left-front").into_bytes())
    };
    let mut plovers = 0;
    each_in(testdata::fleet("clean").into_iter().map(arms_at_once).collect(), |setup, signals| {
        if setup.craft.head.name.value == "plover" {
            plovers += 1;
            let lines = Bench::of(setup, signals).lines;
            let tried: Vec<_> = lines.iter().filter(|line| line.aim == Aim::Tries).map(|line| line.moved.0).collect();
            assert_eq!(tried, [signals.stick(Function::Throttle).unwrap()], "only the throttle goes up");
        }
    });
    assert_eq!(plovers, 1);
}

/// The lines as they stand on the page, against the program's own `trace` with the movements written out. On paper a pulse is rounded to
/// the nearest microsecond, so that the two are the same within half of one.
#[test]
fn the_page_says_what_trace_prints() {
    let folder = fleet_folder("clean");
    let page = sheet(&folder, &[]);
    let mut articles = page.split("<article").skip(2);
    let (mut told, mut halves) = (0, 0);
    let mut names: Vec<(String, String)> = Vec::new();
    each_of("clean", |setup, _| {
        names.push((setup.craft.head.name.value.to_string(), setup.model.head.name.value.to_string()));
    });
    names.sort();
    for (craft, model) in names {
        let article = articles.next().unwrap();
        assert!(
            article.contains(&format!("<h1>{craft}</h1>")) && article.contains(&format!("<b>{model}</b>")),
            "{craft}"
        );
        each_of("clean", |setup, signals| {
            if setup.craft.head.name.value != craft || setup.model.head.name.value != model {
                return;
            }
            let bench = Bench::of(setup, signals);
            let mut items = article.split("<ol class=\"bench\">").nth(1).unwrap().split("<li>").skip(2);
            let traced_at = |path: &Way| {
                let mut arguments = Vec::new();
                let mut put = |option: &str, control: ControlId, at: Setting| {
                    let at = match at {
                        Setting::Position(at) => signals.position_name(control, at).to_string(),
                        Setting::Percent(percent) => percent.text(),
                    };
                    arguments.extend([option.to_owned(), format!("{}={at}", signals.name(control))]);
                };
                for (at, setting) in path.start.controls.iter().enumerate() {
                    put("--set", ControlId(at as u16), *setting);
                }
                for movement in &path.movements {
                    for &(handle, to) in &movement.sets {
                        let Handle::Control(control) = handle else { panic!("a trim") };
                        put("--then", control, to);
                    }
                }
                let output = Command::new(env!("CARGO_BIN_EXE_walkaround"))
                    .args(["trace", &model, "--craft", &craft, "--as", "json"])
                    .args(&arguments)
                    .current_dir(&folder)
                    .output()
                    .unwrap();
                serde_json::from_slice::<Value>(&output.stdout).unwrap()
            };
            for line in &bench.lines {
                let item = items.next().unwrap();
                let traced = traced_at(&line.path);
                // What stands half-way is told behind the end, and is traced with the stick there.
                let (item, half) = item.split_once(" half-way (expo): ").unwrap_or((item, ""));
                assert_eq!(half.is_empty(), line.half_way.is_none(), "{item}");
                if let Some(half_way) = &line.half_way {
                    let traced = traced_at(&half_way.path);
                    for change in &half_way.changes {
                        let channels = traced["channels"].as_array().unwrap();
                        let channel = channels.iter().find(|known| known["channel"] == change.channel).unwrap();
                        let pulse = channel["carried_us"].as_f64().unwrap();
                        let name = format!("{} {} ", change.channel, label(setup, change.channel));
                        let [told_pulse] = readings_of(half, &name)[..] else { panic!("{name} in {half}") };
                        assert!((told_pulse - pulse).abs() <= 0.5, "{told_pulse} for {pulse} in {half}");
                        assert_eq!(told_pulse.fract(), 0.0, "{told_pulse} in {half}");
                        halves += 1;
                    }
                }
                for change in &line.changes {
                    let channels = traced["channels"].as_array().unwrap();
                    let channel = channels.iter().find(|known| known["channel"] == change.channel).unwrap();
                    let pulse = channel["carried_us"].as_f64().unwrap();
                    let name = format!("{} {} ", change.channel, label(setup, change.channel));
                    let told_pulse = readings_of(item, &name);
                    let [told_pulse] = told_pulse.as_slice() else { panic!("{name} in {item}") };
                    assert!((told_pulse - pulse).abs() <= 0.5, "{told_pulse} for {pulse} in {item}");
                    assert_eq!(told_pulse.fract(), 0.0, "{told_pulse} in {item}");
                    told += 1;
                }
                for (at, on) in &line.switched {
                    let name = &signals.program().parts().modes[*at].name;
                    assert_eq!(traced["modes"][name.as_str()], *on, "{item}");
                    assert!(item.contains(&format!("mode {name} {}", if *on { "ON" } else { "off" })), "{item}");
                }
            }
        });
    }
    assert!(articles.next().is_none());
    assert!(told > 100 && halves > 15, "only {told} pulses, and {halves} of half-way");
}

/// What stands on a page behind a channel with its name, as numbers.
fn readings_of(page: &str, name: &str) -> Vec<f64> {
    let before = format!("{name}<b>");
    let behind = page.split(&before).skip(1);
    behind.map(|rest| rest.split("</b>").next().unwrap().parse().unwrap()).collect()
}

/// Two switches whose positions are less than a microsecond apart on one channel, and far apart on the other.
fn fine_fleet(values: [&str; 2]) -> String {
    let [up, down] = values;
    format!(
        "rig 1\nlink reed {{ channels 8; carry channel 1..8 levels 8001 every 1 update }}\n\
         handset box {{ stick-mode 2; switch first 2 positions; switch second 2 positions; scale 1500 us plus-minus 500 us; \
         module inner {{ link reed }} }}\n\
         craft ruff {{ kind glider; receiver {{ link reed }}; surfaces {{ channel 1 roll; channel 5 flap; channel 6 camera }} }}\n\
         model ruff {{ handset box; flies ruff; module inner {{ match off }}; channel 1 = roll; \
         channel 5 {{ value {up} % when first up; value {down} % }}; channel 6 = second * 99.96 % }}\n"
    )
}

/// A pilot reads whole microseconds; but two states never look alike that are none.
#[test]
fn readings_are_whole_where_no_two_look_alike() {
    let page = |values| {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("ruff.rig"), fine_fleet(values)).unwrap();
        sheet(folder.path(), &[])
    };
    // At the start, and after each movement: 1499.75 us, 1500.25 us and again 1499.75 us.
    let close = page(["-0.04", "0.06"]);
    assert_eq!(readings_of(&close, "5 flap "), [1499.8, 1500.2, 1499.8], "{close}");
    // The other channel stays whole: 1000.2 us and 1999.8 us.
    assert_eq!(readings_of(&close, "6 camera "), [1000.0, 2000.0, 1000.0]);
    assert_eq!(readings_of(&page(["-0.04", "40"]), "5 flap "), [1500.0, 1700.0, 1500.0]);
}

/// What a line with a live motor looks like, and that only such a line does: where a motor moves, where it may from then on, and where
/// the controller is asked to arm. The first that moves one says to look again.
#[test]
fn a_line_after_which_a_motor_may_turn_is_marked() {
    let (mut marked, mut armed) = (0, 0);
    for fleet in ["clean", "kinds"] {
        let page = sheet(&fleet_folder(fleet), &[]);
        each_of(fleet, |setup, signals| {
            let head = format!("<h1>{}</h1>", setup.craft.head.name.value);
            let model = format!("Choose model <b>{}</b>", setup.model.head.name.value);
            let is_own = |article: &&str| article.contains(&head) && article.contains(&model);
            let article = page.split("<article").find(is_own).unwrap();
            let mut items = article.split("<ol class=\"bench\">").nth(1).unwrap().split("<li>").skip(2);
            let mut is_first = true;
            for line in &Bench::of(setup, signals).lines {
                let item = items.next().unwrap();
                // What trace receives decides it: more than idle on a channel that moved, and asking to arm where a controller reads it.
                let now = reading(setup, signals, &line.path);
                let turns = setup.motor_channels().iter().any(|motor| {
                    let pulse = now.channels.iter().find(|(known, ..)| *known == motor.channel).and_then(|it| it.4);
                    let moved = line.changes.iter().any(|change| change.channel == motor.channel);
                    moved
                        && pulse.zip(motor.idle).is_some_and(|(pulse, idle)| match idle {
                            Idle::Below(below) => pulse >= below.to_f64(),
                            Idle::Above(above) => pulse <= above.to_f64(),
                            Idle::Within(low, high) => !(low.to_f64()..=high.to_f64()).contains(&pulse),
                        })
                });
                let asks = now.modes.iter().find(|(name, _)| *name == "arm").map(|(_, on)| *on == Some(true));
                let runs = turns && (setup.craft.controller.is_none() || asks.unwrap_or(true));
                let arm = signals.program().parts().modes.iter().position(|mode| mode.name == "arm");
                let arms = arm.is_some_and(|arm| line.switched.contains(&(arm, true)));
                let is_live = runs || arms || item.contains("the motor is LIVE");
                let name = &setup.model.head.name.value;
                assert_eq!(item.contains("<span class=\"live\">LIVE</span>"), is_live, "{name}: {item}");
                assert_eq!(item.contains("Look again: "), runs && is_first, "{name}: {item}");
                is_first &= !runs;
                marked += usize::from(is_live);
                armed += usize::from(arms);
            }
        });
    }
    assert!(marked > 20 && armed > 0, "{marked} {armed}");
}

/// The servos of a swashplate move with several sticks, and each goes its own way.
#[test]
fn a_servo_of_a_swashplate_is_told_which_way_it_goes() {
    let turned = |(name, text): testdata::File| {
        let text = String::from_utf8(text).unwrap();
        let text = match name.as_str() {
            "lapwing.rig" => text
                .replace(
                    "channel 1 roll\n    channel 2 pitch\n",
                    "channel 1 roll + pitch left high-is up\n    channel 2 roll + pitch right high-is down\n",
                )
                .replace("channel 1 roll = roll", "channel 1 = 60 % * roll - 40 % * pitch")
                .replace("channel 2 pitch = pitch", "channel 2 = 60 % * roll + 40 % * pitch"),
            _ => text,
        };
        (name, text.into_bytes())
    };
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in testdata::fleet("kinds").into_iter().map(turned) {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let page = plain(&sheet(folder.path(), &["--page", "lapwing"]));
    for words in
        ["roll: right stick all the way right", "1 left roll + pitch 1730 (rises), 2 right roll + pitch 1730 (falls)"]
    {
        assert!(page.contains(words), "{words} in {page}");
    }
}

/// A switch with a channel of its own that also chooses rates shows both: alone, and with a stick held.
#[test]
fn a_rates_switch_that_moves_a_channel_is_tried_with_a_stick_held() {
    let mut seen = 0;
    each_of("clean", |setup, signals| {
        if setup.craft.head.name.value != "dunlin" {
            return;
        }
        let bench = Bench::of(setup, signals);
        let is_rates = |control: ControlId| signals.name(control) == "left-rear";
        let line =
            bench.lines.iter().find(|line| is_rates(line.moved.0) && line.changes.iter().any(|it| it.channel == 1));
        let line = line.expect("the rates of roll are shown");
        assert!(line.changes.iter().any(|change| change.channel == 6));
        seen += 1;
    });
    assert!(seen > 0);
}

/// A receiver on a second link has a line of its own with what is read there.
#[test]
fn a_receiver_on_another_link_is_tried_alone() {
    let page = sheet(&fleet_folder("kinds"), &["turnstone"]);
    assert!(page.contains("Receiver spare alone</b> (link marsh-900)"), "{page}");
    assert!(!sheet(&fleet_folder("clean"), &["knot"]).contains("alone</b>"));
}

/// What a stick with expo gives half-way: with x half, a rate of 75 % and an expo of 30 %, 75 % * (30 % * x^3 + 70 % * x) is 29.0625 % of
/// 500 us above 1500 us, as docs/signal-path.md defines the two; and the same is told again only where a switch makes it another.
#[test]
fn expo_is_told_half_way_beside_the_end() {
    let curlew = |change: &dyn Fn(&str) -> String| {
        let folder = testdata::copy_fleet_to_temp("clean");
        let file = folder.path().join("curlew.rig");
        let text = fs::read_to_string(&file).unwrap();
        fs::write(file, change(&text)).unwrap();
        let page = sheet(folder.path(), &["--page", "curlew"]);
        plain(page.split("<article").nth(1).unwrap().split("<ol class=\"bench\">").nth(1).unwrap())
    };
    let with = curlew(&str::to_owned);
    for words in [
        "roll: right stick all the way right , then let go: as before → 1 roll 1875 , 4 yaw 1556 ; roll stick half-way (expo): 1 roll 1645 , 4 yaw 1522 ",
        // 100 % * (25 % / 8 + 75 % / 2) is 40.625 %.
        "left-rear: middle → 1 roll 2000 , 4 yaw 1575 ; roll stick half-way (expo): 1 roll 1703 , 4 yaw 1530 ",
        "left-rear: up (back) → 1 roll 1875 , 4 yaw 1556 14",
        // Yaw has no rates.
        "yaw: left stick all the way right , then let go: as before → 4 yaw 2000 7",
    ] {
        assert!(with.contains(words), "{words}: {with}");
    }
    let without = curlew(&|text| text.replace(" expo 30 %", "").replace(" expo 25 %", ""));
    assert!(!without.contains("half-way"), "{without}");
    // A wheel is no stick.
    let pistol = testdata::copy_fleet_to_temp("kinds");
    let file = pistol.path().join("greenshank.rig");
    let text = fs::read_to_string(&file).unwrap();
    let channel = "  channel 1 steering = wheel\n";
    assert!(text.contains(channel));
    fs::write(file, text.replace(channel, &format!("  rates wheel {{ rate 100 % expo 40 % }}\n{channel}"))).unwrap();
    let page = plain(&sheet(pistol.path(), &["--page", "greenshank"]));
    assert!(page.contains("; wheel half-way (expo): 1 steering "), "{page}");
}
