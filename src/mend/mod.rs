//! Edits applied to texts, and the one layout of a rig file. Pure: texts go in, texts come out.
//!
//! [`mend`] takes findings' mends, applies them, reads everything again and goes on until nothing changes. [`ready`]
//! fits the edits of one mend into their text: a statement that goes takes its line along, one that comes stands where
//! a pilot would look for it, and every comment stays.

mod lines;
mod near;
mod one;
mod ready;
mod rounds;
mod splice;
mod tidy;

pub use one::changes;
pub use ready::{Refusal, ready};
pub use rounds::{Asked, Done, How, Left, MOST_ROUNDS, Mended, Warning, Why, mend, warnings};
pub use splice::{Change, back, splice};
pub use tidy::{Untidy, tidy};
