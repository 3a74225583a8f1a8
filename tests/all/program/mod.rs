//! Runs the program in a folder, with a text on standard input.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// What a run of a command says. One that refuses its arguments may end before it has read its input.
pub(crate) fn run(folder: &Path, command: &str, arguments: &[&str], input: &str) -> Output {
    let mut run = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    run.current_dir(folder).arg(command).args(arguments);
    run.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = run.spawn().unwrap();
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    child.wait_with_output().unwrap()
}
