//! Diagnostics on their way to the editor: pushed, or pulled by one that asks.

use super::{Answer, Open, Server, failed, read, written};
use crate::editor::address;
use crate::editor::client::Client;
use crate::editor::diagnostics::{Changed, Look};
use crate::source::FileId;
use gen_lsp_types::{
    Diagnostic, DocumentDiagnosticParams, FullDocumentDiagnosticReport, PublishDiagnosticsParams, Uri,
    WorkspaceDiagnosticParams,
};
use lsp_server::ErrorCode;
use rustc_hash::{FxHashMap, FxHasher};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::hash::{Hash, Hasher};
use std::sync::Arc;

/// What the editor was given last.
#[derive(Debug, Default)]
pub(super) struct Published {
    /// Pushed: by address the version of the document and its diagnostics.
    pushed: BTreeMap<String, (Option<i32>, Arc<[Diagnostic]>)>,
    /// Given beside those that were pulled: by address what they are known by.
    beside: FxHashMap<String, String>,
}

/// What diagnostics are known by, so that the same need not be sent again.
fn known_by(diagnostics: &[Diagnostic]) -> String {
    let mut hasher = FxHasher::default();
    // Diagnostics hold no number that can't be written.
    serde_json::to_string(diagnostics).unwrap_or_default().hash(&mut hasher);
    format!("{:016x}", hasher.finish())
}

impl Server<'_> {
    /// The address of a file of a folder: as the editor writes it where it is open there.
    pub(super) fn address(&self, folder: usize, name: &str) -> String {
        if let Some((address, _)) = self.documents.find(folder, name) {
            return address.clone();
        }
        let path = self.folders.get(folder).and_then(|open| open.folder.path(name));
        path.map_or_else(|| name.to_owned(), |path| address::of_path(&path))
    }

    /// The addresses of all files of a folder, by number.
    fn addresses(&self, folder: usize) -> Vec<String> {
        let names = self.folders.get(folder).map_or(&[][..], |open| open.folder.workspace.names());
        names.iter().map(|name| self.address(folder, name)).collect()
    }

    /// What places of a folder are told with.
    pub(super) fn with_look<T>(&self, folder: usize, tell: impl FnOnce(&Open, &Look<'_>) -> T) -> Option<T> {
        let open = self.folders.get(folder)?;
        let workspace = &open.folder.workspace;
        let address_of = |file: FileId| {
            workspace.names().get(file.0 as usize).map_or_else(String::new, |name| self.address(folder, name))
        };
        Some(tell(open, &Look { workspace, client: &self.client, address_of: &address_of }))
    }

    /// Brings the diagnostics of a folder up to date, and says whose are others than before.
    fn renew(&mut self, folder: usize) -> Changed {
        let Some(open) = self.folders.get_mut(folder) else { return Changed::All };
        let outcome = open.folder.workspace.outcome();
        let mut diagnosed = std::mem::take(&mut open.diagnosed);
        let changed = self.with_look(folder, |_, look| diagnosed.renew(look, &outcome)).unwrap_or(Changed::All);
        if let Some(open) = self.folders.get_mut(folder) {
            open.diagnosed = diagnosed;
        }
        changed
    }

    /// Pushes what changed; an editor that asks by itself is told to ask again.
    pub(super) fn publish(&mut self) {
        let mut changed = false;
        for folder in 0..self.folders.len() {
            if !self.folders.get_mut(folder).is_some_and(|open| std::mem::take(&mut open.is_stale)) {
                continue;
            }
            let own = self.renew(folder);
            changed |= !matches!(&own, Changed::These(files) if files.is_empty());
            if !self.client.pulls {
                match own {
                    Changed::These(files) => self.push_some(folder, files),
                    Changed::All => self.push_all(folder),
                }
            }
        }
        if self.client.pulls && self.client.refreshes && changed {
            self.ask("workspace/diagnostic/refresh", Value::Null);
        }
    }

    /// Pushes the diagnostics of some files, and of documents that have another version now.
    fn push_some(&mut self, folder: usize, files: Vec<FileId>) {
        let Some(open) = self.folders.get(folder) else { return };
        let names = open.diagnosed.names();
        let changed = files.iter().filter_map(|file| names.get(file.0 as usize));
        let mut names: Vec<&String> = changed.chain(open.folder.open_names()).collect();
        names.sort_unstable();
        names.dedup();
        let number = |name: &String| open.folder.workspace.file(name);
        let notes = open.folder.workspace.count();
        let all = open.diagnosed.names();
        let number = |name: &String| {
            let note = || all.iter().skip(notes).position(|known| known == name).map(|at| FileId((notes + at) as u32));
            number(name).or_else(note)
        };
        let send: Vec<_> = names
            .into_iter()
            .filter_map(|name| Some((self.address(folder, name), open.diagnosed.of(number(name)?))))
            .collect();
        send.into_iter().for_each(|(address, diagnostics)| self.push_one(&address, diagnostics));
    }

    /// Pushes the diagnostics of all files; those of files that are gone are taken back.
    fn push_all(&mut self, folder: usize) {
        let addresses = self.addresses(folder);
        let Some(open) = self.folders.get(folder) else { return };
        let all: Vec<_> = (0..addresses.len() as u32).map(|file| open.diagnosed.of(FileId(file))).collect();
        let is_of_it = |address: &String| self.folder_for(address).unwrap_or(folder) == folder;
        let pushed = self.published.pushed.keys();
        let gone = pushed.filter(|address| is_of_it(address) && !addresses.contains(address));
        let gone: Vec<String> = gone.cloned().collect();
        addresses.iter().zip(all).for_each(|(address, diagnostics)| self.push_one(address, diagnostics));
        gone.iter().for_each(|address| self.push_one(address, Arc::default()));
    }

    /// Pushes the diagnostics of one file, where the editor does not have them yet.
    fn push_one(&mut self, address: &str, diagnostics: Arc<[Diagnostic]>) {
        let version = self.documents.get(address).map(|document| document.version);
        let is_known = match self.published.pushed.get(address) {
            Some((known, before)) => *known == version && before[..] == diagnostics[..],
            None => diagnostics.is_empty() && version.is_none(),
        };
        if is_known {
            return;
        }
        let uri = Uri(address.to_owned());
        let params = PublishDiagnosticsParams { uri, version, diagnostics: diagnostics.to_vec() };
        if let Ok(params) = serde_json::to_value(params) {
            self.notify("textDocument/publishDiagnostics", params);
        }
        match diagnostics.is_empty() && version.is_none() {
            true => self.published.pushed.remove(address),
            false => self.published.pushed.insert(address.to_owned(), (version, diagnostics)),
        };
    }

    /// Takes back all diagnostics of a folder.
    pub(super) fn clear(&mut self, folder: usize) {
        for address in self.addresses(folder) {
            if self.published.pushed.contains_key(&address) {
                self.push_one(&address, Arc::default());
            }
            self.published.beside.remove(&address);
        }
    }

    /// `textDocument/diagnostic`: those of one document, and beside them those of others that changed.
    pub(super) fn pull(&mut self, params: Value) -> Answer {
        let params: DocumentDiagnosticParams = read(params)?;
        let at = params.text_document.uri.0;
        let Some((folder, name)) = self.documents.get(&at).map(|document| (document.folder, document.name.clone()))
        else {
            return written(json!({"kind": "full", "items": []}));
        };
        self.renew(folder);
        let addresses = self.addresses(folder);
        let Some(open) = self.folders.get(folder) else { return Err(failed(ErrorCode::InternalError, "no folder")) };
        let file = open.diagnosed.names().iter().position(|known| *known == name);
        let own = file.map(|file| open.diagnosed.of(FileId(file as u32))).unwrap_or_default();
        let mut report = report(&own, params.previous_result_id.as_deref());
        if self.client.takes_related {
            let mut related = Map::new();
            for (number, address) in addresses.iter().enumerate().filter(|(_, address)| **address != at) {
                let diagnostics = open.diagnosed.of(FileId(number as u32));
                let id = known_by(&diagnostics);
                let known = self.published.beside.get(address);
                if known.map_or(!diagnostics.is_empty(), |known| *known != id) {
                    self.published.beside.insert(address.clone(), id);
                    related.insert(address.clone(), full(&diagnostics));
                }
            }
            // Those of files that are gone are taken back.
            let gone: Vec<String> = self
                .published
                .beside
                .keys()
                .filter(|known| !addresses.contains(known) && self.folder_for(known).unwrap_or(folder) == folder)
                .cloned()
                .collect();
            for address in gone {
                self.published.beside.remove(&address);
                related.insert(address, full(&[]));
            }
            if let (Some(report), false) = (report.as_object_mut(), related.is_empty()) {
                report.insert("relatedDocuments".to_owned(), Value::Object(related));
            }
        }
        Ok(report)
    }

    /// `workspace/diagnostic`: those of all files.
    pub(super) fn pull_all(&mut self, params: Value) -> Answer {
        let params: WorkspaceDiagnosticParams = read(params)?;
        let known: FxHashMap<String, String> =
            params.previous_result_ids.into_iter().map(|known| (known.uri.0, known.value)).collect();
        let mut items = Vec::new();
        for folder in 0..self.folders.len() {
            self.renew(folder);
            let addresses = self.addresses(folder);
            let Some(open) = self.folders.get(folder) else { continue };
            for (number, address) in addresses.into_iter().enumerate() {
                let diagnostics = open.diagnosed.of(FileId(number as u32));
                if diagnostics.is_empty() && !known.contains_key(&address) {
                    continue;
                }
                let mut item = report(&diagnostics, known.get(&address).map(String::as_str));
                if let Some(item) = item.as_object_mut() {
                    item.insert("version".to_owned(), json!(self.documents.get(&address).map(|known| known.version)));
                    item.insert("uri".to_owned(), Value::String(address));
                }
                items.push(item);
            }
        }
        let here: Vec<&str> = items.iter().filter_map(|item| item.get("uri")?.as_str()).collect();
        let gone = known.keys().filter(|address| !here.contains(&address.as_str()));
        let mut gone: Vec<Value> =
            gone.map(|address| json!({"kind": "full", "uri": address, "version": null, "items": []})).collect();
        items.append(&mut gone);
        Ok(json!({"items": items}))
    }
}

/// A full report.
fn full(diagnostics: &[Diagnostic]) -> Value {
    let report = FullDocumentDiagnosticReport { result_id: Some(known_by(diagnostics)), items: diagnostics.to_vec() };
    let mut value = serde_json::to_value(report).unwrap_or_default();
    if let Some(value) = value.as_object_mut() {
        value.insert("kind".to_owned(), json!("full"));
    }
    value
}

/// A report: that nothing changed, where the editor has it already.
fn report(diagnostics: &[Diagnostic], known: Option<&str>) -> Value {
    match known {
        Some(known) if known == known_by(diagnostics) => json!({"kind": "unchanged", "resultId": known}),
        _ => full(diagnostics),
    }
}

/// How diagnostics are pulled, where the editor does so.
pub(super) fn provider(client: &Client) -> Option<Value> {
    client
        .pulls
        .then(|| json!({"identifier": "walkaround", "interFileDependencies": true, "workspaceDiagnostics": true}))
}
