//! The mends of a finding that edits can do, as fixes.

use super::address::ArtifactLocation;
use super::shape::{Message, Region};
use crate::findings::{self, Choice, Edit, Finding};
use crate::report::Report;
use crate::report::places::{Places, choices_of, files_of};
use crate::source::FileId;

/// One way to mend a finding (section 3.55).
#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Fix<'r> {
    #[serde(skip_serializing_if = "Option::is_none")]
    description: Option<Message>,
    artifact_changes: Vec<ArtifactChange<'r>>,
    properties: Properties,
}

#[derive(serde::Serialize)]
struct Properties {
    /// `sure`: keeps the pilot's intent; `choice`: picks for the pilot.
    mend: &'static str,
}

#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
struct ArtifactChange<'r> {
    artifact_location: ArtifactLocation,
    replacements: Vec<Replacement<'r>>,
}

#[derive(serde::Serialize)]
#[serde(rename_all = "camelCase")]
struct Replacement<'r> {
    deleted_region: Region,
    #[serde(skip_serializing_if = "Option::is_none")]
    inserted_content: Option<Content<'r>>,
}

#[derive(serde::Serialize)]
struct Content<'r> {
    text: &'r str,
}

/// The fixes of a finding. One whose text can't be read again is left out: nobody could say what it replaces.
pub(super) fn of<'r>(finding: &'r Finding, report: &Report<'r>, places: &Places) -> Vec<Fix<'r>> {
    let mend = match &finding.mend {
        findings::Mend::Words(_) => return Vec::new(),
        findings::Mend::Sure(_) => "sure",
        findings::Mend::Choices(..) => "choice",
    };
    let fix = |choice: &'r Choice| {
        let changes: Option<Vec<_>> =
            files_of(choice).into_iter().map(|file| change(choice, file, report, places)).collect();
        let artifact_changes = changes.filter(|changes| !changes.is_empty())?;
        Some(Fix { description: Message::of(&choice.label), artifact_changes, properties: Properties { mend } })
    };
    choices_of(&finding.mend).iter().filter_map(fix).collect()
}

fn change<'r>(choice: &'r Choice, file: FileId, report: &Report<'r>, places: &Places) -> Option<ArtifactChange<'r>> {
    let mut edits: Vec<&Edit> = choice.edits.iter().filter(|edit| edit.place.file == file).collect();
    edits.sort_by_key(|edit| edit.place);
    let replacements = edits.into_iter().map(|edit| {
        let inserted_content = Some(Content { text: edit.text.as_str() }).filter(|content| !content.text.is_empty());
        Some(Replacement { deleted_region: Region::of(edit.place, places)?, inserted_content })
    });
    let artifact_location = ArtifactLocation::of(report.path(file));
    Some(ArtifactChange { artifact_location, replacements: replacements.collect::<Option<_>>()? })
}
