//! The grammars of `grammars/` with the engines that editors use: all of `testdata/` is parsed with the one for tree-sitter, and each
//! statement's word gets its colour from the one in TextMate's form. `.ci/install-outside-tools` installs both engines; where one is missing
//! these tests fail and never skip.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use walkaround::fleet::table::vocabulary;
use walkaround::syntax::{Tables, parse};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// All rig files below a folder.
fn rig_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(rig_files(&path));
        } else if path.extension().is_some_and(|ending| ending == "rig") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// This one is broken on purpose.
const BROKEN: &str = "testdata/syntax/ten-broken-lines.rig";

/// A copy of the grammar in which its parser was generated.
fn grammar() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let from = root().join("grammars/tree-sitter-rig");
    for file in ["tree-sitter.json", "src/grammar.json", "queries/highlights.scm", "test/corpus/statements.txt"] {
        let to = folder.path().join(file);
        fs::create_dir_all(to.parent().unwrap()).unwrap();
        fs::copy(from.join(file), to).unwrap();
    }
    let generated = tree_sitter(folder.path(), &["generate", "src/grammar.json"]);
    assert!(generated.status.success(), "{}", said(&generated));
    folder
}

fn tree_sitter(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new("tree-sitter");
    // What is built of the parser stays in the folder.
    command.args(arguments).current_dir(folder).env("XDG_CACHE_HOME", folder.join("built")).env("NO_COLOR", "1");
    command.output().unwrap_or_else(|error| panic!("tree-sitter is not installed: {error}"))
}

#[test]
fn all_texts_are_parsed_with_the_tree_sitter_grammar() {
    let folder = grammar();
    let broken = root().join(BROKEN);
    let files: Vec<PathBuf> = rig_files(&root().join("testdata")).into_iter().filter(|file| *file != broken).collect();
    assert!(files.len() > 80, "{files:?}");
    let list: String = files.iter().map(|file| format!("{}\n", file.display())).collect();
    fs::write(folder.path().join("files"), list).unwrap();
    let parsed = tree_sitter(folder.path(), &["parse", "--quiet", "--paths", "files"]);
    assert!(parsed.status.success(), "{}", said(&parsed));
    // It does tell what is broken.
    let parsed = tree_sitter(folder.path(), &["parse", "--quiet", broken.to_str().unwrap()]);
    assert!(!parsed.status.success() && said(&parsed).contains("ERROR"), "{}", said(&parsed));

    let tests = tree_sitter(folder.path(), &["test"]);
    assert!(tests.status.success(), "{}", said(&tests));

    // In a text with every statement none is unknown, and each has the colour of one.
    let every = root().join("testdata/syntax/every-statement.rig");
    let tree = said(&tree_sitter(folder.path(), &["parse", every.to_str().unwrap()]));
    assert!(!tree.contains("(unknown"), "{tree}");
    let coloured = said(&tree_sitter(folder.path(), &["query", "queries/highlights.scm", every.to_str().unwrap()]));
    let words = coloured.lines().filter(|line| line.contains(" - keyword, ") || line.contains("capture: keyword,"));
    assert_eq!(words.count(), statements(&fs::read_to_string(&every).unwrap()).len(), "{coloured}");
}

/// The places of the words of all statements: line and column from 0, the latter in UTF-16.
fn statements(text: &str) -> Vec<(usize, usize)> {
    let mut tables = Tables::default();
    parse(text.as_bytes(), vocabulary, &mut tables);
    let place = |at: usize| {
        let before = &text[..at];
        let line = before.rfind('\n').map_or(0, |end| end + 1);
        (before.matches('\n').count(), text[line..at].encode_utf16().count())
    };
    tables.statements.iter().map(|statement| place(tables.word(statement).start as usize)).collect()
}

#[test]
fn every_statement_word_is_coloured_by_the_text_mate_grammar() {
    let globally = Command::new("npm").args(["root", "--global"]).output().expect("npm is not installed");
    let globally = String::from_utf8(globally.stdout).unwrap();
    let mut files = rig_files(&root().join("testdata/fleets"));
    // Fleets of newcomers hold words that are none.
    files.retain(|file| !file.to_string_lossy().contains("newcomer"));
    files.extend(
        ["every-statement", "odd-layout", "design-example"]
            .map(|name| root().join(format!("testdata/syntax/{name}.rig"))),
    );
    let texts = files.iter().map(|file| {
        let text = fs::read_to_string(file).unwrap();
        serde_json::json!({ "name": file, "statements": statements(&text), "text": text })
    });
    let texts: Vec<serde_json::Value> = texts.collect();
    let wanted: usize = texts.iter().map(|text| text["statements"].as_array().unwrap().len()).sum();
    let mut node = Command::new("node")
        .arg(root().join("tests/outside/text_mate.cjs"))
        .env("NODE_PATH", globally.trim())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("node is not installed");
    let input = serde_json::json!({ "grammar": root().join("grammars/rig.tmLanguage.json"), "texts": texts });
    node.stdin.take().unwrap().write_all(input.to_string().as_bytes()).unwrap();
    let output = node.wait_with_output().unwrap();
    assert_eq!(said(&output), format!("{wanted} words\n"));
    assert!(wanted > 2000, "{wanted}");
}
