//! The generated pages in `docs/` say what the program says. `cargo run --example write_docs` writes them anew.

use std::{fs, path::Path};

#[test]
fn the_rule_book_page_is_up_to_date() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/rules.md");
    let written = fs::read_to_string(path).unwrap().replace("\r\n", "\n");
    let current = walkaround::rules::catalogue::markdown();
    let differs = written.lines().zip(current.lines()).position(|(old, new)| old != new);
    let line = differs.unwrap_or(written.lines().count().min(current.lines().count())) + 1;
    assert!(
        written == current,
        "docs/rules.md is out of date from line {line} on; `cargo run --example write_docs` writes it anew"
    );
}
