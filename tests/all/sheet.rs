//! `walkaround sheet`: every line of a bench check is what `trace` says, every position is shown or named, no drawing misses a corner,
//! and no text of a file gets out of its place.

use crate::outputs::cases::is_harmless;
use crate::program::run;
use crate::testdata::{self, fleet_folder};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::Command;
use walkaround::fleet::craft::Idle;
use walkaround::inspect::Workspace;
use walkaround::setup::bench::{Aim, Bench};
use walkaround::setup::positions::channels_read;
use walkaround::setup::shapes::shapes;
use walkaround::setup::trace::reading;
use walkaround::setup::{ModelSetup, Setup, Signals};
use walkaround::signal::{ControlId, Function, Handle, Path as Way, Rational64, Setting, approximate};

/// Does something with every aircraft of a fleet under each model that flies it.
fn each_of(fleet: &str, what: impl FnMut(&Setup<'_>, &Signals)) -> usize {
    each_in(testdata::fleet(fleet), what)
}

/// The same for the aircraft of some texts.
fn each_in(files: Vec<testdata::File>, mut what: impl FnMut(&Setup<'_>, &Signals)) -> usize {
    let mut workspace = Workspace::new();
    for (name, text) in files {
        workspace.set(&name, text);
    }
    workspace.read();
    let context = workspace.context();
    let mut count = 0;
    for model in &context.fleet.models {
        for setup in &ModelSetup::new(&context, model).setups {
            if let Some(signals) = setup.signals() {
                count += 1;
                what(setup, signals);
            }
        }
    }
    count
}

/// The same for all fleets.
fn each(mut what: impl FnMut(&Setup<'_>, &Signals)) {
    let count: usize = testdata::fleet_names().iter().map(|fleet| each_of(fleet, &mut what)).sum();
    assert!(count > 60, "only {count} aircraft");
}

/// The sheet of a folder.
fn sheet(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, "sheet", &[&["--today", "2027-03-01"], arguments].concat(), "");
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn every_line_of_every_bench_check_is_what_trace_reads() {
    let mut lines = 0;
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
            // After a control that is let go all is as before the line.
            if !line.let_go {
                before = now;
            }
        }
    });
    assert!(lines > 800, "only {lines} lines");
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
    // A trigger that, pushed, gives a boat's motor no more than let go; and a switch that shows only while two sticks are held.
    assert_eq!(not_shown.into_iter().collect::<Vec<_>>(), ["courser-scale: inner-left", "pratincole: trigger"]);
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

/// The lines as they stand on the page, against the program's own `trace` with the movements written out.
#[test]
fn the_page_says_what_trace_prints() {
    let folder = fleet_folder("clean");
    let page = sheet(&folder, &[]);
    let mut articles = page.split("<article").skip(2);
    let mut told = 0;
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
            for line in &bench.lines {
                let item = items.next().unwrap();
                let mut arguments = Vec::new();
                let mut put = |option: &str, control: ControlId, at: Setting| {
                    let at = match at {
                        Setting::Position(at) => signals.position_name(control, at).to_string(),
                        Setting::Percent(percent) => percent.text(),
                    };
                    arguments.extend([option.to_owned(), format!("{}={at}", signals.name(control))]);
                };
                for (at, setting) in line.path.start.controls.iter().enumerate() {
                    put("--set", ControlId(at as u16), *setting);
                }
                for movement in &line.path.movements {
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
                let traced: Value = serde_json::from_slice(&output.stdout).unwrap();
                for change in &line.changes {
                    let channels = traced["channels"].as_array().unwrap();
                    let channel = channels.iter().find(|known| known["channel"] == change.channel).unwrap();
                    let pulse = channel["carried_us"].as_f64().unwrap();
                    let told_pulse = format!("<b>{}</b>", walkaround::report::witness::number(pulse));
                    assert!(item.contains(&told_pulse), "{told_pulse} in {item}");
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
    assert!(told > 100, "only {told} pulses");
}

/// Between the points of a line nothing is anywhere else than on the line: a corner that was missed would lie beside it.
#[test]
fn no_line_misses_a_corner() {
    let mut lines = 0;
    each(|setup, signals| {
        let (shapes, _) = shapes(setup, signals);
        for shape in &shapes {
            assert!(shape.exact, "{} channel {}", setup.model.head.name.value, shape.channel);
            for line in &shape.lines {
                lines += 1;
                let mut start = signals.program().rest();
                let mut path = Way::at(start.clone());
                for (control, at) in line.held.first().into_iter().flatten() {
                    let control = signals.lowered().control(control).unwrap();
                    let at = Setting::Position(signals.lowered().position(control, at).unwrap());
                    if start.get(Handle::Control(control)) != Some(at) {
                        start.set(Handle::Control(control), at);
                        path = path.then(control, at);
                    }
                }
                let end = signals.program().end_of(&path);
                // Thirds of a percent meet no corner by chance.
                for third in -300..=300 {
                    let at = Rational64::new(third, 3).unwrap();
                    let set = (Handle::Control(shape.axis), Setting::Percent(at));
                    let sent = approximate(&end.read_moved(&[set], u16::from(shape.channel)).unwrap().sent);
                    let x = f64::from(third as i32) / 3.0;
                    let after = line.points.iter().position(|point| point.at >= x - 1e-9).unwrap();
                    let (a, b) = (&line.points[after.saturating_sub(1)], &line.points[after]);
                    let share = if b.at > a.at { (x - a.at) / (b.at - a.at) } else { 1.0 };
                    let drawn = a.sent + (b.sent - a.sent) * share;
                    let name = &setup.model.head.name.value;
                    assert!(
                        (drawn - sent).abs() < 1.0,
                        "{name} channel {}: {drawn} is drawn at {x} for {sent}",
                        shape.channel
                    );
                }
            }
        }
    });
    assert!(lines > 200, "only {lines} lines");
}

/// What would leave its place on a page, or hide in it.
const HOSTILE: [&str; 4] = [
    "</b></td><script>alert(1)</script>",
    "\\\" onload=\\\"x()",
    "<!-- <img src=x onerror=x()> &amp;",
    "\\u{202e}\\u{1b}[31m]]>",
];

fn hostile_fleet() -> String {
    let [a, b, c, d] = HOSTILE;
    format!(
        r#"rig 1
place "{a}" {{ region AU; reach 100 m }}
link "{b}" {{ channels 8; receiver-number 1..9; number-check strict; firmware-check none; carry channel 1..8 levels 5 every 1 update }}
handset "{c}" {{
  stick-mode 2
  switch "{a}" 3 positions
  knob "{d}"
  scale 1500 us plus-minus 500 us
  module "{b}" {{ link "{b}"; chains 1; power 10 mW; domain any }}
}}
craft "{a}" {{
  kind multirotor
  receiver "{c}" {{ link "{b}"; number 3; failsafe output-stops }}
  controller {{ order A E T R; mode "{b}" channel 6 1400..2000 us; mode arm channel 5 1700..2100 us; on-loss motors-off after 1 s }}
  battery li-po {{ cells 3; capacity 1000 mAh; draw 5 A }}
  flown-at "{a}"
}}
model "{d}" {{
  handset "{c}"
  flies "{a}"
  module "{b}" {{ receiver-number 3; match on; power 10 mW; key "{a}" }}
  condition "{b}" when "{a}" down
  curve "{c}" {{ points -100:-100, 0:0, 100:90 }}
  channel 1 "{a}" = "{c}"(roll)
  channel 2 "{b}" = pitch
  channel 3 "{c}" {{ value throttle when "{b}"; value -100 % }}
  channel 4 = yaw
  channel 5 "{d}" = "{a}"
  channel 6 = "{d}"
  timer 4 min while "{b}"
  alarm battery below 3.5 V per-cell
}}
"#
    )
}

/// The tags of a page, and its texts between them.
fn tags(page: &str) -> (Vec<&str>, Vec<&str>) {
    let (mut tags, mut texts) = (Vec::new(), Vec::new());
    let mut rest = page;
    while let Some(open) = rest.find('<') {
        texts.push(&rest[..open]);
        let end = rest[open..].find('>').unwrap() + open;
        tags.push(&rest[open + 1..end]);
        rest = &rest[end + 1..];
    }
    (tags, texts)
}

#[test]
fn no_text_of_a_file_leaves_its_place() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("x.rig"), hostile_fleet()).unwrap();
    let page = sheet(folder.path(), &[]);
    assert!(page.contains("alert(1)") && page.contains("onerror=x()") && page.contains("\\u{202e}"), "{page}");
    assert!(is_harmless(&page), "{page}");
    let known = [
        "!DOCTYPE",
        "html",
        "head",
        "meta",
        "title",
        "style",
        "body",
        "article",
        "div",
        "h1",
        "h2",
        "p",
        "b",
        "span",
        "section",
        "table",
        "tr",
        "td",
        "th",
        "ol",
        "ul",
        "li",
        "svg",
        "defs",
        "pattern",
        "rect",
        "line",
        "circle",
        "text",
        "path",
        "figure",
        "figcaption",
        "input",
        "label",
        "code",
    ];
    let (tags, _) = tags(&page);
    for tag in &tags {
        let name = tag.trim_start_matches('/').split_whitespace().next().unwrap();
        assert!(known.contains(&name), "<{tag}>");
        let attributes: Vec<&str> = tag.split('"').step_by(2).collect();
        let words =
            attributes.iter().flat_map(|part| part.split_whitespace()).filter_map(|word| word.strip_suffix('='));
        for word in words {
            assert!(
                !word.starts_with("on") && !matches!(word, "src" | "href" | "style" | "srcdoc" | "action"),
                "<{tag}>"
            );
        }
    }
    // Each text of the fleet stands on the page as it is, but for what is escaped.
    let shown = |text: &str| text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    assert!(page.contains(&shown(HOSTILE[0])) && page.contains(&shown(HOSTILE[2])), "{page}");
    assert!(page.contains("&quot; onload=&quot;x()"), "{page}");
}

#[test]
fn a_sheet_loads_nothing() {
    for fleet in ["clean", "kinds", "mixed"] {
        let page = sheet(&fleet_folder(fleet), &[]);
        let policy = page.find("http-equiv=\"Content-Security-Policy\" content=\"default-src 'none';").unwrap();
        assert!(policy < page.find("<style>").unwrap());
        for bad in ["<script", "http://", "https://", "src=", "href=", "@import", "url(h"] {
            assert!(!page.contains(bad), "{fleet}: {bad}");
        }
        assert!(page.matches("url(").count() == page.matches("url(#hatch)").count());
        assert_eq!(page.matches("id=\"").count(), 2, "{fleet}");
    }
}

#[test]
fn a_page_an_aircraft_and_a_first_page() {
    let folder = fleet_folder("clean");
    let all = sheet(&folder, &[]);
    // Seven aircraft; curlew has two models, and dunlin and knot share one.
    assert_eq!(all.matches("<article").count(), 1 + 8);
    assert!(all.contains("Who connects to whom") && !all.contains("safe to"), "{all}");
    let one = sheet(&folder, &["whimbrel"]);
    assert_eq!((one.matches("<article").count(), one.contains("Who connects to whom")), (1, false));
    let two = sheet(&folder, &["whimbrel", "dunlin"]);
    assert_eq!((two.matches("<article").count(), two.contains("Who connects to whom")), (3, true));
    for words in [
        "Propellers off.",
        "number <b>9 (built-in)</b>",
        "Land at",
        "10.2 V",
        "stored pulses",
        "switch the handset off",
    ] {
        assert!(one.contains(words), "{words} in {one}");
    }
}

#[test]
fn a_card_tells_the_cut_the_modes_the_rates_and_the_pupil() {
    let text = |arguments: &[&str]| {
        let page = sheet(&fleet_folder("clean"), arguments);
        tags(&page).1.join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let dunlin = text(&["dunlin"]);
    for words in [
        "does not ask to arm; CUT: motor stays idle (channel 3)",
        "asks to ARM; motor LIVE (channel 3)",
        "the motor is LIVE: Propellers off.",
        "the motor is cut",
        "mode level; roll rate 70 % expo 30 %; pitch rate 70 % expo 30 %",
        "mode finder (locator)",
        "1 s after it notices, the flight controller stops the motors: the aircraft falls.",
        "Land at 20.4 V (3.4 V a cell, motors running)",
        "Flight time 2 min 36 s : 80 % of the capacity at 24 A.",
        "all that was found is waived",
        "waived: note receiver/several-answer: This model is answered by ",
    ] {
        assert!(dunlin.contains(words), "{words} in {dunlin}");
    }
    let curlew = text(&["curlew"]);
    assert!(curlew.contains("the PUPIL has roll and pitch"), "{curlew}");
    assert!(curlew.contains("For 0.5 s the receiver repeats the last pulses."), "{curlew}");
}

#[test]
fn what_is_there_and_no_sheet_is_left_alone() {
    let folder = testdata::copy_fleet_to_temp("clean");
    let sheet = |arguments: &[&str]| run(folder.path(), "sheet", arguments, "").status.code();
    assert_eq!(sheet(&["--out", "all.html"]), Some(0));
    let first = fs::read_to_string(folder.path().join("all.html")).unwrap();
    assert!(first.ends_with("</body></html>\n"));
    assert_eq!(sheet(&["dunlin", "--out", "all.html"]), Some(0));
    assert!(fs::read_to_string(folder.path().join("all.html")).unwrap().len() < first.len());
    fs::write(folder.path().join("notes.html"), "<p>mine</p>").unwrap();
    assert_eq!(sheet(&["--out", "notes.html"]), Some(64));
    assert_eq!(fs::read_to_string(folder.path().join("notes.html")).unwrap(), "<p>mine</p>");
    assert_eq!(sheet(&["dunlim"]), Some(64));
    fs::write(folder.path().join("ruff.rig"), "rig 1\ncraft ruff { kind glider }\n").unwrap();
    assert_eq!(sheet(&["ruff"]), Some(64));
    fs::write(folder.path().join("ruff.rig"), "rig 1\ncraft ruff { wings 3 }\n").unwrap();
    assert_eq!(sheet(&["dunlin"]), Some(2));
}

#[test]
fn one_page_has_no_plots_and_no_first_page() {
    let page = sheet(&fleet_folder("clean"), &["--page", "knot"]);
    let whole = sheet(&fleet_folder("clean"), &["knot"]);
    assert_eq!(page.matches("<article").count(), 1);
    assert!(page.contains("Bench check") && !page.contains("<figure") && whole.contains("<figure"));
    assert!(!page.contains("Who connects to whom") && !page.contains("print-choice\""));
    let unknown = run(&fleet_folder("clean"), "sheet", &["--page", "knit"], "");
    assert_eq!(unknown.status.code(), Some(64));
}

/// A folder by its path in front of the aircraft is where they are looked for; a name without a path is an aircraft.
#[test]
fn a_folder_may_stand_in_front_of_the_aircraft() {
    let fleets = fleet_folder("clean");
    let above = fleets.parent().unwrap();
    assert_eq!(sheet(above, &["./clean"]), sheet(above, &["--in", "./clean"]));
    assert_eq!(sheet(above, &["clean/", "knot"]), sheet(above, &["--in", "clean/", "knot"]));
    assert_eq!(run(above, "sheet", &["clean"], "").status.code(), Some(64));
    assert_eq!(run(above, "sheet", &["clean/", "knit"], "").status.code(), Some(64));
}

/// What stands beside a change in the JSON of `compare` stands side by side on the sheet.
#[test]
fn a_change_stands_side_by_side() {
    let (old, new) = (testdata::copy_fleet_to_temp("clean"), testdata::copy_fleet_to_temp("clean"));
    let file = new.path().join("sanderling.rig");
    let text = fs::read_to_string(&file).unwrap();
    let moved = text.replace("channel 7 arm = left-front", "channel 7 arm = left-rear");
    assert_ne!(moved, text);
    fs::write(file, moved.replace("sanderling survey", "sanderling <b>survey")).unwrap();
    let sides = [old.path().to_str().unwrap(), new.path().to_str().unwrap()];
    let page = run(new.path(), "sheet", &["--compare", sides[0], sides[1]], "");
    assert_eq!(page.status.code(), Some(0), "{}", String::from_utf8_lossy(&page.stderr));
    let page = String::from_utf8(page.stdout).unwrap();
    for words in [
        "channel 7 (arm)</b></td><td>2000 us (arm)</td><td>1000 us (no mode)",
        "asks to arm</b></td><td>yes</td><td>no",
        "with left-front down",
        "Propellers off",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    assert!(!page.contains("<b>survey"));
    let compared = run(new.path(), "compare", &[sides[0], sides[1], "--as", "json"], "");
    let compared: Value = serde_json::from_slice(&compared.stdout).unwrap();
    let subjects = compared["subjects"].as_array().unwrap();
    let changes: usize = subjects.iter().map(|subject| subject["changes"].as_array().unwrap().len()).sum();
    assert_eq!(page.matches("<tr><td><b>").count(), changes);
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
