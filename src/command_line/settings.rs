//! The settings file on its way to the inspection.

use crate::findings::{Edit, Finding, Mend};
use crate::rules::book::{self, ParameterDoc};
use crate::rules::engine::Options;
use crate::rules::parameters::{self, Parameters};
use crate::settings::{self, Settings};
use crate::source::{FileId, Place};

/// Reads the settings' text; its faults have no file number yet.
pub(super) fn read(text: Option<&[u8]>) -> (Settings, Vec<Finding>) {
    let check = |parameter: &'static ParameterDoc, value: &str| {
        let rule = book::BOOK.iter().find(|doc| doc.parameters.iter().any(|known| std::ptr::eq(known, parameter)));
        rule.map_or(Ok(()), |rule| parameters::check(rule.id, parameter.name, value))
    };
    match text {
        Some(text) => settings::read(text, FileId(0), &check),
        None => (Settings::default(), Vec::new()),
    }
}

/// The parameters that the settings change.
pub(super) fn parameters(settings: &Settings) -> Parameters {
    let mut parameters = Parameters::default();
    for parameter in &settings.parameters {
        parameters.set(parameter.rule, parameter.name, &parameter.value.value);
    }
    parameters
}

/// What the settings say about an inspection that asks every rule.
pub(super) fn options(settings: &Settings) -> Options {
    Options {
        default_place: settings.place.as_ref().map(|place| place.value.clone()),
        parameters: parameters(settings),
        ..Options::default()
    }
}

/// A fault of the settings file with the number that the file has.
pub(super) fn in_file(mut fault: Finding, file: FileId) -> Finding {
    let to = |place: &mut Place| place.file = file;
    to(&mut fault.place);
    fault.others.iter_mut().for_each(|(place, _)| to(place));
    let edits = |edits: &mut Vec<Edit>| edits.iter_mut().for_each(|edit| to(&mut edit.place));
    match &mut fault.mend {
        Mend::Words(_) => {}
        Mend::Sure(choice) => edits(&mut choice.edits),
        Mend::Choices(_, choices) => choices.iter_mut().for_each(|choice| edits(&mut choice.edits)),
    }
    fault
}
