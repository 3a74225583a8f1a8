//! The generated pages in `docs/` say what the program says. `cargo run --example write_docs` writes them anew.

use std::{fs, path::Path};

fn is_current(page: &str, current: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs").join(page);
    let written = fs::read_to_string(path).unwrap().replace("\r\n", "\n");
    let differs = written.lines().zip(current.lines()).position(|(old, new)| old != new);
    let line = differs.unwrap_or(written.lines().count().min(current.lines().count())) + 1;
    assert!(
        written == current,
        "docs/{page} is out of date from line {line} on; `cargo run --example write_docs` writes it anew"
    );
}

#[test]
fn the_rule_book_page_is_up_to_date() {
    is_current("rules.md", &walkaround::rules::catalogue::markdown());
}

#[test]
fn the_page_of_the_settings_is_up_to_date() {
    is_current("settings.md", &walkaround::settings::reference::markdown());
}

#[test]
fn the_language_page_is_up_to_date() {
    is_current("language.md", &walkaround::fleet::table::markdown());
}

#[test]
fn the_page_and_the_schema_of_the_json_form_are_up_to_date() {
    is_current("json.md", &walkaround::fleet::json::markdown());
    is_current("rig.schema.json", &format!("{:#}\n", walkaround::fleet::json::schema()));
}
