//! The record of known findings: the one form that the program itself reads again.

use super::plain::{is_unwelcome, plain};
use crate::findings::known::Entry;
use crate::settings::RECORD_VERSION;
use std::fmt::Write as _;
use std::io::{self, Write};

/// Entries that are named when they are out of date; the rest are counted.
const NAMED_AT_MOST: usize = 3;

/// Writes a record of these entries as TOML, in an order of their own, so that a change of one is a small difference.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(mut entries: Vec<Entry>, out: &mut dyn Write) -> io::Result<()> {
    entries.sort();
    entries.dedup();
    out.write_all(HEAD.as_bytes())?;
    writeln!(out, "version = {RECORD_VERSION}")?;
    for entry in &entries {
        writeln!(out, "\n[[finding]]\nrule = {}", quoted(&entry.rule))?;
        writeln!(out, "severity = {}", quoted(entry.severity.word()))?;
        writeln!(out, "file = {}\nmessage = {}", quoted(&entry.file), quoted(&entry.message))?;
        writeln!(out, "fingerprint = \"{:016x}\"", entry.fingerprint)?;
    }
    Ok(())
}

const HEAD: &str = "\
# Findings that are known. `walkaround inspect --record FILE` writes this file, and it counts where walkaround.toml says
# known = \"FILE\": a finding that stands here is left out of reports, as long as it gets no worse. Take an entry out to see
# its finding again.
";

/// Which entries match nothing any more, in words; none where there are none.
pub fn out_of_date(stale: &[Entry]) -> Option<String> {
    let (first, count) = (stale.get(..NAMED_AT_MOST.min(stale.len()))?, stale.len());
    if count == 0 {
        return None;
    }
    let mut named: Vec<String> =
        first.iter().map(|entry| format!("{} in {}", plain(&entry.rule), plain(&entry.file))).collect();
    if let Some(more @ 1..) = count.checked_sub(NAMED_AT_MOST) {
        named.push(format!("{more} more"));
    }
    let (entries, match_) = if count == 1 { ("1 entry", "matches") } else { (&*format!("{count} entries"), "match") };
    let named = named.join("; ");
    Some(format!(
        "{entries} of the record of known findings {match_} nothing any more: {named}. `--record` writes it anew."
    ))
}

/// A text as a basic string of TOML 1.0, with what is harmful to show as escapes.
fn quoted(text: &str) -> String {
    let mut written = String::from("\"");
    for character in text.chars() {
        match character {
            '"' => written.push_str("\\\""),
            '\\' => written.push_str("\\\\"),
            '\n' => written.push_str("\\n"),
            '\t' => written.push_str("\\t"),
            // Writing to a string can't fail.
            _ if is_unwelcome(character) => {
                let _ = write!(written, "\\U{:08X}", u32::from(character));
            }
            _ => written.push(character),
        }
    }
    written.push('"');
    written
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Severity;
    use crate::report::tests::{is_harmless, written};
    use crate::settings::read_record;
    use crate::source::FileId;

    fn entry(file: &str, rule: &str, message: &str, severity: Severity) -> Entry {
        Entry { file: file.into(), rule: rule.into(), message: message.into(), severity, fingerprint: 0x00ab_cdef }
    }

    #[test]
    fn what_is_written_is_read_again() {
        let odd = "é🪶 \"a\\b\" \u{1b}[31m\r\n\t\u{7f}\u{9b}\u{202e}\u{feff} '''";
        let entries = vec![
            entry("knot.rig", "arming/slow", odd, Severity::Note),
            entry(odd, "arming/always", "two", Severity::Danger),
            entry("knot.rig", "arming/slow", odd, Severity::Note),
            entry("dunlin.rig", "channels/gap", "", Severity::Caution),
        ];
        let text = written(|out| write(entries.clone(), out));
        assert!(is_harmless(&text), "{text}");
        let (read, faults) = read_record(text.as_bytes(), FileId(0), "x");
        assert_eq!(faults, []);
        let mut wanted = entries;
        wanted.sort();
        wanted.dedup();
        assert_eq!(read, wanted);
        assert_eq!(written(|out| write(read.iter().rev().cloned().collect(), out)), text);
    }

    #[test]
    fn what_is_out_of_date() {
        assert_eq!(out_of_date(&[]), None);
        let stale = vec![entry("a\u{1b}.rig", "arming/slow", "", Severity::Note); 5];
        let one = "1 entry of the record of known findings matches nothing any more: arming/slow in a\\u{1b}.rig. \
            `--record` writes it anew.";
        assert_eq!(out_of_date(&stale[..1]).as_deref(), Some(one));
        assert!(out_of_date(&stale).unwrap().contains("5 entries of the record of known findings match nothing"));
        assert!(out_of_date(&stale).unwrap().contains("; 2 more. "));
    }
}
