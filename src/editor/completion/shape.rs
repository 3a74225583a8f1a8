//! Shapes of the table of statements as something to type: words, and holes with something in them that fits.

use crate::fleet::{Decimal, Dimension};

/// A part of a text to insert.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Bit {
    /// As it is.
    Text(String),
    /// Something that the pilot may type over: what stands there at first, and what else may.
    Hole(String, Vec<String>),
}

impl Bit {
    pub(super) fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// What stands there at first.
    pub(super) fn first(&self) -> &str {
        match self {
            Self::Text(text) | Self::Hole(text, _) => text,
        }
    }
}

/// A text with what stands in its holes at first.
pub(super) fn filled(bits: &[Bit]) -> String {
    bits.iter().map(Bit::first).collect()
}

/// A text as a snippet of the protocol.
pub(super) fn snippet(bits: &[Bit]) -> String {
    let escaped = |text: &str, also: &[char]| {
        let mut out = String::new();
        for character in text.chars() {
            if matches!(character, '\\' | '$' | '}') || also.contains(&character) {
                out.push('\\');
            }
            out.push(character);
        }
        out
    };
    let (mut out, mut number) = (String::new(), 0);
    for bit in bits {
        match bit {
            Bit::Text(text) => out += &escaped(text, &[]),
            Bit::Hole(first, others) => {
                number += 1;
                let mut all: Vec<&str> = vec![first];
                all.extend(others.iter().map(String::as_str).filter(|other| other != first));
                out += &match all.len() {
                    1 => format!("${{{number}:{}}}", escaped(first, &[])),
                    _ => {
                        let all: Vec<String> = all.iter().map(|one| escaped(one, &[',', '|'])).collect();
                        format!("${{{number}|{}|}}", all.join(","))
                    }
                };
            }
        }
    }
    out
}

/// A part of a shape.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Piece {
    /// A word or sign that stands for itself.
    Word(String),
    /// A slot: its name, its kind and what belongs to that.
    Slot(String, String),
    /// One of some words, or a list of them.
    OneOf(Vec<String>),
    /// May be left out, or stand several times.
    Optional(Vec<Piece>),
    /// The block.
    Body,
}

/// The parts of a shape as the table writes it.
pub(super) fn pieces(shape: &str) -> Vec<Piece> {
    let mut rest = shape.trim();
    let mut open: Vec<Vec<Piece>> = vec![Vec::new()];
    while let Some(first) = rest.chars().next() {
        let length = match first {
            '<' => rest.find('>').map_or(rest.len(), |at| at + 1),
            '[' | ']' | '(' => 1,
            ')' => 2.min(rest.len()),
            _ => rest.find([' ', '[', ']', '(', ')']).unwrap_or(rest.len()),
        };
        let (piece, after) = rest.split_at(length);
        rest = after.trim_start();
        match piece {
            "[" | "(" => open.push(Vec::new()),
            "]" | ")*" => {
                let inner = open.pop().unwrap_or_default();
                if let Some(outer) = open.last_mut() {
                    outer.push(Piece::Optional(inner));
                }
            }
            "{" => open.last_mut().into_iter().for_each(|list| list.push(Piece::Body)),
            _ => {
                let inner = piece.strip_prefix('<').and_then(|inner| inner.strip_suffix('>'));
                let piece = match inner.map(|inner| (inner, inner.split_once('='))) {
                    None => Piece::Word(piece.to_owned()),
                    Some((_, Some((_, words)))) => {
                        Piece::OneOf(words.trim_end_matches(',').split('|').map(str::to_owned).collect())
                    }
                    Some((inner, None)) => {
                        let (name, kind) = inner.split_once(':').unwrap_or((inner, ""));
                        Piece::Slot(name.to_owned(), kind.to_owned())
                    }
                };
                open.last_mut().into_iter().for_each(|list| list.push(piece.clone()));
            }
        }
    }
    open.swap_remove(0)
}

/// What has to stand of these pieces.
pub(super) fn needed(pieces: &[Piece]) -> Vec<Piece> {
    pieces.iter().filter(|piece| !matches!(piece, Piece::Optional(_))).cloned().collect()
}

/// What may come next in a shape, from each of its parts on: the part alone, and with what then has to follow.
pub(super) fn ends(pieces: &[Piece]) -> Vec<Vec<Piece>> {
    let mut all = Vec::new();
    for (at, piece) in pieces.iter().enumerate() {
        let rest = needed(pieces.get(at + 1..).unwrap_or_default());
        let inner = match piece {
            Piece::Optional(inner) => ends(inner),
            other => vec![vec![other.clone()]],
        };
        for end in inner {
            let whole = [end.as_slice(), &rest].concat();
            if whole != end {
                all.push(whole);
            }
            all.push(end);
        }
    }
    all
}

/// A number that fits a slot, with its unit: something plain of its kind, within its limits.
pub(super) fn number(kind: &str) -> Option<Vec<Bit>> {
    let mut parts = kind.split(' ');
    let (kind, argument, limits) = (parts.next()?, parts.next().unwrap_or_default(), parts.next());
    let limits = limits
        .and_then(|limits| limits.split_once(".."))
        .and_then(|(low, high)| Some((low.parse().ok()?, high.parse().ok()?)));
    let within = |number: i64| limits.map_or(number, |(low, high): (i64, i64)| number.clamp(low, high)).to_string();
    let hole = |text: String| Bit::Hole(text, Vec::new());
    let whole = |text: &str| {
        text.split_once("..")
            .map_or_else(|| "1".to_owned(), |(low, _)| low.parse::<i64>().unwrap_or(1).max(1).to_string())
    };
    let (usual, low, unit) = plain(argument);
    Some(match kind {
        "int" | "ints" => vec![hole(whole(argument))],
        "int-range" => vec![hole(format!("1..{}", argument.split_once("..").map_or("40", |(_, high)| high)))],
        "number" | "numbers" => vec![hole(within(usual)), Bit::text(format!(" {unit}"))],
        "range" => {
            vec![hole(format!("{}..{}", within(low), within(usual.max(low + 1)))), Bit::text(format!(" {unit}"))]
        }
        "duration" => vec![hole("1".to_owned()), Bit::text(" s")],
        "day" => vec![hole("2026-01-01".to_owned())],
        "points" => vec![hole("-100:-100, 0:0, 100:100".to_owned())],
        _ => return None,
    })
}

/// A usual number of a dimension, a lower one for the start of a range, and the unit.
fn plain(dimension: &str) -> (i64, i64, &'static str) {
    match dimension {
        "pulse" => (1500, 1000, "us"),
        "percent" => (100, -100, "%"),
        "time" => (2, 1, "ms"),
        "frequency" => (100, 50, "Hz"),
        "power" => (100, 50, "mW"),
        "level" => (-90, -100, "dBm"),
        "gain" => (2, 0, "dBi"),
        "voltage" => (6, 4, "V"),
        "charge" => (1000, 500, "mAh"),
        "current" => (10, 5, "A"),
        "distance" => (100, 10, "m"),
        "mass" => (1, 0, "kg"),
        other => (1, 0, Dimension::find(other).and_then(|known| known.units().first()).map_or("", |unit| unit.text())),
    }
}

/// Whether a text is a number as the language writes it.
pub(super) fn is_number(text: &str) -> bool {
    Decimal::parse(text.as_bytes()).is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes_have_parts() {
        let word = |text: &str| Piece::Word(text.to_owned());
        let slot = |name: &str, kind: &str| Piece::Slot(name.to_owned(), kind.to_owned());
        let parts = pieces("<name:name> <count:int 2..16> positions [sprung-to <rest:position>] {");
        let optional = Piece::Optional(vec![word("sprung-to"), slot("rest", "position")]);
        assert_eq!(parts, [slot("name", "name"), slot("count", "int 2..16"), word("positions"), optional, Piece::Body]);
        assert_eq!(needed(&parts).len(), 4);
        let ends = ends(&parts);
        assert!(ends.contains(&vec![word("positions"), Piece::Body]));
        assert!(ends.contains(&vec![word("positions")]));
        assert!(ends.contains(&vec![word("sprung-to"), slot("rest", "position")]));
        assert_eq!(pieces("<a=x|y,>"), [Piece::OneOf(vec!["x".to_owned(), "y".to_owned()])]);
    }

    #[test]
    fn snippets_escape_what_means_something_in_them() {
        let bits = [
            Bit::text("a { $b }"),
            Bit::Hole("x}".into(), vec!["x}".into(), "y,|".into()]),
            Bit::Hole("z".into(), vec![]),
        ];
        assert_eq!(filled(&bits), "a { $b }x}z");
        assert_eq!(snippet(&bits), "a { \\$b \\}${1|x\\},y\\,\\||}${2:z}");
    }
}
