//! The files of a first settings folder, and the one of an aircraft that is added to a fleet.

use super::answers::Answers;
use super::{aircraft, country, like};
use crate::fleet::quoted;
use crate::fleet::words::Grip;
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
  region @region@ # @country@: its radio rules are looked up
  # reach 300 m: how far out you fly, so that the reserve of the link can be worked out
}

# The kind of radio link that your module and your receivers speak. More of its manual can stand here: modulation, sensitivity.
link my-link {
  band @band@
  update-rate @rates@
  channels @channels@
  # @check@
  number-check @looks@
}

handset my-handset {
@held@
@switches@
  scale @scale@ # check: what -100 %, 0 % and 100 % send: @sent@
  module built-in {
    link my-link
    chains 1 # check
@domain@
  }
}
";

const HOOK: &str = "\
# Inspects the settings before each commit, and refuses a commit that they would not pass. Once, in a git repository:
# `pre-commit install`. https://pre-commit.com
default_install_hook_types: [pre-commit, pre-merge-commit]
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

/// Names and texts, in the order in which they are written. What an aircraft is added to stays as it is: its file comes beside.
pub(super) fn all(answers: &Answers, is_there: &dyn Fn(&str) -> bool) -> Vec<(String, String)> {
    let text = match &answers.like {
        Some(base) => like::text(answers, base),
        None => aircraft::text(answers),
    };
    let stem = file_name(&answers.name);
    if answers.folder.is_some() {
        let others = (2..).map(|number| format!("{stem}-{number}.rig"));
        let name = std::iter::once(format!("{stem}.rig")).chain(others).find(|name| !is_there(name));
        return vec![(name.unwrap_or(stem), laid_out(text))];
    }
    let settings = format!(
        "# Settings of walkaround for this folder. docs/settings.md says what can stand here.\n\n\
         # Where aircraft are flown that name no place of their own.\nplace = \"{PLACE}\"\n"
    );
    vec![
        ("equipment.rig".to_owned(), laid_out(equipment(answers))),
        (format!("{stem}.rig"), laid_out(text)),
        (FILE_NAME.to_owned(), settings),
        (".pre-commit-config.yaml".to_owned(), HOOK.to_owned()),
    ]
}

/// In the layout that `walkaround tidy` gives.
fn laid_out(text: String) -> String {
    tidy(text.as_bytes()).ok().and_then(|laid| String::from_utf8(laid).ok()).unwrap_or(text)
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

/// What is known of the radio rules that module and receivers were built for.
pub(super) fn domain(answers: &Answers) -> String {
    match &answers.domain {
        Some(domain) => format!("domain {domain}"),
        None => "# domain: the radio rules that it was built for, such as EU or US".to_owned(),
    }
}

fn equipment(answers: &Answers) -> String {
    let desk = &answers.desk;
    let switches =
        desk.switches.iter().map(|switch| format!("switch {} {} positions", quoted(&switch.name), switch.positions));
    let mut held = vec![format!("grip {}", answers.grip.word())];
    held.extend(answers.throttle_stick.map(|stick| format!("throttle-stick {}", stick.word())));
    if answers.grip == Grip::Sticks {
        held.push(format!("stick-mode {}", answers.stick_mode));
    }
    let (looks, check) = match answers.number {
        Some(_) => {
            ("strict", "check, propellers off: with a model of another number chosen, the aircraft must not answer")
        }
        None => ("none", "receiver numbers are not looked at: any model reaches any aircraft"),
    };
    let (centre, span) = desk.scale;
    let sent: Vec<String> = [-100, 0, 100].map(|percent| desk.pulse(percent).to_string()).into();
    fill(
        EQUIPMENT,
        &[
            ("place", PLACE),
            ("region", &answers.region),
            ("country", country::name(&answers.region).unwrap_or_default()),
            ("band", &answers.band),
            ("rates", &answers.update_rates),
            ("channels", &answers.channels.to_string()),
            ("check", check),
            ("looks", looks),
            ("held", &held.join("\n")),
            ("switches", &switches.collect::<Vec<_>>().join("\n")),
            ("scale", &format!("{centre} us plus-minus {span} us")),
            ("sent", &format!("{}, {} and {} us", sent[0], sent[1], sent[2])),
            ("domain", &domain(answers)),
        ],
    )
}
