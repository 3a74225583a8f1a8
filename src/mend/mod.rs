//! Edits applied and previewed.
