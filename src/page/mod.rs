//! What a web page asks the core: texts in, values out.
//!
//! A request is one line of JSON; the text of a file follows it as it is. An answer is JSON: `{"value": …}`, or `{"wrong": …}` with
//! what is wrong in words. The page draws what it is answered and works nothing out.
//!
//! | file | answers |
//! |---|---|
//! | `mod` | requests; what is found |
//! | `texts` | which texts describe the fleet, and how they are inspected |
//! | `describe` | what a handset and an aircraft have, to be drawn |
//! | `play` | what is so after some movements |

mod describe;
mod play;
mod texts;

use self::texts::Texts;
use crate::asking;
use crate::findings::caution::Caution;
use crate::findings::{Finding, Witness};
use crate::fleet::no_such;
use crate::inspect::Outcome;
use crate::report::json::{asked_value, to_writer, value};
use crate::report::paint::Paint;
use crate::report::plain::plain;
use crate::report::record::out_of_date;
use crate::report::totals::totals;
use crate::report::witness::way;
use crate::report::{Report, rule_page, sheet};
use crate::rules::book;
use crate::setup::{ModelSetup, Setup, Signals};
use crate::signal::Answer;
use serde::Deserialize;
use serde_json::{Value, json};

/// How wide the page of a rule is written, in characters: a narrow phone shows it, a wide page wraps it no further.
const WIDTH: usize = 10_000;

/// So many findings are told at most, the worst first: a page with more rows is no longer usable, and nobody reads them.
const MOST_FINDINGS: usize = 1_000;

/// The rules whose examples are inspected in one go: what the page asks meanwhile waits for that long.
const PRACTISED_AT_ONCE: usize = 8;

/// What a page asks.
#[derive(Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
enum Request {
    /// Gives a file the text that follows the line.
    Set { name: String },
    /// Takes all files out.
    Clear {},
    /// What is found; `today` as YYYY-MM-DD.
    Inspect { today: Option<String> },
    /// What the handset of a model and an aircraft have.
    Describe { model: String, craft: String },
    /// What is so after movements, as `trace --set` and `--then` take them.
    Play { model: String, craft: String, set: Vec<String>, then: Vec<String> },
    /// Whether a state can occur in which a condition holds.
    Ask { model: String, craft: String, condition: String },
    /// The movements of the example positions of a finding, by its number.
    Example { finding: usize },
    /// The name of the record of known findings that the settings name, where its text was not given yet.
    Record {},
    /// The page of a rule.
    Why { rule: String },
    /// Inspects the bad examples of some rules of the book, from this number on, beside what is open: a browser gets to know the core by
    /// it. How many findings they have, and the number of the next ones; none behind the last.
    Practise { from: usize },
}

/// The texts that a page has open.
#[derive(Debug, Default)]
pub struct Page {
    texts: Texts,
}

impl Page {
    /// Without texts.
    pub fn new() -> Self {
        Self::default()
    }

    /// Answers a request.
    pub fn answer(&mut self, request: &[u8]) -> Vec<u8> {
        let (line, text) = match request.iter().position(|byte| *byte == b'\n') {
            Some(end) => (request.get(..end).unwrap_or_default(), request.get(end + 1..).unwrap_or_default()),
            None => (request, &[][..]),
        };
        let answered = match serde_json::from_slice(line) {
            Ok(request) => self.answered(request, text),
            Err(error) => Err(format!("the page asks what is not understood: {error}")),
        };
        let value = match answered {
            Ok(value) => json!({ "value": value }),
            Err(message) => json!({ "wrong": plain(&message) }),
        };
        let mut out = Vec::new();
        // Writing to memory does not fail.
        let _ = to_writer(&value, &mut out);
        out
    }

    fn answered(&mut self, request: Request, text: &[u8]) -> Result<Value, String> {
        match request {
            Request::Set { name } => {
                self.texts.set(name, text);
                Ok(Value::Null)
            }
            Request::Clear {} => {
                self.texts = Texts::default();
                Ok(Value::Null)
            }
            Request::Inspect { today } => self.inspect(today.as_deref()),
            Request::Describe { model, craft } => self.with(&model, &craft, describe::value),
            Request::Play { model, craft, set, then } => {
                self.with(&model, &craft, |setup, signals| play::value(setup, signals, &set, &then))
            }
            Request::Ask { model, craft, condition } => self.with(&model, &craft, |setup, signals| {
                let asked = asking::ask(setup, signals, &condition)?;
                let mut value = asked_value(&asked, signals);
                if let Answer::Yes(found) = &asked.answer {
                    let witness = signals.witness(&found.path);
                    value["words"] = json!(plain(&way(&witness)));
                    value["moves"] = play::moves(&witness);
                }
                Ok(value)
            }),
            Request::Record {} => Ok(json!(self.texts.missing_record())),
            Request::Example { finding } => self.example(finding),
            Request::Practise { from } => Self::practise(from),
            Request::Why { rule } => {
                let doc = book::find(&rule).ok_or_else(|| no_such("rule", &rule, std::iter::empty()))?;
                Ok(json!(rule_page::page(doc, false, WIDTH, Paint(false))))
            }
        }
    }

    fn practise(from: usize) -> Result<Value, String> {
        let end = from.saturating_add(PRACTISED_AT_ONCE).min(book::BOOK.len());
        let mut findings = 0;
        for bad in book::BOOK.get(from..end).into_iter().flatten().flat_map(|doc| doc.bad) {
            let mut page = Self::new();
            for shared in bad.with.iter().filter_map(|name| book::preamble(name)) {
                page.texts.set(format!("{}.rig", shared.name), shared.text.as_bytes());
            }
            page.texts.set("example.rig".to_owned(), bad.text.as_bytes());
            let inspected = page.inspect(None)?;
            findings += inspected["report"]["findings"].as_array().map_or(0, Vec::len);
        }
        Ok(json!({ "findings": findings, "next": (end < book::BOOK.len()).then_some(end) }))
    }

    /// Everything that is found, with what flies what.
    fn inspect(&mut self, today: Option<&str>) -> Result<Value, String> {
        let outcome = self.texts.outcome(today)?;
        let workspace = &self.texts.workspace;
        let text_of = &|file| workspace.text(file);
        let stale = self.texts.stale(&outcome);
        let report = Report { stale: &stale, ..Report::of(&outcome, workspace.names(), workspace.count(), text_of) };
        let fleet = workspace.fleet();
        let pairs: Vec<Value> = fleet
            .models
            .iter()
            .flat_map(|model| model.flies.iter().map(move |craft| (model, &craft.value)))
            .filter(|(_, craft)| fleet.craft(craft).is_some())
            .map(|(model, craft)| json!({"model": model.head.name.value.as_str(), "craft": craft.as_str()}))
            .collect();
        let verdicts: Vec<Value> = outcome
            .aircraft
            .iter()
            .map(|aircraft| {
                let words = sheet::verdict(aircraft, outcome.coverage.of(&aircraft.name));
                let caution = fleet.craft(&aircraft.name).map(|craft| Caution::of(craft).words());
                json!({"craft": aircraft.name.as_str(), "words": words, "caution": caution})
            })
            .collect();
        let words: Vec<String> = Some(totals(&report)).into_iter().chain(out_of_date(&stale)).collect();
        let told = report.findings.get(..MOST_FINDINGS).unwrap_or(report.findings);
        Ok(json!({
            "report": value(&Report { findings: told, ..report }),
            "left": report.findings.len() - told.len(),
            "totals": words.join(" "),
            "files": workspace.names().get(..workspace.count()),
            "pairs": pairs,
            "verdicts": verdicts,
            "settings": self.texts.settings_file(),
        }))
    }

    /// The movements that lead to the example positions of a finding, and the model and aircraft with which they do.
    fn example(&mut self, number: usize) -> Result<Value, String> {
        let outcome = self.texts.last().ok_or("nothing was inspected yet")?;
        let finding = outcome.findings.get(number).ok_or("there is no such finding any more")?;
        let witness = finding.witness.as_deref().ok_or("this finding has no example positions")?;
        let moves = play::moves(witness);
        let (model, craft) =
            self.shown_by(&outcome, finding, witness).ok_or("its example positions can't be played")?;
        Ok(json!({"model": model, "craft": craft, "moves": moves}))
    }

    /// The model and the aircraft in which movements end in the very state that a finding shows.
    fn shown_by(&self, outcome: &Outcome, finding: &Finding, witness: &Witness) -> Option<(String, String)> {
        let context = self.texts.workspace.context();
        let is_meant = |craft: &str| {
            finding.aircraft.iter().any(|name| name == craft)
                || !outcome.aircraft.iter().any(|known| known.name == craft)
        };
        let (set, then) = play::texts(witness);
        for model in &context.fleet.models {
            let view = ModelSetup::new(&context, model);
            for setup in view.setups.iter().filter(|setup| is_meant(&setup.craft.head.name.value)) {
                let Some(signals) = setup.signals() else { continue };
                let Ok(path) = asking::path(signals, &set, &then) else { continue };
                let shown = signals.witness(&path);
                if shown.channels == witness.channels && shown.controls == witness.controls {
                    return Some((model.head.name.value.to_string(), setup.craft.head.name.value.to_string()));
                }
            }
        }
        None
    }

    /// Asks about a model with one of its aircraft.
    fn with(
        &self,
        model: &str,
        craft: &str,
        ask: impl FnOnce(&Setup<'_>, &Signals) -> Result<Value, String>,
    ) -> Result<Value, String> {
        let context = self.texts.workspace.context();
        let models = context.fleet.models.iter().map(|model| model.head.name.value.as_str());
        let known = context.fleet.model(model).ok_or_else(|| no_such("model", model, models))?;
        let view = ModelSetup::new(&context, known);
        let setup = view.setups.iter().find(|setup| setup.craft.head.name.value == craft);
        let setup = setup.ok_or_else(|| format!("\"{model}\" does not fly \"{craft}\""))?;
        let signals = setup.signals().ok_or_else(|| {
            let why = setup.refused().map_or_else(String::new, |refused| format!(": {}", refused.reason));
            format!("the signal path can't be put together{why}")
        })?;
        ask(setup, signals)
    }
}

#[cfg(test)]
mod tests;
