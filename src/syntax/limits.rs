//! What the reader accepts at most, so that no text can take unbounded time or memory.

/// The longest text that is read, in bytes.
pub const MAX_BYTES: usize = 4 << 20;
/// How deep blocks may be nested.
pub const MAX_NESTING: usize = 32;
/// How many statements a file may have.
pub const MAX_STATEMENTS: usize = 200_000;
/// How many statements one block may have; the file itself may have more.
pub const MAX_IN_BLOCK: usize = 2_000;
/// How many problems of one file are listed.
pub const MAX_PROBLEMS: usize = 1_000;
/// The most characters of a word or of a text in quotes: names are shown in reports, again and again.
pub const MAX_WORD: usize = 200;
/// The most digits of a number, so that its value fits an exact 64-bit decimal.
pub const MAX_DIGITS: usize = 15;
