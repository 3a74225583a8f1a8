//! Decibels, link budget, regions, pairing. Pure.
