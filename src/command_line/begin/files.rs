//! The files of a first settings folder.

use super::answers::{Answers, Craft};
use crate::fleet;
use crate::mend::tidy;
use crate::settings::FILE_NAME;

/// What the place is called.
pub(super) const PLACE: &str = "home field";

const EQUIPMENT: &str = "\
rig 1
# What the aircraft share: the place, the radio link, the handset. Written by `walkaround begin` from your answers.
# \"check\" marks a proposal: make it so on the handset and the aircraft, or write what is really so.
# What is not stated is not known to the program. `walkaround reference` lists everything that can be.

place \"@place@\" {
  region @region@ # its radio rules are looked up
  # reach 300 m: how far out you fly, so that the reserve of the link can be worked out
}

# The kind of radio link that your module and your receivers speak. More of its manual can stand here: modulation, sensitivity.
link my-link {
  band @band@
  update-rate @rates@
  channels @channels@
}

handset my-handset {
  stick-mode @mode@
@switches@
  scale 1500 us plus-minus 500 us # check: what -100 %, 0 % and 100 % send: 1000, 1500 and 2000 us
  module built-in {
    link my-link
    chains 1 # check
@domain@
  }
}
";

const MULTIROTOR: &str = "\
rig 1
# @name@: a multirotor. \"check\" marks a proposal, to be held against the flight controller with the propellers off.

craft @craft@ {
  kind multirotor
  receiver {
    link my-link
    chains 1 # check
@domain@
    outputs serial
    failsafe output-stops # check: switch the handset off, propellers off: the controller must see that the link is lost
  }
  controller {
    order @order@
    idle-below 1060 us # check
    full-above 1880 us # check
    arm by switch needs low-throttle, seen-off # check: the throttle low, and the switch seen off, before it arms
    mode arm channel 5 1660..2140 us # check
@level@
    on-loss descend # check: what it does when the link is lost
  }
  # battery li-po { cells 4; capacity 1300 mAh; draw 12 A }: then the timer and the alarm are held against it
}

model @craft@ {
  handset my-handset
  flies @craft@
  module built-in {
    update-rate @rate@
  }
  trims off # the controller keeps it level; a trim would only look like a held stick
  before-start throttle low # check: the handset asks for it when the model is chosen
  before-start @switch@ up # check

  channel @a@ = roll
  channel @e@ = pitch
  channel @t@ = throttle
  channel @r@ = yaw
  channel 5 arm = @switch@ # up: off, down: armed
@modes@

  failsafe output-stops # as the receiver's
  alarm link-quality below 70 % # check
  timer 4 min while channel 5 above 1500 us

  # Rules of your own, proved for every position of every control:
  expect never (mode arm and @switch@ up)
}
";

const WITH_SURFACES: &str = "\
rig 1
# @name@: @what@. \"check\" marks a proposal, to be held against the aircraft@off@.

craft @craft@ {
  kind @kind@
  receiver {
    link my-link
    chains 1 # check
@domain@
    outputs pulses
    failsafe preset { @preset@ } # check: switch the handset off@off@, and look
  }
  surfaces {
@surfaces@
  }
@battery@
}

model @craft@ {
  handset my-handset
  flies @craft@
  module built-in {
    update-rate @rate@
  }
@start@
@mixes@

  failsafe preset { @preset@ } # as the receiver's
  alarm link-quality below 70 % # check
  timer @timer@
@expect@
}
";

const HOOK: &str = "\
# Inspects the settings before each commit, and refuses a commit that they would not pass. Once, in a git repository:
# `pre-commit install`. https://pre-commit.com
repos:
  - repo: local
    hooks:
      - id: inspect
        name: inspect the handset settings
        entry: walkaround inspect --quiet
        language: system
        pass_filenames: false
        always_run: true
";

/// Names and texts, in the order in which they are written.
pub(super) fn all(answers: &Answers) -> Vec<(String, String)> {
    let settings = format!(
        "# Settings of walkaround for this folder. docs/outputs.md and the rule pages (`walkaround why`) say what can stand here.\n\n\
         # Where aircraft are flown that name no place of their own.\nplace = \"{PLACE}\"\n"
    );
    vec![
        ("equipment.rig".to_owned(), laid_out(equipment(answers))),
        (format!("{}.rig", file_name(&answers.name)), laid_out(aircraft(answers))),
        (FILE_NAME.to_owned(), settings),
        (".pre-commit-config.yaml".to_owned(), HOOK.to_owned()),
    ]
}

/// In the layout that `walkaround tidy` gives.
fn laid_out(text: String) -> String {
    tidy(text.as_bytes()).ok().and_then(|laid| String::from_utf8(laid).ok()).unwrap_or(text)
}

/// A name as a rig file has it, in quotes where it needs them.
pub(super) fn quoted(name: &str) -> String {
    fleet::quoted(name)
}

/// A file's name from an aircraft's: letters and digits, and `-` for the rest.
fn file_name(name: &str) -> String {
    let mut out = String::new();
    for character in name.chars().flat_map(char::to_lowercase) {
        match character {
            'a'..='z' | '0'..='9' => out.push(character),
            _ if out.is_empty() || out.ends_with('-') => {}
            _ => out.push('-'),
        }
    }
    match out.trim_end_matches('-') {
        "" | "equipment" => "aircraft".to_owned(),
        // Some systems keep these names for themselves.
        reserved @ ("con" | "prn" | "aux" | "nul") => format!("{reserved}-1"),
        name => name.to_owned(),
    }
}

/// The template with each `@word@` replaced, once; a line of nothing but an empty one goes.
fn fill(template: &str, words: &[(&str, &str)]) -> String {
    let mut out = String::with_capacity(template.len() * 2);
    for line in template.split_inclusive('\n') {
        let filled = fill_line(line, words);
        if line.starts_with('@') && filled.trim().is_empty() {
            continue;
        }
        out += &filled;
    }
    out
}

fn fill_line(line: &str, words: &[(&str, &str)]) -> String {
    let mut out = String::new();
    let mut rest = line;
    while let Some((before, after)) = rest.split_once('@') {
        out += before;
        let Some((word, behind)) = after.split_once('@') else {
            rest = after;
            break;
        };
        out += words.iter().find(|(known, _)| *known == word).map_or("", |(_, text)| *text);
        rest = behind;
    }
    out + rest
}

fn domain(answers: &Answers) -> String {
    match &answers.domain {
        Some(domain) => format!("domain {domain}"),
        None => "# domain: the radio rules that it was built for, such as EU or US".to_owned(),
    }
}

fn equipment(answers: &Answers) -> String {
    let switches: Vec<String> = answers
        .switches
        .iter()
        .map(|(name, positions)| format!("switch {} {positions} positions", quoted(name)))
        .collect();
    fill(
        EQUIPMENT,
        &[
            ("place", PLACE),
            ("region", &answers.region),
            ("band", &answers.band),
            ("rates", &answers.update_rates),
            ("channels", &answers.channels.to_string()),
            ("mode", &answers.stick_mode.to_string()),
            ("switches", &switches.join("\n")),
            ("domain", &domain(answers)),
        ],
    )
}

fn aircraft(answers: &Answers) -> String {
    let craft = quoted(&answers.name);
    let switch = answers.motor_switch().map(quoted).unwrap_or_default();
    let channel = |function| answers.channel(function).to_string();
    let order: Vec<String> = answers.order.iter().map(char::to_string).collect();
    let mode = answers.mode_switch().map(|(name, _)| quoted(name));
    let level = mode.as_ref().map_or("", |_| "mode level channel 6 950..1250 us # check");
    let modes =
        mode.as_ref().map_or(String::new(), |name| format!("channel 6 level = {name} # its first position: level"));
    let domain = domain(answers);
    let shared = [
        ("name", answers.name.as_str()),
        ("craft", &craft),
        ("domain", &domain),
        ("rate", &answers.update_rate),
        ("switch", &switch),
    ];
    if answers.craft == Craft::Multirotor {
        let own = [
            ("order", order.join(" ")),
            ("level", level.to_owned()),
            ("modes", modes),
            ("a", channel('A')),
            ("e", channel('E')),
            ("t", channel('T')),
            ("r", channel('R')),
        ];
        let words: Vec<(&str, &str)> =
            shared.into_iter().chain(own.iter().map(|(key, text)| (*key, text.as_str()))).collect();
        return fill(MULTIROTOR, &words);
    }
    let parts = surfaces(answers, &switch);
    let words: Vec<(&str, &str)> =
        shared.into_iter().chain(parts.iter().map(|(key, text)| (*key, text.as_str()))).collect();
    fill(WITH_SURFACES, &words)
}

/// What differs between aircraft whose servos the receiver moves.
fn surfaces(answers: &Answers, switch: &str) -> Vec<(&'static str, String)> {
    let [a, e, t, r] = ['A', 'E', 'T', 'R'].map(|function| answers.channel(function));
    let motor = answers.craft != Craft::Glider;
    let (kind, what) = match answers.craft {
        Craft::FlyingWing => ("flying-wing", "a flying wing with two elevons and a motor"),
        Craft::Glider => ("glider", "a glider without a motor"),
        _ => ("aeroplane", "an aeroplane with a motor"),
    };
    // By channel, so that the files read in their order.
    let mut lines: Vec<(usize, String, String, &str)> = if answers.craft == Craft::FlyingWing {
        vec![
            (
                a,
                "roll + pitch left".to_owned(),
                format!("channel {a} \"left elevon\" = 50 % * roll + 50 % * pitch # check"),
                "1500",
            ),
            (
                e,
                "roll + pitch right".to_owned(),
                format!("channel {e} \"right elevon\" = 50 % * roll - 50 % * pitch # check"),
                "1500",
            ),
        ]
    } else {
        let plain = |channel: usize, function: &str| {
            (channel, function.to_owned(), format!("channel {channel} = {function}"), "1500")
        };
        vec![plain(a, "roll"), plain(e, "pitch"), plain(r, "yaw")]
    };
    if motor {
        let mix = format!("channel {t} motor {{\nvalue throttle when live\nvalue -100 %\n}}");
        lines.push((t, String::new(), mix, "1000"));
    }
    lines.sort_by_key(|(channel, ..)| *channel);
    let surface = |(channel, functions, _, _): &(usize, String, String, &str)| match functions.is_empty() {
        true => format!("motor channel {channel} idle-below 1060 us # check"),
        false => format!("channel {channel} {functions}"),
    };
    let join = |parts: Vec<String>, between: &str| parts.join(between);
    let preset = lines.iter().map(|(channel, _, _, pulse)| format!("channel {channel} {pulse} us")).collect();
    let start = format!(
        "trims throttle off\nbefore-start throttle low # check: the handset asks for it when the model is chosen\nbefore-start {switch} up # check\n\n\
         # The motor runs only once the switch was turned on with the stick at the bottom, and stops when it is turned off.\n\
         condition live latch set {switch} becomes down and throttle low reset {switch} up\n\n"
    );
    let expect = format!(
        "\n# Rules of your own, proved for every position of every control:\nexpect never (channel {t} above 1060 us and {switch} up)"
    );
    let battery =
        "# battery li-po { cells 3; capacity 1300 mAh; draw 8 A }: then the timer and the alarm are held against it";
    let only = |text: String| if motor { text } else { String::new() };
    vec![
        ("kind", kind.to_owned()),
        ("what", what.to_owned()),
        ("off", only(", propellers off".to_owned())),
        ("preset", join(preset, "; ")),
        ("surfaces", join(lines.iter().map(surface).collect(), "\n")),
        ("battery", only(battery.to_owned())),
        ("start", only(start)),
        ("mixes", join(lines.iter().map(|(_, _, mix, _)| mix.clone()).collect(), "\n")),
        ("timer", if motor { format!("6 min while channel {t} above 1100 us") } else { "45 min".to_owned() }),
        ("expect", only(expect)),
    ]
}
