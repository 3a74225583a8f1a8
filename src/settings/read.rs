//! The settings file's text to settings and to what is wrong with it.

mod record;

pub use record::{MAX_RECORD_BYTES, VERSION as RECORD_VERSION, read_record, unreadable_record};

use super::reference::KEYS;
use super::{FILE_NAME, Globs, Parameter, Settings};
use crate::findings::grading::Grade;
use crate::findings::{Choice, Edit, Finding, Mend, RuleId, Severity, group_of, is_protected};
use crate::fleet::problem::nearest;
use crate::fleet::words::Tested;
use crate::rules::book::{self, ParameterDoc};
use crate::source::{FileId, Located, Place, Span};
use std::borrow::Cow;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The rule under which mistakes in the settings file are reported. They are faults: with half-read settings the
/// verdicts would not be those the pilot asked for.
pub const RULE: RuleId = "format/settings";

/// Says what is wrong with a value of a parameter, in a sentence that can follow the value.
pub type Check<'c> = &'c dyn Fn(&'static ParameterDoc, &str) -> Result<(), String>;

/// The longest settings file that is read, in bytes.
pub(super) const MAX_SETTINGS: usize = 256 << 10;
/// How many globs `include` and `exclude` may have together. Each file is held against all of them.
pub(super) const MAX_GLOBS: usize = 200;
/// The most characters of a glob.
pub(super) const MAX_GLOB: usize = 400;
/// How many keys one table may have.
pub(super) const MAX_KEYS: usize = 1_000;
/// How many mistakes are listed.
const MAX_MISTAKES: usize = 200;

const SEVERITIES: [&str; 3] = ["danger", "caution", "note"];
const GRADES: [&str; 4] = ["danger", "caution", "note", "off"];

/// Reads a settings file. Whatever can be understood is in the settings; every mistake is a finding with its place.
pub fn read(text: &[u8], file: FileId, check: Check<'_>) -> (Settings, Vec<Finding>) {
    let mut reader = Reader { file, check, settings: Settings::default(), findings: Vec::new() };
    match text.len() {
        length if length > MAX_SETTINGS => {
            let message = format!("The file is larger than {} KiB and is not read.", MAX_SETTINGS >> 10);
            let words = "No settings need so much: look for what does not belong here.".to_owned();
            reader.wrong(&(0..0), message, Mend::Words(words));
        }
        _ => reader.table(text, FILE_NAME, |reader, table| reader.whole(table)),
    }
    (reader.settings, reader.findings)
}

type Key<'t> = Spanned<Cow<'t, str>>;

struct Reader<'c> {
    file: FileId,
    check: Check<'c>,
    settings: Settings,
    findings: Vec<Finding>,
}

impl Reader<'_> {
    /// Reads a text as TOML, as far as it is.
    fn table(&mut self, text: &[u8], name: &str, read: impl FnOnce(&mut Self, &DeTable<'_>)) {
        let text = match std::str::from_utf8(text) {
            Ok(text) => text,
            Err(error) => {
                let at = error.valid_up_to();
                let words = "Save the file as UTF-8.".to_owned();
                return self.wrong(&(at..at + 1), format!("{name} is not UTF-8 at byte {at}."), Mend::Words(words));
            }
        };
        let (table, errors) = DeTable::parse_recoverable(text);
        for error in errors {
            let words = "Write it as the TOML format asks for.".to_owned();
            let message = format!("This is no TOML: {}.", one_line(error.message()));
            self.wrong(&error.span().unwrap_or(0..0), message, Mend::Words(words));
        }
        read(self, table.get_ref());
    }

    fn whole(&mut self, table: &DeTable<'_>) {
        let mut include = None;
        let mut exclude = Vec::new();
        for (key, value) in self.in_order(table) {
            match key.get_ref().as_ref() {
                "include" => include = Some(self.globs(key, value)),
                "exclude" => exclude = self.globs(key, value),
                "fail-at" => self.settings.fail_at = self.one_of(value, &SEVERITIES).and_then(severity_of),
                "place" => self.settings.place = self.text(key, value),
                "known" => self.settings.known = self.text(key, value),
                "tested" => self.tests(key, value),
                "severity" => self.grades(key, value),
                "parameters" => self.parameters(key, value),
                _ => self.unknown(key, "This file has no key", &KEYS.map(|doc| doc.key)),
            }
        }
        if let Some(more) = include.iter().flatten().chain(&exclude).nth(MAX_GLOBS) {
            // Which files belong to the fleet is not known then, and taking all of them leaves none out.
            let message = format!("More than {MAX_GLOBS} globs stand in include and exclude; none of them is used.");
            let words = "Name folders, or use `**`: a folder stands for everything in it.".to_owned();
            let at = more.span;
            return self.wrong(&(at.start as usize..at.end as usize), message, Mend::Words(words));
        }
        let names = |globs: &[Located<String>]| globs.iter().map(|glob| glob.value.clone()).collect::<Vec<_>>();
        let (included, excluded) = (include.as_deref().map(names), names(&exclude));
        let texts = included.as_ref().map(|globs| globs.iter().map(String::as_str));
        match Globs::new(texts, excluded.iter().map(String::as_str)) {
            Ok(globs) => self.settings.globs = globs,
            // Each glob was tried when it was read, so together they can only be too many.
            Err((_, reason)) => self.wrong(&(0..0), format!("The globs can't be used: {reason}."), nothing()),
        }
    }

    fn globs(&mut self, key: &Key<'_>, value: &Spanned<DeValue<'_>>) -> Vec<Located<String>> {
        let Some(array) = value.get_ref().as_array() else {
            self.wrong_type(key, value, "a list of globs, as in [\"fleet/**\"]");
            return Vec::new();
        };
        let mut globs = Vec::new();
        // One more than may stand here shows that there are too many.
        for item in array.iter().take(MAX_GLOBS + 1) {
            let Some(glob) = self.text(key, item) else { continue };
            if glob.value.len() > MAX_GLOB {
                let message = format!("This glob has more than {MAX_GLOB} characters.");
                self.wrong(&item.span(), message, Mend::Words("Use several shorter ones.".to_owned()));
                continue;
            }
            match Globs::new(None::<Vec<&str>>, [glob.value.as_str()]) {
                Ok(_) => globs.push(glob),
                Err((_, reason)) => {
                    let words = "`*` stands for a part of a name, `**` for any folders, {a,b} for a choice.".to_owned();
                    let message = format!("\"{}\" is no glob: {reason}.", glob.value);
                    self.wrong(&item.span(), message, Mend::Words(words));
                }
            }
        }
        globs
    }

    fn grades(&mut self, key: &Key<'_>, value: &Spanned<DeValue<'_>>) {
        let Some(table) = value.get_ref().as_table() else {
            self.wrong_type(key, value, "a table of rules and groups");
            return;
        };
        for (name, value) in self.in_order(table) {
            let rule = name.get_ref().as_ref();
            let known = book::find(rule).is_some() || book::groups().iter().any(|group| group.name == rule);
            if is_protected(rule) {
                let message = format!("{rule} can't be graded: nothing silences what can't be understood or waived.");
                self.wrong(&name.span(), message, Mend::Words("Take the line away.".to_owned()));
            } else if !known {
                let groups = book::groups().iter().map(|group| group.name).filter(|group| !is_protected(group));
                self.unknown_rule(name, groups.collect());
            } else if let Some(grade) = self.one_of(value, &GRADES) {
                let grade = severity_of(grade).map_or(Grade::Off, Grade::As);
                self.settings.grades.push((rule.to_owned(), grade));
            }
        }
    }

    fn tests(&mut self, key: &Key<'_>, value: &Spanned<DeValue<'_>>) {
        let Some(table) = value.get_ref().as_table() else {
            self.wrong_type(key, value, "a table of tests");
            return;
        };
        for (name, value) in self.in_order(table) {
            let Some(what) = Tested::find(name.get_ref()) else {
                let accepted: Vec<&str> = Tested::ALL.iter().map(|what| what.word()).collect();
                self.unknown(name, "There is no test", &accepted);
                continue;
            };
            let Some(text) = self.text(name, value) else { continue };
            match days_of(&text.value) {
                Some(days) => self.settings.tested.push((what, days)),
                None => {
                    let words = "Give a number of days, such as \"90 days\".".to_owned();
                    let message = format!("\"{}\" is no number of days from 1 to 9999.", text.value);
                    self.wrong(&value.span(), message, Mend::Words(words));
                }
            }
        }
    }

    fn parameters(&mut self, key: &Key<'_>, value: &Spanned<DeValue<'_>>) {
        let Some(table) = value.get_ref().as_table() else {
            self.wrong_type(key, value, "a table of rules");
            return;
        };
        for (name, value) in self.in_order(table) {
            let Some(rule) = book::find(name.get_ref()) else {
                self.unknown_rule(name, Vec::new());
                continue;
            };
            let Some(given) = value.get_ref().as_table() else {
                self.wrong_type(name, value, "a table of its parameters");
                continue;
            };
            for (parameter, value) in self.in_order(given) {
                let names: Vec<&str> = rule.parameters.iter().map(|doc| doc.name).collect();
                let Some(doc) = rule.parameters.iter().find(|doc| doc.name == parameter.get_ref().as_ref()) else {
                    self.unknown(parameter, &format!("{} has no parameter", rule.id), &names);
                    continue;
                };
                let Some(text) = self.text(parameter, value) else { continue };
                match (self.check)(doc, &text.value) {
                    Ok(()) => self.settings.parameters.push(Parameter { rule: rule.id, name: doc.name, value: text }),
                    Err(reason) => {
                        let words = format!("{} Its default is {}.", doc.help, doc.default);
                        let message = format!("\"{}\" can't be the value of {}: {reason}.", text.value, doc.name);
                        self.wrong(&value.span(), message, Mend::Words(words));
                    }
                }
            }
        }
    }

    fn text(&mut self, key: &Key<'_>, value: &Spanned<DeValue<'_>>) -> Option<Located<String>> {
        let text = value.get_ref().as_str();
        if text.is_none() {
            self.wrong_type(key, value, "a text in quotes");
        }
        text.map(|text| Located::new(text.to_owned(), span_of(&value.span())))
    }

    fn one_of(&mut self, value: &Spanned<DeValue<'_>>, words: &[&'static str]) -> Option<&'static str> {
        let written = value.get_ref().as_str().unwrap_or("");
        let found = words.iter().copied().find(|word| *word == written);
        if found.is_none() {
            let choices = words.iter().map(|word| self.replace(&value.span(), &format!("\"{word}\""), word));
            let mend = Mend::Choices("Say which.".to_owned(), choices.collect());
            self.wrong(&value.span(), format!("Here stands one of {}.", words.join(", ")), mend);
        }
        found
    }

    fn unknown_rule(&mut self, name: &Key<'_>, also: Vec<&'static str>) {
        let rule = name.get_ref().as_ref();
        let near = book::nearest(rule).map(|doc| doc.id).filter(|_| rule.contains('/'));
        let meant =
            near.or_else(|| nearest(rule, also.iter().copied())).or_else(|| book::nearest(rule).map(|doc| doc.id));
        let accepted = match also.is_empty() {
            true if book::groups().iter().any(|group| group.name == group_of(rule)) && rule.contains('/') => {
                let names: Vec<&str> = book::in_group(group_of(rule)).map(|doc| doc.id).collect();
                format!("The rules of this group: {}.", names.join(", "))
            }
            _ => "`walkaround why` lists all rules and groups.".to_owned(),
        };
        self.missing(name, format!("No rule is called \"{rule}\""), meant, accepted);
    }

    fn unknown(&mut self, key: &Key<'_>, what: &str, accepted: &[&'static str]) {
        let written = key.get_ref().as_ref();
        let meant = nearest(written, accepted.iter().copied());
        let list = match accepted {
            [] => "It has none.".to_owned(),
            _ => format!("Accepted here: {}.", accepted.join(", ")),
        };
        self.missing(key, format!("{what} \"{written}\""), meant, list);
    }

    fn missing(&mut self, key: &Key<'_>, what: String, meant: Option<&str>, accepted: String) {
        match meant {
            Some(meant) => {
                let text = if meant.contains('/') { format!("\"{meant}\"") } else { meant.to_owned() };
                let choice = self.replace(&key.span(), &text, meant);
                self.wrong(
                    &key.span(),
                    format!("{what}; the nearest is {meant}."),
                    Mend::Choices(accepted, vec![choice]),
                );
            }
            None => self.wrong(&key.span(), format!("{what}."), Mend::Words(accepted)),
        }
    }

    fn replace(&self, at: &Range<usize>, text: &str, word: &str) -> Choice {
        let edit = Edit { place: self.place(at), text: text.to_owned() };
        Choice { label: format!("write {word}"), edits: vec![edit] }
    }

    fn wrong_type(&mut self, key: &Key<'_>, value: &Spanned<DeValue<'_>>, wanted: &str) {
        let found = value.get_ref().type_str();
        let message = format!("\"{}\" is {wanted}; here stands a value of the type {found}.", key.get_ref());
        self.wrong(&value.span(), message, nothing());
    }

    fn place(&self, at: &Range<usize>) -> Place {
        Place::new(self.file, span_of(at))
    }

    /// Adds a mistake, up to the limit.
    fn wrong(&mut self, at: &Range<usize>, message: String, mend: Mend) {
        let (message, mend) = match self.findings.len() {
            listed if listed < MAX_MISTAKES => (message, mend),
            listed if listed == MAX_MISTAKES => {
                let words = "Mend the first ones and inspect again.".to_owned();
                (format!("More than {MAX_MISTAKES} mistakes in this file; the rest is not listed."), Mend::Words(words))
            }
            _ => return,
        };
        self.findings
            .push(Finding { mend, ..Finding::new(RULE, Severity::Fault, self.place(at), "settings", message) });
    }

    /// The entries of a table as they stand in the text, up to the limit.
    fn in_order<'a, 't>(&mut self, table: &'a DeTable<'t>) -> Vec<(&'a Key<'t>, &'a Spanned<DeValue<'t>>)> {
        let mut entries: Vec<_> = table.iter().collect();
        entries.sort_by_key(|(key, _)| key.span().start);
        if let Some((key, _)) = entries.get(MAX_KEYS) {
            let message = format!("More than {MAX_KEYS} keys stand in one table; the rest is not read.");
            self.wrong(&key.span(), message, nothing());
            entries.truncate(MAX_KEYS);
        }
        entries
    }
}

fn severity_of(word: &str) -> Option<Severity> {
    [Severity::Danger, Severity::Caution, Severity::Note].into_iter().find(|severity| severity.word() == word)
}

/// The number of `90 days`.
fn days_of(text: &str) -> Option<u16> {
    let (number, unit) = text.trim().split_once(' ')?;
    let days: u16 = number.parse().ok()?;
    let is_unit = matches!(unit.trim(), "day" | "days");
    (is_unit && number.bytes().all(|byte| byte.is_ascii_digit()) && (1..=9999).contains(&days)).then_some(days)
}

fn nothing() -> Mend {
    Mend::Words(String::new())
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Settings files are far shorter than 4 GiB; the end of a longer one is cut off.
fn span_of(range: &Range<usize>) -> Span {
    let offset = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
    Span::new(offset(range.start), offset(range.end))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(doc: &'static ParameterDoc, value: &str) -> Result<(), String> {
        let unit = doc.default.rsplit(' ').next().unwrap_or_default();
        if value.ends_with(unit) { Ok(()) } else { Err(format!("it needs the unit {unit}")) }
    }

    fn read(text: &str) -> (Settings, Vec<Finding>) {
        super::read(text.as_bytes(), FileId(7), &check)
    }

    #[test]
    fn every_key() {
        let (settings, findings) = read(
            "include = ['fleet']\nexclude = [\"fleet/old\", \"**/tmp\"]\nfail-at = 'danger'\nplace = \"north spit\"\nknown = 'known.json'\n\
             [tested]\nfailsafe = '90 days'\nrange = '1 day'\n[severity]\narming = 'note'\n\"arming/slow\" = 'off'\n[parameters]\n\"arming/slow\" = { far-after = \"400 ms\" }\n",
        );
        assert_eq!(findings, []);
        assert!(settings.globs.take("fleet/a.rig") && !settings.globs.take("fleet/old/a.rig"));
        assert_eq!(settings.fail_at, Some(Severity::Danger));
        assert_eq!(settings.place.as_ref().unwrap().value, "north spit");
        assert_eq!(settings.known.as_ref().unwrap().value, "known.json");
        assert_eq!(settings.tested, [(Tested::Failsafe, 90), (Tested::Range, 1)]);
        let grades = [("arming".to_owned(), Grade::As(Severity::Note)), ("arming/slow".to_owned(), Grade::Off)];
        assert_eq!(settings.grades, grades);
        assert_eq!(settings.parameter("arming/slow", "far-after").unwrap().value, "400 ms");
        assert_eq!(settings.parameter("arming/slow", "after"), None);
        assert!(read("").1.is_empty());
    }

    #[test]
    fn every_mistake_has_its_place_and_its_way_out() {
        for (text, place, message, mend) in [
            ("includ = []", "includ", "the nearest is include", "Accepted here: include, exclude, fail-at"),
            ("colour = 1", "colour", "This file has no key \"colour\".", "Accepted here: include"),
            ("include = 'fleet'", "'fleet'", "a list of globs", ""),
            ("exclude = ['a', 3]", "3", "a text in quotes; here stands a value of the type integer", ""),
            ("exclude = ['a', 'b[']", "'b['", "is no glob", "`**`"),
            ("fail-at = 'fault'", "'fault'", "one of danger, caution, note.", "Say which."),
            ("fail-at = 3", "3", "one of danger", "Say which."),
            ("place = 3", "3", "a text in quotes", ""),
            ("severity = 'note'", "'note'", "a table of rules and groups", ""),
            ("[severity]\narmin = 'note'", "armin", "the nearest is arming", "`walkaround why`"),
            ("[severity]\n\"arming/slwo\" = 'note'", "\"arming/slwo\"", "the nearest is arming/slow", ""),
            ("[severity]\narming = 'mild'", "'mild'", "one of danger, caution, note, off.", "Say which."),
            ("[severity]\nformat = 'off'", "format", "can't be graded", "Take the line away"),
            ("[severity]\n\"format/unit\" = 'note'", "\"format/unit\"", "can't be graded", ""),
            ("[severity]\n\"house/waiver-stale\" = 'off'", "\"house/waiver-stale\"", "can't be graded", ""),
            (
                "[parameters]\n\"arming/slwo\" = {}",
                "\"arming/slwo\"",
                "nearest is arming/slow",
                "The rules of this group: arm",
            ),
            ("[parameters]\n\"arming/slow\" = '3 ms'", "'3 ms'", "a table of its parameters", ""),
            (
                "[parameters.\"arming/slow\"]\nfar-aftr = '3 ms'",
                "far-aftr",
                "the nearest is far-after",
                "after, far-after",
            ),
            (
                "[parameters.\"arming/slow\"]\nfar-after = '3 V'",
                "'3 V'",
                "it needs the unit ms",
                "Its default is 500 ms",
            ),
            ("[parameters.\"arming/always\"]\nafter = '3 ms'", "after", "has no parameter \"after\"", "It has none."),
            ("tested = '90 days'", "'90 days'", "a table of tests", ""),
            ("[tested]\nfailsave = '90 days'", "failsave", "the nearest is failsafe", "failsafe, range, directions"),
            ("[tested]\nrange = 90", "90", "a text in quotes", ""),
            ("[tested]\nrange = '90'", "'90'", "no number of days", "90 days"),
            ("[tested]\nrange = '0 days'", "'0 days'", "no number of days", "90 days"),
            ("[tested]\nrange = '3 s'", "'3 s'", "no number of days", "90 days"),
            ("a = ", "", "This is no TOML", "TOML format"),
            ("place = 'a'\nplace = 'b'", "place", "This is no TOML: duplicate key", "TOML format"),
        ] {
            let (_, findings) = read(text);
            let finding = findings.first().unwrap_or_else(|| panic!("{text}: nothing found"));
            assert_eq!((finding.rule, finding.severity, finding.place.file), (RULE, Severity::Fault, FileId(7)));
            let at = std::str::from_utf8(finding.place.span.of(text.as_bytes())).unwrap();
            assert_eq!(at.trim(), place, "{text}: {}", finding.message);
            assert!(finding.message.contains(message), "{text}: {}", finding.message);
            let (Mend::Words(words) | Mend::Choices(words, _)) = &finding.mend else { panic!("{text}") };
            assert!(words.contains(mend), "{text}: {words}");
        }
    }

    #[test]
    fn one_mistake_does_not_hide_the_rest() {
        let (settings, findings) =
            read("colour = 1\nfail-at = 'note'\nplace = 3\n[severity]\narming = 'mild'\nalarms = 'note'\n");
        assert_eq!(findings.len(), 3);
        assert_eq!(settings.fail_at, Some(Severity::Note));
        assert_eq!(settings.grades.len(), 1);
    }

    #[test]
    fn the_nearest_key_can_be_written_by_a_mend() {
        let (_, findings) = read("[severity]\n\"arming/slwo\" = 'note'");
        let Mend::Choices(_, choices) = &findings[0].mend else { panic!("{findings:?}") };
        assert_eq!(choices[0].edits[0].text, "\"arming/slow\"");
    }

    /// What a file of nothing but globs or keys takes is bounded, and each limit is told at its place.
    #[test]
    fn settings_beyond_measure_are_refused() {
        let globs = |count: usize, glob: &str| format!("exclude = [{}]", format!("'{glob}',\n").repeat(count));
        let keys = |count: usize| (0..count).map(|number| format!("key-{number} = 3\n")).collect::<String>();
        let comments = |count: usize| "# tides\n".repeat(count);
        for (text, message) in [
            (globs(MAX_GLOBS + 1, "a*"), "More than 200 globs stand in include and exclude; none of them is used."),
            (globs(9_000, "a"), "More than 200 globs"),
            (globs(2, &"a".repeat(MAX_GLOB + 1)), "This glob has more than 400 characters."),
            (keys(MAX_KEYS + 1), "More than 1000 keys stand in one table; the rest is not read."),
            (keys(9_000), "More than 200 mistakes in this file; the rest is not listed."),
            (format!("[severity]\n{}", keys(9_000)), "More than 1000 keys"),
            (format!("[parameters.\"arming/slow\"]\n{}", keys(9_000)), "More than 1000 keys"),
            (comments(MAX_SETTINGS / 8 + 1), "The file is larger than 256 KiB and is not read."),
        ] {
            let (settings, findings) = read(&text);
            let said: Vec<&str> = findings.iter().map(|finding| finding.message.as_str()).collect();
            assert!(said.iter().any(|said| said.starts_with(message)), "{message}: {said:?}");
            assert!(findings.len() <= MAX_MISTAKES + 1 && settings.globs.take("a*"), "{message}");
        }
        assert_eq!(read(&globs(MAX_GLOBS, &"a".repeat(MAX_GLOB))).1, []);
        assert_eq!(read(&comments(MAX_SETTINGS / 8)).1, []);
    }

    #[test]
    fn any_bytes_give_findings() {
        let (_, findings) = super::read(b"place = 'a\xff'", FileId(7), &check);
        assert_eq!((findings[0].place.span, findings.len()), (Span::new(10, 11), 1));
        for text in ["[".repeat(5_000), "a.".repeat(5_000), "\0".to_owned(), "\u{feff}place = 'x'".to_owned()] {
            let _ = read(&text);
        }
    }
}
