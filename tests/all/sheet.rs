//! `walkaround sheet`: a page says what it should where the eye looks for it, no drawing misses a corner, and no text of a file gets out of
//! its place.

use crate::outputs::cases::is_harmless;
use crate::program::run;
use crate::testdata::{self, fleet_folder};
use serde_json::Value;
use std::fs;
use std::path::Path;
use walkaround::fleet::words::Grip;
use walkaround::inspect::Workspace;
use walkaround::setup::failsafe::is_motorless;
use walkaround::setup::shapes::shapes;
use walkaround::setup::{ModelSetup, Setup, Signals};
use walkaround::signal::{Handle, Path as Way, Rational64, Setting, approximate};

/// Does something with every aircraft of a fleet under each model that flies it.
pub(crate) fn each_of(fleet: &str, what: impl FnMut(&Setup<'_>, &Signals)) -> usize {
    each_in(testdata::fleet(fleet), what)
}

/// The same for the aircraft of some texts.
pub(crate) fn each_in(files: Vec<testdata::File>, mut what: impl FnMut(&Setup<'_>, &Signals)) -> usize {
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
pub(crate) fn each(mut what: impl FnMut(&Setup<'_>, &Signals)) {
    let count: usize = testdata::fleet_names().iter().map(|fleet| each_of(fleet, &mut what)).sum();
    assert!(count > 60, "only {count} aircraft");
}

/// The sheet of a folder.
pub(crate) fn sheet(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, "sheet", &[&["--today", "2027-03-01"], arguments].concat(), "");
    String::from_utf8(output.stdout).unwrap()
}

/// The words of a page without its tags.
pub(crate) fn plain(page: &str) -> String {
    tags(page).1.join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_bench_check_begins_below_the_card_with_a_heading_of_its_own() {
    let page = sheet(&fleet_folder("clean"), &["--page", "curlew"]);
    for article in page.split("<article").skip(1) {
        let (card, check) = article
            .split_once("<section class=\"long bench-check\"><div class=\"begins\"><h2>Bench check</h2>")
            .unwrap();
        // The columns of the card end before it, and its list has columns of its own.
        assert!(card.ends_with("</section></div>") && card.contains("<div class=\"columns\">"), "{card}");
        assert!(check.contains("<ol class=\"bench\">") && !check.contains("columns"), "{check}");
    }
}

#[test]
fn a_danger_is_told_before_anything_else() {
    let page = |fleet: &str, craft: &str| sheet(&fleet_folder(fleet), &["--page", craft]);
    let [hurried, clean] = [page("hurried", "sanderling"), page("clean", "sanderling")];
    let at = |page: &str, words: &str| page.find(words).unwrap_or_else(|| panic!("{words} in {page}"));
    let danger = "<h2>Open findings: mend the danger before anything else</h2><ul><li><b>danger </b>";
    assert!(at(&hurried, danger) < at(&hurried, "<h2>Handset</h2>"));
    assert_eq!(hurried.matches("Open findings").count(), 1);
    assert!(at(&clean, "<h2>Open findings</h2>") > at(&clean, "<h2>Handset</h2>"));
}

/// "100 of 100" would read as a mark that an aircraft passed; the same words stand in the report, on the sheet and in the page.
#[test]
fn nothing_found_is_no_mark_that_an_aircraft_passed() {
    let folder = fleet_folder("clean");
    let report = String::from_utf8(run(&folder, "inspect", &["--today", "2027-03-01"], "").stdout).unwrap();
    let words = report.lines().find_map(|line| line.strip_prefix("curlew")).unwrap().trim();
    let page = sheet(&folder, &[]);
    assert!(words.starts_with("nothing found by ") && words.ends_with(" rules"), "{words}");
    assert!(page.contains(&format!("<span>Inspection: {words}. It has not seen the aircraft.</span>")), "{page}");
    assert!(page.contains(&format!("<td>{words}</td>")), "{page}");
    for text in [&report, &page] {
        assert!(!text.contains("nothing found in") && !text.contains("class=\"verdict\""), "{text}");
    }
    // What is no such verdict is framed.
    let broken = testdata::copy_fleet_to_temp("clean");
    let file = broken.path().join("plover.rig");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(file, format!("{text}\nplace nowhere {{ reach 3 parsecs }}\n")).unwrap();
    let beside = sheet(broken.path(), &["--page", "plover"]);
    assert!(beside.contains("<span class=\"verdict\">a fault beside it</span>"), "{beside}");
    // What is left out is said beside it.
    let newcomer = String::from_utf8(run(&fleet_folder("newcomer"), "inspect", &[], "").stdout).unwrap();
    let lines = newcomer.lines().filter(|line| line.contains("nothing found by"));
    lines.for_each(|line| assert!(line.ends_with(" not asked"), "{newcomer}"));
}

#[test]
fn a_card_says_which_way_is_up_and_has_room_to_write() {
    let clean = |craft: &str| plain(&sheet(&fleet_folder("clean"), &["--page", craft]));
    let curlew = clean("curlew");
    for words in [
        "Up on a switch is away from you, down towards you.",
        "5 flap stands at the low end of its pulses",
        "Pack no.",
        "every channel still follows at steps or metres, at power",
        "Result: every line as it is written not so: lines Done by on",
        "pupil: with the pupil's handset on too, shoulder down",
        "the pupil's sticks move roll and pitch and nothing else, yours the rest.",
    ] {
        assert!(curlew.contains(words), "{words} in {curlew}");
    }
    assert!(!clean("whimbrel").contains("pupil"));
    let sanderling = clean("sanderling");
    assert!(sanderling.contains("mode home: flies back"), "{sanderling}");
    let ways = "as a rule, stick right, it rolls right; stick away from you, its nose goes down; yaw right, its nose turns right";
    assert!(sanderling.contains(ways) && !curlew.contains(ways), "{sanderling}");
    // A pistol grip has no switch with an up that is away from anybody.
    let pistol = sheet(&fleet_folder("kinds"), &["--page", "pratincole"]);
    assert!(!pistol.contains("Up on a switch"), "{pistol}");
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
    let text = |arguments: &[&str]| plain(&sheet(&fleet_folder("clean"), arguments));
    let dunlin = text(&["dunlin"]);
    for words in [
        "does not ask to arm; CUT: motor stays idle (channel 3)",
        "asks to ARM; motor LIVE (channel 3)",
        "the motor is LIVE: Propellers off.",
        "the motor is cut",
        "mode level; roll rate 70 % expo 30 %; pitch rate 70 % expo 30 %",
        "mode finder: makes a noise to be found by",
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

/// The words of one kind of aircraft do not stand on the page of another: nothing flies that drives or floats, nothing has a propeller
/// that has no motor, and nothing has sticks that is held as a pistol.
#[test]
fn a_page_speaks_of_the_craft_and_the_handset_that_it_is_about() {
    let (mut grounded, mut still, mut pistols) = (0, 0, 0);
    for fleet in ["clean", "kinds", "neighbours", "visitors"] {
        let page = sheet(&fleet_folder(fleet), &[]);
        each_of(fleet, |setup, _| {
            let head = format!("<h1>{}</h1>", setup.craft.head.name.value);
            let model = format!("Choose model <b>{}</b>", setup.model.head.name.value);
            let is_own = |article: &&str| article.contains(&head) && article.contains(&model);
            let article = page.split("<article").find(is_own).unwrap();
            let text = plain(&format!("<article{}", article.split("<figure").next().unwrap()));
            let own = text.split("Your own pre-flight check stays").next().unwrap();
            let kind = setup.craft.kind.unwrap().value;
            let mut barred = vec!["stick that steers"];
            if kind.stays_down() {
                grounded += 1;
                barred.extend([
                    "aircraft",
                    "do not fly",
                    "Flight time",
                    "before the flight",
                    "Land at",
                    "Flown at",
                    "flies back",
                ]);
                barred.extend(["the aircraft falls", "roll stick"]);
            } else {
                barred.extend(["do not drive", "do not go out", "Stop at", "Running time", "before the run"]);
            }
            if is_motorless(setup.craft) {
                still += 1;
                barred.extend(["ropeller", "otors running", "motor unplugged", "LIVE"]);
                assert!(own.contains("Hands clear of what the servos move. That is for every check"), "{own}");
            }
            if setup.hands().grip == Grip::Pistol {
                pistols += 1;
                barred.extend(["stick", "throttle"]);
            }
            barred.iter().for_each(|word| assert!(!own.contains(word), "{head} {word}: {own}"));
        });
    }
    assert!(grounded > 12 && still > 5 && pistols > 5, "{grounded} {still} {pistols}");
}

/// What is held over while the handset is switched off is told by its own name, and by the hand that has it where that is stated.
#[test]
fn what_is_held_at_the_failsafe_check_has_its_own_name() {
    let failsafe = |fleet: &str, craft: &str| {
        let page = plain(&sheet(&fleet_folder(fleet), &["--page", craft]));
        page.split("failsafe: ").last().unwrap().split(", switch the handset off").next().unwrap().to_owned()
    };
    for (fleet, craft, words) in [
        ("clean", "turnstone", "hold the roll stick over (right stick all the way right)"),
        ("visitors", "wagtail", "hold the yaw stick over (left stick all the way right)"),
        ("kinds", "spoonbill", "hold the yaw stick over (left stick all the way right)"),
    ] {
        assert!(failsafe(fleet, craft).ends_with(words), "{craft}: {}", failsafe(fleet, craft));
    }
    assert_eq!(
        failsafe("kinds", "greenshank"),
        "Wheels off the ground: with the motor live and the trigger pulled a little, hold the wheel over (turned all the way right)"
    );
    // The hands are not told where the handset does not say which stick is where.
    let folder = testdata::copy_fleet_to_temp("clean");
    let file = folder.path().join("handset.rig");
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.contains("  stick-mode 2\n"));
    fs::write(file, text.replace("  stick-mode 2\n", "")).unwrap();
    let page = plain(&sheet(folder.path(), &["--page", "turnstone"]));
    assert!(page.contains("failsafe: hold the roll stick over (all the way right), switch the handset off"), "{page}");
}
