//! What a settings file says about an inspection.

use super::Settings;
use crate::findings::Finding;
use crate::inspect::Options;
use crate::rules::book::{self, ParameterDoc};
use crate::rules::parameters::{self, Parameters};
use crate::source::FileId;

/// Reads the settings' text; its faults get the number of the file later.
pub fn read(text: Option<&[u8]>) -> (Settings, Vec<Finding>) {
    let check = |parameter: &'static ParameterDoc, value: &str| {
        let rule = book::BOOK.iter().find(|doc| doc.parameters.iter().any(|known| std::ptr::eq(known, parameter)));
        rule.map_or(Ok(()), |rule| parameters::check(rule.id, parameter.name, value))
    };
    match text {
        Some(text) => super::read(text, FileId(0), &check),
        None => (Settings::default(), Vec::new()),
    }
}

/// The parameters that the settings change.
pub fn parameters(settings: &Settings) -> Parameters {
    let mut parameters = Parameters::default();
    for parameter in &settings.parameters {
        parameters.set(parameter.rule, parameter.name, &parameter.value.value);
    }
    parameters
}

/// What the settings say about an inspection that asks every rule.
pub fn options(settings: &Settings) -> Options {
    Options {
        default_place: settings.place.as_ref().map(|place| place.value.clone()),
        parameters: parameters(settings),
        tested: settings.tested.clone(),
        ..Options::default()
    }
}
