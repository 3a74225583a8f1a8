//! Tables to a typed, resolved fleet. Every value keeps its span; units are checked here; the table of statements
//! lives here.

mod asked;
pub mod blocks;
pub mod condition;
pub mod craft;
mod cycles;
pub mod day;
pub mod equipment;
mod files;
pub mod fits;
mod inside;
mod items;
pub mod json;
pub mod like;
mod miss;
pub mod model;
mod number;
pub mod occurs;
pub mod problem;
mod read;
mod resolve;
pub mod says;
mod scope;
mod shape;
mod slip;
pub mod table;
mod trees;
mod unknown;
pub mod words;
mod write;

pub use asked::{read_condition, read_quoted};
pub use items::{MAX_DEPTH, MAX_TERMS};
pub use number::{Decimal, Dimension};
pub use read::{FileFleet, VERSION, read};
pub use resolve::{Fleet, in_quotes, no_such, quoted};
pub use shape::pieces;
pub use trees::MAX_CHANNEL;
