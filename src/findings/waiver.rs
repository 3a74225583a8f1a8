//! Waivers: comments by which a pilot accepts a finding, with a reason and, if wanted, for a time.
//!
//! ```text
//! # waive arming/momentary because "the controller latches it; checked on the bench" until 2027-03-01
//! channel 7 arm = trigger
//! ```

mod apply;

pub use apply::{Applied, Placed, apply};

use crate::fleet::day::{Day, NoDay};
use crate::source::{Located, Place, Span};

/// A waiver as it is written.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Waiver {
    /// The whole comment.
    pub place: Place,
    /// The rule it names, as written; empty if it names none.
    pub rule: Located<String>,
    /// Why the finding is accepted.
    pub reason: Option<Located<String>>,
    /// The last day on which it counts.
    pub until: Option<Located<Day>>,
    /// What can't be understood of it. Such a waiver covers nothing.
    pub flaw: Option<Located<String>>,
}

impl Waiver {
    /// Reads a comment, given with its `#` and without its line end; `place` is where it stands. None if it is an
    /// ordinary comment: one that does not start with the word `waive`, or that goes on like prose.
    pub fn parse(comment: &str, place: Place) -> Option<Self> {
        let mut words = Words { text: comment, at: 0, origin: place.span.start };
        words.skip(|character| character == '#');
        if words.next_word()?.value != "waive" {
            return None;
        }
        let rule = words.next_word().unwrap_or(Located::new("", words.here()));
        let prose = {
            let mut ahead = Words { ..words };
            !rule.value.contains('/')
                && ahead.next_word().is_some_and(|word| !matches!(word.value, "because" | "until"))
        };
        if prose {
            return None;
        }
        let rule = Located::new(rule.value.to_owned(), rule.span);
        let mut waiver = Self { place, rule, reason: None, until: None, flaw: None };
        while let Some(word) = words.next_word() {
            if let Err(flaw) = waiver.read_part(word, &mut words) {
                waiver.flaw = Some(flaw);
                break;
            }
        }
        Some(waiver)
    }

    fn read_part(&mut self, word: Located<&str>, words: &mut Words<'_>) -> Result<(), Located<String>> {
        match word.value {
            "because" if self.reason.is_none() => self.reason = Some(words.quoted()?),
            "until" if self.until.is_none() => {
                let day = words.next_word().unwrap_or(Located::new("", words.here()));
                let read = Day::parse(day.value).map_err(|error| {
                    let text = match error {
                        NoDay::Calendar => format!("the calendar has no day {}", day.value),
                        NoDay::Form => "after `until` stands a day such as 2027-03-01".to_owned(),
                    };
                    Located::new(text, day.span)
                })?;
                self.until = Some(Located::new(read, day.span));
            }
            "because" | "until" => return Err(Located::new(format!("`{}` stands twice", word.value), word.span)),
            _ => {
                let text = "after the rule stand `because \"…\"` and, if wanted, `until` with a day".to_owned();
                return Err(Located::new(text, word.span));
            }
        }
        Ok(())
    }

    /// Whether it has a reason that says something.
    pub fn has_reason(&self) -> bool {
        self.reason.as_ref().is_some_and(|reason| !reason.value.trim().is_empty())
    }
}

/// The words of a comment, one after the other.
struct Words<'t> {
    text: &'t str,
    at: usize,
    /// Where the comment starts in its file.
    origin: u32,
}

impl<'t> Words<'t> {
    fn skip(&mut self, unwanted: impl Fn(char) -> bool) {
        let rest = &self.text[self.at..];
        self.at = self.text.len() - rest.trim_start_matches(unwanted).len();
    }

    fn next_word(&mut self) -> Option<Located<&'t str>> {
        self.skip(char::is_whitespace);
        let rest = &self.text[self.at..];
        let length = rest.find(char::is_whitespace).unwrap_or(rest.len());
        let start = self.at;
        self.at += length;
        (length > 0).then(|| Located::new(&self.text[start..self.at], self.span(start)))
    }

    /// A string in the form of the rig language: `\"`, `\\`, `\n`, `\t` and `\u{…}` are escapes.
    fn quoted(&mut self) -> Result<Located<String>, Located<String>> {
        self.skip(char::is_whitespace);
        let start = self.at;
        let mut rest = self.text[start..].chars();
        let mut value = String::new();
        if rest.next() != Some('"') {
            return Err(Located::new("after `because` stands the reason in quotes".to_owned(), self.next_span()));
        }
        loop {
            match rest.next() {
                Some('"') => break,
                Some('\\') => match escaped(&mut rest) {
                    Some(character) => value.push(character),
                    None => return Err(self.unreadable(start, "the reason has an escape that is none")),
                },
                Some(character) => value.push(character),
                None => return Err(self.unreadable(start, "the reason has no closing quote")),
            }
        }
        self.at = self.text.len() - rest.as_str().len();
        Ok(Located::new(value, self.span(start)))
    }

    fn unreadable(&self, start: usize, text: &str) -> Located<String> {
        Located::new(text.to_owned(), Span::new(self.span(start).start, self.origin + self.text.len() as u32))
    }

    /// From a byte of the comment to the one that is read next.
    fn span(&self, start: usize) -> Span {
        Span::new(self.origin + start as u32, self.origin + self.at as u32)
    }

    fn here(&self) -> Span {
        self.span(self.at)
    }

    fn next_span(&self) -> Span {
        let mut ahead = Words { ..*self };
        ahead.next_word().map_or(self.here(), |word| word.span)
    }
}

fn escaped(rest: &mut std::str::Chars<'_>) -> Option<char> {
    match rest.next()? {
        'n' => Some('\n'),
        't' => Some('\t'),
        same @ ('"' | '\\') => Some(same),
        'u' => {
            let (digits, after) = rest.as_str().strip_prefix('{')?.split_once('}')?;
            *rest = after.chars();
            let plain = (1..=6).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_hexdigit());
            u32::from_str_radix(digits, 16).ok().filter(|_| plain).and_then(char::from_u32)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::FileId;

    fn parse(comment: &str) -> Option<Waiver> {
        Waiver::parse(comment, Place::new(FileId(0), Span::new(100, 100 + comment.len() as u32)))
    }

    /// What stands at a span of a comment that starts at byte 100.
    fn at(comment: &str, span: Span) -> &str {
        &comment[span.start as usize - 100..span.end as usize - 100]
    }

    #[test]
    fn every_part_has_its_place() {
        let text = r#"#  waive arming/momentary because "the \"latch\" \u{e9}" until 2027-03-01  "#;
        let waiver = parse(text).unwrap();
        assert_eq!(at(text, waiver.rule.span), "arming/momentary");
        let reason = waiver.reason.as_ref().unwrap();
        assert_eq!((reason.value.as_str(), at(text, reason.span)), ("the \"latch\" é", r#""the \"latch\" \u{e9}""#));
        let until = waiver.until.unwrap();
        assert_eq!((until.value.to_string().as_str(), at(text, until.span)), ("2027-03-01", "2027-03-01"));
        assert_eq!(waiver.flaw, None);
    }

    #[test]
    fn ordinary_comments_are_no_waivers() {
        for text in
            ["# the club waives the fee", "# waive the fee this year", "# waiver", "#", "# ", "# waived arming/slow"]
        {
            assert_eq!(parse(text), None, "{text}");
        }
    }

    #[test]
    fn what_is_wrong_with_a_waiver() {
        for (text, place, words) in [
            ("# waive arming/slow until 2027-02-30", "2027-02-30", "no day 2027-02-30"),
            ("# waive arming/slow until tomorrow", "tomorrow", "a day such as"),
            ("# waive arming/slow until", "", "a day such as"),
            ("# waive arming/slow because it is fine", "it", "in quotes"),
            ("# waive arming/slow because", "", "in quotes"),
            ("# waive arming/slow because \"it is fine", "\"it is fine", "closing quote"),
            ("# waive arming/slow because \"a\\q\"", "\"a\\q\"", "escape"),
            ("# waive arming/slow because \"a\\u{d800}\"", "\"a\\u{d800}\"", "escape"),
            ("# waive arming/slow because \"a\" because \"b\"", "because", "twice"),
            ("# waive arming/slow, it is fine", "it", "because"),
        ] {
            let flaw = parse(text).unwrap().flaw.unwrap();
            assert!(flaw.value.contains(words), "{text}: {}", flaw.value);
            assert_eq!(at(text, flaw.span), place, "{text}");
        }
        for text in ["# waive arming/slow", "# waive slow", "# waive", "# waive slow until 2027-03-01"] {
            let waiver = parse(text).unwrap();
            assert_eq!((waiver.has_reason(), waiver.flaw), (false, None), "{text}");
        }
        assert!(!parse("# waive arming/slow because \" \"").unwrap().has_reason());
    }

    #[test]
    fn any_text_is_read_without_a_panic() {
        for text in
            ["# waive \u{a0}ü/é because \"\\", "# waive a/b because \"\\u{", "# waive a/b because \"\\u{}\"", "waive"]
        {
            let _ = parse(text);
        }
    }
}
