//! A broken line takes with it only what hangs on it: each line of the demo fleets is broken in turn, in several ways,
//! and every finding that does not depend on the line stays.
//!
//! What depends on a line is decided here by the texts alone, without the program: by the blocks that name each other, and
//! inside a block by the names that the line defines and that others use.

use crate::testdata::{fleet_names, fleet_texts};
use std::collections::{BTreeMap, BTreeSet};
use walkaround::findings::{Finding, Severity, group_of};
use walkaround::fleet::day::Day;
use walkaround::inspect::{Options, inspect};

/// A line of a text, cut up by its braces: which statements it stands in.
#[derive(Clone, Debug)]
struct Line {
    /// Its words, numbers and texts, without comments; texts without their quotes.
    words: Vec<String>,
    /// The line that begins its block at the top level; its own number where it is one.
    top: Option<usize>,
    /// The line that begins the statement directly inside that block.
    unit: Option<usize>,
}

/// A file as a pilot sees it.
struct Text {
    source: String,
    lines: Vec<Line>,
}

/// A fleet before anything is broken.
struct Demo {
    texts: Vec<Text>,
    found: Vec<Finding>,
}

type At = (usize, usize);

fn words(line: &str) -> Vec<String> {
    let (mut words, mut word, mut quoted) = (Vec::new(), String::new(), false);
    for letter in line.chars().chain(['\n']) {
        match letter {
            '"' if quoted => {
                words.push(std::mem::take(&mut word));
                quoted = false;
            }
            '"' => quoted = true,
            _ if quoted => word.push(letter),
            '#' => break,
            _ if letter.is_alphanumeric() || "-_.%".contains(letter) => word.push(letter),
            _ => {
                if !word.is_empty() {
                    words.push(std::mem::take(&mut word));
                }
                if "{};".contains(letter) {
                    words.push(letter.to_string());
                }
            }
        }
    }
    if !word.is_empty() {
        words.push(word);
    }
    words
}

impl Text {
    fn new(source: String) -> Self {
        let (mut lines, mut open): (Vec<Line>, Vec<usize>) = (Vec::new(), Vec::new());
        for (number, line) in source.lines().enumerate() {
            let words = words(line);
            let own = (!words.is_empty()).then_some(number);
            lines.push(Line {
                top: open.first().copied().or(own),
                unit: if open.is_empty() { None } else { open.get(1).copied().or(own) },
                words: words.clone(),
            });
            for word in words {
                match word.as_str() {
                    "{" => open.push(number),
                    "}" => drop(open.pop()),
                    _ => {}
                }
            }
        }
        Self { source, lines }
    }
}

fn run(texts: &[String]) -> Vec<Finding> {
    let texts: Vec<&[u8]> = texts.iter().map(String::as_bytes).collect();
    inspect(&texts, &Options { today: Day::new(2026, 11, 25), ..Options::default() }).findings
}

impl Demo {
    fn new(name: &str) -> Self {
        let sources: Vec<String> = fleet_texts(name).into_iter().map(|text| String::from_utf8(text).unwrap()).collect();
        let found = run(&sources);
        Self { texts: sources.into_iter().map(Text::new).collect(), found }
    }

    fn line(&self, (file, line): At) -> &Line {
        &self.texts[file].lines[line]
    }

    /// The lines of a block or statement that begins on this line, by their numbers.
    fn lines_of(&self, (file, first): At) -> impl Iterator<Item = (usize, &Line)> {
        self.texts[file]
            .lines
            .iter()
            .enumerate()
            .filter(move |(number, line)| line.top == Some(first) || line.unit == Some(first) || *number == first)
    }

    /// The places of a finding, as file and line.
    fn places(&self, finding: &Finding) -> Vec<At> {
        let places = std::iter::once(finding.place).chain(finding.others.iter().map(|(place, _)| *place));
        let line = |place: walkaround::source::Place| {
            let file = place.file.0 as usize;
            let before = self.texts[file].source.get(..place.span.start as usize).unwrap();
            (file, before.matches('\n').count())
        };
        places.map(line).collect()
    }

    /// The blocks of the top level: kind and name, and where they begin.
    fn blocks(&self) -> Vec<(At, &str, &str)> {
        let mut blocks = Vec::new();
        for (file, text) in self.texts.iter().enumerate() {
            for (number, line) in text.lines.iter().enumerate() {
                if line.top == Some(number)
                    && let [kind, name, ..] = line.words.as_slice()
                {
                    blocks.push(((file, number), kind.as_str(), name.as_str()));
                }
            }
        }
        blocks
    }

    /// The blocks of the top level that hang on this one: it itself, those that name one that does, and for a model the
    /// aircraft that it flies; for the other way round, those that the line itself names.
    fn hanging(&self, block: At, line: &Line) -> BTreeSet<At> {
        let blocks = self.blocks();
        let mut hanging = BTreeSet::from([block]);
        loop {
            let mut more = hanging.clone();
            for &(at, _, name) in &blocks {
                let names_it = hanging.iter().any(|known| {
                    let header = blocks.iter().find(|(other, ..)| other == known);
                    header
                        .is_some_and(|&(_, kind, wanted)| self.lines_of(at).any(|(_, line)| refers(line, kind, wanted)))
                });
                // A model and its aircraft are judged together.
                let flown = hanging.iter().any(|known| {
                    let is_model = blocks.iter().any(|(other, kind, _)| other == known && *kind == "model");
                    is_model && self.lines_of(*known).any(|(_, line)| refers(line, "craft", name))
                });
                if names_it || flown || line.words.iter().any(|word| word == name) {
                    more.insert(at);
                }
            }
            if more == hanging {
                return hanging;
            }
            hanging = more;
        }
    }
}

/// Whether a line names a block of this kind.
fn refers(line: &Line, kind: &str, name: &str) -> bool {
    let word = match kind {
        "craft" => "flies",
        "place" => "flown-at",
        other => other,
    };
    let at = line.words.iter().position(|known| known == word);
    at.is_some_and(|at| line.words.iter().skip(at + 1).any(|known| known == name))
}

/// The ways in which a line is broken; `None` where it has nothing of that kind.
fn broken(line: &str, way: usize) -> Option<String> {
    let code = line.find('#').filter(|&at| line[..at].matches('"').count().is_multiple_of(2)).unwrap_or(line.len());
    let (code, comment) = line.split_at(code);
    let start = code.find(|letter: char| letter.is_alphanumeric())?;
    let end = code.trim_end().trim_end_matches('{').trim_end().len();
    let word_end = code[start..].find([' ', ';', '}']).map_or(code.len(), |at| start + at).min(end);
    match way {
        // The first word has a letter twice.
        0 => Some(format!("{}{}{}{comment}", &code[..word_end], &code[word_end - 1..word_end], &code[word_end..])),
        // A name has a letter too many.
        1 => {
            let last = code[..end].rfind([' ', '"', ',', '('])? + 1;
            let name = code[..end].trim_end_matches(['"', ')']);
            let is_name = name.len() > last && name[last..].starts_with(|letter: char| letter.is_alphabetic());
            is_name.then(|| format!("{}q{}{comment}", &code[..name.len()], &code[name.len()..]))
        }
        // A character that begins nothing.
        2 => Some(format!("{} ${}{comment}", &code[..end], &code[end..])),
        // The last word is missing.
        3 => {
            let last = code[..end].rfind(' ')?;
            (last > start).then(|| format!("{}{}{comment}", &code[..last], &code[end..]))
        }
        _ => panic!("there is no such way"),
    }
}

const WAYS: usize = 4;

/// What stays the same of a finding when another line of its fleet changes.
fn key(demo: &Demo, finding: &Finding) -> (&'static str, Severity, At) {
    (finding.rule, finding.severity, demo.places(finding)[0])
}

/// Whether a finding stands in the text with one line changed, which keeps the number of lines.
fn stays(demo: &Demo, finding: &Finding, after: &BTreeSet<(&'static str, Severity, At)>) -> bool {
    after.contains(&key(demo, finding))
}

/// What is broken, and the line that it was.
struct Case {
    at: At,
    way: usize,
    line: String,
    after: BTreeSet<(&'static str, Severity, At)>,
}

/// Breaks every line of a fleet in every way.
fn cases(demo: &Demo) -> Vec<Case> {
    let sources: Vec<String> = demo.texts.iter().map(|text| text.source.clone()).collect();
    let mut asked = Vec::new();
    for (file, text) in demo.texts.iter().enumerate() {
        for (number, line) in text.source.lines().enumerate() {
            for way in 0..WAYS {
                if let Some(line) = broken(line, way).filter(|_| !text.lines[number].words.is_empty()) {
                    asked.push(((file, number), way, line));
                }
            }
        }
    }
    let judge = |((file, number), way, line): ((usize, usize), usize, String)| {
        let mut changed = sources.clone();
        let lines = demo.texts[file].source.split_inclusive('\n').enumerate();
        let put = |(at, old): (usize, &str)| if at == number { format!("{line}\n") } else { old.to_owned() };
        changed[file] = lines.map(put).collect();
        let moved = Demo { texts: changed.iter().cloned().map(Text::new).collect(), found: run(&changed) };
        let after = moved.found.iter().map(|finding| key(&moved, finding)).collect();
        Case { at: (file, number), way, line, after }
    };
    let half = asked.split_off(asked.len() / 2);
    std::thread::scope(|scope| {
        let other = scope.spawn(|| half.into_iter().map(judge).collect::<Vec<_>>());
        let mut cases: Vec<Case> = asked.into_iter().map(judge).collect();
        cases.extend(other.join().unwrap());
        cases
    })
}

/// What a line defines, by the names that others use it by: a channel, a condition, a curve, a mode, a control.
fn defined(block: &str, line: &Line) -> Option<Vec<String>> {
    let word = |at: usize| line.words.get(at).cloned().unwrap_or_default();
    Some(match (block, word(0).as_str()) {
        ("model", "channel") => vec![format!("channel {}", word(1))],
        ("model", "condition" | "curve" | "rates") => vec![word(1)],
        ("craft", "mode") => {
            let channels = line.words.windows(2).filter(|pair| pair[0] == "channel");
            channels.map(|pair| format!("channel {}", pair[1])).chain([word(1)]).collect()
        }
        ("craft", "channel") => vec![format!("channel {}", word(1))],
        ("handset", "switch" | "button" | "knob" | "slider") => vec![word(1)],
        // Nothing else of a model uses these.
        ("model", "alarm" | "timer" | "expect" | "failsafe" | "before-start") => vec![],
        _ => return None,
    })
}

/// Whether a statement is one thing with all its lines: a channel, a condition, a curve, the rates of a stick.
fn is_one(header: &Line) -> bool {
    header.words.first().is_some_and(|word| ["channel", "condition", "curve", "rates"].contains(&word.as_str()))
}

/// Whether a text or a line uses a name: a word, or a channel by its number.
fn uses(words: &[String], name: &str) -> bool {
    match name.split_once(' ') {
        Some(("channel", number)) => {
            let mut pairs = words.windows(2);
            pairs.any(|pair| {
                (pair[0] == "channel" || pair[0] == "and") && pair[1].trim_end_matches(['.', ':']) == number
            })
        }
        _ => words.iter().any(|word| word.trim_end_matches('.') == name),
    }
}

/// Rules that speak of something that is not there, so that a line which may have been it silences them; and rules that
/// look at all statements of a kind together.
const LOOK_AT_ALL: &[(&str, &[&str])] = &[
    ("alarms/", &["alarm", "timer"]),
    ("failsafe/", &["failsafe"]),
    ("house/", &["expect"]),
    ("arming/start-unchecked", &["before-start"]),
    ("arming/at-rest", &["before-start"]),
    ("throttle/unchecked", &["before-start", "channel"]),
    ("throttle/no-cut", &["channel", "condition", "switch"]),
    ("channels/unused", &["mode", "channel"]),
    ("channels/no-source", &["mode", "channel"]),
    ("channels/missing", &["channel"]),
    ("receiver/wrong-model", &["mode", "channel"]),
    ("modes/no-stop", &["mode"]),
    ("arming/not-stated", &["mode"]),
    ("handset/stick-filter", &["on-loss"]),
];

/// Statements that only some groups of rules look at, by block and word; house rules may look at anything.
const BESIDE: &[(&str, &[&str], &[&str])] = &[
    ("craft", &["on-loss", "failsafe", "outputs", "fall-accepted"], &["failsafe", "handset"]),
    ("craft", &["antenna-gain", "firmware", "chains", "key", "number", "domain"], RADIO),
    ("craft", &["weight"], &["failsafe", "spectrum"]),
    ("craft", &["flown-at"], RADIO),
    ("craft", &["battery", "cells", "capacity", "draw"], &["alarms"]),
    ("craft", &["position"], &["modes", "failsafe"]),
    ("model", &["receiver-number", "match", "send-on", "telemetry", "power", "key"], RADIO),
    ("model", &["stick-filter"], &["handset"]),
    ("model", &["alarm"], &["alarms"]),
    ("model", &["timer"], &["alarms"]),
    ("model", &["expect"], &[]),
    ("handset", &["battery", "alarm", "cells"], &["alarms"]),
    ("handset", &["power", "chains", "antenna-gain", "feeder-loss", "firmware", "domain"], RADIO),
    ("handset", &["stick-filter"], &["handset"]),
    ("link", &["band", "modulation", "hop-channels", "bandwidth", "adaptive", "air-time", "sensitivity"], RADIO),
    ("link", &["receiver-number", "number-check", "firmware-check"], RADIO),
    ("place", &["region", "reach"], RADIO),
];

/// The groups of rules about what is sent and who hears it.
const RADIO: &[&str] = &["receiver", "module", "spectrum", "alarms", "failsafe"];

impl Demo {
    /// Whether a finding may depend on a line of a block that it hangs on: by a place, a name or a kind.
    fn may_depend(&self, finding: &Finding, at: At) -> bool {
        let line = self.line(at);
        let (Some(top), Some(unit)) = (line.top, line.unit) else { return true };
        let blocks = self.blocks();
        let Some(&(_, block, _)) = blocks.iter().find(|(other, ..)| *other == (at.0, top)) else { return true };
        let first = line.words[0].as_str();
        if let Some((.., groups)) = BESIDE.iter().find(|(of, words, _)| *of == block && words.contains(&first)) {
            let group = group_of(finding.rule);
            return group == "house" || groups.contains(&group) || self.places(finding).contains(&at);
        }
        // A channel, a condition, a curve and the rates of a stick are one thing with all their lines.
        let header = self.line((at.0, unit));
        let whole = is_one(header);
        if unit != at.1 && block == "handset" {
            return true;
        }
        let (scope, named) = if whole { ((at.0, unit), header) } else { (at, line) };
        if !whole && unit == at.1 && line.words.last().is_some_and(|word| word == "{") {
            return true;
        }
        let Some(mut names) = defined(block, named) else { return true };
        let word = named.words[0].as_str();
        let looks = LOOK_AT_ALL.iter().any(|(rule, words)| {
            let is = if rule.ends_with('/') {
                group_of(finding.rule) == rule.trim_end_matches('/')
            } else {
                finding.rule == *rule
            };
            is && words.contains(&word)
        });
        let told = words(&format!("{} {:?}", finding.message.replace('"', " "), finding.mend));
        if looks || told.iter().any(|told| told == word && !["channel", "mode", "condition"].contains(&word)) {
            return true;
        }
        // What uses a name is another name that may have become unclear.
        let hanging = self.hanging((at.0, top), line);
        let mut unclear = BTreeSet::from([scope]);
        loop {
            let (names_before, unclear_before) = (names.len(), unclear.len());
            for &(file, first) in &hanging {
                let Some(&(_, block, _)) = blocks.iter().find(|(other, ..)| *other == (file, first)) else { continue };
                for (number, line) in self.lines_of((file, first)) {
                    let Some(unit) = line.unit else { continue };
                    if names.iter().any(|name| uses(&line.words, name)) {
                        unclear.insert((file, number));
                        let header = self.line((file, unit));
                        if is_one(header) {
                            unclear.insert((file, unit));
                        }
                        let more = [defined(block, header), defined(block, line)].into_iter().flatten().flatten();
                        let more: Vec<String> = more.filter(|name| !names.contains(name)).collect();
                        names.extend(more);
                    }
                }
            }
            names.sort();
            names.dedup();
            if (names.len(), unclear.len()) == (names_before, unclear_before) {
                break;
            }
        }
        let in_unclear = |place: &At| {
            unclear.iter().any(|&(file, first)| {
                let group = is_one(self.line((file, first)));
                *place == (file, first) || (group && place.0 == file && self.line(*place).unit == Some(first))
            })
        };
        self.places(finding).iter().any(in_unclear) || names.iter().any(|name| uses(&told, name))
    }
}

/// The findings that are gone though nothing connects them with the broken line, counted by what connects least.
fn gone(name: &str) -> ([usize; 2], BTreeMap<String, Vec<String>>) {
    let demo = Demo::new(name);
    let (mut held, mut gone): ([usize; 2], BTreeMap<String, Vec<String>>) = ([0; 2], BTreeMap::new());
    for case in cases(&demo) {
        let line = demo.line(case.at);
        let hanging = demo.hanging((case.at.0, line.top.unwrap()), line);
        for finding in demo.found.iter().filter(|finding| finding.severity != Severity::Fault) {
            let places = demo.places(finding);
            let top = |at: &At| (at.0, demo.line(*at).top.unwrap_or(at.1));
            let elsewhere = !places.iter().any(|place| hanging.contains(&top(place)))
                && !finding.aircraft.iter().any(|name| {
                    demo.blocks()
                        .iter()
                        .any(|(at, kind, craft)| *kind == "craft" && *craft == name.as_str() && hanging.contains(at))
                });
            if !elsewhere && demo.may_depend(finding, case.at) {
                continue;
            }
            held[usize::from(!elsewhere)] += 1;
            if !stays(&demo, finding, &case.after) {
                let class = if elsewhere { "another block" } else { "another part of the block" };
                gone.entry(class.to_owned()).or_default().push(format!(
                    "{}:{} way {} `{}`: {} {:?}",
                    case.at.0,
                    case.at.1 + 1,
                    case.way,
                    case.line.trim(),
                    finding.rule,
                    places
                ));
            }
        }
    }
    (held, gone)
}

/// Holds the findings of a fleet against each of its lines; how many times at least a finding was held against a line of
/// another block, and of another part of a block that it hangs on.
fn assert_kept(name: &str, least: [usize; 2]) {
    let (held, gone) = gone(name);
    println!("{name}: {held:?} findings held against broken lines");
    let total: usize = gone.values().map(Vec::len).sum();
    assert!(
        gone.is_empty(),
        "{name}: {total} of {held:?} findings are gone that do not hang on the broken line: {gone:#?}"
    );
    assert!(
        held[0] >= least[0] && held[1] >= least[1],
        "{name}: only {held:?} findings were held against a broken line"
    );
}

#[test]
fn a_broken_line_of_the_hurried_evening_takes_only_what_hangs_on_it() {
    assert_kept("hurried", [7_000, 1_500]);
}

#[test]
fn a_broken_line_of_the_newcomer_takes_only_what_hangs_on_it() {
    assert_kept("newcomer", [45, 850]);
}

#[test]
fn a_broken_line_of_the_mixed_fleet_takes_only_what_hangs_on_it() {
    assert_kept("mixed", [0, 80]);
}

#[test]
fn a_broken_line_of_the_club_takes_only_what_hangs_on_it() {
    assert_kept("club-spelled-out", [7_000, 390]);
}

#[test]
fn every_fleet_is_tried_that_has_findings() {
    let tried = [
        "clean",
        "club",
        "club-spelled-out",
        "hurried",
        "kinds",
        "mixed",
        "mixed-split",
        "neighbours",
        "newcomer",
        "visitors",
    ];
    assert_eq!(fleet_names(), tried);
    assert!(Demo::new("clean").found.is_empty() && Demo::new("mixed-split").found.is_empty());
}

#[test]
fn a_line_is_broken_in_each_way() {
    let line = "  channel 7 arm { value ready; }  # \"x\"";
    let ways: Vec<_> = (0..WAYS).map(|way| broken("  mode level channel 6 arm {  # why", way).unwrap()).collect();
    assert_eq!(
        ways,
        [
            "  modee level channel 6 arm {  # why",
            "  mode level channel 6 armq {  # why",
            "  mode level channel 6 arm $ {  # why",
            "  mode level channel 6 {  # why"
        ]
    );
    assert!(words(line).ends_with(&["}".to_owned()]));
}
