//! The documents that are open in the editor.

use super::{Open, Server};
use crate::editor::address;
use crate::editor::encoding::Encoding;
use crate::editor::folder::Folder;
use crate::source::Lines;
use crate::syntax::MAX_BYTES;
use gen_lsp_types::{DidChangeTextDocumentParams, DidOpenTextDocumentParams, TextDocumentContentChangeEvent};
use std::collections::BTreeMap;

/// A document that describes part of a fleet.
#[derive(Debug)]
pub(super) struct Document {
    /// The number of its folder.
    pub(super) folder: usize,
    /// Its name there.
    pub(super) name: String,
    /// Its version, as the editor counts.
    pub(super) version: i32,
    text: String,
}

/// The documents by their addresses, as the editor writes them.
#[derive(Debug, Default)]
pub(super) struct Documents(BTreeMap<String, Document>);

impl Documents {
    pub(super) fn get(&self, address: &str) -> Option<&Document> {
        self.0.get(address)
    }

    pub(super) fn addresses(&self) -> impl Iterator<Item = &String> {
        self.0.keys()
    }

    /// The document with a name in a folder, with its address.
    pub(super) fn find(&self, folder: usize, name: &str) -> Option<(&String, &Document)> {
        self.0.iter().find(|(_, known)| known.folder == folder && known.name == name)
    }
}

/// A text with changes put in, one after the other.
fn changed(mut text: String, changes: Vec<TextDocumentContentChangeEvent>, encoding: Encoding) -> String {
    for change in changes {
        match change {
            TextDocumentContentChangeEvent::TextDocumentContentChangePartial(part) => {
                let span = encoding.span(&Lines::new(text.as_bytes()), part.range);
                // Both ends lie between characters, since the text is UTF-8.
                if text.get(span.range()).is_some() {
                    text.replace_range(span.range(), &part.text);
                }
            }
            TextDocumentContentChangeEvent::TextDocumentContentChangeWholeDocument(whole) => text = whole.text,
        }
    }
    text
}

impl Server<'_> {
    /// The number of the folder that a document belongs to: of those that hold it the innermost.
    pub(super) fn folder_for(&self, at: &str) -> Option<usize> {
        let Some(path) = address::path_of(at) else {
            return self.folders.iter().position(|open| open.folder.is_nowhere());
        };
        let depth = |open: &Open| open.folder.holds(&path);
        let holding = self.folders.iter().enumerate().filter_map(|(number, open)| Some((depth(open)?, number)));
        holding.max().map(|(_, number)| number)
    }

    pub(super) fn did_open(&mut self, opened: DidOpenTextDocumentParams) {
        let item = opened.text_document;
        self.did_close(item.uri.as_ref());
        self.put_document(item.uri.0, item.version, item.text);
    }

    fn put_document(&mut self, at: String, version: i32, text: String) {
        let path = address::path_of(&at);
        let is_rig = |name: &str| Folder::nowhere().takes(name);
        if !is_rig(path.as_deref().map_or(at.as_str().into(), |path| path.to_string_lossy()).as_ref()) {
            return;
        }
        let folder = self.folder_for(&at).unwrap_or_else(|| match &path {
            Some(path) => self.open_folder(path.clone(), false),
            None => {
                self.folders.push(Open { folder: Folder::nowhere(), ..Open::default() });
                self.folders.len() - 1
            }
        });
        let Some(open) = self.folders.get_mut(folder) else { return };
        let name = path.map_or_else(|| at.clone(), |path| open.folder.name(&path));
        if open.folder.takes(&name) {
            open.folder.open(&name, text.as_bytes().into());
            open.is_stale = true;
            self.documents.0.insert(at, Document { folder, name, version, text });
        }
    }

    pub(super) fn did_change(&mut self, change: DidChangeTextDocumentParams) {
        let of = change.text_document;
        let Some(document) = self.documents.0.get_mut(of.text_document_identifier.uri.as_ref()) else { return };
        let text = changed(std::mem::take(&mut document.text), change.content_changes, self.client.encoding);
        (document.text, document.version) = (text, of.version);
        if let Some(open) = self.folders.get_mut(document.folder) {
            // Of a text that is too large no more is kept than shows it.
            let bytes = document.text.as_bytes();
            open.folder.open(&document.name, bytes.get(..=MAX_BYTES).unwrap_or(bytes).into());
            open.is_stale = true;
        }
    }

    pub(super) fn did_close(&mut self, at: &str) {
        let Some(document) = self.documents.0.remove(at) else { return };
        if let Some(open) = self.folders.get_mut(document.folder) {
            open.folder.close(&document.name);
            open.is_stale = true;
        }
        self.drop_unused();
    }

    /// Gives a document to another folder.
    pub(super) fn move_document(&mut self, at: &str, _folder: usize) {
        let Some(document) = self.documents.0.remove(at) else { return };
        if let Some(open) = self.folders.get_mut(document.folder) {
            open.folder.close(&document.name);
            open.is_stale = true;
        }
        self.put_document(at.to_owned(), document.version, document.text);
    }

    /// Lets go of folders that the editor does not name and in which nothing is open.
    pub(super) fn drop_unused(&mut self) {
        let is_used = |open: &Open| open.is_named || open.folder.open_names().next().is_some();
        let mut at = 0;
        while let Some(open) = self.folders.get(at) {
            if is_used(open) {
                at += 1;
                continue;
            }
            self.clear(at);
            self.folders.remove(at);
            for document in self.documents.0.values_mut() {
                document.folder -= usize::from(document.folder > at);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use gen_lsp_types::{Position, Range, TextDocumentContentChangePartial, TextDocumentContentChangeWholeDocument};

    fn part(start: (u32, u32), end: (u32, u32), text: &str) -> TextDocumentContentChangeEvent {
        let position = |(line, character)| Position { line, character };
        TextDocumentContentChangePartial {
            range: Range { start: position(start), end: position(end) },
            text: text.to_owned(),
            ..TextDocumentContentChangePartial::default()
        }
        .into()
    }

    #[test]
    fn changes_go_in_one_after_the_other() {
        let text = "rig 1\ncraft \"é🪶x\" { }\n".to_owned();
        for (encoding, at) in [(Encoding::Utf8, 13), (Encoding::Utf16, 10)] {
            let changes = vec![part((1, at), (1, at + 1), "yz"), part((1, at + 1), (1, at + 2), "")];
            assert_eq!(changed(text.clone(), changes, encoding), "rig 1\ncraft \"é🪶y\" { }\n");
        }
        let whole = TextDocumentContentChangeWholeDocument { text: "a".to_owned() };
        assert_eq!(changed(text.clone(), vec![whole.into(), part((0, 1), (9, 9), "b")], Encoding::Utf16), "ab");
        // A range that ends before it begins, and one beyond the text.
        assert_eq!(changed("ab".to_owned(), vec![part((0, 1), (0, 0), "c")], Encoding::Utf8), "acb");
        assert_eq!(changed("ab".to_owned(), vec![part((7, 1), (7, 2), "c")], Encoding::Utf8), "abc");
    }
}
