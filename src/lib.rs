//! `walkaround` checks the way a radio-control pilot sets up a transmitter handset, before the aircraft flies.
//!
//! The stages stand in the order in which data flows; a stage knows only the stages above it. ARCHITECTURE.md has one
//! law for each.
#![forbid(unsafe_code)]

pub mod asking;
#[cfg(feature = "command-line")]
pub mod command_line;
pub mod compare;
#[cfg(feature = "command-line")]
pub mod editor;
pub mod findings;
pub mod fleet;
pub mod inspect;
pub mod mend;
pub mod page;
pub mod radio;
pub mod report;
pub mod rules;
pub mod settings;
pub mod setup;
pub mod sheet;
pub mod signal;
pub mod source;
pub mod syntax;
