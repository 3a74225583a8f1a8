//! The rules of this repository or club.

rules_of!(house);

pub use secret::{finding as secret_found, scan as secrets};
