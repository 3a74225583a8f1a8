//! What is kept of one text.

use super::keep::{Need, Subjects};
use crate::findings::waiver::{Placed, Waiver};
use crate::fleet::like::{Behind, Here, Read, Spelt, Written};
use crate::fleet::problem::Problem;
use crate::fleet::{self, FileFleet, json};
use crate::rules::{house, reading};
use crate::source::{FileId, Place, Span};
use crate::syntax::{Kind, Tables, parse};
use compact_str::CompactString;
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::{Arc, Mutex, OnceLock};

/// A file that describes the fleet; its blocks are the fleet's.
#[derive(Debug, Default)]
pub(super) struct File {
    /// Its text, as it was given.
    pub(super) text: Arc<[u8]>,
    /// Of a JSON text: the rig text that it was turned into, in which all places are.
    pub(super) rig: Option<Box<Rig>>,
    /// Its blocks that are like others.
    pub(super) heirs: Option<Box<Heirs>>,
    /// What could not be understood in it.
    pub(super) problems: Vec<Problem>,
    /// Its waivers.
    pub(super) waivers: Vec<Placed>,
    /// What looks like a secret.
    pub(super) secrets: Vec<Place>,
    /// Where its statements stand.
    pub(super) headers: Box<[Header]>,
    /// Nothing of it could be read: whatever is not found elsewhere may stand there.
    pub(super) unread: bool,
    /// Why there is no text, in words.
    pub(super) unreadable: Option<String>,
    /// Where its lines start, once somebody asks.
    pub(super) lines: OnceLock<Box<[u32]>>,
    /// What rules said about its blocks.
    pub(super) subjects: Subjects,
}

/// The rig text that a JSON text was turned into.
#[derive(Debug)]
pub(super) struct Rig {
    pub(super) text: String,
    /// The way back to the JSON text.
    pub(super) map: json::Map,
    /// What is wrong in the JSON form.
    pub(super) problems: Vec<Problem>,
    /// Where the words of statements stand that were told to be wrong.
    pub(super) broken: Vec<u32>,
}

/// What is read of a file whose blocks that are like others are spelled out behind its text.
pub(super) struct Whole {
    fleet: FileFleet,
    spelt: Spelt,
    headers: Box<[Header]>,
    bases: FxHashSet<Need>,
}

/// The blocks of a file that are like others.
#[derive(Debug, Default)]
pub(super) struct Heirs {
    /// As they are written, in the order of the text.
    pub(super) written: Vec<Written>,
    /// By kind and name.
    by_name: FxHashMap<(u8, CompactString), usize>,
    /// The text that rules see: that of the file, and behind it these blocks spelled out.
    pub(super) spelt: Spelt,
    /// How long the text of the file is.
    pub(super) own: u32,
    /// The names of all blocks that they are like, one behind the other.
    pub(super) bases: FxHashSet<Need>,
    /// How many bytes they have at most when they are spelled out.
    pub(super) bound: usize,
    /// There is no room to spell them out.
    pub(super) refused: bool,
    /// What edits of a block that is spelled out become in the block as it is written, as far as that was asked for.
    pub(super) made: Mutex<FxHashMap<SpeltEdits, Option<Vec<Here>>>>,
}

/// Edits of one block that is spelled out: the place of its whole, and what is to stand at which places.
pub(super) type SpeltEdits = (Span, Vec<(Span, String)>);

impl Heirs {
    fn of(fleet: &FileFleet) -> Option<Box<Self>> {
        let heads = fleet.heads().filter(|(_, head)| head.like.is_some());
        let mut written: Vec<Written> = heads.map(|(kind, head)| Written::of(kind, head)).collect();
        if written.is_empty() {
            return None;
        }
        written.sort_by_key(|block| block.whole);
        let mut by_name = FxHashMap::default();
        for (index, block) in written.iter().enumerate() {
            by_name.entry((block.kind, block.name.clone())).or_insert(index);
        }
        Some(Box::new(Self { written, by_name, ..Self::default() }))
    }

    /// The first of a kind with a name.
    pub(super) fn find(&self, kind: u8, name: &str) -> Option<&Written> {
        self.written.get(*self.by_name.get(&(kind, name.into()))?)
    }

    /// The one that a place of the file lies in.
    pub(super) fn around(&self, span: Span) -> Option<&Written> {
        let behind = self.written.partition_point(|block| block.whole.start <= span.start);
        self.written.get(behind.checked_sub(1)?).filter(|block| block.whole.holds(span))
    }
}

/// Where a statement stands, without its body.
#[derive(Clone, Copy, Debug)]
pub(super) struct Header {
    pub(super) span: Span,
    /// The number of the statement in whose block it stands; [`crate::syntax::NONE`] at the top level.
    pub(super) parent: u32,
}

impl File {
    /// Reads a text. `tables` are used again from text to text.
    pub(super) fn read(file: FileId, text: Arc<[u8]>, is_json: bool, tables: &mut Tables) -> (Self, FileFleet) {
        if !is_json {
            let (read, fleet) = Self::of_rig(file, &text, None, tables);
            return (Self { text, ..read }, fleet);
        }
        let turned = json::to_rig(file, &text);
        let (read, fleet) = Self::of_rig(file, turned.text.as_bytes(), Some(&turned), tables);
        let (broken, json::Turned { text: rig, map, problems, unread, .. }) = (turned.broken().to_vec(), turned);
        let all = problems.iter().cloned().chain(read.problems).collect();
        let rig = Some(Box::new(Rig { text: rig, map, problems, broken }));
        (Self { text, rig, problems: all, unread: unread | read.unread, ..read }, fleet)
    }

    fn of_rig(file: FileId, bytes: &[u8], turned: Option<&json::Turned>, tables: &mut Tables) -> (Self, FileFleet) {
        parse(bytes, fleet::table::vocabulary, tables);
        if let Some(turned) = turned {
            tables.mark_broken(turned.broken());
        }
        let secrets = house::secrets(bytes, tables).into_iter().map(|span| Place::new(file, span)).collect();
        let mut fleet = fleet::read(file, bytes, tables);
        let read = Self {
            problems: problems(&mut fleet),
            waivers: waivers(file, bytes, tables),
            secrets,
            headers: headers(tables),
            unread: fleet.unread,
            subjects: Subjects::none(&fleet),
            heirs: Heirs::of(&fleet),
            ..Self::default()
        };
        (read, fleet)
    }

    /// Reads the text of the file again, with those of its blocks spelled out behind it that are like others.
    pub(super) fn read_spelt(&self, file: FileId, behind: &Behind) -> Whole {
        let broken = self.rig.as_ref().map_or(&[][..], |rig| &rig.broken);
        let Read { fleet, spelt, tables } = behind.read(file, self.rig_text(), broken);
        let bases = behind.names.iter().map(|(kind, name)| Need::name(*kind, name)).collect();
        Whole { fleet, spelt, headers: headers(&tables), bases }
    }

    /// Keeps what was read again; its blocks are the fleet's.
    pub(super) fn take_spelt(&mut self, whole: Whole) -> FileFleet {
        let Whole { mut fleet, spelt, headers, bases } = whole;
        self.problems = self.rig.as_ref().map_or_else(Vec::new, |rig| rig.problems.clone());
        self.problems.extend(problems(&mut fleet));
        self.headers = headers;
        self.subjects = Subjects::none(&fleet);
        let own = self.rig_text().len() as u32;
        if let Some(heirs) = &mut self.heirs {
            (heirs.bases, heirs.spelt, heirs.own) = (bases, spelt, own);
            heirs.made = Mutex::default();
        }
        fleet
    }

    /// A file that should be there and can't be read.
    pub(super) fn unreadable(reason: String) -> Self {
        Self { unread: true, unreadable: Some(reason), ..Self::default() }
    }

    /// The text as rig text.
    pub(super) fn rig_text(&self) -> &[u8] {
        self.rig.as_ref().map_or(&self.text, |rig| rig.text.as_bytes())
    }

    /// The text that rules see: its places are all in it.
    pub(super) fn seen_text(&self) -> &[u8] {
        match &self.heirs {
            Some(heirs) if !heirs.spelt.text.is_empty() => heirs.spelt.text.as_bytes(),
            _ => self.rig_text(),
        }
    }

    /// Shows the number of the file wherever it is kept.
    pub(super) fn each_place(&mut self, visit: &mut dyn FnMut(&mut Place)) {
        for problem in &mut self.problems {
            visit(&mut problem.place);
            problem.others.iter_mut().for_each(|(place, _)| visit(place));
        }
        self.waivers.iter_mut().for_each(|placed| visit(&mut placed.waiver.place));
        self.secrets.iter_mut().for_each(&mut *visit);
        if let Some(heirs) = &mut self.heirs {
            heirs.written.iter_mut().for_each(|block| visit(&mut block.header));
            heirs.spelt.each_place(visit);
        }
        self.subjects.each_place(visit);
    }
}

/// What is wrong in a text, taken from what was read.
fn problems(fleet: &mut FileFleet) -> Vec<Problem> {
    let mut problems = std::mem::take(&mut fleet.problems);
    problems.extend(reading::codes(fleet));
    problems.shrink_to_fit();
    problems
}

/// Where the statements of a text stand.
pub(super) fn headers(tables: &Tables) -> Box<[Header]> {
    let header = |statement| Header { span: tables.header(statement), parent: statement.parent };
    tables.statements.iter().map(header).collect()
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
