//! One state, and the answer to a question, as values.

use super::witness_value;
use crate::asking::Asked;
use crate::setup::trace::Reading;
use crate::setup::{Setup, Signals, Witness};
use crate::signal::Answer;
use serde_json::{Map, Value, json};

/// To a tenth, as all numbers of a trace are written.
pub fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// What every control, channel, function and mode is at the end of a path.
pub fn state_value(setup: &Setup<'_>, read: &Reading, witness: &Witness) -> Value {
    let Reading { channels, mixes, functions, modes } = read;
    let whole = witness_value(witness);
    let channels: Vec<Value> = channels
        .iter()
        .map(|(channel, label, percent, sent, received)| {
            json!({"channel": channel, "label": label, "percent": round(*percent), "pulse_us": round(*sent), "carried_us": received.map(round)})
        })
        .collect();
    let mixes: Vec<Value> =
        mixes.iter().map(|(name, value)| json!({"mix": name, "percent": value.map(round)})).collect();
    let functions: Map<String, Value> =
        functions.iter().map(|(name, pulse)| (name.clone(), json!(pulse.map(round)))).collect();
    let modes: Map<String, Value> = modes.iter().map(|(name, on)| (name.clone(), json!(on))).collect();
    json!({
        "model": setup.model.head.name.value.as_str(),
        "craft": setup.craft.head.name.value.as_str(),
        "controls": whole["controls"],
        "trims": whole["trims"],
        "latches": whole["latches"],
        "channels": channels,
        "mixes": mixes,
        "functions": functions,
        "modes": modes,
    })
}

/// The answer to a question: with the state that shows a yes, what was looked at for a no, or why it is not decided.
pub fn asked_value(asked: &Asked, signals: &Signals) -> Value {
    let (word, witness, states, why) = match &asked.answer {
        Answer::Yes(witness) => ("yes", Some(signals.witness(&witness.path)), None, None),
        Answer::No(proof) => ("no", None, Some(proof.regions), None),
        Answer::NotDecided(why) => ("undecided", None, None, Some(why.to_string())),
    };
    json!({"answer": word, "witness": witness.as_ref().map(witness_value), "states": states, "why": why})
}
