//! Texts, spans and positions: the only place that turns bytes into lines, columns and UTF-16.

mod lines;

pub use lines::{Lines, Position};

/// A byte range of one text, `start..end`. Texts are at most 4 MiB, so 32 bits are enough.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Debug)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// The range `start..end`.
    pub const fn new(start: u32, end: u32) -> Self {
        Self { start, end }
    }

    /// The smallest range that covers both.
    pub fn to(self, other: Self) -> Self {
        Self::new(self.start.min(other.start), self.end.max(other.end))
    }

    /// Whether the other range lies inside this one.
    pub const fn holds(self, other: Self) -> bool {
        self.start <= other.start && other.end <= self.end
    }

    /// The bytes of `text` in this range; empty where the range does not lie in the text.
    pub fn of(self, text: &[u8]) -> &[u8] {
        text.get(self.start as usize..self.end as usize).unwrap_or_default()
    }

    /// The range as the standard library writes it.
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// A value with the place in its file where it is written.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

impl<T> Located<T> {
    /// A value at a place.
    pub const fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }
}

/// A file of the folder that is read: an index into the list of its paths, in path order.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct FileId(pub u32);

/// A byte range in a file.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Place {
    /// The file.
    pub file: FileId,
    /// The range in it.
    pub span: Span,
}

impl Place {
    /// A range in a file.
    pub const fn new(file: FileId, span: Span) -> Self {
        Self { file, span }
    }
}
