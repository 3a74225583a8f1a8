//! Writes the generated pages in `docs/` and the grammars in `grammars/` anew: `cargo run --example write_docs`. `tests/all/docs.rs` fails
//! while they are out of date.

use std::{fs, io, path::Path};
use walkaround::fleet::table::grammars;

fn main() -> io::Result<()> {
    let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs");
    fs::create_dir_all(&docs)?;
    fs::write(docs.join("language.md"), walkaround::fleet::table::markdown())?;
    fs::write(docs.join("json.md"), walkaround::fleet::json::markdown())?;
    fs::write(docs.join("rig.schema.json"), format!("{:#}\n", walkaround::fleet::json::schema()))?;
    fs::write(docs.join("settings.md"), walkaround::settings::reference::markdown())?;
    fs::write(docs.join("rules.md"), walkaround::rules::catalogue::markdown())?;
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("grammars");
    fs::write(folder.join("rig.tmLanguage.json"), grammars::text_mate())?;
    fs::write(folder.join("tree-sitter-rig/src/grammar.json"), grammars::tree_sitter())?;
    fs::write(folder.join("tree-sitter-rig/queries/highlights.scm"), grammars::highlights())
}
