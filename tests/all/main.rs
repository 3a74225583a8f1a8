//! The whole-program checks: one test program, with a module for each thing that is checked and the helpers they share.
//! `cargo test --test all trace::` runs the checks of one module.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

// What several checks use.
#[path = "../../examples/generate_fleet/folder.rs"]
mod generate;
mod hooks;
mod patches;
mod program;
#[cfg_attr(not(feature = "outside-tools"), allow(dead_code, reason = "the comparison with a solver uses more of it"))]
mod random_models;
mod rust_text;
mod shown;
mod statements;
mod tangled;
mod testdata;

// The checks.
mod bad_input;
mod begin;
mod begin_added;
mod bench_check;
mod bench_words;
mod book;
mod broken_lines;
mod compare;
mod compare_git;
mod compare_programs;
mod compare_same;
mod convert;
mod coverage;
mod docs;
mod earned;
mod editor;
mod examples_read;
mod first_fleet;
mod five_points;
mod fleets;
mod fuzz;
mod git_hook;
mod hostile_sizes;
mod json_files;
mod json_schema;
mod kinds;
mod language;
mod layers;
mod like;
mod look;
mod mend;
mod mend_properties;
mod mishaps;
mod nothing_in_silence;
mod outputs;
mod pairings;
mod part_of_folder;
mod properties;
mod readme;
mod record;
mod reference;
mod rule_examples;
mod sheet;
mod signal_path_page;
mod signal_properties;
mod signal_values;
mod slips;
mod snapshots;
mod tidy;
mod trace;
#[cfg(unix)]
mod watch;
mod words;
mod workspace;

// The checks against tools from outside the project, which `.ci/install-outside-tools` installs.
#[cfg(feature = "outside-tools")]
mod outside_compare;
#[cfg(feature = "outside-tools")]
mod outside_editor;
#[cfg(feature = "outside-tools")]
mod outside_grammars;
#[cfg(feature = "outside-tools")]
mod outside_grid;
#[cfg(feature = "outside-tools")]
mod outside_hook;
#[cfg(feature = "outside-tools")]
mod outside_memory;
#[cfg(feature = "outside-tools")]
mod outside_outputs;
#[cfg(feature = "outside-tools")]
mod outside_page;
#[cfg(feature = "outside-tools")]
mod outside_radio;
#[cfg(feature = "outside-tools")]
mod outside_sheet;
#[cfg(feature = "outside-tools")]
mod outside_shells;
#[cfg(feature = "outside-tools")]
mod outside_signal;
