//! walkaround.toml, and which files are chosen.
