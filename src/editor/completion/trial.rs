//! Texts put in to see whether they would be faults.

use crate::editor::names::{Kept, Names};
use crate::editor::text::Text;
use crate::inspect::{Options, Workspace};
use crate::source::{FileId, Place, Span};
use rustc_hash::FxHashSet;
use std::sync::Arc;

/// A workspace beside the one that is shown. It is only read and never asked.
#[derive(Default)]
pub(in crate::editor) struct Trial {
    workspace: Workspace,
    /// The file with all that it hangs on, and some of the files that hang on it.
    around: FxHashSet<FileId>,
    name: String,
    text: Arc<[u8]>,
    /// How many faults there may be.
    faults: usize,
}

impl Trial {
    /// Gets ready to try texts in a file in the place of some bytes.
    pub(super) fn begin(
        &mut self,
        workspace: &Workspace,
        kept: &mut Kept,
        file: FileId,
        text: &Text<'_>,
        replaced: Span,
    ) {
        self.around = Names::of(workspace, kept).around(file).into_iter().collect();
        let default_place = workspace.options().default_place.clone();
        if self.workspace.options().default_place != default_place {
            self.workspace.settings(Options { default_place, ..Options::default() });
        }
        // The same files with the same numbers; what is the same is not read again.
        let names = workspace.names().get(..workspace.count()).unwrap_or_default();
        let known: Vec<String> = self.workspace.names().to_vec();
        known.iter().filter(|known| names.binary_search(known).is_err()).for_each(|gone| self.workspace.remove(gone));
        for (name, file) in names.iter().zip((0..).map(FileId)) {
            match workspace.text(file) {
                Some(text) => self.workspace.set(name, text),
                None if known.binary_search(name).is_ok() => {}
                None => self.workspace.unreadable(name, ""),
            }
        }
        self.name = workspace.names().get(file.0 as usize).cloned().unwrap_or_default();
        self.text = text.bytes.into();
        // A line that is not whole yet is a fault that goes with what is typed; one that is whole has none that may come.
        let own = text.statement_at(replaced.start).and_then(|index| text.statement(index));
        let line = own.filter(|statement| !statement.has_body).map(|statement| text.tables.header(statement));
        let now = self.count(self.text.clone());
        let without = line.map(|line| {
            [text.bytes.get(..line.start as usize), text.bytes.get(line.end as usize..)]
                .into_iter()
                .flatten()
                .flatten()
                .copied()
                .collect::<Vec<u8>>()
        });
        let without = without.map_or(now, |without| self.count(without.into()));
        self.faults = now.min(without);
    }

    fn count(&mut self, text: Arc<[u8]>) -> usize {
        self.faults_with(text).len()
    }

    fn faults_with(&mut self, text: Arc<[u8]>) -> Vec<Place> {
        self.workspace.set(&self.name, text);
        self.workspace.read();
        self.workspace.not_understood(&|file| self.around.contains(&file))
    }

    /// Whether nothing is wrong with a text in the place of some bytes, and no more than before elsewhere.
    pub(super) fn accepts(&mut self, replaced: Span, written: &str) -> bool {
        let front = self.text.get(..replaced.start as usize).unwrap_or_default();
        let back = self.text.get(replaced.end as usize..).unwrap_or_default();
        let text = [front, written.as_bytes(), back].concat();
        let faults = self.faults_with(text.into());
        let own = Span::new(replaced.start, replaced.start + written.len() as u32);
        let is_in = |fault: &Place| {
            Some(fault.file) == self.workspace.file(&self.name)
                && fault.span.start < own.end
                && own.start < fault.span.end
        };
        faults.len() <= self.faults && !faults.iter().any(is_in)
    }

    /// Puts the text back.
    pub(super) fn end(&mut self) {
        self.workspace.set(&self.name, self.text.clone());
    }
}
