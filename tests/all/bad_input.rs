//! Any bytes and any folder give findings or a clean refusal: said in words, with the exit status of the contract, in
//! bounded time, and without a control character on the way to the terminal.

use std::ffi::OsStr;
use std::fs;
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

const FORMS: [&str; 3] = ["text", "lines", "json"];

/// A run that takes longer than this hangs.
const PATIENCE: Duration = Duration::from_secs(60);

/// What a run gave.
struct Run {
    out: String,
    told: String,
    status: i32,
}

impl Run {
    /// Asserts the status, and that these words stand in what was written.
    #[track_caller]
    fn gives(&self, status: i32, words: &[&str]) {
        let all = format!("{}{}", self.out, self.told);
        // Where the text form breaks a line is not asked.
        let flat = all.split_whitespace().filter(|piece| *piece != "│").collect::<Vec<_>>().join(" ");
        for word in words {
            assert!(flat.contains(word), "\"{word}\" is missing:\n{all}");
        }
        assert_eq!(self.status, status, "{all}");
        let sent = all.chars().find(|&character| {
            (character.is_control() && character != '\n')
                || matches!(character, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
        });
        assert_eq!(sent, None, "a control character is sent:\n{all:?}");
    }
}

fn start(folder: &Path, arguments: &[&OsStr]) -> Child {
    Command::new(env!("CARGO_BIN_EXE_walkaround"))
        .current_dir(folder)
        .args(["inspect", "--today", "2027-03-01"])
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

fn gather(mut from: impl Read + Send + 'static) -> std::thread::JoinHandle<String> {
    std::thread::spawn(move || {
        let mut bytes = Vec::new();
        from.read_to_end(&mut bytes).unwrap();
        String::from_utf8(bytes).unwrap()
    })
}

/// Waits for the end of a run, and fails where it does not come.
fn end(mut child: Child) -> Run {
    drop(child.stdin.take());
    let out = child.stdout.take().map(gather);
    let told = gather(child.stderr.take().unwrap());
    let began = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if began.elapsed() > PATIENCE {
            child.kill().unwrap();
            panic!("the run hangs");
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let status = status.code().unwrap_or_else(|| panic!("ended by a signal: {status}"));
    Run { out: out.map(|out| out.join().unwrap()).unwrap_or_default(), told: told.join().unwrap(), status }
}

/// Inspects in a folder.
fn inspect(folder: &Path, arguments: &[&str]) -> Run {
    end(start(folder, &arguments.iter().map(OsStr::new).collect::<Vec<_>>()))
}

/// Inspects standard input.
fn inspect_given(text: &[u8], arguments: &[&str]) -> Run {
    let folder = tempfile::tempdir().unwrap();
    let mut child = start(folder.path(), &arguments.iter().map(OsStr::new).collect::<Vec<_>>());
    // A run that refuses its arguments may end before it has read everything.
    let _ = child.stdin.take().unwrap().write_all(text);
    end(child)
}

/// A folder with one file.
fn folder_with(name: impl AsRef<OsStr>, bytes: &[u8]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(Path::new(name.as_ref())), bytes).unwrap();
    folder
}

/// What each form of the report says about one file.
#[track_caller]
fn file_gives(bytes: &[u8], status: i32, words: &[&str]) {
    let folder = folder_with("a.rig", bytes);
    for form in FORMS {
        inspect(folder.path(), &["--as", form]).gives(status, words);
    }
}

/// A text of exactly so many bytes, all of it comments.
fn of_length(bytes: usize) -> Vec<u8> {
    let mut text = b"rig 1\n".to_vec();
    text.extend(b"# nothing but the tide tables of last year\n".iter().cycle().take(bytes - text.len()));
    text
}

#[test]
fn four_mebibytes_are_read_and_one_byte_more_is_refused() {
    let clean = folder_with("a.rig", &of_length(4 << 20));
    inspect(clean.path(), &[]).gives(0, &["1 file"]);
    file_gives(&of_length((4 << 20) + 1), 2, &["format/too-large", "larger than 4 MiB", "not read"]);
    inspect_given(&of_length((4 << 20) + 1), &["-"]).gives(2, &["format/too-large", "larger than 4 MiB"]);
}

#[test]
fn ten_thousand_nested_braces_are_refused() {
    let blocks = format!("rig 1\n{}{}", "craft a {\n".repeat(10_000), "}\n".repeat(10_000));
    file_gives(blocks.as_bytes(), 2, &["format/too-large", "32 deep"]);
    let braces = format!("rig 1\n{}{}\n", "{".repeat(10_000), "}".repeat(10_000));
    file_gives(braces.as_bytes(), 2, &["format/syntax", "follows no statement"]);
    let values = format!("rig 1\nmodel a {{\n channel 1 = {}roll{}\n}}\n", "(".repeat(10_000), ")".repeat(10_000));
    file_gives(values.as_bytes(), 2, &["format/too-large", "32 parts"]);
}

#[test]
fn nul_bytes_are_shown_and_the_next_line_is_read() {
    file_gives(
        b"rig 1\nplace a\x00b {\n}\nplace b { depth 3 }\n",
        2,
        &["format/syntax", "`\\u", "`depth` is no statement"],
    );
    inspect_given(b"rig 1\nplace a\x00b {\n}\n", &["-"]).gives(2, &["`\\u{0}` begins nothing"]);
}

#[test]
fn the_first_byte_that_is_no_text_is_named() {
    file_gives(b"rig 1\nplace \"d\xfcne\" { }\n", 2, &["format/unreadable", "Byte 15", "hexadecimal fc", "UTF-8"]);
    // The text of another encoding: a byte-order mark of 16-bit units, then every second byte is NUL.
    file_gives(b"\xff\xfer\x00i\x00g\x00 \x001\x00\n\x00", 2, &["format/unreadable", "Byte 1 ", "hexadecimal ff"]);
}

#[test]
fn escape_sequences_in_names_are_shown_not_sent() {
    let text =
        "rig 1\nplace \"a\u{1b}[31m\u{9b}2J\u{202e}b\" { region XX }\nplace \"a\u{1b}[31m\u{9b}2J\u{202e}b\" { }\n";
    for (form, shown) in [
        ("text", "a\\u{1b}[31m\\u{9b}2J\\u{202e}b"),
        ("lines", "a\\u{1b}[31m\\u{9b}2J\\u{202e}b"),
        ("json", "a\\u001b[31m\\u009b2J\\u202eb"),
    ] {
        let folder = folder_with("a.rig", text.as_bytes());
        inspect(folder.path(), &["--as", form]).gives(2, &["format/name-twice", shown]);
    }
}

#[cfg(unix)]
#[test]
fn escape_sequences_in_file_names_are_shown_not_sent() {
    use std::os::unix::ffi::OsStrExt;
    for (name, shown) in [
        (&b"\x1b]0;tern\x07.rig"[..], ["\\u{1b}]0;tern\\u{7}.rig", "\\u001b]0;tern\\u0007.rig"]),
        (b"te\nrn.rig", ["te\\nrn.rig", "te\\nrn.rig"]),
        (b"te\xfern.rig", ["te\u{fffd}rn.rig", "te\u{fffd}rn.rig"]),
    ] {
        let folder = folder_with(OsStr::from_bytes(name), b"rig 1\nplace a { depth 3 }\n");
        for form in FORMS {
            let shown = shown[usize::from(form == "json")];
            inspect(folder.path(), &["--as", form]).gives(2, &["format/unknown-statement", shown]);
        }
        // Told on standard error too.
        let child = start(folder.path(), &[OsStr::from_bytes(&[name, b".not"].concat())]);
        end(child).gives(2, &["there is no such file or folder"]);
    }
}

#[cfg(unix)]
#[test]
fn links_lead_neither_in_circles_nor_out_of_the_folder() {
    use std::os::unix::fs::symlink;
    let outside = folder_with("secret.rig", b"rig 1\nplace \"not for you\" { depth 3 }\n");
    let folder = folder_with("a.rig", b"rig 1\nplace a { depth 3 }\n");
    let inner = folder.path().join("inner");
    fs::create_dir(&inner).unwrap();
    symlink("..", inner.join("back")).unwrap();
    symlink(folder.path(), inner.join("whole.rig")).unwrap();
    let run = inspect(folder.path(), &["--as", "lines"]);
    run.gives(2, &["a.rig:2:11: fault format/unknown-statement"]);
    assert_eq!(run.out.lines().count(), 1, "{}", run.out);

    symlink(outside.path(), folder.path().join("folder.rig")).unwrap();
    symlink(outside.path(), folder.path().join("folder")).unwrap();
    symlink(outside.path().join("secret.rig"), folder.path().join("b.rig")).unwrap();
    let run = inspect(folder.path(), &["--as", "lines"]);
    run.gives(
        2,
        &["b.rig:1:1: fault format/unreadable", "folder.rig:1:1: fault format/unreadable", "links are not followed"],
    );
    assert!(!run.out.contains("not for you") && !run.out.contains("secret.rig"), "{}", run.out);
    assert_eq!(run.out.lines().count(), 3, "{}", run.out);
}

#[cfg(unix)]
#[test]
fn what_is_no_file_is_told_and_never_waited_for() {
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("folder.rig")).unwrap();
    let run = inspect(folder.path(), &["folder.rig"]);
    run.gives(2, &["folder.rig has no file that ends in .rig", "nothing to inspect"]);

    symlink("nowhere", folder.path().join("dangling.rig")).unwrap();
    inspect(folder.path(), &["dangling.rig"]).gives(2, &["format/unreadable", "no such file"]);
    inspect(folder.path(), &[]).gives(2, &["format/unreadable", "dangling.rig", "a link that leads nowhere"]);
    fs::remove_file(folder.path().join("dangling.rig")).unwrap();

    let made = Command::new("mkfifo").arg(folder.path().join("pipe.rig")).status().unwrap();
    assert!(made.success());
    for path in ["pipe.rig", "."] {
        inspect(folder.path(), &[path]).gives(2, &["format/unreadable", "pipe.rig", "a pipe or a device"]);
    }
    inspect(folder.path(), &["/dev/zero"]).gives(2, &["format/unreadable", "/dev/zero", "a pipe or a device"]);
}

#[cfg(target_os = "linux")]
#[test]
fn a_file_whose_bytes_do_not_come_is_a_fault_beside_the_others() {
    // A file of the system that can be opened and not be read from its start, whoever asks.
    let folder = folder_with("a.rig", b"rig 1\nplace a { depth 3 }\n");
    let run = inspect(folder.path(), &["a.rig", "/proc/self/mem"]);
    run.gives(2, &["format/unreadable", "/proc/self/mem can't be read", "`depth` is no statement"]);
}

#[test]
fn nothing_to_inspect_is_told() {
    let folder = folder_with("notes.txt", b"no rig file");
    inspect(folder.path(), &[]).gives(2, &["nothing to inspect", "no file that ends in .rig"]);
    inspect(folder.path(), &["nowhere"]).gives(2, &["format/unreadable", "nowhere", "no such file or folder"]);
    // What is there is inspected, and what is missing is a fault beside it.
    fs::write(folder.path().join("a.rig"), "rig 1\nplace a { depth 3 }\n").unwrap();
    inspect(folder.path(), &["nowhere.rig", "a.rig"]).gives(2, &["no such file", "`depth` is no statement"]);
    fs::write(folder.path().join("a.rig"), "").unwrap();
    inspect(folder.path(), &[]).gives(2, &["format/version", "does not begin with `rig 1`"]);
}

#[test]
fn standard_input_has_a_name() {
    let text = b"rig 1\nplace a { depth 3 }\n";
    inspect_given(text, &["--as", "lines", "-"]).gives(2, &["standard-input.rig:2:11: fault"]);
    inspect_given(text, &["--as", "lines", "--name", "tide/a.rig", "-"]).gives(2, &["tide/a.rig:2:11: fault"]);
    inspect_given(text, &["--as", "lines", "--name", "\u{1b}c.rig", "-"]).gives(2, &["\\u{1b}c.rig:2:11: fault"]);
    inspect_given(text, &["-", "."]).gives(64, &["standard input is read alone"]);
    inspect_given(text, &["--name", "a.rig", "."]).gives(64, &["--name names standard input"]);
    inspect_given(b"", &["-"]).gives(2, &["format/version"]);
    inspect_given(b"rig 1\n", &["-"]).gives(0, &["1 file, 0 aircraft: nothing found"]);
}

#[test]
fn marks_and_line_ends_of_other_systems_change_nothing() {
    let text = "rig 1\nplace a {\n  region AU\n  depth 3\n}\ncraft \"é\" { kind boot }\n";
    let plain = inspect_given(text.as_bytes(), &["--as", "lines", "-"]);
    plain.gives(2, &["standard-input.rig:4:3: fault", "standard-input.rig:6:18: fault"]);
    for other in
        [text.replace('\n', "\r\n"), format!("\u{feff}{text}"), format!("\u{feff}{}", text.replace('\n', "\r\n"))]
    {
        assert_eq!(inspect_given(other.as_bytes(), &["--as", "lines", "-"]).out, plain.out);
    }
}

#[test]
fn a_reader_that_goes_away_ends_the_run_quietly() {
    let lines: String = (0..20_000).map(|number| format!("depth {number}\n")).collect();
    let folder = folder_with("a.rig", format!("rig 1\nplace a {{\n{lines}}}\n").as_bytes());
    for form in FORMS {
        let mut child = start(folder.path(), &[OsStr::new("--as"), OsStr::new(form)]);
        let mut first = [0; 1];
        let mut out = child.stdout.take().unwrap();
        out.read_exact(&mut first).unwrap();
        drop(out);
        let run = end(child);
        assert_eq!((run.told.as_str(), run.status), ("", 2), "{form}");
    }
}
