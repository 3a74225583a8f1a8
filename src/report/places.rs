//! Lines and columns of every place in a report, with each file's text read once.

use super::Report;
use crate::findings::{Choice, Finding, Mend};
use crate::source::{FileId, Lines, Place, Position};
use rustc_hash::FxHashMap;

/// From where to where a place reaches for a reader.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Region {
    /// Its first character.
    pub start: Position,
    /// The character behind its last one.
    pub end: Position,
}

impl Region {
    /// Where a file starts: for places in texts that can't be read.
    const TOP: Self = {
        let top = Position { line: 1, column: 1, utf16: 0 };
        Self { start: top, end: top }
    };
}

/// What is done with a text.
type Look<'l> = &'l mut dyn FnMut(&[u8]);

/// The regions of all places in a report.
#[derive(Debug)]
pub struct Places {
    regions: FxHashMap<Place, Region>,
}

impl Places {
    /// Finds the regions of all places that the findings name, those of edits included, also of findings that are known or waived.
    pub fn of(report: &Report<'_>) -> Self {
        let shown = report.findings.iter().chain(report.known).flat_map(places_of);
        let places = shown.chain(report.waived.iter().map(|waived| waived.place)).collect();
        Self::find(places, &mut |file, look| {
            if let Some(text) = (report.text_of)(file) {
                look(&text);
            }
        })
    }

    /// The same for some findings; `show` shows the text of a file, where it can be read.
    pub fn among(findings: &[Finding], show: &mut dyn FnMut(FileId, Look<'_>)) -> Self {
        Self::find(findings.iter().flat_map(places_of).collect(), show)
    }

    fn find(mut places: Vec<Place>, show: &mut dyn FnMut(FileId, Look<'_>)) -> Self {
        places.sort_unstable();
        places.dedup();
        let mut regions = FxHashMap::default();
        for in_file in places.chunk_by(|left, right| left.file == right.file) {
            let Some(first) = in_file.first() else { continue };
            show(first.file, &mut |text| {
                let lines = Lines::new(text);
                let mut last = (0, lines.position(0));
                regions.extend(in_file.iter().map(|place| {
                    let start = lines.position_behind(last, place.span.start);
                    last = (place.span.start, start);
                    (*place, Region { start, end: lines.position_behind(last, place.span.end) })
                }));
            });
        }
        Self { regions }
    }

    /// The region of a place; the top of the file where its text could not be read.
    pub fn region(&self, place: Place) -> Region {
        self.read(place).unwrap_or(Region::TOP)
    }

    /// The region of a place, where its text could be read.
    pub fn read(&self, place: Place) -> Option<Region> {
        self.regions.get(&place).copied()
    }
}

/// The files in which edits of a mend lie, without repeats and in order.
pub fn files_of(choice: &Choice) -> Vec<FileId> {
    let mut files: Vec<FileId> = choice.edits.iter().map(|edit| edit.place.file).collect();
    files.sort_unstable();
    files.dedup();
    files
}

/// The ways in which a mend can be done by edits.
pub fn choices_of(mend: &Mend) -> &[Choice] {
    match mend {
        Mend::Words(_) => &[],
        Mend::Sure(choice) => std::slice::from_ref(choice),
        Mend::Choices(_, choices) => choices,
    }
}

fn places_of(finding: &Finding) -> impl Iterator<Item = Place> {
    let edits = choices_of(&finding.mend).iter().flat_map(|choice| choice.edits.iter().map(|edit| edit.place));
    std::iter::once(finding.place).chain(finding.others.iter().map(|(place, _)| *place)).chain(edits)
}
