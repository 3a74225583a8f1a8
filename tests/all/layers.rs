//! The law of the stages: data flows one way, the core touches no file, clock, thread or network, and no source file
//! grows past 700 lines; and the files of one folder do not import each other in large circles. ARCHITECTURE.md states the same
//! in words.

use crate::rust_text::{Token, paths, tokens, without_tests};
use std::fs;
use std::path::{Path, PathBuf};

/// The stages in the order in which data flows.
const STAGES: [&str; 18] = [
    "source",
    "syntax",
    "fleet",
    "signal",
    "radio",
    "setup",
    "findings",
    "rules",
    "mend",
    "inspect",
    "compare",
    "settings",
    "asking",
    "sheet",
    "report",
    "page",
    "editor",
    "command_line",
];

/// The stages that may touch the outside.
const OUTSIDE: [&str; 1] = ["command_line"];

/// What the core must not touch: it has to run in a web page too.
const BARRED: [&[&str]; 7] = [
    &["std", "fs"],
    &["std", "thread"],
    &["std", "env"],
    &["std", "net"],
    &["std", "process"],
    &["std", "time", "SystemTime"],
    &["std", "time", "Instant"],
];

const MOST_LINES: usize = 700;

/// The most files of one folder of `src/` that may import each other in a circle.
const MOST_IN_A_CIRCLE: usize = 5;

/// The package's folder.
fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every Rust file below a folder, in path order.
fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(rust_files(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// The path of the module a file holds, from the crate's root: `src/signal/link.rs` is `["signal", "link"]`.
fn module_of(file: &Path) -> Vec<String> {
    let below = file.strip_prefix(root().join("src")).unwrap().with_extension("");
    let mut parts: Vec<String> = below.iter().map(|part| part.to_str().unwrap().to_string()).collect();
    if parts.last().is_some_and(|last| last == "mod") {
        parts.pop();
    }
    parts
}

/// What a module's text does against the law, in words. `outside` is true where disk, clock and threads are allowed.
fn breaches(module: &[String], text: &[Token], outside: bool) -> Vec<String> {
    let Some(own) = STAGES.iter().position(|stage| *stage == module[0]) else {
        return vec![format!("src/{} is no stage of ARCHITECTURE.md", module[0])];
    };
    let mut found = Vec::new();
    for path in paths(text) {
        let path = from_root(module, &path);
        if path[0] == "crate" {
            let Some(other) = path.get(1) else { continue };
            if STAGES.iter().position(|stage| stage == other).is_some_and(|other| other > own) {
                found.push(format!("{} knows {other}, which comes later", module.join("::")));
            }
        }
        if !outside
            && BARRED.iter().any(|barred| path.iter().zip(*barred).filter(|(a, b)| a == *b).count() == barred.len())
        {
            found.push(format!("{} touches {}", module.join("::"), path.join("::")));
        }
    }
    found
}

/// A path with its leading `super`s resolved, so that `super::super::rules` is seen for what it is.
fn from_root(module: &[String], path: &[String]) -> Vec<String> {
    let up = path.iter().take_while(|part| *part == "super").count();
    if up == 0 {
        return path.to_vec();
    }
    let stays = module.len().saturating_sub(up);
    let mut whole = vec!["crate".to_string()];
    whole.extend_from_slice(&module[..stays]);
    whole.extend_from_slice(&path[up..]);
    whole
}

/// The modules that a file declares only for the command line, and those it declares only for tests.
fn gated_modules(text: &[Token]) -> (Vec<String>, Vec<String>) {
    let (mut command_line, mut tests) = (Vec::new(), Vec::new());
    for (at, token) in text.iter().enumerate() {
        if *token != Token::Word("mod".into()) {
            continue;
        }
        let Some(Token::Word(name)) = text.get(at + 1) else { continue };
        let before = &text[..at];
        let start = before.iter().rposition(|token| matches!(token, Token::Sign(';' | '}'))).map_or(0, |end| end + 1);
        let attributes = &before[start..];
        if attributes.contains(&Token::Text("command-line".into())) {
            command_line.push(name.clone());
        }
        if attributes.windows(3).any(|three| {
            three[0] == Token::Word("cfg".into())
                && three[1] == Token::Sign('(')
                && three[2] == Token::Word("test".into())
        }) {
            tests.push(name.clone());
        }
    }
    (command_line, tests)
}

#[test]
fn data_flows_one_way_and_the_core_stays_pure() {
    let files: Vec<(Vec<String>, Vec<Token>)> = rust_files(&root().join("src"))
        .into_iter()
        .map(|file| (module_of(&file), tokens(&fs::read_to_string(&file).unwrap())))
        .collect();
    let (mut outside, mut tests): (Vec<Vec<String>>, Vec<Vec<String>>) =
        (OUTSIDE.iter().map(|stage| vec![stage.to_string()]).collect(), Vec::new());
    for (module, text) in &files {
        // lib.rs gates whole stages; that does not make them part of the outside.
        if module[0] == "lib" || module[0] == "main" {
            continue;
        }
        let (command_line, test) = gated_modules(text);
        let child = |name: &String| module.iter().chain([name]).cloned().collect::<Vec<_>>();
        outside.extend(command_line.iter().map(child));
        tests.extend(test.iter().map(child));
    }
    let mut found = Vec::new();
    let mut judged = 0;
    for (module, text) in &files {
        if module[0] == "lib" || module[0] == "main" || tests.iter().any(|test| module.starts_with(test)) {
            continue;
        }
        judged += 1;
        let outside = outside.iter().any(|outside| module.starts_with(outside));
        found.extend(breaches(module, &without_tests(text), outside));
    }
    assert!(judged >= STAGES.len(), "only {judged} source files were found");
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// What a module imports of the modules of its own folder, by path. `modules` holds the folder's modules; of a path the
/// longest beginning that is a module counts. What a folder's `mod.rs` re-exports belongs to that file.
fn imports(module: &[String], text: &[Token], modules: &[Vec<String>]) -> Vec<usize> {
    let mut found = Vec::new();
    for path in paths(text) {
        let path = from_root(module, &path);
        let Some(("crate", path)) = path.split_first().map(|(first, rest)| (first.as_str(), rest)) else { continue };
        let longest =
            (1..=path.len()).rev().find_map(|length| modules.iter().position(|known| *known == path[..length]));
        found.extend(longest.filter(|&other| modules[other] != module));
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// The groups of nodes that can reach each other: its strongly connected components of more than one node.
fn circles(edges: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let reach = |from: usize| {
        let (mut seen, mut open) = (vec![false; edges.len()], edges[from].clone());
        while let Some(at) = open.pop() {
            if !std::mem::replace(&mut seen[at], true) {
                open.extend(&edges[at]);
            }
        }
        seen
    };
    let reached: Vec<Vec<bool>> = (0..edges.len()).map(reach).collect();
    let mut found: Vec<Vec<usize>> = Vec::new();
    for (at, from) in reached.iter().enumerate() {
        if from[at] && !found.iter().any(|circle| circle.contains(&at)) {
            found.push((0..edges.len()).filter(|&other| from[other] && reached[other][at]).collect());
        }
    }
    found
}

/// The circles of a folder's modules, each module with its text. Modules for tests are no part of it.
fn circles_of(modules: &[(Vec<String>, Vec<Token>)]) -> Vec<Vec<String>> {
    let names: Vec<Vec<String>> = modules.iter().map(|(module, _)| module.clone()).collect();
    let edges: Vec<Vec<usize>> =
        modules.iter().map(|(module, text)| imports(module, &without_tests(text), &names)).collect();
    circles(&edges).iter().map(|circle| circle.iter().map(|&at| names[at].join("::")).collect()).collect()
}

#[test]
fn no_large_circle_of_imports_stands_in_a_folder() {
    for stage in STAGES {
        let files = rust_files(&root().join("src").join(stage));
        let modules: Vec<(Vec<String>, Vec<Token>)> =
            files.iter().map(|file| (module_of(file), tokens(&fs::read_to_string(file).unwrap()))).collect();
        let tests: Vec<Vec<String>> = modules
            .iter()
            .flat_map(|(module, text)| {
                gated_modules(text).1.into_iter().map(|name| module.iter().cloned().chain([name]).collect())
            })
            .collect();
        let modules: Vec<_> = modules
            .into_iter()
            .filter(|(module, _)| !tests.iter().any(|test: &Vec<String>| module.starts_with(test)))
            .collect();
        let large: Vec<Vec<String>> =
            circles_of(&modules).into_iter().filter(|circle| circle.len() > MOST_IN_A_CIRCLE).collect();
        assert!(large.is_empty(), "src/{stage}: {} files in a circle: {:?}", large[0].len(), large[0]);
    }
}

#[test]
fn a_circle_of_imports_is_seen_whatever_way_it_is_written() {
    let module = |name: &str, text: &str| (vec!["signal".to_string(), name.to_string()], tokens(text));
    let modules = [
        module("a", "use super::b::Bee; // use crate::signal::d;"),
        module("b", "use crate::{signal::{c, d::D}, source};"),
        module("c", "fn f() { crate::signal::a::g() }"),
        module("d", "#[cfg(test)]\nmod tests { use super::super::a; }"),
    ];
    assert_eq!(circles_of(&modules), [["signal::a", "signal::b", "signal::c"]]);
    assert_eq!(circles_of(&modules[1..]), Vec::<Vec<String>>::new());
}

#[test]
fn no_source_file_is_too_long() {
    let mut files = vec![root().join("build.rs")];
    for folder in ["src", "tests", "benches", "examples"] {
        files.extend(rust_files(&root().join(folder)));
    }
    let long: Vec<String> = files
        .iter()
        .filter_map(|file| {
            let lines = fs::read_to_string(file).unwrap().lines().count();
            (lines > MOST_LINES).then(|| format!("{}: {lines} lines", file.strip_prefix(root()).unwrap().display()))
        })
        .collect();
    assert!(long.is_empty(), "over {MOST_LINES} lines: {long:?}");
}

/// The breaches of a text that pretends to be a module of the core.
fn breaches_of(module: &[&str], text: &str) -> Vec<String> {
    let module: Vec<String> = module.iter().map(|part| part.to_string()).collect();
    breaches(&module, &without_tests(&tokens(text)), false)
}

#[test]
fn the_check_sees_every_way_to_break_the_law() {
    for text in [
        "use crate::rules::all;",
        "use crate::{source::Span, rules};",
        "fn f() { crate::report::text() }",
        "use super::super::mend;",
        "use std::fs;",
        "use std::{collections::HashMap, fs::File};",
        "fn f() { std::thread::spawn(|| ()); }",
        "use std::time::{Duration, Instant};",
        "fn f<'a>(x: &'a str) -> char { let c = 'x'; std::env::args(); c }",
    ] {
        assert_eq!(breaches_of(&["signal", "link"], text).len(), 1, "{text}");
    }
}

#[test]
fn the_check_leaves_lawful_text_alone() {
    for text in [
        "use crate::fleet::Fleet; use super::query; use std::time::Duration;",
        "// use crate::rules;\n/* std::fs /* nested */ std::env */ const A: &str = \"crate::rules\";",
        "const A: &str = r#\"std::fs \" crate::report\"#; const Q: char = '\"'; const B: &[u8] = b\"std::net\";",
        "#[cfg(test)]\nmod tests { use crate::rules; fn f() { std::fs::read(\"x\"); } }",
        "#[cfg(test)]\n#[path = \"x.rs\"]\nmod tests;\nuse crate::source::Span;",
    ] {
        assert_eq!(breaches_of(&["signal", "link"], text), Vec::<String>::new(), "{text}");
    }
}
