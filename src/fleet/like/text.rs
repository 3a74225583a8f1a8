//! A text made of parts of others, which knows where each of its bytes stands.

use crate::source::{FileId, Place, Span};

/// A stretch of the text and where it stands.
#[derive(Clone, Copy, Debug)]
struct Piece {
    here: Span,
    there: Place,
    /// Byte for byte the same; else the stretch stands for the other one as a whole.
    exact: bool,
}

/// A block that is spelled out.
#[derive(Clone, Debug, Default)]
pub struct Spelt {
    /// The block as one that is `like` no other.
    pub text: String,
    /// Where the words of statements stand that can't be understood, and of which that was told.
    pub broken: Vec<u32>,
    pieces: Vec<Piece>,
}

/// A text that parts are taken from.
#[derive(Clone, Copy)]
pub(super) enum Source<'t> {
    /// A text as it was given, with the words that were told to be wrong.
    Given(FileId, &'t [u8], &'t [u32]),
    /// A block that is spelled out itself.
    Spelt(&'t Spelt),
}

impl<'t> Source<'t> {
    pub(super) fn bytes(self) -> &'t [u8] {
        match self {
            Self::Given(_, bytes, _) => bytes,
            Self::Spelt(spelt) => spelt.text.as_bytes(),
        }
    }

    fn broken(self) -> &'t [u32] {
        match self {
            Self::Given(_, _, broken) => broken,
            Self::Spelt(spelt) => &spelt.broken,
        }
    }
}

impl Spelt {
    /// A text that stands nowhere.
    pub(super) fn made(text: &str) -> Self {
        Self { text: text.to_owned(), ..Self::default() }
    }

    /// A whole text as it was given.
    pub fn given(file: FileId, bytes: &[u8], broken: &[u32]) -> Self {
        let mut spelt = Self::default();
        spelt.take(Source::Given(file, bytes, broken), Span::new(0, bytes.len() as u32));
        spelt
    }

    /// Adds what stands nowhere.
    pub(super) fn add(&mut self, text: &str) {
        self.text += text;
    }

    /// Adds a word that stands nowhere and that can't be understood; what is said of it is said of `place`.
    pub(super) fn add_broken(&mut self, word: &str, place: Place) {
        let start = self.text.len() as u32;
        self.broken.push(start);
        self.text += word;
        self.pieces.push(Piece { here: Span::new(start, self.text.len() as u32), there: place, exact: false });
    }

    /// Adds a part of another text.
    pub(super) fn take(&mut self, from: Source<'_>, span: Span) {
        let start = self.text.len() as u32;
        // The text was read, so it is UTF-8, and parts begin and end with tokens or comments.
        self.text += &String::from_utf8_lossy(span.of(from.bytes()));
        let at = |byte: u32| byte - span.start + start;
        let broken = from.broken();
        let first = broken.partition_point(|&word| word < span.start);
        let words = broken.get(first..).unwrap_or_default().iter().take_while(|&&word| word < span.end);
        self.broken.extend(words.map(|&word| at(word)));
        match from {
            Source::Given(file, ..) => {
                let here = Span::new(start, self.text.len() as u32);
                self.pieces.push(Piece { here, there: Place::new(file, span), exact: true });
            }
            Source::Spelt(spelt) => {
                for piece in spelt.touched(span) {
                    let part = Span::new(piece.here.start.max(span.start), piece.here.end.min(span.end));
                    let here = Span::new(at(part.start), at(part.end));
                    self.pieces.push(Piece { here, there: piece.part(part), exact: piece.exact });
                }
            }
        }
    }

    /// Ends whatever line stands before this text.
    pub fn begin_line(&mut self) {
        self.text.push('\n');
    }

    /// Adds another text behind this one.
    pub fn append(&mut self, other: &Self) {
        let start = self.text.len() as u32;
        self.text += &other.text;
        self.broken.extend(other.broken.iter().map(|word| word + start));
        let moved = |span: Span| Span::new(span.start + start, span.end + start);
        self.pieces.extend(other.pieces.iter().map(|piece| Piece { here: moved(piece.here), ..*piece }));
    }

    fn touched(&self, span: Span) -> impl Iterator<Item = &Piece> {
        let from = self.pieces.partition_point(|piece| piece.here.end <= span.start && piece.here.end < span.end);
        self.pieces.get(from..).unwrap_or_default().iter().take_while(move |piece| piece.here.start < span.end)
    }

    /// Where a place of the text stands: of one that was put together, where its first words stand.
    pub fn place(&self, span: Span) -> Option<Place> {
        let nearest = || {
            let behind = self.pieces.partition_point(|piece| piece.here.start <= span.start);
            self.pieces.get(behind.saturating_sub(1))
        };
        let piece = self.touched(span).next().or_else(nearest)?;
        Some(piece.part(span))
    }

    /// The same of a place that stands in one other text as it stands here, byte for byte.
    pub fn exact(&self, span: Span) -> Option<Place> {
        let at = self.pieces.partition_point(|piece| piece.here.end < span.end);
        let piece = self.pieces.get(at).filter(|piece| piece.exact && piece.here.holds(span))?;
        Some(piece.part(span))
    }

    /// Shows every place that parts of it stand at.
    pub fn each_place(&mut self, visit: &mut dyn FnMut(&mut Place)) {
        self.pieces.iter_mut().for_each(|piece| visit(&mut piece.there));
    }

    /// The files that parts of it stand in.
    pub fn files(&self) -> impl Iterator<Item = FileId> + '_ {
        self.pieces.iter().map(|piece| piece.there.file)
    }
}

impl Piece {
    /// Where the part of it that lies in `span` stands.
    fn part(&self, span: Span) -> Place {
        if !self.exact {
            return self.there;
        }
        let at = |byte: u32| self.there.span.start + (byte.clamp(self.here.start, self.here.end) - self.here.start);
        Place::new(self.there.file, Span::new(at(span.start), at(span.end)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_known_through_several_texts() {
        let (mut first, mut second) = (Spelt::default(), Spelt::default());
        first.add("craft knot {\n");
        first.take(Source::Given(FileId(4), b"xxabcdefyy", &[3]), Span::new(2, 8));
        second.add("--");
        second.take(Source::Spelt(&first), Span::new(14, 18));
        second.add_broken("flies", Place::new(FileId(7), Span::new(1, 2)));
        assert_eq!(second.text, "--bcdeflies");
        assert_eq!(second.broken, [2, 6]);
        let at = |file, start, end| Some(Place::new(FileId(file), Span::new(start, end)));
        assert_eq!(second.place(Span::new(3, 5)), at(4, 4, 6));
        assert_eq!(second.exact(Span::new(3, 5)), at(4, 4, 6));
        assert_eq!(second.place(Span::new(7, 9)), at(7, 1, 2));
        assert_eq!(second.exact(Span::new(7, 9)), None);
        // What lies in two stands where the first of it stands.
        assert_eq!(second.place(Span::new(5, 9)), at(4, 6, 7));
        assert_eq!(second.exact(Span::new(5, 9)), None);
        first.append(&second);
        assert_eq!(first.place(Span::new(22, 24)), at(4, 4, 6));
        assert_eq!(first.broken, [14, 21, 25]);
    }
}
