//! A client that talks to the server over a pair of channels.

use lsp_server::{Connection, Message, Notification, Request, RequestId};
use serde_json::{Value, json};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::thread::JoinHandle;
use std::time::Duration;
use walkaround::editor::{Loaded, serve};
use walkaround::fleet::day::Day;

/// Longer than anything takes on a busy machine.
const LONG: Duration = Duration::from_secs(60);

/// An editor with a server of its own.
pub(super) struct Editor {
    connection: Option<Connection>,
    server: Option<JoinHandle<bool>>,
    asked: RefCell<i32>,
    /// What was pushed last, by address.
    pub(super) pushed: RefCell<BTreeMap<String, Value>>,
    /// How often something was pushed.
    pub(super) pushes: RefCell<usize>,
    /// What the server asked and told, but for diagnostics.
    pub(super) told: RefCell<Vec<(String, Value)>>,
    pub(super) capabilities: Value,
}

/// What most editors can do.
pub(super) fn usual() -> Value {
    json!({
        "general": {"positionEncodings": ["utf-16"]},
        "textDocument": {
            "publishDiagnostics": {"relatedInformation": true, "versionSupport": true, "codeDescriptionSupport": true},
            "codeAction": {"codeActionLiteralSupport": {"codeActionKind": {"valueSet": ["quickfix", "source.fixAll"]}}},
            "completion": {"completionItem": {"snippetSupport": true}},
            "documentSymbol": {"hierarchicalDocumentSymbolSupport": true},
        },
        "workspace": {"workspaceEdit": {"documentChanges": true}},
    })
}

/// The address of a file.
pub(super) fn address(path: &Path) -> String {
    format!("file://{}", path.display())
}

/// Reads a folder as the program does, on a day on which every waiver of the demo fleets holds.
pub(super) fn load(path: &Path) -> Result<Loaded, String> {
    let mut loaded = walkaround::command_line::load(path)?;
    loaded.options.today = Day::parse("2026-11-28").ok();
    Ok(loaded)
}

impl Editor {
    /// A server that was told nothing yet.
    pub(super) fn begun() -> Self {
        let (own, its) = Connection::memory();
        // As large a stack as the program gives itself.
        let server = std::thread::Builder::new().stack_size(64 << 20).spawn(move || serve(&its, &load)).unwrap();
        Self {
            connection: Some(own),
            server: Some(server),
            asked: RefCell::default(),
            pushed: RefCell::default(),
            pushes: RefCell::default(),
            told: RefCell::default(),
            capabilities: Value::Null,
        }
    }

    /// A server for a folder.
    pub(super) fn of(folder: &Path, client: Value) -> Self {
        Self::with(folder, client, Value::Null)
    }

    /// The same with options that the user set.
    pub(super) fn with(folder: &Path, client: Value, options: Value) -> Self {
        let mut editor = Self::begun();
        let folders = json!([{"uri": address(folder), "name": "fleet"}]);
        let answer = editor.ask("initialize", json!({
            "processId": null, "rootUri": null, "capabilities": client, "workspaceFolders": folders, "initializationOptions": options,
        }));
        editor.capabilities = answer["capabilities"].clone();
        editor.notify("initialized", json!({}));
        editor
    }

    fn connection(&self) -> &Connection {
        self.connection.as_ref().unwrap()
    }

    pub(super) fn notify(&self, method: &str, params: Value) {
        let note = Notification { method: method.to_owned(), params };
        self.connection().sender.send(Message::Notification(note)).unwrap();
    }

    /// Sends a request without waiting for its answer.
    pub(super) fn send(&self, method: &str, params: Value) -> RequestId {
        *self.asked.borrow_mut() += 1;
        let id = RequestId::from(*self.asked.borrow());
        let request = Request { id: id.clone(), method: method.to_owned(), params };
        self.connection().sender.send(Message::Request(request)).unwrap();
        id
    }

    /// The answer to a request, or the code of its refusal.
    pub(super) fn answer(&self, id: &RequestId) -> Result<Value, i32> {
        loop {
            match self.connection().receiver.recv_timeout(LONG).unwrap() {
                Message::Response(response) if response.id == *id => {
                    return response.response_result.map_err(|error| error.code);
                }
                Message::Response(other) => panic!("{other:?}"),
                other => self.take(other),
            }
        }
    }

    fn take(&self, message: Message) {
        match message {
            Message::Notification(note) if note.method == "textDocument/publishDiagnostics" => {
                let at = note.params["uri"].as_str().unwrap().to_owned();
                self.pushed.borrow_mut().insert(at, note.params);
                *self.pushes.borrow_mut() += 1;
            }
            Message::Notification(note) => self.told.borrow_mut().push((note.method, note.params)),
            Message::Request(request) => self.told.borrow_mut().push((request.method, request.params)),
            Message::Response(_) => {}
        }
    }

    pub(super) fn try_ask(&self, method: &str, params: Value) -> Result<Value, i32> {
        let id = self.send(method, params);
        self.answer(&id)
    }

    pub(super) fn ask(&self, method: &str, params: Value) -> Value {
        self.try_ask(method, params).unwrap()
    }

    pub(super) fn open(&self, path: &Path, text: &str) {
        self.open_as(&address(path), text);
    }

    pub(super) fn open_as(&self, at: &str, text: &str) {
        let document = json!({"uri": at, "languageId": "rig", "version": 1, "text": text});
        self.notify("textDocument/didOpen", json!({"textDocument": document}));
    }

    /// Replaces the whole text of a document.
    pub(super) fn change(&self, path: &Path, version: i32, text: &str) {
        let document = json!({"uri": address(path), "version": version});
        self.notify("textDocument/didChange", json!({"textDocument": document, "contentChanges": [{"text": text}]}));
    }

    pub(super) fn close(&self, path: &Path) {
        self.notify("textDocument/didClose", json!({"textDocument": {"uri": address(path)}}));
    }

    /// Waits until what was pushed for a file is as wanted, and gives it.
    pub(super) fn wait(&self, path: &Path, wanted: impl Fn(&Value) -> bool) -> Value {
        let at = address(path);
        loop {
            if let Some(known) = self.pushed.borrow().get(&at).filter(|known| wanted(known)) {
                return known.clone();
            }
            let Ok(message) = self.connection().receiver.recv_timeout(LONG) else {
                panic!("{at} is not as wanted: {:#?}", self.pushed.borrow().get(&at));
            };
            self.take(message);
        }
    }

    /// Waits for the diagnostics of a version of a document.
    pub(super) fn version(&self, path: &Path, version: i32) -> Vec<Value> {
        self.wait(path, |known| known["version"] == version)["diagnostics"].as_array().unwrap().clone()
    }

    /// Leaves as an editor should.
    pub(super) fn leave(mut self) -> bool {
        self.ask("shutdown", Value::Null);
        self.notify("exit", Value::Null);
        self.server.take().unwrap().join().unwrap()
    }

    /// Sends `exit` and says whether the server took that for a proper end.
    pub(super) fn exit(mut self) -> bool {
        self.notify("exit", Value::Null);
        self.server.take().unwrap().join().unwrap()
    }
}

impl Drop for Editor {
    /// An editor that is gone ends its server.
    fn drop(&mut self) {
        self.connection = None;
        if let Some(server) = self.server.take() {
            let ended = server.join();
            assert!(std::thread::panicking() || ended.is_ok());
        }
    }
}

/// The rules of diagnostics, in their order.
pub(super) fn rules(diagnostics: &[Value]) -> Vec<&str> {
    diagnostics.iter().map(|known| known["code"].as_str().unwrap()).collect()
}

/// A fleet of `testdata` in a folder of its own.
pub(super) struct Fleet {
    folder: tempfile::TempDir,
}

impl Fleet {
    pub(super) fn of(name: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        crate::testdata::copy_fleet(name, folder.path());
        // So that no settings above it count.
        std::fs::create_dir(folder.path().join(".git")).unwrap();
        Self { folder }
    }

    pub(super) fn path(&self) -> &Path {
        self.folder.path()
    }

    pub(super) fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(super) fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.file(name)).unwrap()
    }
}

/// The byte of a position in a text, whose columns are counted in UTF-16.
pub(super) fn byte(text: &str, position: &Value) -> usize {
    let (line, column) =
        (position["line"].as_u64().unwrap() as usize, position["character"].as_u64().unwrap() as usize);
    let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
    let mut left = column;
    for (at, character) in text[start..].char_indices() {
        if left == 0 {
            return start + at;
        }
        left -= character.len_utf16();
    }
    assert_eq!(left, 0, "{position}");
    text.len()
}

/// The position of a byte in a text.
pub(super) fn position(text: &str, at: usize) -> Value {
    let line = text[..at].matches('\n').count();
    let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
    json!({"line": line, "character": text[start..at].encode_utf16().count()})
}

/// A text with edits put in, as an editor does it.
pub(super) fn apply(text: &str, edits: &[Value]) -> String {
    let of = |edit: &Value| (byte(text, &edit["range"]["start"]), byte(text, &edit["range"]["end"]));
    let mut all: Vec<((usize, usize), &str)> =
        edits.iter().map(|edit| (of(edit), edit["newText"].as_str().unwrap())).collect();
    all.sort();
    assert!(all.windows(2).all(|two| two[0].0.1 <= two[1].0.0), "edits overlap: {all:?}");
    let mut text = text.to_owned();
    all.into_iter().rev().for_each(|((start, end), new)| text.replace_range(start..end, new));
    text
}

/// The edits of a workspace edit: address, version and edits of each document.
pub(super) fn edit_of(edit: &Value) -> Vec<(String, Option<i32>, Vec<Value>)> {
    let documents = edit["documentChanges"].as_array().unwrap_or_else(|| panic!("{edit:#}"));
    let one = |change: &Value| {
        let document = &change["textDocument"];
        let version = document["version"].as_i64().map(|version| version as i32);
        (document["uri"].as_str().unwrap().to_owned(), version, change["edits"].as_array().unwrap().clone())
    };
    documents.iter().map(one).collect()
}
