//! The text of a record of known findings to its entries and to what is wrong with it.

use super::{RULE, Reader, nothing, severity_of};
use crate::findings::known::Entry;
use crate::findings::{Finding, Mend, Severity};
use crate::settings::Settings;
use crate::source::{FileId, Located, Place};
use toml::Spanned;
use toml::de::DeValue;

/// The version of records that this program writes and reads.
pub const VERSION: i64 = 1;

/// The largest record that is read: some 60,000 findings.
pub const MAX_RECORD_BYTES: usize = 16 << 20;

const KEYS: [&str; 2] = ["version", "finding"];
const OF_AN_ENTRY: [&str; 5] = ["rule", "severity", "file", "message", "fingerprint"];

/// Reads a record of known findings. Every entry that can be understood is given; every mistake is a finding with its
/// place. `name` is what the file is called in messages.
pub fn read_record(text: &[u8], file: FileId, name: &str) -> (Vec<Entry>, Vec<Finding>) {
    let mut reader = Reader { file, check: &|_, _| Ok(()), settings: Settings::default(), findings: Vec::new() };
    let mut entries = Vec::new();
    reader.table(text, name, |reader, table| {
        let mut version = None;
        for (key, value) in reader.in_order(table) {
            match key.get_ref().as_ref() {
                "version" => version = Some(value),
                "finding" => match value.get_ref().as_array() {
                    Some(list) => entries.extend(list.iter().filter_map(|one| reader.entry(one))),
                    None => reader.wrong_type(key, value, "a list of tables, [[finding]]"),
                },
                _ => reader.unknown(key, "A record of findings has no key", &KEYS),
            }
        }
        let number = version.and_then(|value| value.get_ref().as_integer()).filter(|number| number.radix() == 10);
        if number.and_then(|number| number.as_str().parse().ok()) != Some(VERSION) {
            let at = version.map_or(0..0, Spanned::span);
            let words = format!("A record that this program reads starts with version = {VERSION}.");
            reader.wrong(
                &at,
                "This is no record of known findings, or one of another version.".into(),
                Mend::Words(words),
            );
        }
    });
    (entries, reader.findings)
}

/// What is wrong with a settings file that names a record which can't be read; the file has the number 0.
pub fn unreadable_record(named: &Located<String>, reason: &str) -> Finding {
    let message = format!("The record of known findings \"{}\" can't be read: {reason}.", named.value);
    Finding {
        mend: Mend::Words("Write it with `walkaround inspect --record`, or take the line out.".to_owned()),
        ..Finding::new(RULE, Severity::Fault, Place::new(FileId(0), named.span), "record", message)
    }
}

impl Reader<'_> {
    fn entry(&mut self, value: &Spanned<DeValue<'_>>) -> Option<Entry> {
        let Some(table) = value.get_ref().as_table() else {
            self.wrong(&value.span(), "Here stands a table, [[finding]].".to_owned(), nothing());
            return None;
        };
        let before = self.findings.len();
        let (mut rule, mut severity, mut file, mut message, mut fingerprint) = (None, None, None, None, None);
        for (key, value) in self.in_order(table) {
            match key.get_ref().as_ref() {
                "rule" => rule = self.text(key, value),
                "file" => file = self.text(key, value),
                "message" => message = self.text(key, value),
                "severity" => severity = self.one_of(value, &super::SEVERITIES).and_then(severity_of),
                "fingerprint" => {
                    fingerprint = self.text(key, value).and_then(|text| {
                        let digits = text.value.len() == 16 && text.value.bytes().all(|byte| byte.is_ascii_hexdigit());
                        let number = u64::from_str_radix(&text.value, 16).ok().filter(|_| digits);
                        if number.is_none() {
                            let message = "A fingerprint has sixteen hexadecimal digits.".to_owned();
                            self.wrong(&value.span(), message, nothing());
                        }
                        number
                    });
                }
                _ => self.unknown(key, "A finding of a record has no key", &OF_AN_ENTRY),
            }
        }
        let (Some(rule), Some(severity), Some(fingerprint)) = (rule, severity, fingerprint) else {
            // A value that could not be read has been told.
            if self.findings.len() == before {
                let message = "An entry needs its rule, its severity and its fingerprint.".to_owned();
                self.wrong(&value.span(), message, Mend::Words("Write the record anew, or take the entry out.".into()));
            }
            return None;
        };
        let text = |located: Option<crate::source::Located<String>>| located.map(|text| text.value).unwrap_or_default();
        Some(Entry { file: text(file), rule: rule.value, message: text(message), severity, fingerprint })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: &str = "[[finding]]\nrule = 'arming/slow'\nseverity = 'note'\nfingerprint = '00000000000000ff'\n";

    fn read(text: &str) -> (Vec<Entry>, Vec<Finding>) {
        read_record(text.as_bytes(), FileId(3), "known.toml")
    }

    #[test]
    fn entries_are_read() {
        let (entries, faults) = read(&format!("version = 1\n{ONE}file = 'a.rig'\nmessage = 'slow'\n{ONE}"));
        assert_eq!(faults, []);
        let entry = Entry {
            file: "a.rig".to_owned(),
            rule: "arming/slow".to_owned(),
            message: "slow".to_owned(),
            severity: Severity::Note,
            fingerprint: 255,
        };
        assert_eq!(entries[0], entry);
        assert_eq!(entries.len(), 2);
        assert_eq!(read("version = 1\n").1, []);
    }

    #[test]
    fn every_mistake_has_its_place_and_hides_no_other_entry() {
        for (text, place, words) in [
            ("version = 2\n", "2", "of another version"),
            ("version = '1'\n", "'1'", "of another version"),
            ("version = 0x1\n", "0x1", "of another version"),
            ("", "", "no record"),
            ("version = 1\nfindings = []\n", "findings", "nearest is finding"),
            ("version = 1\nfinding = 3\n", "3", "a list of tables"),
            ("version = 1\nfinding = [3]\n", "3", "a table"),
            ("version = 1\n[[finding]]\nrul = 'x'\n", "rul", "nearest is rule"),
            ("version = 1\n[[finding]]\nseverity = 'fault'\n", "'fault'", "one of danger, caution, note"),
            ("version = 1\n[[finding]]\nfingerprint = '+0000000000000ff'\n", "'+0000000000000ff'", "sixteen"),
            ("version = 1\n[[finding]]\nfingerprint = 'ff'\n", "'ff'", "sixteen"),
            ("version = 1\n[[finding]]\nrule = 'x'\n", "[[finding]]", "needs its rule"),
            ("version = 1\n<<<<<<< ours\n", "", "This is no TOML"),
        ] {
            let (_, faults) = read(text);
            let fault = faults.first().unwrap_or_else(|| panic!("{text}: nothing found"));
            assert!(fault.message.contains(words), "{text}: {}", fault.message);
            assert_eq!((fault.severity, fault.place.file), (Severity::Fault, FileId(3)));
            let at = std::str::from_utf8(fault.place.span.of(text.as_bytes())).unwrap();
            assert!(at.starts_with(place), "{text}: {at}");
        }
        let (entries, faults) = read(&format!("version = 1\n[[finding]]\nrule = 3\n{ONE}"));
        assert_eq!((entries.len(), faults.len()), (1, 1));
        let (_, faults) = read_record(b"version = 1 # \xff", FileId(0), "known.toml");
        assert_eq!(faults[0].message, "known.toml is not UTF-8 at byte 14.");
    }
}
