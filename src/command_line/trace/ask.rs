//! `walkaround trace --ask`: a question about every reachable state.

use super::Arguments;
use crate::asking;
use crate::command_line::Status;
use crate::command_line::output::{self, Form, wrong_usage};
use crate::findings::caution::{Caution, before_the_bench};
use crate::report::json::{asked_value, to_writer};
use crate::report::plain::plain;
use crate::report::witness::in_words;
use crate::setup::Setup;
use crate::setup::Signals;
use crate::signal::Answer;
use serde_json::json;
use std::time::Instant;

pub(super) fn ask(arguments: &Arguments, pair: &Setup<'_>, signals: &Signals, condition: &str) -> Status {
    let begun = Instant::now();
    let asked = match asking::ask(pair, signals, condition) {
        Ok(asked) => asked,
        Err(message) => return wrong_usage(&format!("--ask: {message}")),
    };
    let took = begun.elapsed().as_micros() as u64;
    let status = if matches!(asked.answer, Answer::NotDecided(_)) { Status::Found } else { Status::Clean };
    output::write(status, |out| match arguments.form {
        Form::Json => {
            let mut value = asked_value(&asked, signals);
            value["took_us"] = json!(took);
            to_writer(&value, out)
        }
        Form::Text => {
            match &asked.answer {
                Answer::Yes(witness) => {
                    let witness = signals.witness(&witness.path);
                    writeln!(out, "yes: {}", plain(&in_words(&witness, &asked.channels)))?;
                }
                Answer::NotDecided(why) => writeln!(out, "undecided: {}", plain(&why.to_string()))?,
                Answer::No(_) => {
                    writeln!(out, "no: proved for all positions of all controls, in whatever order they are moved")?;
                }
            }
            writeln!(out, "{}", before_the_bench([Caution::of(pair.craft)]))
        }
    })
}
