//! From the bytes of the rig text that was made of a JSON text back to the bytes of the JSON text.

use crate::source::Span;

/// What a stretch of the rig text was made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Piece {
    rig: Span,
    json: Span,
    /// Byte for byte the same; else the stretch stands for the other one as a whole.
    exact: bool,
}

/// Where each stretch of a rig text comes from, in the order of the rig text.
#[derive(Debug, Default)]
pub struct Map {
    pieces: Vec<Piece>,
}

impl Map {
    pub(super) fn push(&mut self, rig: Span, json: Span, exact: bool) {
        self.pieces.push(Piece { rig, json, exact });
    }

    /// How many pieces there are, to come back to with [`Map::truncate`].
    pub(super) fn len(&self) -> usize {
        self.pieces.len()
    }

    pub(super) fn truncate(&mut self, length: usize) {
        self.pieces.truncate(length);
    }

    /// Adds the pieces of a text of which the first `kept` bytes now stand at `start`.
    pub(super) fn append(&mut self, other: &Self, start: u32, kept: u32) {
        for piece in other.pieces.iter().filter(|piece| piece.rig.start < kept) {
            let rig = Span::new(piece.rig.start, piece.rig.end.min(kept));
            let json = piece.part(rig);
            self.push(Span::new(rig.start + start, rig.end + start), json, piece.exact);
        }
    }

    /// The place in the JSON text of a place in the rig text: the smallest one that covers all that the place was made
    /// of. What was made of nothing (a word of the language between two values) takes the place of what stands before it.
    pub fn place(&self, span: Span) -> Span {
        let from = self.pieces.partition_point(|piece| piece.rig.end <= span.start && piece.rig.end < span.end);
        let touched = self.pieces.get(from..).unwrap_or_default();
        let touched = touched.iter().take_while(|piece| piece.rig.start < span.end);
        let json = touched.map(|piece| piece.part(span)).reduce(Span::to);
        json.or_else(|| {
            let before = self.pieces.partition_point(|piece| piece.rig.start < span.start);
            let near = self.pieces.get(before.saturating_sub(1))?;
            Some(near.part(span))
        })
        .unwrap_or_default()
    }
}

impl Piece {
    /// What the part of the piece that lies in `span` was made of.
    fn part(&self, span: Span) -> Span {
        if !self.exact || span.end < self.rig.start || span.start > self.rig.end {
            return self.json;
        }
        let at = |byte: u32| self.json.start + (byte.clamp(self.rig.start, self.rig.end) - self.rig.start);
        Span::new(at(span.start), at(span.end))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn map() -> Map {
        let mut map = Map::default();
        map.push(Span::new(0, 4), Span::new(100, 106), false);
        map.push(Span::new(5, 15), Span::new(200, 210), true);
        // A gap: words of the language from 15 to 30.
        map.push(Span::new(30, 32), Span::new(50, 52), true);
        map
    }

    #[test]
    fn places_come_back() {
        for (rig, json) in [
            ((0, 4), (100, 106)),
            ((1, 2), (100, 106)),
            ((6, 8), (201, 203)),
            ((7, 7), (202, 202)),
            // The end of a piece is where something is missing.
            ((15, 15), (210, 210)),
            // Both sides of the gap between two pieces.
            ((2, 7), (100, 202)),
            // Words of the language take what stands before them.
            ((20, 25), (200, 210)),
            // What stands earlier in the JSON text counts too.
            ((10, 31), (50, 210)),
            ((40, 41), (50, 52)),
        ] {
            assert_eq!(map().place(Span::new(rig.0, rig.1)), Span::new(json.0, json.1), "{rig:?}");
        }
        assert_eq!(Map::default().place(Span::new(3, 9)), Span::default());
    }
}
