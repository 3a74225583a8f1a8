//! Decibels, link budget, regions, pairing. Pure.
//!
//! Nothing here knows the typed fleet: every function takes plain facts, and `Option` means stated or not stated.

pub mod battery;
pub mod budget;
pub mod certainty;
pub mod decibel;
pub mod pairing;
pub mod regions;
pub mod timing;
