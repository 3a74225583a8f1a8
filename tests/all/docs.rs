//! The generated pages in `docs/` say what the program says. `cargo run --example write_docs` writes them anew.

use std::{fs, path::Path};

fn is_current(page: &str, current: &str) {
    is_written(&format!("docs/{page}"), current);
}

fn is_written(page: &str, current: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(page);
    let written = fs::read_to_string(path).unwrap().replace("\r\n", "\n");
    let differs = written.lines().zip(current.lines()).position(|(old, new)| old != new);
    let line = differs.unwrap_or(written.lines().count().min(current.lines().count())) + 1;
    assert!(
        written == current,
        "{page} is out of date from line {line} on; `cargo run --example write_docs` writes it anew"
    );
}

/// The hooks install the wheel of this version.
#[test]
fn the_version_is_said_alike() {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("pyproject.toml")).unwrap();
    let version = env!("CARGO_PKG_VERSION");
    assert!(text.contains(&format!("\nversion = \"{version}\"\n")), "{text}");
    assert!(text.contains(&format!("\"walkaround=={version}\"")), "{text}");
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

#[test]
fn the_grammars_are_up_to_date() {
    use walkaround::fleet::table::grammars;
    is_written("grammars/rig.tmLanguage.json", &grammars::text_mate());
    is_written("grammars/tree-sitter-rig/src/grammar.json", &grammars::tree_sitter());
    is_written("grammars/tree-sitter-rig/queries/highlights.scm", &grammars::highlights());
}
