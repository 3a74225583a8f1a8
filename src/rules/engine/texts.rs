//! What is kept of a text: its part of the fleet, its waivers, and what looks like a secret.

use crate::findings::waiver::{Placed, Waiver};
use crate::fleet::model::Model;
use crate::fleet::{self, FileFleet};
use crate::rules::house;
pub use crate::setup::Texts;
use crate::source::{FileId, Place, Span};
use crate::syntax::{Kind, Tables, parse};

/// What reading models again uses from file to file.
#[derive(Debug, Default)]
pub struct Desk {
    pub(super) tables: Tables,
    pub(super) text: Vec<u8>,
    pub(super) models: Vec<Model>,
}

/// What of a file is kept once it is read.
#[derive(Debug, Default)]
pub struct ReadFile {
    pub(super) fleet: FileFleet,
    pub(super) waivers: Vec<Placed>,
    /// What looks like a secret.
    pub(super) secrets: Vec<Place>,
}

impl ReadFile {
    /// Takes in the file behind it. Files that are taken in here lie close together in memory, where each on its own has room
    /// in reserve.
    pub fn add(&mut self, mut next: Self) {
        self.fleet.add(next.fleet);
        self.waivers.append(&mut next.waivers);
        self.secrets.append(&mut next.secrets);
    }

    /// A file of which nothing could be read.
    pub fn unread() -> Self {
        Self { fleet: FileFleet { unread: true, ..FileFleet::default() }, ..Self::default() }
    }
}

/// Reads one text. `tables` are used again from text to text.
pub fn read(file: FileId, bytes: &[u8], tables: &mut Tables) -> ReadFile {
    read_with(fleet::read, file, bytes, tables)
}

/// The same, but of each model only what other files need to know: [`Inspection::file`](super::Inspection::file) reads it
/// again. A folder of thousands of models then takes a fraction of its texts' bytes.
pub fn read_outline(file: FileId, bytes: &[u8], tables: &mut Tables) -> ReadFile {
    read_with(fleet::read_outline, file, bytes, tables)
}

fn read_with(
    read: fn(FileId, &[u8], &Tables) -> FileFleet,
    file: FileId,
    bytes: &[u8],
    tables: &mut Tables,
) -> ReadFile {
    parse(bytes, fleet::table::vocabulary, tables);
    let secrets = house::secret::scan(bytes, tables).into_iter().map(|span| Place::new(file, span)).collect();
    ReadFile { fleet: read(file, bytes, tables), waivers: waivers(file, bytes, tables), secrets }
}

/// Reads a text in the JSON form. All places are in the rig text that it is turned into: [`fleet::json::Map`] leads them
/// back.
pub fn read_json(file: FileId, bytes: &[u8], tables: &mut Tables) -> ReadFile {
    let turned = fleet::json::to_rig(file, bytes);
    let bytes = turned.text.as_bytes();
    parse(bytes, fleet::table::vocabulary, tables);
    turned.mark(tables);
    let secrets = house::secret::scan(bytes, tables).into_iter().map(|span| Place::new(file, span)).collect();
    let mut fleet = fleet::read(file, bytes, tables);
    fleet.problems.extend(turned.problems);
    fleet.unread |= turned.unread;
    ReadFile { fleet, waivers: waivers(file, bytes, tables), secrets }
}

fn waivers(file: FileId, bytes: &[u8], tables: &Tables) -> Vec<Placed> {
    let mut found = Vec::new();
    // Where braces close, once a waiver asks for it.
    let mut closes: Option<Vec<u32>> = None;
    for comment in &tables.comments {
        if !comment.own_line || !may_be_waiver(comment.span.of(bytes)) {
            continue;
        }
        let Ok(text) = std::str::from_utf8(comment.span.of(bytes)) else { continue };
        let Some(waiver) = Waiver::parse(text, Place::new(file, comment.span)) else { continue };
        // The next statement, unless the block ends before it.
        let next = tables.statements.get(comment.before as usize);
        let header = next.filter(|statement| {
            let braces = closes.get_or_insert_with(|| {
                let closes = tables.tokens.iter().filter(|token| token.kind == Kind::BlockClose);
                closes.map(|token| token.start).collect::<Vec<u32>>()
            });
            let first = braces.partition_point(|&brace| brace < comment.span.start);
            braces.get(first).is_none_or(|&brace| brace > tables.word(statement).start)
        });
        let start =
            memchr::memrchr(b'\n', bytes.get(..comment.span.start as usize).unwrap_or_default()).map_or(0, |at| at + 1);
        let rest = bytes.get(comment.span.end as usize..).unwrap_or_default();
        let end = memchr::memchr(b'\n', rest).map_or(bytes.len(), |at| comment.span.end as usize + at + 1);
        found.push(Placed {
            waiver,
            line: Span::new(start as u32, end as u32),
            header: header.map(|statement| tables.header(statement)),
        });
    }
    found
}

/// Whether a comment has to be looked at as text: it begins with the word `waive`, or with something beyond ASCII.
fn may_be_waiver(comment: &[u8]) -> bool {
    let skipped = comment.iter().take_while(|byte| matches!(byte, b'#' | b' ' | b'\t'..=b'\r')).count();
    let rest = comment.get(skipped..).unwrap_or_default();
    rest.starts_with(b"waive") || rest.first().is_some_and(|&byte| byte >= 0x80)
}
