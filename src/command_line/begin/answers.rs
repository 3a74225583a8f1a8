//! What is asked, and what an answer can be.

use crate::fleet::problem::nearest;
use crate::fleet::{read, table};
use crate::radio::regions::{Domain, RegionCode};
use crate::source::FileId;
use crate::syntax::{Tables, parse};

/// One question.
pub(super) struct Question {
    /// Its key in a file of answers.
    pub(super) key: &'static str,
    /// The question in words.
    pub(super) ask: &'static str,
    /// What an empty answer stands for.
    pub(super) default: Option<&'static str>,
}

/// All questions, in the order in which they are asked.
pub(super) const QUESTIONS: &[Question] = &[
    Question {
        key: "region",
        ask: "In which country do you fly? Two letters (ISO 3166-1): its radio rules are looked up.",
        default: None,
    },
    Question {
        key: "stick-mode",
        ask: "Which stick mode is the handset in? 1: throttle and roll on the right stick; 2: roll and pitch on the right; 3: roll and \
              pitch\non the left; 4: throttle and roll on the left.",
        default: Some("2"),
    },
    Question {
        key: "switches",
        ask: "Which switches do you use, and how many positions has each? The first with two positions will start and stop the motor.",
        default: Some("left-front 2, left-rear 3"),
    },
    Question { key: "channels", ask: "How many channels does the radio link carry?", default: Some("8") },
    Question {
        key: "update-rate",
        ask: "How often does it send the sticks? Its manual says so; you may give several rates, the one you use first.",
        default: Some("45 Hz"),
    },
    Question { key: "band", ask: "Which frequencies does it use?", default: Some("2405..2475 MHz") },
    Question {
        key: "domain",
        ask: "For which radio rules were module and receivers built? A country, EU, any (they can be set), or unknown.",
        default: Some("unknown"),
    },
    Question {
        key: "kind",
        ask: "What is your first aircraft? multirotor, aeroplane, flying-wing or glider.",
        default: Some("multirotor"),
    },
    Question { key: "name", ask: "What do you call it?", default: Some("plover") },
    Question {
        key: "order",
        ask: "What do channels 1 to 4 carry, in order? A: aileron (roll), E: elevator (pitch), T: throttle, R: rudder (yaw). The flight\n\
              controller or the wiring of the servos decides.",
        default: Some("A E T R"),
    },
];

/// A kind of aircraft that a first file can be written for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Craft {
    Multirotor,
    Aeroplane,
    FlyingWing,
    Glider,
}

/// The most characters of a name.
const MOST_CHARACTERS: usize = 60;
/// The channels that the largest first model needs.
const LEAST_CHANNELS: u8 = 6;

/// The answers, each checked.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Answers {
    pub(super) region: String,
    pub(super) stick_mode: u8,
    /// Names and positions.
    pub(super) switches: Vec<(String, u8)>,
    pub(super) channels: u8,
    /// All of them, as a rig file has them.
    pub(super) update_rates: String,
    /// The first of them, which is in use, with its unit.
    pub(super) update_rate: String,
    pub(super) band: String,
    /// None: not known.
    pub(super) domain: Option<String>,
    pub(super) craft: Craft,
    pub(super) name: String,
    /// The functions of channels 1 to 4.
    pub(super) order: [char; 4],
}

impl Default for Answers {
    fn default() -> Self {
        Self {
            region: String::new(),
            stick_mode: 2,
            switches: Vec::new(),
            channels: 8,
            update_rates: String::new(),
            update_rate: String::new(),
            band: String::new(),
            domain: None,
            craft: Craft::Multirotor,
            name: String::new(),
            order: ['A', 'E', 'T', 'R'],
        }
    }
}

impl Answers {
    /// Reads a file of answers: the keys of the questions, with texts or whole numbers.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub(super) fn from_toml(text: &str) -> Result<Self, String> {
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
        let mut answers = Self::default();
        for question in QUESTIONS {
            let answer = match table.get(question.key) {
                Some(toml::Value::String(text)) => text.trim().to_owned(),
                Some(toml::Value::Integer(number)) => number.to_string(),
                Some(other) => {
                    return Err(format!(
                        "{} is a text in quotes or a whole number, not a value of the type {}",
                        question.key,
                        other.type_str()
                    ));
                }
                None => match question.default {
                    Some(default) => default.to_owned(),
                    None => return Err(format!("it does not answer {}", question.key)),
                },
            };
            answers.set(question.key, &answer).map_err(|why| format!("{}: {why}", question.key))?;
        }
        Ok(answers)
    }

    /// Takes an answer. `switches` comes before `kind`, as it is asked.
    ///
    /// # Errors
    /// Why it can't be the answer, in words.
    pub(super) fn set(&mut self, key: &str, answer: &str) -> Result<(), String> {
        if answer.chars().any(char::is_control) {
            return Err("an answer has no control characters".to_owned());
        }
        match key {
            "region" => self.region = region(answer)?,
            "stick-mode" => self.stick_mode = number(answer, 1, 4)?,
            "switches" => self.switches = switches(answer)?,
            "channels" => self.channels = number(answer, LEAST_CHANNELS, 64)?,
            "update-rate" => {
                self.update_rates = in_link("update-rate", answer)?;
                self.update_rate = first_rate(answer);
            }
            "band" => self.band = in_link("band", answer)?,
            "domain" => self.domain = domain(answer)?,
            "kind" => self.craft = self.kind(answer)?,
            "name" => self.name = name(answer)?,
            "order" => self.order = order(answer)?,
            _ => return Err("there is no such question".to_owned()),
        }
        Ok(())
    }

    fn kind(&self, answer: &str) -> Result<Craft, String> {
        let craft = match answer {
            "multirotor" => Craft::Multirotor,
            "aeroplane" => Craft::Aeroplane,
            "flying-wing" => Craft::FlyingWing,
            "glider" => Craft::Glider,
            _ => {
                return Err(
                    "answer multirotor, aeroplane, flying-wing or glider; others can be added to the files later"
                        .to_owned(),
                );
            }
        };
        if craft != Craft::Glider && self.motor_switch().is_none() {
            return Err(
                "an aircraft with a motor needs a switch with two positions to stop it, and `switches` has none"
                    .to_owned(),
            );
        }
        Ok(craft)
    }

    /// The switch that starts and stops the motor: the first with two positions.
    pub(super) fn motor_switch(&self) -> Option<&str> {
        self.switches.iter().find(|(_, positions)| *positions == 2).map(|(name, _)| name.as_str())
    }

    /// The first switch with more positions, for what else there is to choose.
    pub(super) fn mode_switch(&self) -> Option<(&str, u8)> {
        self.switches.iter().find(|(_, positions)| *positions > 2).map(|(name, positions)| (name.as_str(), *positions))
    }

    /// The channel that carries a function.
    pub(super) fn channel(&self, function: char) -> usize {
        self.order.iter().position(|letter| *letter == function).map_or(0, |at| at + 1)
    }
}

fn number(answer: &str, low: u8, high: u8) -> Result<u8, String> {
    let number = answer.parse().ok().filter(|number| (low..=high).contains(number));
    number.ok_or_else(|| format!("answer a whole number from {low} to {high}"))
}

fn region(answer: &str) -> Result<String, String> {
    let code = answer.to_ascii_uppercase();
    match RegionCode::parse(&code) {
        Some(RegionCode::EU) => Err("answer the country: each has rules of its own beside the shared ones".to_owned()),
        Some(_) => Ok(code),
        None => Err("ISO 3166-1 has no such country; answer two letters such as NZ".to_owned()),
    }
}

fn domain(answer: &str) -> Result<Option<String>, String> {
    let code = answer.to_ascii_uppercase();
    match answer {
        "unknown" => Ok(None),
        "any" => Ok(Some(answer.to_owned())),
        _ if Domain::parse(&code).is_some() => Ok(Some(code)),
        _ => Err("answer a country's two letters, EU, any, or unknown".to_owned()),
    }
}

fn switches(answer: &str) -> Result<Vec<(String, u8)>, String> {
    let mut list: Vec<(String, u8)> = Vec::new();
    for one in answer.split(',') {
        let wrong = || {
            format!("`{}` is no switch: write its name and how many positions it has, such as left-front 2", one.trim())
        };
        let (label, positions) = one.trim().rsplit_once(char::is_whitespace).ok_or_else(wrong)?;
        let positions = positions.parse().ok().filter(|number| (2..=16).contains(number)).ok_or_else(wrong)?;
        let label = name(label.trim())?;
        if list.iter().any(|(known, _)| *known == label) {
            return Err(format!("\"{label}\" stands twice"));
        }
        // Names that mean something in conditions can't be a control's.
        let text =
            format!("rig 1\nhandset x {{\n  switch {} {positions} positions\n}}\n", super::files::quoted(&label));
        reads(&text, 3)?;
        list.push((label, positions));
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
