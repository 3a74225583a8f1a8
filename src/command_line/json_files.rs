//! Files in the JSON form on their way to the rules and back: they are judged as the rig text that they are turned into.

use crate::findings::Finding;
use crate::fleet::json;
use crate::rules::engine::{self, ReadFile};
use crate::source::{FileId, Place};
use crate::syntax::Tables;
use rustc_hash::FxHashMap;

/// What reads a file: its name says whether it is JSON.
pub(super) fn reader(is_json: bool) -> fn(FileId, &[u8], &mut Tables) -> ReadFile {
    if is_json { engine::read_json } else { engine::read }
}

/// The rig text that a JSON text is turned into.
pub(super) fn rig_text(file: FileId, text: &[u8]) -> Vec<u8> {
    json::to_rig(file, text).text.into_bytes()
}

/// Leads the places of findings in JSON files back from the rig text to the JSON text. `json_of` gives the text of a file
/// that is JSON, and none of any other.
pub(super) fn lead_back(findings: &mut [Finding], json_of: &dyn Fn(FileId) -> Option<Vec<u8>>) {
    let mut maps: FxHashMap<FileId, Option<json::Map>> = FxHashMap::default();
    for place in findings.iter().flat_map(Finding::places) {
        let map = || json_of(place.file).map(|text| json::to_rig(place.file, &text).map);
        maps.entry(place.file).or_insert_with(map);
    }
    let back = |place: Place| Some(Place::new(place.file, maps.get(&place.file)?.as_ref()?.place(place.span)));
    findings.iter_mut().for_each(|finding| finding.lead_back(&back));
}
