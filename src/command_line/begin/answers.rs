//! What an answer can be, and what hangs on it.

use super::country;
use super::folder::{Base, Bay, Carrier, Desk, Folder, Numbers, Switch};
use super::questions::{QUESTIONS, Question};
use super::shape::Shape;
use crate::fleet::problem::nearest;
use crate::fleet::table::lists;
use crate::fleet::words::{CraftKind, Grip, ThrottleStick};
use crate::fleet::{quoted, read, table};
use crate::radio::regions::{Domain, RegionCode};
use crate::source::FileId;
use crate::syntax::{Tables, parse};

/// The most characters of a name.
const MOST_CHARACTERS: usize = 60;
/// The channels that the largest first model needs.
const LEAST_CHANNELS: u8 = 6;
/// The most names that a question lists.
const MOST_NAMES: usize = 12;

/// The answers, each checked.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Answers {
    /// The fleet that the aircraft is added to; none for a new one.
    pub(super) folder: Option<Folder>,
    pub(super) region: String,
    pub(super) kind: CraftKind,
    pub(super) name: String,
    /// The aircraft that it is like.
    pub(super) like: Option<Base>,
    /// Its receiver number; none where the link does not look at numbers.
    pub(super) number: Option<u16>,
    /// Where it is flown, where the settings do not say that already.
    pub(super) flown_at: Option<String>,
    pub(super) grip: Grip,
    /// Whether its motor also runs backwards.
    pub(super) reverses: bool,
    /// None: not asked.
    pub(super) throttle_stick: Option<ThrottleStick>,
    pub(super) stick_mode: u8,
    /// All update rates of the link, as a rig file has them.
    pub(super) update_rates: String,
    pub(super) band: String,
    /// None: not known.
    pub(super) domain: Option<String>,
    pub(super) channels: u8,
    /// The functions of channels 1 to 4.
    pub(super) order: [char; 4],
    /// The channel that asks to arm.
    pub(super) arm_channel: u8,
    /// The handset, which for a new fleet grows with the answers.
    pub(super) desk: Desk,
    /// The bay that sends.
    pub(super) bay: Bay,
    /// The switch that starts and stops the motor.
    switch: Option<String>,
}

impl Answers {
    /// For an aircraft that is added to a fleet, or for a new one.
    pub(super) fn to(folder: Option<Folder>) -> Self {
        let desk = Desk {
            name: "my-handset".to_owned(),
            grip: Grip::Sticks,
            springs: false,
            scale: (1500.0, 500.0),
            switches: Vec::new(),
            controls: Vec::new(),
            bays: Vec::new(),
            filled: vec!["built-in".to_owned()],
        };
        Self {
            folder,
            region: String::new(),
            kind: CraftKind::Multirotor,
            name: String::new(),
            like: None,
            number: Some(1),
            flown_at: None,
            grip: Grip::Sticks,
            reverses: false,
            throttle_stick: None,
            stick_mode: 2,
            update_rates: String::new(),
            band: String::new(),
            domain: None,
            channels: 8,
            order: ['A', 'E', 'T', 'R'],
            arm_channel: 0,
            desk,
            bay: Bay { name: "built-in".to_owned(), link: Carrier::new("my-link", 8), update_rate: None },
            switch: None,
        }
    }

    /// Reads a file of answers: the keys of the questions, with texts or whole numbers.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub(super) fn from_toml(text: &str, folder: Option<Folder>) -> Result<Self, String> {
        let table: toml::Table = text.parse().map_err(|error: toml::de::Error| {
            let line = error.span().map_or(0, |span| text.get(..span.start).unwrap_or(text).matches('\n').count() + 1);
            format!("line {line}: {}", error.message())
        })?;
        let keys = || QUESTIONS.iter().map(|question| question.key);
        if let Some(key) = table.keys().find(|key| !keys().any(|known| known == *key)) {
            let near = nearest(key, keys()).map_or(String::new(), |near| format!("; the nearest is {near}"));
            return Err(format!(
                "there is no key \"{key}\"{near}; accepted: {}",
                keys().collect::<Vec<_>>().join(", ")
            ));
        }
        let mut answers = Self::to(folder);
        for question in QUESTIONS {
            let given = table.get(question.key);
            if !answers.is_asked(question.key) {
                if given.is_some() {
                    return Err(format!("{} is not asked {}", question.key, answers.why_not_asked()));
                }
                continue;
            }
            let answer = match given {
                Some(toml::Value::String(text)) => text.trim().to_owned(),
                Some(toml::Value::Integer(number)) => number.to_string(),
                Some(other) => {
                    return Err(format!(
                        "{} is a text in quotes or a whole number, not a value of the type {}",
                        question.key,
                        other.type_str()
                    ));
                }
                None => match answers.default_of(question) {
                    Some(default) => default,
                    None => return Err(format!("it does not answer {}", question.key)),
                },
            };
            answers.set(question.key, &answer).map_err(|why| format!("{}: {why}", question.key))?;
        }
        Ok(answers)
    }

    fn why_not_asked(&self) -> String {
        let of = self.kind.word();
        match (&self.folder, &self.like) {
            (Some(_), Some(base)) => format!("of a {of} that is like \"{}\"", base.name),
            (Some(_), None) => format!("of a {of} that is added to this folder"),
            (None, _) => format!("of a {of} that is the first in a folder"),
        }
    }

    /// Whether a question is asked, after those before it.
    pub(super) fn is_asked(&self, key: &str) -> bool {
        let (first, own) = (self.folder.is_none(), self.like.is_none());
        let sticks = self.desk.grip == Grip::Sticks;
        match key {
            "kind" | "name" => true,
            "like" => self.bases().next().is_some(),
            "handset" => own && self.handsets().count() > 1,
            "module" => own && !first && self.bays().count() > 1,
            "place" => own && self.places().len() > 1,
            "number" => self.numbers().are_used(),
            "grip" => first && self.kind.stays_down(),
            "throttle-stick" => first && self.kind.stays_down() && sticks,
            "stick-mode" => first && sticks,
            "reverse" => own && self.kind.stays_down(),
            "switch" => own && !first && self.shape().has_motor() && self.desk.stoppers().count() > 1,
            "order" => own && sticks && self.shape() != Shape::Tracks,
            "arm-channel" => own && self.shape().has_controller(),
            _ => first,
        }
    }

    /// What an empty answer to a question stands for.
    pub(super) fn default_of(&self, question: &Question) -> Option<String> {
        let default = match question.key {
            "kind" if self.folder.is_none() => "multirotor",
            "name" if self.folder.is_none() => "plover",
            "like" => return self.bases().next().map(|base| base.name.clone()),
            "handset" => return self.handsets().next().map(|desk| desk.name.clone()),
            "module" => return self.bays().next().map(|bay| bay.name.clone()),
            "place" => {
                let folder = self.folder.as_ref()?;
                let of_its_kind = || self.bases().find_map(|base| base.flown_at.clone());
                let default = folder.default_place.clone().or_else(of_its_kind);
                return default.or_else(|| folder.places.first().cloned());
            }
            "number" => return self.numbers().free().map(|number| number.to_string()),
            "grip" if matches!(self.kind, CraftKind::Car | CraftKind::Tracked) => "pistol",
            "grip" => "sticks",
            "throttle-stick" => "stays",
            "stick-mode" => "2",
            "reverse" if matches!(self.kind, CraftKind::Car | CraftKind::Tracked) => "yes",
            "reverse" => "no",
            "switches" if self.grip == Grip::Pistol => "side 2, top 3",
            "switches" => "left-front 2, left-rear 3",
            "switch" => return self.desk.stopper().map(|switch| switch.name.clone()),
            "channels" => "8",
            "update-rate" => "45 Hz",
            "band" => "2405..2475 MHz",
            "domain" => "unknown",
            "order" => "A E T R",
            _ => return None,
        };
        Some(default.to_owned())
    }

    /// A question that the pilot is asked, in words, with what there is to choose from.
    pub(super) fn words(&self, question: &Question) -> Option<String> {
        let ask = question.ask?;
        let names: Vec<&str> = match question.key {
            "like" => self.bases().map(|base| base.name.as_str()).collect(),
            "handset" => self.handsets().map(|desk| desk.name.as_str()).collect(),
            "module" => self.bays().map(|bay| bay.name.as_str()).collect(),
            "place" => self.places().iter().map(String::as_str).collect(),
            "switch" => self.desk.stoppers().map(|switch| switch.name.as_str()).collect(),
            "number" if self.folder.is_none() => return Some(format!("{ask}\nnone: your radio has no such numbers.")),
            "switches" if self.shape().has_motor() => {
                return Some(format!("{ask} The first with two positions will start and stop the motor."));
            }
            _ => return Some(ask.to_owned()),
        };
        Some(format!("{ask} There: {}.", listed(&names)))
    }

    /// Takes an answer, after those before it.
    ///
    /// # Errors
    /// Why it can't be the answer, and what can, in words.
    pub(super) fn set(&mut self, key: &str, answer: &str) -> Result<(), String> {
        if answer.chars().any(char::is_control) {
            return Err("an answer has no control characters".to_owned());
        }
        match key {
            "region" => self.region = region(answer)?,
            "kind" => self.set_kind(answer)?,
            "name" => self.name = self.new_name(answer)?,
            "like" => self.set_like(answer)?,
            "handset" => {
                let names: Vec<&str> = self.handsets().map(|desk| desk.name.as_str()).collect();
                let name = one_of(&names, answer)?.to_owned();
                self.take_handset(&name);
            }
            "module" => {
                let names: Vec<&str> = self.bays().map(|bay| bay.name.as_str()).collect();
                let name = one_of(&names, answer)?;
                let bay = self.bays().find(|bay| bay.name == name).cloned();
                self.take_bay(bay);
            }
            "place" => {
                let names: Vec<&str> = self.places().iter().map(String::as_str).collect();
                let place = one_of(&names, answer)?.to_owned();
                let default = self.folder.as_ref().and_then(|folder| folder.default_place.as_ref());
                self.flown_at = Some(place).filter(|place| Some(place) != default);
            }
            "number" => self.number = self.a_number(answer)?,
            "grip" => {
                self.grip = word(answer, Grip::ALL, Grip::word)?;
                self.desk.grip = self.grip;
                self.desk.springs = self.grip == Grip::Pistol;
                self.desk.scale = if self.grip == Grip::Pistol { (1512.0, 430.0) } else { self.desk.scale };
            }
            "throttle-stick" => {
                let stick = word(answer, ThrottleStick::ALL, ThrottleStick::word)?;
                self.desk.springs = stick == ThrottleStick::Sprung;
                self.throttle_stick = Some(stick);
            }
            "stick-mode" => self.stick_mode = number(answer, 1, 4)?,
            "reverse" => self.reverses = word(answer, &[true, false], |yes| if yes { "yes" } else { "no" })?,
            "switches" => self.set_switches(answer)?,
            "switch" => {
                let names: Vec<&str> = self.desk.stoppers().map(|switch| switch.name.as_str()).collect();
                self.switch = Some(one_of(&names, answer)?.to_owned());
            }
            "channels" => {
                self.channels = number(answer, LEAST_CHANNELS, 64)?;
                self.bay.link = Carrier::new(&self.bay.link.name, self.channels);
            }
            "update-rate" => {
                self.update_rates = in_link("update-rate", answer)?;
                self.bay.update_rate = Some(first_rate(answer));
            }
            "band" => self.band = in_link("band", answer)?,
            "domain" => self.domain = domain(answer)?,
            "order" => self.order = order(answer)?,
            "arm-channel" => self.arm_channel = self.an_arm_channel(answer)?,
            _ => return Err("there is no such question".to_owned()),
        }
        Ok(())
    }

    fn set_kind(&mut self, answer: &str) -> Result<(), String> {
        let kinds: Vec<&'static str> = CraftKind::ALL.iter().map(|kind| kind.word()).collect();
        let written = answer.to_lowercase().replace(' ', "-");
        let Some(kind) = lists::listed(&kinds, written.as_bytes()).and_then(CraftKind::find) else {
            let accepted = format!("answer one of {}", kinds.join(", "));
            if answer.is_empty() {
                return Err(accepted);
            }
            let near = lists::near(&kinds, &written).map_or(String::new(), |near| format!("; the nearest is {near}"));
            return Err(format!("there is no kind \"{answer}\"{near}; {accepted}"));
        };
        let before = std::mem::replace(&mut self.kind, kind);
        if self.folder.is_none() {
            return Ok(());
        }
        let Some(handset) = self.handsets().next().map(|desk| desk.name.clone()) else {
            self.kind = before;
            return Err(Shape::of(kind).wants());
        };
        self.take_handset(&handset);
        Ok(())
    }

    fn set_like(&mut self, answer: &str) -> Result<(), String> {
        self.like = None;
        if answer.eq_ignore_ascii_case("no") && !self.bases().any(|base| base.name == answer) {
            self.number = self.numbers().free();
            return Ok(());
        }
        let names: Vec<&str> = self.bases().map(|base| base.name.as_str()).collect();
        let name = one_of(&names, answer).map_err(|why| format!("{why}, or no"))?;
        let base = self.bases().find(|base| base.name == name).cloned();
        self.like = base;
        self.number = self.numbers().free();
        Ok(())
    }

    fn set_switches(&mut self, answer: &str) -> Result<(), String> {
        let list = switches(answer)?;
        if self.shape().has_motor() && !list.iter().any(|switch| switch.positions == 2) {
            return Err(format!(
                "a {} needs a switch with two positions, to start and stop its motor, and there is none; write its name and 2",
                self.kind.word()
            ));
        }
        self.desk.controls = list.iter().map(|switch| switch.name.clone()).collect();
        self.desk.switches = list;
        Ok(())
    }

    /// Takes a handset of the folder, with the place and the number that come of it.
    fn take_handset(&mut self, name: &str) {
        let Some(desk) = self.handsets().find(|desk| desk.name == name).cloned() else { return };
        self.grip = desk.grip;
        self.desk = desk;
        let bay = self.bays().next().cloned();
        self.take_bay(bay);
        let folder = self.folder.as_ref();
        let only = folder.filter(|folder| folder.default_place.is_none()).and_then(|folder| folder.places.first());
        self.flown_at = only.cloned();
    }

    fn take_bay(&mut self, bay: Option<Bay>) {
        if let Some(bay) = bay {
            self.bay = bay;
        }
        self.number = self.numbers().free();
    }

    fn a_number(&self, answer: &str) -> Result<Option<u16>, String> {
        let first = self.folder.is_none();
        if first && answer.eq_ignore_ascii_case("none") {
            return Ok(None);
        }
        let numbers = self.numbers();
        let free = numbers.free().map_or(String::new(), |free| format!(", such as {free}, which is free"));
        let or = if first { ", or none" } else { "" };
        let number = answer.parse().map_err(|_| format!("answer a whole number{free}{or}"))?;
        numbers.take(number).map(Some)
    }

    fn an_arm_channel(&self, answer: &str) -> Result<u8, String> {
        let link = &self.bay.link;
        let carried = |channel: &u8| *channel > 4 && link.carries(*channel, 2);
        let channels: Vec<String> = (5..=64).filter(carried).map(|channel| channel.to_string()).collect();
        let channel = answer.parse().ok().filter(carried);
        channel
            .ok_or_else(|| format!("answer a channel that the link carries beside the sticks: {}", channels.join(", ")))
    }

    fn new_name(&self, answer: &str) -> Result<String, String> {
        let name = name(answer)?;
        match self.folder.as_ref().and_then(|folder| folder.alike(&name)) {
            Some(known) => Err(format!("there is an aircraft or a model \"{known}\" already; answer another name")),
            None => Ok(name),
        }
    }

    /// What the kind is written as.
    pub(super) const fn shape(&self) -> Shape {
        Shape::of(self.kind)
    }

    /// The aircraft of the fleet that this one may be like: those of its kind.
    fn bases(&self) -> impl Iterator<Item = &Base> {
        self.folder.iter().flat_map(|folder| &folder.bases).filter(|base| base.kind == self.kind)
    }

    /// The handsets of the fleet that such an aircraft can be flown with; on the ground and the water first those with a wheel.
    fn handsets(&self) -> impl Iterator<Item = &Desk> {
        let shape = self.shape();
        let all = || self.folder.iter().flat_map(|folder| &folder.handsets).filter(move |desk| shape.suits(desk));
        let stays_down = self.kind.stays_down();
        let first = move |desk: &&Desk| stays_down && desk.grip == Grip::Pistol;
        all().filter(first).chain(all().filter(move |desk| !first(desk)))
    }

    /// The bays of the handset that such an aircraft can be flown with.
    fn bays(&self) -> impl Iterator<Item = &Bay> {
        let (shape, grip) = (self.shape(), self.desk.grip);
        self.desk.bays.iter().filter(move |bay| shape.suits_link(grip, &bay.link))
    }

    fn places(&self) -> &[String] {
        self.folder.as_ref().map_or(&[], |folder| &folder.places)
    }

    /// The receiver numbers to choose from.
    fn numbers(&self) -> &Numbers {
        self.like.as_ref().map_or(&self.bay.link.numbers, |base| &base.numbers)
    }

    /// The switch that starts and stops the motor.
    pub(super) fn motor_switch(&self) -> Option<&Switch> {
        match &self.switch {
            Some(name) => self.desk.switches.iter().find(|switch| switch.name == *name),
            None => self.desk.stopper(),
        }
    }

    /// The channel that carries a function.
    pub(super) fn channel(&self, function: char) -> u8 {
        (1..).zip(self.order).find(|(_, letter)| *letter == function).map_or(1, |(channel, _)| channel)
    }
}

/// Names in a line, the first of them where there are many.
fn listed(names: &[&str]) -> String {
    let shown = names.iter().take(MOST_NAMES).copied().collect::<Vec<_>>().join(", ");
    match names.len().saturating_sub(MOST_NAMES) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}

fn one_of<'n>(names: &[&'n str], answer: &str) -> Result<&'n str, String> {
    let found = names.iter().find(|name| **name == answer);
    let found = found.or_else(|| names.iter().find(|name| name.eq_ignore_ascii_case(answer)));
    found.copied().ok_or_else(|| {
        let near = nearest(answer, names.iter().copied());
        let near = near.map_or(String::new(), |near| format!("; the nearest is {near}"));
        format!("there is no \"{answer}\"{near}; answer one of {}", listed(names))
    })
}

/// One of a few words.
fn word<T: Copy>(answer: &str, all: &[T], word: fn(T) -> &'static str) -> Result<T, String> {
    let found = all.iter().copied().find(|one| word(*one).eq_ignore_ascii_case(answer));
    found.ok_or_else(|| format!("answer {}", all.iter().map(|one| word(*one)).collect::<Vec<_>>().join(" or ")))
}

fn number(answer: &str, low: u8, high: u8) -> Result<u8, String> {
    let number = answer.parse().ok().filter(|number| (low..=high).contains(number));
    number.ok_or_else(|| format!("answer a whole number from {low} to {high}"))
}

fn region(answer: &str) -> Result<String, String> {
    if answer.is_empty() {
        return Err("answer the country's name in English, or its two letters, such as New Zealand or NZ".to_owned());
    }
    if answer.eq_ignore_ascii_case(RegionCode::EU.as_str()) || answer.eq_ignore_ascii_case("europe") {
        return Err("answer the country: each has rules of its own beside the shared ones".to_owned());
    }
    country::code(answer)
}

fn domain(answer: &str) -> Result<Option<String>, String> {
    let small = answer.to_lowercase();
    let code = answer.to_uppercase();
    match small.as_str() {
        "unknown" => Ok(None),
        "any" => Ok(Some(small)),
        _ if Domain::parse(&code).is_some() => Ok(Some(code)),
        _ => country::code(answer).map(Some).map_err(|why| format!("{why}; or answer EU, any, or unknown")),
    }
}

fn switches(answer: &str) -> Result<Vec<Switch>, String> {
    let mut list: Vec<Switch> = Vec::new();
    for one in answer.split(',') {
        let wrong = || {
            format!("`{}` is no switch: write its name and how many positions it has, such as left-front 2", one.trim())
        };
        let (label, positions) = one.trim().rsplit_once(char::is_whitespace).ok_or_else(wrong)?;
        let positions = positions.parse().ok().filter(|number| (2..=16).contains(number)).ok_or_else(wrong)?;
        let label = name(label.trim())?;
        if list.iter().any(|known| known.name == label) {
            return Err(format!("\"{label}\" stands twice: write each switch once"));
        }
        // Names that mean something in conditions can't be a control's.
        let text = format!("rig 1\nhandset x {{\n  switch {} {positions} positions\n}}\n", quoted(&label));
        reads(&text, 3)?;
        list.push(Switch::new(&label, positions));
    }
    Ok(list)
}

/// The first rate of a list with its unit: a number without one takes the last's.
fn first_rate(list: &str) -> String {
    let first = list.split(',').next().unwrap_or_default().trim();
    let unit = list.trim_end().trim_start_matches(|c: char| !c.is_alphabetic()).rsplit(',').next().unwrap_or_default();
    let unit = unit.trim_start_matches(|c: char| !c.is_alphabetic());
    if first.contains(char::is_alphabetic) { first.to_owned() } else { format!("{first} {unit}") }
}

/// An answer that stands behind a word of a link, as a rig file has it.
fn in_link(word: &str, answer: &str) -> Result<String, String> {
    reads(&format!("rig 1\nlink x {{\n  {word} {answer}\n}}\n"), 3)?;
    Ok(answer.to_owned())
}

/// Whether a text reads without a problem as so many statements, and holds nothing else.
fn reads(text: &str, statements: usize) -> Result<(), String> {
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    if let Some(problem) = read(FileId(0), text.as_bytes(), &tables).problems.first() {
        return Err(problem.message.clone());
    }
    if tables.statements.len() != statements || !tables.comments.is_empty() {
        return Err("there is something behind the answer".to_owned());
    }
    Ok(())
}

fn name(answer: &str) -> Result<String, String> {
    if answer.is_empty() || answer.chars().count() > MOST_CHARACTERS {
        return Err(format!("a name has 1 to {MOST_CHARACTERS} characters"));
    }
    if answer.chars().any(crate::report::plain::is_unwelcome) {
        return Err("a name has no characters that can't be seen".to_owned());
    }
    Ok(answer.to_owned())
}

fn order(answer: &str) -> Result<[char; 4], String> {
    let letters: Vec<char> = answer.to_ascii_uppercase().chars().filter(|c| !c.is_whitespace()).collect();
    let once = "AETR".chars().all(|letter| letters.contains(&letter));
    <[char; 4]>::try_from(letters)
        .ok()
        .filter(|_| once)
        .ok_or_else(|| "answer the letters A, E, T and R, each once".to_owned())
}
