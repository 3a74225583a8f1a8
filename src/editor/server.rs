//! The one loop: messages in, messages out.

mod documents;
mod features;
mod publish;
mod requests;

use super::client::Client;
use super::completion::Trial;
use super::diagnostics::Diagnosed;
use super::folder::{Folder, Load};
use super::names::Kept;
use documents::Documents;
use gen_lsp_types::{
    CancelParams, DidChangeConfigurationParams, DidChangeTextDocumentParams, DidChangeWorkspaceFoldersParams,
    DidCloseTextDocumentParams, DidOpenTextDocumentParams, Id,
};
use lsp_server::{Connection, ErrorCode, Message, Notification, Request, RequestId, Response, ResponseError};
use publish::Published;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use std::collections::VecDeque;
use std::path::PathBuf;
use std::time::Duration;

/// In a folder of more files than this, diagnostics wait until nothing was typed for a while.
const MANY_FILES: usize = 100;
/// How long that is.
const PAUSE: Duration = Duration::from_millis(150);

/// What a request came to.
type Answer = Result<Value, ResponseError>;

/// How far the talk with the editor has come.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Life {
    /// Nothing was said yet.
    Begun,
    /// Requests are answered.
    Running,
    /// The editor is about to leave.
    Closing,
}

struct Server<'s> {
    connection: &'s Connection,
    load: Load<'s>,
    life: Life,
    client: Client,
    /// What has come and is not done yet, in order.
    waiting: VecDeque<Message>,
    documents: Documents,
    folders: Vec<Open>,
    published: Published,
    /// How many requests were sent to the editor.
    sent: i32,
}

/// A folder that is looked at.
#[derive(Default)]
struct Open {
    folder: Folder,
    diagnosed: Diagnosed,
    /// The names of its texts.
    kept: Kept,
    /// Where completions are tried.
    trial: Trial,
    /// Something changed since its diagnostics were made.
    is_stale: bool,
    /// The editor named it; else it is there for the files that are open in it.
    is_named: bool,
}

/// Serves an editor until it leaves; whether it left as it should. `load` reads folders from the disk.
pub fn serve(connection: &Connection, load: Load<'_>) -> bool {
    let mut server = Server {
        connection,
        load,
        life: Life::Begun,
        client: Client::default(),
        waiting: VecDeque::new(),
        documents: Documents::default(),
        folders: Vec::new(),
        published: Published::default(),
        sent: 0,
    };
    while let Some(message) = server.next() {
        match message {
            Message::Request(request) => server.request(request),
            Message::Notification(note) if note.method == "exit" => return server.life == Life::Closing,
            Message::Notification(note) => server.notification(note),
            // Nothing that was asked of the editor has an answer that matters.
            Message::Response(_) => {}
        }
    }
    false
}

/// What a message says, in the form that its method has.
fn read<T: DeserializeOwned>(params: Value) -> Result<T, ResponseError> {
    let refused = |error: serde_json::Error| failed(ErrorCode::InvalidParams, &error.to_string());
    serde_json::from_value(params).map_err(refused)
}

fn failed(code: ErrorCode, message: &str) -> ResponseError {
    ResponseError { code: code as i32, message: message.to_owned(), data: None }
}

/// An answer in the form of the protocol.
fn written(answer: impl serde::Serialize) -> Answer {
    serde_json::to_value(answer).map_err(|error| failed(ErrorCode::InternalError, &error.to_string()))
}

impl Server<'_> {
    /// The next message; `None` once the editor is gone. While nothing comes, diagnostics are brought up to date.
    fn next(&mut self) -> Option<Message> {
        loop {
            self.take_what_came();
            if let Some(message) = self.waiting.pop_front() {
                return Some(message);
            }
            let stale = || self.folders.iter().filter(|open| open.is_stale);
            if stale().next().is_none() {
                let message = self.connection.receiver.recv().ok()?;
                self.put(message);
                continue;
            }
            let pause = match stale().any(|open| open.folder.workspace.count() > MANY_FILES) {
                true => PAUSE,
                false => Duration::ZERO,
            };
            match self.connection.receiver.recv_timeout(pause) {
                Ok(message) => self.put(message),
                Err(error) if error.is_timeout() => self.publish(),
                Err(_) => return None,
            }
        }
    }

    /// Takes what has come in the meantime, so that what was cancelled is not begun.
    fn take_what_came(&mut self) {
        while let Ok(message) = self.connection.receiver.try_recv() {
            self.put(message);
        }
    }

    fn put(&mut self, message: Message) {
        if let Message::Notification(note) = &message
            && note.method == "$/cancelRequest"
        {
            let id = read::<CancelParams>(note.params.clone()).map(|cancel| match cancel.id {
                Id::Int(number) => RequestId::from(number),
                Id::String(text) => RequestId::from(text),
            });
            let is_it = |message: &Message| matches!((message, &id), (Message::Request(one), Ok(id)) if one.id == *id);
            if let Some(at) = self.waiting.iter().position(is_it)
                && let Some(Message::Request(request)) = self.waiting.remove(at)
            {
                self.answer(request.id, Err(failed(ErrorCode::RequestCanceled, "cancelled")));
            }
            return;
        }
        self.waiting.push_back(message);
    }

    fn send(&self, message: impl Into<Message>) {
        // An editor that is gone is noticed when the next message is waited for.
        let _ = self.connection.sender.send(message.into());
    }

    fn answer(&self, id: RequestId, response_result: Answer) {
        self.send(Response { id, response_result });
    }

    fn notify(&self, method: &str, params: Value) {
        self.send(Notification { method: method.to_owned(), params });
    }

    /// Asks something of the editor; no answer is waited for.
    fn ask(&mut self, method: &str, params: Value) {
        self.sent += 1;
        self.send(Request { id: RequestId::from(self.sent), method: method.to_owned(), params });
    }

    /// Tells the user of the editor something.
    fn tell(&self, message: &str) {
        let warning = 2;
        self.notify("window/showMessage", json!({"type": warning, "message": format!("walkaround: {message}")}));
    }

    fn request(&mut self, request: Request) {
        let Request { id, method, params } = request;
        let answer = match (self.life, method.as_str()) {
            (Life::Begun, "initialize") => self.initialize(&params),
            (Life::Begun, _) => Err(failed(ErrorCode::ServerNotInitialized, "`initialize` comes first")),
            (Life::Running, "shutdown") => {
                self.life = Life::Closing;
                Ok(Value::Null)
            }
            (Life::Running, "initialize") => Err(failed(ErrorCode::InvalidRequest, "it is initialized")),
            (Life::Running, method) => self.ask_of(method, params),
            (Life::Closing, _) => Err(failed(ErrorCode::InvalidRequest, "it is shut down")),
        };
        self.answer(id, answer);
    }

    fn initialize(&mut self, params: &Value) -> Answer {
        self.client = Client::of(params);
        self.life = Life::Running;
        let address = |value: &Value| value.as_str().map(str::to_owned);
        let named = params.get("workspaceFolders").and_then(Value::as_array);
        let named = named.map(|named| named.iter().filter_map(|folder| address(folder.get("uri")?)).collect());
        let addresses: Vec<String> = match named {
            Some(named) => named,
            None => params.get("rootUri").and_then(address).into_iter().collect(),
        };
        addresses.iter().for_each(|address| self.add_folder(address));
        Ok(json!({
            "capabilities": requests::capabilities(&self.client),
            "serverInfo": {"name": env!("CARGO_PKG_NAME"), "version": env!("CARGO_PKG_VERSION")},
        }))
    }

    fn add_folder(&mut self, address: &str) {
        let Some(path) = super::address::path_of(address) else { return };
        let at = self.open_folder(path, true);
        let names: Vec<String> = self.documents.addresses().cloned().collect();
        // What was open beside it may belong to it.
        for address in names {
            if self.folder_for(&address) == Some(at)
                && self.documents.get(&address).is_some_and(|known| known.folder != at)
            {
                self.move_document(&address, at);
            }
        }
        self.drop_unused();
    }

    /// Reads a folder, or one around a file; its number.
    fn open_folder(&mut self, path: PathBuf, is_named: bool) -> usize {
        let (folder, result) = Folder::load(path, self.load);
        if let Err(why) = result {
            self.tell(&why);
        }
        self.folders.push(Open { folder, is_stale: true, is_named, ..Open::default() });
        self.folders.len() - 1
    }

    fn notification(&mut self, note: Notification) {
        if self.life != Life::Running {
            return;
        }
        let params = note.params;
        // What can't be read is passed over: there is nobody to tell.
        match note.method.as_str() {
            "initialized" => self.watch(),
            "textDocument/didOpen" => {
                let _ = read::<DidOpenTextDocumentParams>(params).map(|opened| self.did_open(opened));
            }
            "textDocument/didChange" => {
                let _ = read::<DidChangeTextDocumentParams>(params).map(|changed| self.did_change(changed));
            }
            "textDocument/didClose" => {
                let _ = read::<DidCloseTextDocumentParams>(params)
                    .map(|closed| self.did_close(closed.text_document.uri.as_ref()));
            }
            "textDocument/didSave" | "workspace/didChangeWatchedFiles" => self.load_again(),
            "workspace/didChangeWorkspaceFolders" => {
                let _ = read::<DidChangeWorkspaceFoldersParams>(params).map(|changed| {
                    for gone in &changed.event.removed {
                        let path = super::address::path_of(gone.uri.as_ref());
                        let is_it = |open: &&mut Open| Some(&open.folder.asked) == path.as_ref();
                        self.folders.iter_mut().filter(is_it).for_each(|open| open.is_named = false);
                    }
                    changed.event.added.iter().for_each(|added| self.add_folder(added.uri.as_ref()));
                    self.drop_unused();
                });
            }
            "workspace/didChangeConfiguration" => {
                let _ = read::<DidChangeConfigurationParams>(params).map(|changed| {
                    self.client.set.take(&changed.settings);
                    self.folders.iter_mut().for_each(|open| {
                        // What stays as it was found may be told with other addresses now.
                        open.diagnosed = Diagnosed::default();
                        open.is_stale = true;
                    });
                });
            }
            _ => {}
        }
    }

    /// Asks the editor to tell of files that change on the disk.
    fn watch(&mut self) {
        if !self.client.watches {
            return;
        }
        // The record of known findings has any name; it is read again when a file is saved.
        let globs = ["**/*.rig", "**/*.rig.json", "**/walkaround.toml", "**/*.toml"];
        let watchers: Vec<Value> = globs.iter().map(|glob| json!({"globPattern": glob})).collect();
        let watched = json!({
            "id": "files",
            "method": "workspace/didChangeWatchedFiles",
            "registerOptions": {"watchers": watchers},
        });
        self.ask("client/registerCapability", json!({"registrations": [watched]}));
    }

    fn load_again(&mut self) {
        let mut failures = Vec::new();
        for open in &mut self.folders {
            failures.extend(open.folder.load_again(self.load).err());
            open.is_stale = true;
        }
        failures.iter().for_each(|why| self.tell(why));
    }
}
