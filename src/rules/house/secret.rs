//! `house/secret`: something in the text looks like a binding secret or a password.
//!
//! The text is looked at once, while it is read. What counts is told in `testdata/secrets/README.md`.

use crate::findings::{Finding, Mend, Severity};
use crate::rules::book;
use crate::source::{FileId, Place, Span};
use crate::syntax::Tables;

const RULE: &str = "house/secret";

/// Words behind which a value is a secret.
const WORDS: &[&str] = &["password", "passphrase", "passcode", "passwd", "secret", "psk"];
/// Values that say that the secret is not here.
const ELSEWHERE: &[&str] = &[
    "none", "removed", "hidden", "see", "ask", "kept", "not", "unknown", "no", "in", "is", "on", "and", "for", "of",
    "at",
];

/// The places of a text that look like secrets.
pub fn scan(bytes: &[u8], tables: &Tables) -> Vec<Span> {
    let mut found = Vec::new();
    for statement in &tables.statements {
        if tables.word(statement).of(bytes) != b"key" {
            continue;
        }
        let Some(item) = tables.items(statement).first() else { continue };
        let label = String::from_utf8_lossy(item.of(bytes));
        if !is_plain_label(label.trim_matches('"')) {
            found.push(item.span());
        }
    }
    for comment in &tables.comments {
        let comment_bytes = comment.span.of(bytes);
        if may_hold(comment_bytes)
            && let Ok(text) = std::str::from_utf8(comment_bytes)
            && let Some((from, to)) = in_comment(text)
        {
            found.push(Span::new(comment.span.start + from as u32, comment.span.start + to as u32));
        }
    }
    found
}

/// The finding about a place. It never repeats what stands there.
pub fn finding(file: FileId, span: Span) -> Finding {
    let words = book::find(RULE).map_or("", |doc| doc.mend.split("\n\n").next().unwrap_or_default());
    let message = "This looks like a binding secret or a password; it is not repeated here.";
    Finding {
        mend: Mend::Words(words.replace('\n', " ").trim().to_owned()),
        ..Finding::new(RULE, Severity::Danger, Place::new(file, span), "secret", message)
    }
}

/// One or two words of letters, each with at most four digits at its end, and numbers of at most four digits beside
/// them, joined by a space, `-` or `_`.
fn is_plain_label(label: &str) -> bool {
    let mut words = 0;
    for part in label.split([' ', '-', '_']) {
        let letters = part.trim_end_matches(|c: char| c.is_ascii_digit());
        let digits = part.len() - letters.len();
        if digits > 4 || part.is_empty() || !letters.chars().all(char::is_alphabetic) {
            return false;
        }
        words += usize::from(!letters.is_empty());
    }
    (1..=2).contains(&words)
}

/// Whether letters stand in a comment that every word has behind which a value is a secret. Most comments have none of them.
fn may_hold(comment: &[u8]) -> bool {
    let mut rest = comment;
    while let Some(piece) = rest.first_chunk() {
        if has_letters(piece) {
            return true;
        }
        rest = rest.get(STEP..).unwrap_or_default();
    }
    let mut last = [0; STEP + 3];
    last.iter_mut().zip(rest).for_each(|(to, from)| *to = *from);
    has_letters(&last)
}

/// So many bytes are looked at in one step.
const STEP: usize = 32;

/// The same for a piece. All of it is gone through, without a way out, so that its bytes can be compared side by side.
fn has_letters(piece: &[u8; STEP + 3]) -> bool {
    let mut found = 0;
    for at in 0..STEP {
        // With the bit that tells small letters from capital ones.
        let is = |letters: &[u8; 3]| {
            let equal = |step: usize| u8::from(piece[at + step] | 0x20 == letters[step]);
            equal(0) & equal(1) & equal(2)
        };
        let fourth = |letter| u8::from(piece[at + 3] | 0x20 == letter);
        found |= is(b"key") | is(b"psk") | is(b"pas") & fourth(b's') | is(b"sec") & fourth(b'r');
    }
    found != 0
}

/// Where a comment holds a secret: from the word to the end of the value.
fn in_comment(text: &str) -> Option<(usize, usize)> {
    let lower = text.to_ascii_lowercase();
    let strong_words = WORDS.iter().map(|word| (*word, judge_word as fn(After<'_>) -> bool));
    let others = [("pass", judge_pass as fn(After<'_>) -> bool), ("key", judge_key)];
    strong_words.chain(others).find_map(|(word, judge)| {
        lower.match_indices(word).find_map(|(at, _)| {
            let end = at + word.len();
            let before = lower.get(..at)?.chars().next_back();
            let behind = lower.get(end..)?.chars().next();
            if before.is_some_and(char::is_alphanumeric) || behind.is_some_and(char::is_alphanumeric) {
                return None;
            }
            let after = After::new(text.get(end..)?);
            judge(after).then_some((at, text.len()))
        })
    })
}

/// What follows a word: how it is joined, and the value.
#[derive(Clone, Copy)]
struct After<'t> {
    joined: Joined,
    /// Everything behind.
    rest: &'t str,
    /// The first word of it, without quotes and closing signs.
    first: &'t str,
}

#[derive(Clone, Copy, PartialEq)]
enum Joined {
    Sign,
    Is,
    Space,
}

impl<'t> After<'t> {
    fn new(text: &'t str) -> Self {
        let trimmed = text.trim_start();
        let sign = ["->", ":", "="].iter().find_map(|sign| trimmed.strip_prefix(sign));
        let (joined, rest) = match (sign, trimmed.strip_prefix("is ")) {
            (Some(rest), _) => (Joined::Sign, rest.trim()),
            (None, Some(rest)) => (Joined::Is, rest.trim()),
            (None, None) => (Joined::Space, trimmed.trim_end()),
        };
        let first = rest.split_whitespace().next().unwrap_or_default();
        let first = first.trim_matches(|c: char| matches!(c, '"' | '\'' | ',' | ';' | '.' | '(' | ')' | '?' | '!'));
        Self { joined, rest, first }
    }

    fn is_long_number(self) -> bool {
        self.first.len() >= 4 && self.first.bytes().all(|byte| byte.is_ascii_digit())
    }
}

/// Four characters or more that mix letters and digits, or have a sign inside that words have not.
fn is_strong(value: &str) -> bool {
    let letters = value.chars().any(char::is_alphabetic);
    let digits = value.chars().any(|c| c.is_ascii_digit());
    let inside = value.get(1..value.len().saturating_sub(1)).unwrap_or_default();
    let sign = inside.contains(['!', '+', '/', '=', ':', '&', '#', '$', '@', '*', '~', '^']);
    value.chars().count() >= 4 && (letters && digits || sign && (letters || digits))
}

fn judge_word(after: After<'_>) -> bool {
    let known = ELSEWHERE.contains(&after.first.to_ascii_lowercase().as_str());
    let blank = after.first.chars().all(|c| matches!(c, '.' | '*' | '…' | '-' | '_' | '<' | '>'));
    match after.joined {
        Joined::Sign => {
            let quoted = after.rest.starts_with('"') && after.rest.len() > 2;
            let single = !after.rest.is_empty() && !after.rest.contains(char::is_whitespace);
            !known && !blank && (quoted || is_strong(after.first) || single)
        }
        Joined::Is | Joined::Space => is_strong(after.first) || after.is_long_number(),
    }
}

fn judge_pass(after: After<'_>) -> bool {
    let unit = after.rest.split_whitespace().nth(1).unwrap_or_default();
    let unit = ["m", "ft", "us", "Hz", "mAh", "km", "ms", "s", "MHz", "mW"].contains(&unit.trim_matches([',', '.']));
    is_strong(after.first) && !is_measure(after.first) || after.is_long_number() && !unit
}

fn judge_key(after: After<'_>) -> bool {
    after.joined != Joined::Space && is_strong(after.first) && !is_measure(after.first)
}

/// A number with a unit glued to it, or a day.
fn is_measure(value: &str) -> bool {
    let letters = value.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.' || c == '-');
    letters.len() < value.len() && letters.len() <= 3
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fleet::table::vocabulary;
    use crate::syntax::parse;

    fn found(line: &str) -> bool {
        let mut tables = Tables::default();
        parse(line.as_bytes(), vocabulary, &mut tables);
        !scan(line.as_bytes(), &tables).is_empty()
    }

    #[test]
    fn every_secret_of_the_list_is_found() {
        let lines = include_str!("../../../testdata/secrets/positives.txt").lines();
        let missed: Vec<&str> = lines.filter(|line| !found(line)).collect();
        assert!(missed.is_empty(), "{missed:#?}");
    }

    #[test]
    fn harmless_lines_stay_silent() {
        let lines: Vec<&str> = include_str!("../../../testdata/secrets/harmless.txt").lines().collect();
        assert!(lines.len() >= 100);
        let wrong: Vec<&&str> = lines.iter().filter(|line| found(line)).collect();
        assert!(wrong.is_empty(), "{wrong:#?}");
    }

    #[test]
    fn every_word_is_looked_for_in_any_case() {
        for word in WORDS.iter().chain(&["pass", "key"]) {
            for word in [(*word).to_owned(), word.to_uppercase()] {
                assert!(may_hold(word.as_bytes()) && may_hold(format!("# a {word}: x").as_bytes()), "{word}");
            }
        }
        assert!(!may_hold(b"# half a second past the wet grass, as on page 3 of the sketch"));
    }

    #[test]
    fn the_finding_does_not_repeat_the_secret() {
        assert!(!finding(FileId(0), Span::new(0, 5)).message.contains("key"));
    }
}
