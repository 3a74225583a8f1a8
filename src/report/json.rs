//! The report as one JSON value (RFC 8259), for other programs.
//!
//! Lines and columns count from 1, columns in Unicode characters; `end_line` and `end_column` name the character behind
//! the last one. `bytes` counts from 0 in the file. Texts are exact, and characters that could do harm in a terminal
//! are written as `\u` escapes. The edits of a choice stand in `choices` alone: applying them is the pilot's decision.

mod shape;
mod state;

pub use state::{asked_value, round, state_value};

use super::Report;
use super::places::Places;
use super::plain::is_unwelcome;
use serde::Serialize;
use serde_json::ser::{CompactFormatter, Formatter};
use std::io::{self, Write};

/// The version of the form. It rises when something is taken away or changes its meaning; more keys may come at any time.
pub const VERSION: u32 = 1;

/// Writes the report and a line end.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(report: &Report<'_>, out: &mut dyn Write) -> io::Result<()> {
    let value = shape::Report::of(report, &Places::of(report));
    to_writer(&value, out)
}

/// The report as a value, to be part of a larger one.
pub fn value(report: &Report<'_>) -> serde_json::Value {
    serde_json::to_value(shape::Report::of(report, &Places::of(report))).unwrap_or_default()
}

/// Writes any value as JSON with all unwelcome characters escaped, and a line end.
pub fn to_writer(value: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    let mut serializer = serde_json::Serializer::with_formatter(&mut *out, Escaping);
    value.serialize(&mut serializer).map_err(io::Error::from)?;
    writeln!(out)
}

/// A witness as the report writes it.
pub fn witness_value(witness: &crate::findings::Witness) -> serde_json::Value {
    serde_json::to_value(shape::Witness::of(witness)).unwrap_or_default()
}

/// Escapes what serde_json sends as it is though it is harmful to show: C1 controls, bidirectional and invisible
/// characters.
struct Escaping;

impl Formatter for Escaping {
    fn write_string_fragment<W: ?Sized + Write>(&mut self, writer: &mut W, fragment: &str) -> io::Result<()> {
        let mut from = 0;
        for (at, character) in fragment.char_indices().filter(|&(_, character)| is_unwelcome(character)) {
            CompactFormatter.write_string_fragment(writer, &fragment[from..at])?;
            for unit in character.encode_utf16(&mut [0; 2]) {
                write!(writer, "\\u{unit:04x}")?;
            }
            from = at + character.len_utf8();
        }
        CompactFormatter.write_string_fragment(writer, &fragment[from..])
    }
}
