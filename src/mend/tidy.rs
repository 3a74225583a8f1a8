//! The one layout of a rig file.
//!
//! Two spaces a level; a block that begins and ends on one line stays there, any other has a line for each statement
//! and one for its `}`; one space between words; at most one blank line in a row. The names of like statements that follow one another
//! make a column, and so do the comments behind statements. Order, comments, line ends and a byte-order mark stay.

mod align;
mod lay;
mod spacing;

use super::lines::line_break;
use crate::findings::waiver::Waiver;
use crate::fleet::{self, VERSION};
use crate::source::{FileId, Place, Span};
use crate::syntax::{Comment, Kind, Tables, parse};

/// Why a text is not laid out.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Untidy {
    /// Its reader had trouble here, in words.
    Fault(Span, String),
    /// It is in a version of the language that this program does not know.
    Version(Span),
    /// Its layout would not have read as the same statements.
    Unsure,
}

/// The text in the one layout. A text that is laid out already comes back as it is.
///
/// # Errors
/// Where it can't be laid out without a doubt about what it says.
pub fn tidy(text: &[u8]) -> Result<Vec<u8>, Untidy> {
    let mut tables = Tables::default();
    parse(text, fleet::table::vocabulary, &mut tables);
    if let Some(problem) = tables.problems.first() {
        let said = fleet::read(FileId(0), text, &tables).problems;
        let words = said.into_iter().find(|said| said.place.span == problem.span).map(|said| said.message);
        return Err(Untidy::Fault(problem.span, words.unwrap_or_default()));
    }
    if let Some(newer) = newer_version(text, &tables) {
        return Err(Untidy::Version(newer));
    }
    let mut lines = lay::lines(text, &tables);
    align::names(&mut lines);
    align::comments(&mut lines);
    let laid = joined(text, &lines);
    if says_the_same(text, &tables, &laid) { Ok(laid) } else { Err(Untidy::Unsure) }
}

fn newer_version(text: &[u8], tables: &Tables) -> Option<Span> {
    let first = tables.statements.first().filter(|first| tables.word(first).of(text) == b"rig")?;
    let number = tables.items(first).first()?;
    let version = fleet::Decimal::parse(number.of(text))?.to_whole()?;
    (version > VERSION).then(|| number.span())
}

/// The lines with the text's own line ends and byte-order mark.
fn joined(text: &[u8], lines: &[lay::Line<'_>]) -> Vec<u8> {
    let end = line_break(text).as_bytes();
    let mut out = Vec::with_capacity(text.len() + text.len() / 8);
    if text.starts_with(b"\xef\xbb\xbf") {
        out.extend_from_slice(b"\xef\xbb\xbf");
    }
    for line in lines {
        line.write(&mut out);
        out.extend_from_slice(end);
    }
    out
}

/// Whether a layout has the words, comments and blocks of a text, in their order.
fn says_the_same(text: &[u8], tables: &Tables, laid: &[u8]) -> bool {
    let mut again = Tables::default();
    parse(laid, fleet::table::vocabulary, &mut again);
    let counts = |kind: Kind| !matches!(kind, Kind::EndOfLine | Kind::Semicolon);
    let words = tables.tokens.iter().filter(|token| counts(token.kind)).map(|token| (token.kind, token.of(text)));
    let same_words =
        words.eq(again.tokens.iter().filter(|token| counts(token.kind)).map(|token| (token.kind, token.of(laid))));
    // A comment that now has its line to itself must not be a waiver.
    let same = |(one, other): (&Comment, &Comment)| {
        let words = one.span.of(text).trim_ascii_end();
        let waives = || {
            let words = std::str::from_utf8(words).unwrap_or_default();
            Waiver::parse(words, Place::new(FileId(0), one.span)).is_some()
        };
        words == other.span.of(laid)
            && one.before == other.before
            && (one.own_line == other.own_line || (other.own_line && !waives()))
    };
    let same_comments =
        tables.comments.len() == again.comments.len() && tables.comments.iter().zip(&again.comments).all(same);
    let shape = |tables: &Tables| {
        let of = tables.statements.iter().map(|one| (one.items_end - one.word, one.parent, one.after, one.has_body));
        of.collect::<Vec<_>>()
    };
    again.problems.is_empty() && same_words && same_comments && shape(tables) == shape(&again)
}

#[cfg(test)]
mod tests;
