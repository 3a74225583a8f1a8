//! The rules of this repository or club.

pub(super) mod expect_failed;
pub mod secret;
