//! Writes one of the mishaps of `testdata/mishaps` (or near misses of `testdata/near-misses`) as a folder, so that it can be
//! inspected by hand:
//!
//! ```sh
//! cargo run --example mishap                                    # lists them
//! cargo run --example mishap -- arming/never --out /tmp/never   # the clean fleet with that mistake
//! cargo run -- inspect /tmp/never
//! ```

#![allow(clippy::unwrap_used)]
#![expect(dead_code, reason = "shared with the tests, which use more of it")]

#[path = "../tests/all/patches/mod.rs"]
mod patches;
#[path = "../tests/all/testdata/mod.rs"]
mod testdata;

use patches::{Case, cases};
use std::fs;
use std::path::Path;
use std::process::ExitCode;

const USAGE: &str = "usage: mishap [GROUP/NAME | near-misses/GROUP/NAME] [--out FOLDER]";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let done = match words[..] {
        [] => list(),
        [name] => write(name, None),
        [name, "--out", folder] => write(name, Some(Path::new(folder))),
        _ => Err(USAGE.to_owned()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}

fn all() -> Result<Vec<Case>, String> {
    let mut all = cases("mishaps")?;
    all.extend(cases("near-misses")?);
    Ok(all)
}

fn list() -> Result<(), String> {
    for case in all()? {
        println!("{:44} {}", case.name.trim_start_matches("mishaps/"), one_line(&case.story));
    }
    println!("\n{USAGE}");
    Ok(())
}

/// Tells a case and writes its files into a new or empty folder.
fn write(name: &str, folder: Option<&Path>) -> Result<(), String> {
    let all = all()?;
    let wanted = [name.to_owned(), format!("mishaps/{name}")];
    let case = all.iter().find(|case| wanted.contains(&case.name)).ok_or(format!("there is no {name}\n{USAGE}"))?;
    println!("{}\n{}", case.name, one_line(&case.story));
    let files = case.patched(&testdata::fleet("clean"))?;
    for expected in case.findings.iter().chain(&case.also) {
        let text = files.iter().find(|(name, _)| *name == expected.file).map(|(_, bytes)| bytes.as_slice());
        let line = expected.number(&String::from_utf8_lossy(text.unwrap_or_default()))?;
        let rule = expected.rule.as_ref().unwrap_or(&case.rule);
        let reason = expected.reason.as_ref().map(|reason| format!(" ({})", one_line(reason))).unwrap_or_default();
        println!("to be found: {} {rule} at {}:{line}{reason}", expected.severity, expected.file);
    }
    if case.findings.is_empty() {
        println!("to be found: nothing by {}, and nothing at caution or above", case.rule);
    }
    let Some(folder) = folder else { return Ok(()) };
    let problem = |error: std::io::Error| format!("{}: {error}", folder.display());
    fs::create_dir_all(folder).map_err(problem)?;
    if fs::read_dir(folder).map_err(problem)?.next().is_some() {
        return Err(format!("{} is not empty", folder.display()));
    }
    for (name, bytes) in &files {
        fs::write(folder.join(name), bytes).map_err(problem)?;
    }
    println!("written; now: walkaround inspect {}", folder.display());
    Ok(())
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
