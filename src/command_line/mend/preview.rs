//! What would be changed, as a unified diff.

use crate::report::plain::{is_unwelcome, plain, push};
use similar::TextDiff;
use std::io::{self, Write};

/// Writes the difference of two texts of one file. Characters that must not reach a terminal are shown as escapes.
pub(super) fn write(name: &str, before: &[u8], after: &[u8], colour: bool, out: &mut dyn Write) -> io::Result<()> {
    let (before, after) = (String::from_utf8_lossy(before), String::from_utf8_lossy(after));
    let name = plain(name);
    let diff = TextDiff::from_lines(before.as_ref(), after.as_ref());
    let text = diff.unified_diff().context_radius(3).header(&name, &name).to_string();
    for line in text.split_inclusive('\n') {
        let code = match line.as_bytes() {
            [b'-', b'-', b'-', b' ', ..] | [b'+', b'+', b'+', b' ', ..] => "1",
            [b'@', ..] => "36",
            [b'-', ..] => "31",
            [b'+', ..] => "32",
            _ => "",
        };
        let (line, end) = match line.strip_suffix("\r\n") {
            Some(line) => (line, "\r\n"),
            None => line.strip_suffix('\n').map_or((line, ""), |line| (line, "\n")),
        };
        let line = shown(line);
        if colour && !code.is_empty() {
            write!(out, "\u{1b}[{code}m{line}\u{1b}[0m{end}")?;
        } else {
            write!(out, "{line}{end}")?;
        }
    }
    Ok(())
}

/// A line with its tabs, and everything else that is unwelcome as escapes.
fn shown(line: &str) -> String {
    let mut out = String::with_capacity(line.len());
    for character in line.chars() {
        match character {
            '\t' => out.push('\t'),
            _ if is_unwelcome(character) => push(&mut out, character),
            _ => out.push(character),
        }
    }
    out
}
