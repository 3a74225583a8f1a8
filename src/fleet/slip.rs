//! What pilots write where the language has other words, and the line that they meant.
//!
//! Each guess is an edit of one statement, and is offered only if the statement can then be read: advice that is
//! refused afterwards is worse than none.

use super::miss::{Expected, Miss, MissKind};
use super::number::{Decimal, Dimension};
use super::problem::{Problem, nearest};
use super::shape::Captures;
use super::table::{self, Block};
use crate::source::Span;
use crate::syntax::{Kind, Tables, Token, Trouble, Unit, parse};

/// Longer lines than this are not guessed at: no pilot types them by hand.
const LONGEST_LINE: usize = 400;
/// A statement that is longer than this is not quoted whole.
const LONGEST_QUOTED: usize = 72;

/// What a statement is to become.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Guess {
    pub(super) span: Span,
    pub(super) text: String,
}

/// The header of a statement that can't be read.
pub(super) struct Line<'t> {
    pub(super) bytes: &'t [u8],
    pub(super) block: Block,
    pub(super) word: Token,
    pub(super) items: &'t [Token],
    pub(super) has_body: bool,
}

impl Line<'_> {
    /// Offers the guesses after which the statement can be read, as repairs of a problem with it.
    pub(super) fn offer(&self, problem: Problem, guesses: Vec<Guess>) -> Problem {
        if self.is_long() {
            return problem;
        }
        let mut offered: Vec<String> = Vec::new();
        guesses.into_iter().fold(problem, |problem, guess| {
            let after = self.with(&guess);
            let bare: String = after.split_whitespace().collect();
            if offered.contains(&bare) || !reads(self.block, &after, self.has_body) {
                return problem;
            }
            let quoted = if after.len() <= LONGEST_QUOTED { after.as_str() } else { guess.text.trim() };
            let label = format!("write `{quoted}`");
            let problem = problem.repair(label, guess.span, guess.text);
            offered.push(bare);
            problem
        })
    }

    /// Whether any of the guesses makes a statement that can be read.
    pub(super) fn has_meaning(&self, guesses: &[Guess]) -> bool {
        !self.is_long() && guesses.iter().any(|guess| reads(self.block, &self.with(guess), self.has_body))
    }

    fn is_long(&self) -> bool {
        let header = self.header();
        header.end.saturating_sub(header.start) as usize > LONGEST_LINE
    }

    fn header(&self) -> Span {
        self.word.span().to(self.items.last().map_or(self.word, |last| *last).span())
    }

    /// The header as it is after a guess.
    fn with(&self, guess: &Guess) -> String {
        let header = self.header();
        let text = |from, to| String::from_utf8_lossy(Span::new(from, to).of(self.bytes)).into_owned();
        let end = header.end.max(guess.span.end);
        format!("{}{}{}", text(header.start, guess.span.start), guess.text, text(guess.span.end, end))
    }

    fn text(&self, token: Token) -> &str {
        std::str::from_utf8(token.of(self.bytes)).unwrap_or_default()
    }

    fn item(&self, at: usize) -> Option<Token> {
        self.items.get(at).copied()
    }

    /// The word at an item; the statement's own word stands before the first.
    fn word_at(&self, at: usize) -> Option<&str> {
        self.item(at).filter(|token| token.kind == Kind::Word).map(|token| self.text(token))
    }

    /// Guesses where the items do not fit.
    pub(super) fn at(&self, miss: Miss) -> Vec<Guess> {
        let mut guesses = match miss.kind {
            MissKind::Unit(dimension) => self.units(miss.at, dimension),
            MissKind::Range(_) => self.rising(miss.at).into_iter().collect(),
            MissKind::Expected(expected) => self.instead(miss.at, expected),
            MissKind::TooLarge(..) => Vec::new(),
        };
        guesses.extend(self.points());
        guesses
    }

    /// The unit that was meant, where the word behind a number is what people call it; else the units that may be missing,
    /// the likeliest first.
    fn units(&self, at: usize, dimension: Dimension) -> Vec<Guess> {
        let Some(here) = self.item(at) else { return Vec::new() };
        let number = if matches!(here.kind, Kind::Unit(_)) { at.saturating_sub(1) } else { at };
        let Some(token) = self.item(number) else { return Vec::new() };
        let mut guesses = Vec::new();
        if let Some((span, text)) = self.unit_as_said(number, dimension) {
            guesses.push(Guess { span, text });
            return guesses;
        }
        let text = self.text(token);
        if token.kind == Kind::Number && self.item(number + 1).is_some_and(|next| next.kind == Kind::Number) {
            guesses.extend(self.joined_range(number));
        }
        let digits = text.split("..").next().unwrap_or_default();
        let value = Decimal::parse(digits.as_bytes()).unwrap_or_default();
        let own = match here.kind {
            Kind::Unit(_) => here.span(),
            _ => Span::new(token.end, token.end),
        };
        if let Some(percent) = share(dimension, value).filter(|_| token.kind == Kind::Number && own.start == own.end) {
            guesses.push(Guess { span: token.span(), text: format!("{percent} %") });
        }
        let word = self.text(self.word);
        let space = if own.start == own.end { " " } else { "" };
        let units = dimension.likely_units(word, value.to_f64()).into_iter();
        guesses.extend(units.map(|unit| Guess { span: own, text: format!("{space}{}", unit.text()) }));
        guesses
    }

    /// What stands behind a number in place of its unit, where people say it so; with how it is written.
    pub(super) fn unit_as_said(&self, number: usize, dimension: Dimension) -> Option<(Span, String)> {
        let (token, next) = (self.item(number)?, self.item(number + 1)?);
        if next.kind == Kind::Colon && dimension == Dimension::Time {
            let seconds = self.item(number + 2).filter(|token| token.kind == Kind::Number)?;
            let whole = |token: Token| Decimal::parse(token.of(self.bytes))?.to_whole();
            let (minutes, rest) = (whole(token)?, whole(seconds).filter(|rest| (0..60).contains(rest))?);
            let text = if rest == 0 { format!("{minutes} min") } else { format!("{minutes} min {rest} s") };
            return Some((token.span().to(seconds.span()), text));
        }
        let said = match next.kind {
            Kind::Word => self.text(next),
            // Metres of a time are minutes.
            Kind::Unit(Unit::Metre) if dimension == Dimension::Time => "m",
            _ => return None,
        };
        let span = Span::new(token.end, next.end);
        if let Some(unit) = unit_said(said, dimension) {
            return Some((span, format!(" {}", unit.text())));
        }
        // `4m30s`
        let at = said.find(|letter: char| letter.is_ascii_digit())?;
        let (first, behind) = said.split_at(at);
        let letters = behind.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(behind.len());
        let (digits, second) = behind.split_at(letters);
        let first = unit_said(first, dimension)?;
        let second = if second.is_empty() { Unit::Second } else { unit_said(second, dimension)? };
        Some((span, format!(" {} {digits} {}", first.text(), second.text())))
    }

    /// A range whose ends stand the wrong way round.
    fn rising(&self, at: usize) -> Option<Guess> {
        let token = self.item(at).filter(|token| token.kind == Kind::Range)?;
        let (low, high) = self.text(token).split_once("..")?;
        Some(Guess { span: token.span(), text: format!("{high}..{low}") })
    }

    /// Two numbers that are a range: `1660-2140`, `1660 to 2140`.
    fn joined_range(&self, at: usize) -> Option<Guess> {
        let low = self.item(at).filter(|token| token.kind == Kind::Number)?;
        let between = self.word_at(at + 1).filter(|word| matches!(*word, "to" | "and" | "until"));
        let high = self.item(at + if between.is_some() { 2 } else { 1 }).filter(|token| token.kind == Kind::Number)?;
        let end = self.text(high);
        let end = if between.is_some() { end } else { end.strip_prefix('-').unwrap_or(end) };
        Some(Guess { span: low.span().to(high.span()), text: format!("{}..{end}", self.text(low)) })
    }

    fn instead(&self, at: usize, expected: Expected) -> Vec<Guess> {
        let (mut guesses, mut known) = (Vec::new(), false);
        let end = self.header().end;
        let here = self.item(at);
        let before = Span::new(here.map_or(end, |token| token.start), here.map_or(end, |token| token.start));
        let insert = |word: &str| match here {
            Some(_) => Guess { span: before, text: format!("{word} ") },
            None => Guess { span: before, text: format!(" {word}") },
        };
        if let Some(word) = self.word_at(at) {
            let lower = word.to_lowercase();
            let span = here.map_or(before, Token::span);
            let said = SAID.iter().filter(|(said, _)| *said == lower);
            guesses.extend(said.map(|(_, meant)| Guess { span, text: (*meant).to_owned() }));
            known = !guesses.is_empty();
            if word.len() > 1 && word.len() <= 8 {
                let letters: Vec<String> = word.to_uppercase().chars().map(String::from).collect();
                guesses.push(Guess { span, text: letters.join(" ") });
            }
        }
        // A sign or word that the language does without: `match = on`, `left-front is down`.
        for at in [Some(at), at.checked_sub(1)].into_iter().flatten() {
            let Some(token) = self.item(at) else { continue };
            let idle = matches!(token.kind, Kind::Equals | Kind::Colon | Kind::Comma | Kind::Close)
                || matches!(self.word_at(at), Some("is" | "at" | "the" | "of" | "equals"));
            if idle {
                let from = if token.kind == Kind::Close { token.start } else { self.end_before(at) };
                guesses.push(Guess { span: Span::new(from, token.end), text: String::new() });
                let instead = match token.kind {
                    Kind::Colon => " =",
                    Kind::Equals => " when",
                    _ => continue,
                };
                guesses.push(Guess { span: Span::new(from, token.end), text: instead.to_owned() });
            }
        }
        guesses.extend(self.without_commas());
        guesses.extend(self.in_capitals());
        guesses.extend(self.joined_range(at));
        if let Some(back) = at.checked_sub(1) {
            guesses.extend(self.joined_range(back));
        }
        match expected {
            Expected::Word(word) => {
                guesses.extend(self.nearly(at, word));
                guesses.extend(self.plus_minus(at).filter(|_| word == "plus-minus"));
                // Two words beside each other are a name more often than a thing that is like another.
                guesses.extend(Some(insert(word)).filter(|_| !known && word != "like"));
            }
            Expected::Words("`=`") => {
                guesses.extend(
                    self.items
                        .last()
                        .map(|last| Guess { span: Span::new(last.start, last.start), text: "= ".to_owned() }),
                );
                guesses.push(insert("="));
            }
            Expected::Words("`)`") => {
                guesses.extend(self.bracket_ends(at));
            }
            Expected::Range(Dimension::Pulse) => guesses.extend(self.open_range(at)),
            _ => {}
        }
        guesses.extend(self.in_a_block(at));
        // Where a condition or a value is written, words beside each other are seldom one name.
        if !table::find(self.block, self.word.of(self.bytes)).is_some_and(|ready| ready.holds_conditions()) {
            guesses.extend(self.one_name(at));
        }
        if let Some(token) = here {
            let text = self.text(token);
            match (token.kind, text.strip_prefix('-')) {
                (Kind::Number, Some(number)) => {
                    guesses.push(Guess { span: token.span(), text: format!("- {number}") });
                }
                (Kind::Number, _) if at > 0 => guesses.push(insert("*")),
                // A count has no unit: `cells 6s`.
                (Kind::Unit(_), _) => {
                    guesses.push(Guess { span: Span::new(self.end_before(at), token.end), text: String::new() });
                }
                _ => {}
            }
        }
        guesses
    }

    /// `+-` and `+/-`, up to the number behind.
    fn plus_minus(&self, at: usize) -> Option<Guess> {
        let behind = self.items.get(at..)?.iter().take_while(|token| token.kind != Kind::Number);
        let (first, last) = (self.item(at)?, *behind.last()?);
        (first.kind == Kind::Plus).then(|| Guess { span: first.span().to(last.span()), text: "plus-minus".to_owned() })
    }

    /// `above 1660 us` where a range of pulses stands: all pulses on that side that a receiver can give.
    fn open_range(&self, at: usize) -> Option<Guess> {
        let number = self.item(at + 1).filter(|token| token.kind == Kind::Number)?;
        let (side, edge) = (self.item(at)?, self.text(number));
        let text = match self.word_at(at)? {
            "above" => format!("{edge}..2500"),
            "below" => format!("500..{edge}"),
            _ => return None,
        };
        Some(Guess { span: side.span().to(number.span()), text })
    }

    /// Where the item before this one ends.
    fn end_before(&self, at: usize) -> u32 {
        at.checked_sub(1).and_then(|at| self.item(at)).unwrap_or(self.word).end
    }

    /// The word that is expected, written with a slip: `2-position`.
    fn nearly(&self, at: usize, word: &'static str) -> Option<Guess> {
        let first = self.item(at)?;
        let minus = usize::from(first.kind == Kind::Minus);
        nearest(self.word_at(at + minus)?, [word])?;
        let last = self.item(at + minus)?;
        let space = if minus == 1 { " " } else { "" };
        Some(Guess { span: first.span().to(last.span()), text: format!("{space}{word}") })
    }

    /// A `(` that nothing closes, closed where a part can end, the furthest place first; or taken out.
    fn bracket_ends(&self, at: usize) -> Vec<Guess> {
        let ends = (0..self.items.len().min(at + 24)).rev().filter_map(|at| self.item(at));
        let mut guesses: Vec<Guess> =
            ends.map(|token| Guess { span: Span::new(token.end, token.end), text: ")".to_owned() }).collect();
        let opened = self.items.iter().rfind(|token| token.kind == Kind::Open);
        guesses.extend(opened.map(|token| Guess { span: token.span(), text: String::new() }));
        guesses.truncate(4);
        guesses
    }

    /// Words that are one name or one word of the language: `flown-at north spit`, `motors off`.
    fn one_name(&self, at: usize) -> Vec<Guess> {
        let mut guesses = Vec::new();
        let words = |from: usize| (from..self.items.len()).take_while(|&at| self.word_at(at).is_some()).count();
        for from in [at.checked_sub(1), Some(at)].into_iter().flatten() {
            let joins = |at: &usize| !matches!(self.word_at(*at), Some("and" | "or" | "not" | "when" | "then"));
            let run: Vec<Token> = (from..from + words(from)).take_while(joins).filter_map(|at| self.item(at)).collect();
            let two = run.get(..2).and_then(|two| two.first().zip(two.last()));
            let all = run.first().zip(run.last()).filter(|_| run.len() > 1);
            let text = |(first, last): (&Token, &Token)| {
                let span = first.span().to(last.span());
                (span, String::from_utf8_lossy(span.of(self.bytes)).split_whitespace().collect::<Vec<_>>().join(" "))
            };
            if let Some((span, words)) = all.map(text) {
                guesses.push(Guess { span, text: format!("\"{words}\"") });
            }
            if let Some((span, words)) = two.map(text) {
                guesses.push(Guess { span, text: format!("\"{words}\"") });
                guesses.push(Guess { span, text: words.replace(' ', "-") });
            }
        }
        guesses
    }

    /// `order A, E, T, R`: a list whose parts stand side by side.
    fn without_commas(&self) -> Option<Guess> {
        let (first, last) = (self.items.first()?, self.items.last()?);
        self.items.iter().find(|token| token.kind == Kind::Comma)?;
        let parts = self.items.iter().filter(|token| token.kind != Kind::Comma).map(|token| self.text(*token));
        Some(Guess { span: first.span().to(last.span()), text: parts.collect::<Vec<_>>().join(" ") })
    }

    /// `order a e t r`.
    fn in_capitals(&self) -> Option<Guess> {
        let (first, last) = (self.items.first()?, self.items.last()?);
        let letters = self.items.iter().all(|token| token.kind == Kind::Word && token.end - token.start == 1);
        let span = first.span().to(last.span());
        letters.then(|| Guess { span, text: String::from_utf8_lossy(span.of(self.bytes)).to_uppercase() })
    }

    /// What has a line of its own in the block of a channel: `channel 4 = yaw when ready`, `channel 4 = yaw reversed`.
    fn in_a_block(&self, at: usize) -> Vec<Guess> {
        let equals = self.items.iter().position(|token| token.kind == Kind::Equals);
        let (Some(equals), "channel", false) = (equals, self.text(self.word), self.has_body) else { return Vec::new() };
        let Some(sign) = self.item(equals) else { return Vec::new() };
        let span = Span::new(sign.start, self.header().end);
        let is = |word: &str| self.items.iter().position(|token| token.kind == Kind::Word && self.text(*token) == word);
        let text = |from: u32, to: u32| String::from_utf8_lossy(Span::new(from, to).of(self.bytes)).trim().to_owned();
        let mut guesses = Vec::new();
        if let Some(reversed) = ["reversed", "reverse", "inverted"].iter().find_map(|word| is(word))
            && let Some(token) = self.item(reversed)
        {
            let value = format!("{} {}", text(sign.end, token.start), text(token.end, span.end));
            guesses.push(Guess { span, text: format!("{{ value {}; reversed }}", value.trim()) });
        }
        if self.word_at(at) == Some("when") {
            guesses.push(Guess { span, text: format!("{{ value {} }}", text(sign.end, span.end)) });
        }
        guesses
    }

    /// The points of a curve as they are written: `-100:-100, 0:0`.
    fn points(&self) -> Option<Guess> {
        if self.text(self.word) != "points" {
            return None;
        }
        let numbers: Vec<&str> = self
            .items
            .iter()
            .flat_map(|token| self.text(*token).split([',', ':']))
            .filter(|part| is_number(part))
            .collect();
        let (first, last) = (self.items.first()?, self.items.last()?);
        let pairs = numbers.as_chunks::<2>();
        let points: Vec<String> = pairs.0.iter().map(|[x, y]| format!("{x}:{y}")).collect();
        (pairs.1.is_empty() && !points.is_empty())
            .then(|| Guess { span: first.span().to(last.span()), text: points.join(", ") })
    }

    /// Guesses where the text itself can't be read.
    pub(super) fn of_trouble(&self, trouble: Trouble, span: Span) -> Vec<Guess> {
        let text = String::from_utf8_lossy(span.of(self.bytes)).into_owned();
        let instead = |text: &str| Guess { span, text: text.to_owned() };
        let header = self.header();
        let line = String::from_utf8_lossy(header.of(self.bytes)).into_owned();
        let at = self.items.iter().position(|token| token.start == span.start);
        let around = at.and_then(|at| Some((self.item(at.checked_sub(1)?)?, self.item(at + 1)?)));
        let mut guesses = match (trouble, text.as_str()) {
            (Trouble::Character, ">" | ">=") => vec![instead("above")],
            (Trouble::Character, "<" | "<=") => vec![instead("below")],
            (Trouble::Character, "&" | "&&") => vec![instead("and")],
            (Trouble::Character, "|" | "||") => vec![instead("or")],
            (Trouble::Character, "!") => vec![instead("not ")],
            (Trouble::Character, "//" | "--" | "'" | "%") if text != "'" => vec![instead("#")],
            (Trouble::Character, "'") => vec![Guess { span: header, text: line.replace('\'', "\"") }],
            (Trouble::Character, ".") => vec![instead("0.")],
            (Trouble::Character, "..") => around.map_or_else(Vec::new, |(low, high)| {
                // The unit stands once, behind both numbers.
                let is_unit = |letter: char| letter.is_alphabetic() || letter == '%';
                let low = match at.and_then(|at| self.item(at.checked_sub(2)?)) {
                    Some(number) if self.text(low).chars().all(is_unit) => number,
                    _ => low,
                };
                vec![Guess {
                    span: low.span().to(high.span()),
                    text: format!("{}..{}", self.text(low).trim_end_matches(is_unit), self.text(high)),
                }]
            }),
            (Trouble::Character, "/") => around.and_then(|(_, by)| self.divided(span, by)).into_iter().collect(),
            (Trouble::Number, _) => {
                let dots = text.split('.').filter(|part| !part.is_empty()).collect::<Vec<_>>();
                let mut guesses = vec![instead(&text.replace('_', "")), instead(text.trim_end_matches('.'))];
                if text.contains("..") {
                    guesses.push(instead(&dots.join("..")));
                }
                guesses
            }
            (Trouble::OpenString, _) => {
                vec![Guess { span: Span::new(span.end, span.end), text: "\"".to_owned() }]
            }
            (Trouble::DecimalComma, _) => {
                let thousands = text.split_once(',').filter(|(_, digits)| digits.len() == 3 && is_number(digits));
                thousands.map(|(first, rest)| instead(&format!("{first}{rest}"))).into_iter().collect()
            }
            _ => Vec::new(),
        };
        guesses.extend(self.points());
        guesses
    }

    /// `/ 2` as a product: `* 50 %`.
    fn divided(&self, sign: Span, by: Token) -> Option<Guess> {
        let by_what = Decimal::parse(by.of(self.bytes))?.to_whole().filter(|by| *by > 0 && 100 % *by == 0)?;
        Some(Guess { span: sign.to(by.span()), text: format!("* {} %", 100 / by_what) })
    }
}

/// What people say for what the language says otherwise.
const SAID: &[(&str, &str)] = &[
    ("if", "when"),
    ("unless", "when not"),
    ("while", "when"),
    ("±", "plus-minus"),
    ("yes", "on"),
    ("true", "on"),
    ("enabled", "on"),
    ("no", "off"),
    ("none", "off"),
    ("false", "off"),
    ("disabled", "off"),
    ("one", "1"),
    ("two", "2"),
    ("three", "3"),
    ("four", "4"),
    ("five", "5"),
    ("six", "6"),
    ("seven", "7"),
    ("eight", "8"),
    ("&", "and"),
];

/// What people call units. A unit's own letters in any case are known without this.
const UNITS_SAID: &[(Unit, &[&str])] = &[
    (Unit::Percent, &["percent", "pct", "pc"]),
    (Unit::Microsecond, &["µs", "μs", "usec", "usecs", "microsecond", "microseconds"]),
    (Unit::Millisecond, &["msec", "msecs", "millisecond", "milliseconds"]),
    (Unit::Second, &["sec", "secs", "second", "seconds"]),
    (Unit::Minute, &["m", "mins", "minute", "minutes"]),
    (Unit::Hertz, &["hertz"]),
    (Unit::Kilohertz, &["kilohertz"]),
    (Unit::Megahertz, &["megahertz"]),
    (Unit::Gigahertz, &["gigahertz", "gig"]),
    (Unit::Milliwatt, &["milliwatt", "milliwatts"]),
    (Unit::Watt, &["watt", "watts"]),
    (Unit::Volt, &["volt", "volts"]),
    (Unit::Millivolt, &["millivolt", "millivolts"]),
    (Unit::Ampere, &["amp", "amps", "ampere", "amperes"]),
    (Unit::Milliampere, &["milliamp", "milliamps"]),
    (Unit::MilliampereHour, &["milliamp-hours"]),
    (Unit::AmpereHour, &["amp-hours"]),
    (Unit::Metre, &["metre", "metres", "meter", "meters"]),
    (Unit::Kilometre, &["kilometre", "kilometres", "kilometer", "kilometers", "kms"]),
    (Unit::Gram, &["gr", "gram", "grams", "gramme", "grammes"]),
    (Unit::Kilogram, &["kilo", "kilos", "kilogram", "kilograms", "kgs"]),
];

/// The unit of a dimension that people call so.
fn unit_said(said: &str, dimension: Dimension) -> Option<Unit> {
    let lower = said.to_lowercase();
    let of = dimension.units().iter().copied();
    of.clone().find(|unit| unit.text() == said).or_else(|| {
        of.clone().find(|unit| unit.text().to_lowercase() == lower).or_else(|| {
            UNITS_SAID
                .iter()
                .find(|(unit, names)| dimension.units().contains(unit) && names.iter().any(|name| *name == lower))
                .map(|(unit, _)| *unit)
        })
    })
}

/// A share of one, in percent: `0.8` is 80 %.
fn share(dimension: Dimension, value: Decimal) -> Option<Decimal> {
    let small = value.to_f64().abs() < 1.0 && value.scale() > 0;
    (dimension == Dimension::Percent && small).then(|| value.times(100))?
}

fn is_number(text: &str) -> bool {
    Decimal::parse(text.as_bytes()).is_some()
}

/// Whether a text, with an empty block behind it where it `has_body`, can be read as statements of a block.
fn reads(block: Block, text: &str, has_body: bool) -> bool {
    let text = if has_body { format!("{text} {{\n}}") } else { text.to_owned() };
    let mut tables = Tables::default();
    parse(text.as_bytes(), table::vocabulary, &mut tables);
    tables.problems.is_empty() && holds(block, None, text.as_bytes(), &tables, &mut Captures::default())
}

fn holds(block: Block, parent: Option<u32>, bytes: &[u8], tables: &Tables, captures: &mut Captures) -> bool {
    tables.body(parent).all(|index| {
        let Some(statement) = tables.statements.get(index as usize) else { return false };
        let word = tables.word(statement);
        let Some(ready) = table::find(block, word.of(bytes)) else { return false };
        let items = super::items::Items::new(bytes, tables.items(statement), word.end);
        let fits = ready
            .shapes()
            .iter()
            .any(|shape| shape.has_body() == statement.has_body && shape.take(&mut items.clone(), captures).is_ok());
        fits && match ready.entry.opens {
            Some(opened) if statement.has_body => holds(opened, Some(index), bytes, tables, captures),
            _ => true,
        }
    })
}
