//! Rules about surfaces: which stick moves them, which way, and whether both sides agree.

rules_of!(surfaces);

use crate::findings::Witness;
use crate::findings::fact::{Fact, text};
use crate::fleet::craft::Surface;
use crate::fleet::words::{Stick, Way};
use crate::setup::Signals;
use crate::setup::surfaces::answers::{Answers, State};

/// Where the controls stand, as the beginning of a sentence, with the fact that it holds.
fn with(answers: &Answers, signals: &Signals, state: &State) -> (&'static str, Vec<Fact>) {
    match answers.named(signals, state) {
        held if held.is_empty() => ("", Vec::new()),
        held => ("With {held}, ", vec![text("held", held)]),
    }
}

/// The same where a sentence has to say it also of controls that rest.
fn standing(answers: &Answers, signals: &Signals, state: &State) -> (&'static str, Vec<Fact>) {
    match with(answers, signals, state) {
        ("", facts) => ("With every control at rest, ", facts),
        held => held,
    }
}

/// A sentence whose beginning may be left out, with a capital at its start.
fn sentence(with: &str, rest: &str) -> String {
    if !with.is_empty() {
        return [with, rest].concat();
    }
    let mut letters = rest.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The state with the stick right or away, as a finding shows it.
fn shown(answers: &Answers, signals: &Signals, state: &State, stick: Option<Stick>) -> Witness {
    signals.witness(&answers.path(signals, state, stick.map(|stick| (stick, 100))))
}

/// Which way a surface goes when its pulse rises, or when it falls.
fn way_of(surface: &Surface, rises: bool) -> &'static str {
    match (surface.high_is.map(|way| way.value), rises) {
        (Some(Way::Up), true) | (Some(Way::Down), false) => "up",
        (Some(Way::Down), true) | (Some(Way::Up), false) => "down",
        (Some(Way::Left), true) | (Some(Way::Right), false) => "to the left",
        (Some(Way::Right), true) | (Some(Way::Left), false) => "to the right",
        (Some(Way::Open), true) => "open",
        (Some(Way::On), true) => "on",
        _ => "the other way",
    }
}
