//! The fleets on which every form is tried, and places recomputed from bytes without the program's own code.

use crate::testdata::{self, fleet_folder, fleet_names, rig_files};
use serde_json::Value;
use std::fs;
use std::path::PathBuf;
use std::process::Command;
use tempfile::TempDir;

/// A file name that would end a property, a field or an address early, and would colour a terminal.
pub(crate) const ODD_NAME: &str = "ev\u{1b}[31mil, é:100% [x](y) {0}.rig";
/// How it is shown.
pub(crate) const ODD_NAME_SHOWN: &str = "ev\\u{1b}[31mil, é:100% [x](y) {0}.rig";

/// A byte-order mark, CRLF, tabs, characters outside ASCII and outside the first plane, and control characters, also
/// in names.
const ODD: &str = concat!(
    "\u{feff}rig 1\r\n",
    "# é🪶 \u{9b}31m \u{202e}\r\n",
    "handset \"h\\u{1b}[31m{0}\" {\r\n",
    "\tstick-mode 2\r\n\tswitch top 2 positions sprung-to up\r\n\tstick-filter on\r\n",
    "\tscale 1500 us plus-minus 500 us\r\n",
    "}\r\n",
    "craft \"🪶é\\u{9b}31m\" { kind multirotor; wings 3; battery li-po { cells 3; capacity 850 } }\r\n",
    "model \"🪶é [m](http://example.org) {1}\\u{202e}\" {\r\n",
    "\thandset \"h\\u{1b}[31m{0}\"\r\n",
    "\tflies \"🪶é\\u{9b}31m\"\r\n",
    "\tchannel 5 arm = \"nö 🪶 \\u{1b}[2Jsuch\" # \u{9b}31m 🪶\r\n",
    "\ttimmer 4 min\t# 🪶\u{7f}\r\n",
    "\tchannel 5 🪶 = \"é\"\r\n",
    "}\r\n",
);

const PROGRAM: &str = env!("CARGO_BIN_EXE_walkaround");

/// A folder to inspect.
pub(crate) struct Case {
    /// The folder in which the program is run.
    pub(crate) working: PathBuf,
    /// What it is asked to inspect.
    pub(crate) path: String,
    /// Keeps a folder that is made for the test.
    _folder: Option<TempDir>,
}

impl Case {
    /// Every demo fleet, one of them in JSON too, and the odd one.
    pub(crate) fn all() -> Vec<Self> {
        fleet_names().iter().map(|name| Self::demo(name)).chain([Self::in_json(), Self::odd()]).collect()
    }

    pub(crate) fn demo(name: &str) -> Self {
        Self { working: testdata::folder().join("fleets"), path: name.to_owned(), _folder: None }
    }

    /// A demo fleet as JSON, with a name outside ASCII and characters outside it before its places.
    fn in_json() -> Self {
        let folder = tempfile::tempdir().unwrap();
        for path in rig_files(&fleet_folder("hurried")) {
            let output = Command::new(PROGRAM).arg("convert").arg(&path).output().unwrap();
            let text = String::from_utf8(output.stdout).unwrap();
            assert!(text.starts_with('{'), "{text}");
            let text = text.replace("\"knot\"", "\"knöt 🪶\"").replace("\n", "\r\n\t");
            let name = path.file_stem().unwrap().to_str().unwrap();
            fs::write(folder.path().join(format!("{name}.rig.json")), text).unwrap();
        }
        Self { working: folder.path().to_owned(), path: ".".to_owned(), _folder: Some(folder) }
    }

    pub(crate) fn odd() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(ODD_NAME), ODD).unwrap();
        Self { working: folder.path().to_owned(), path: ".".to_owned(), _folder: Some(folder) }
    }

    /// The same folder, seen from another one beside it.
    pub(crate) fn from(self, working: &str, path: &str) -> Self {
        Self { working: self.working.join(working), path: path.to_owned(), ..self }
    }

    /// What the program writes in a form, and its exit status.
    pub(crate) fn run(&self, form: &str) -> (String, i32) {
        let output = Command::new(PROGRAM)
            .args(["inspect", "--as", form, "--today", "2027-03-01", &self.path])
            .current_dir(&self.working)
            .env("TERM", "dumb")
            .output()
            .unwrap();
        (String::from_utf8(output.stdout).unwrap(), output.status.code().unwrap())
    }

    pub(crate) fn json(&self, form: &str) -> Value {
        serde_json::from_str(&self.run(form).0).unwrap()
    }

    pub(crate) fn bytes(&self, file: &str) -> Vec<u8> {
        fs::read(self.working.join(file)).unwrap()
    }
}

/// Line and column of a byte, both from 1: line feeds before it, and characters since the last one, which in UTF-8 are
/// the bytes that continue no other. A byte-order mark at the start of the text is not counted.
pub(crate) fn recomputed(bytes: &[u8], at: u64) -> (u64, u64) {
    let before = &bytes[..at as usize];
    let line_start = before.iter().rposition(|&byte| byte == b'\n').map_or(0, |end| end + 1);
    let marked = line_start == 0 && before.starts_with(b"\xef\xbb\xbf");
    let characters = before[line_start..].iter().filter(|&&byte| byte & 0xc0 != 0x80).count() - usize::from(marked);
    (before.iter().filter(|&&byte| byte == b'\n').count() as u64 + 1, characters as u64 + 1)
}

/// A number in a JSON value.
pub(crate) fn number(value: &Value) -> u64 {
    value.as_u64().unwrap_or_else(|| panic!("no number: {value}"))
}

/// A text in a JSON value.
pub(crate) fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_else(|| panic!("no text: {value}"))
}

/// An array in a JSON value; none where there is none.
pub(crate) fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// Whether nothing in a text moves a cursor, colours, turns or hides.
pub(crate) fn is_harmless(text: &str) -> bool {
    !text.chars().any(|c| (c.is_control() && c != '\n') || matches!(c, '\u{202a}'..='\u{202e}' | '\u{feff}'))
}
