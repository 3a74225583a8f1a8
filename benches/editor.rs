//! A keystroke in an editor until its diagnostics are there: in a folder of 12 aircraft beside one start of `rg -c ''`, and in one of
//! 1,000 beside a whole inspection. The program runs as an editor runs it, over pipes.
//!
//! `cargo bench --bench editor`; `rg` has to be on the path. Prints each figure beside its limit; the exit status is 1 where one is
//! passed.

#[path = "../examples/generate_fleet/folder.rs"]
mod generate;

use serde_json::{Value, json};
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_walkaround");
/// So many keystrokes are timed.
const KEYS: u32 = 60;

struct Server {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
}

impl Server {
    fn of(folder: &Path) -> Self {
        let mut child = Command::new(PROGRAM)
            .arg("editor")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap_or_else(|error| panic!("{PROGRAM}: {error}"));
        let (Some(input), Some(output)) = (child.stdin.take(), child.stdout.take()) else { panic!("no pipes") };
        let mut server = Self { child, input, output: BufReader::new(output) };
        let folders = json!([{"uri": format!("file://{}", folder.display()), "name": "fleet"}]);
        server.send(
            json!({"id": 1, "method": "initialize", "params": {"capabilities": {}, "workspaceFolders": folders}}),
        );
        server.send(json!({"method": "initialized", "params": {}}));
        server
    }

    fn send(&mut self, mut message: Value) {
        message["jsonrpc"] = json!("2.0");
        let text = message.to_string();
        let sent = write!(self.input, "Content-Length: {}\r\n\r\n{text}", text.len()).and_then(|()| self.input.flush());
        sent.unwrap_or_else(|error| panic!("{error}"));
    }

    fn read(&mut self) -> Value {
        let (mut length, mut line) = (0, String::new());
        loop {
            line.clear();
            let read = self.output.read_line(&mut line).unwrap_or_else(|error| panic!("{error}"));
            assert!(read > 0, "the server is gone");
            match line.trim().split_once(": ") {
                Some((_, value)) => length = value.parse().unwrap_or_default(),
                None => break,
            }
        }
        let mut content = vec![0; length];
        self.output.read_exact(&mut content).unwrap_or_else(|error| panic!("{error}"));
        serde_json::from_slice(&content).unwrap_or_else(|error| panic!("{error}"))
    }

    /// Waits for the diagnostics of a version of a document.
    fn wait(&mut self, version: u32) {
        while self.read()["params"]["version"] != version {}
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

/// The time from a keystroke to its diagnostics. In a large folder they wait for a pause, which is taken off.
fn keystroke(folder: &Path, file: &Path, pause: Duration) -> Duration {
    let text = fs::read_to_string(file).unwrap_or_else(|error| panic!("{error}"));
    let uri = format!("file://{}", file.display());
    let mut server = Server::of(folder);
    let document = json!({"uri": uri, "languageId": "rig", "version": 0, "text": text});
    server.send(json!({"method": "textDocument/didOpen", "params": {"textDocument": document}}));
    server.wait(0);
    let line = text.lines().position(|line| line.contains("channel 1")).unwrap_or(3);
    let end = text.lines().nth(line).map_or(0, |line| line.encode_utf16().count());
    let times = (1..=KEYS).map(|version| {
        // A character is typed, and taken away again.
        let (from, to, new) = if version % 2 == 1 { (end, end, " ") } else { (end, end + 1, "") };
        let at = |character| json!({"line": line, "character": character});
        let change = json!({"range": {"start": at(from), "end": at(to)}, "text": new});
        let document = json!({"uri": uri, "version": version});
        let params = json!({"textDocument": document, "contentChanges": [change]});
        let begun = Instant::now();
        server.send(json!({"method": "textDocument/didChange", "params": params}));
        server.wait(version);
        begun.elapsed().saturating_sub(pause)
    });
    median(times.collect())
}

fn run(program: &str, arguments: &[&str], folder: &Path) -> Duration {
    let times = (0..KEYS / 4).map(|_| {
        let begun = Instant::now();
        let output = Command::new(program).args(arguments).current_dir(folder).stdin(Stdio::null()).output();
        output.unwrap_or_else(|error| panic!("{program}: {error}"));
        begun.elapsed()
    });
    median(times.collect())
}

fn folder(count: u32, findings: u32) -> (tempfile::TempDir, std::path::PathBuf) {
    let folder = tempfile::tempdir().unwrap_or_else(|error| panic!("{error}"));
    let mut middle = None;
    for (number, (name, text)) in generate::files(count, 1, findings).enumerate() {
        let path = folder.path().join(name);
        let made = path.parent().map_or(Ok(()), fs::create_dir_all).and_then(|()| fs::write(&path, text));
        made.unwrap_or_else(|error| panic!("{error}"));
        if number == count as usize / 2 {
            middle = Some(path);
        }
    }
    (folder, middle.unwrap_or_default())
}

fn main() -> ExitCode {
    let mut kept = true;
    let mut row = |what: &str, ours: Duration, other: Duration, must: f64| {
        let ratio = ours.as_secs_f64() / other.as_secs_f64();
        kept &= ratio <= must;
        println!(
            "{what}: {ours:.2?} beside {other:.2?}: {ratio:.3}, must be {must:.3}: {}",
            if ratio <= must { "kept" } else { "missed" }
        );
    };
    for findings in [0, 20] {
        let (small, file) = folder(12, findings);
        let ours = keystroke(small.path(), &file, Duration::ZERO);
        row(
            &format!("12 aircraft, {findings} findings a file, beside rg"),
            ours,
            run("rg", &["-c", ""], small.path()),
            3.0,
        );
        let (large, file) = folder(1000, findings);
        let ours = keystroke(large.path(), &file, Duration::from_millis(150));
        let whole = run(PROGRAM, &["inspect", "--as", "lines"], large.path());
        row(&format!("1,000 aircraft, {findings} findings a file, beside an inspection"), ours, whole, 0.02);
    }
    if kept { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
