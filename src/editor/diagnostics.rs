//! Findings as an editor shows them.

use super::client::Client;
use crate::findings::caution::Caution;
use crate::findings::outcome::Outcome;
use crate::findings::{Finding, Mend, Severity};
use crate::inspect::Workspace;
use crate::report::plain::plain;
use crate::report::witness::in_words;
use crate::source::{FileId, Lines, Place};
use gen_lsp_types::{
    Code, CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag, Location,
    Message, Range, Uri,
};
use rustc_hash::FxHashSet;
use std::sync::Arc;

/// What stands behind each diagnostic's name.
pub(super) const SOURCE: &str = "walkaround";

/// Rules that find lines without any effect, where that is all that they say: such a line is shown faded.
const WITHOUT_EFFECT: [&str; 3] = ["channels/dead-line", "channels/unused", "house/waiver-stale"];

/// What places are told with: the texts, how columns are counted, and the addresses of files.
#[derive(Clone, Copy)]
pub(super) struct Look<'l> {
    pub(super) workspace: &'l Workspace,
    pub(super) client: &'l Client,
    pub(super) address_of: &'l dyn Fn(FileId) -> String,
}

impl Look<'_> {
    /// The positions of a place; the top of a file that can't be read.
    pub(super) fn range(&self, place: Place) -> Range {
        if let Some(lines) = self.workspace.lines(place.file) {
            return self.client.encoding.range(&lines, place.span);
        }
        let text = self.workspace.text(place.file).unwrap_or_default();
        self.client.encoding.range(&Lines::new(&text), place.span)
    }

    /// A place with the address of its file.
    pub(super) fn location(&self, place: Place) -> Location {
        Location { uri: Uri((self.address_of)(place.file)), range: self.range(place) }
    }

    /// A finding as an editor shows it.
    pub(super) fn diagnostic(&self, finding: &Finding) -> Diagnostic {
        let others = finding.others.iter().map(|(place, label)| DiagnosticRelatedInformation {
            location: self.location(*place),
            message: plain(if label.is_empty() { "see also" } else { label }).into_owned(),
        });
        let page = self.client.page_of(finding.rule).filter(|_| self.client.shows_pages);
        let is_faded = finding.severity == Severity::Note && WITHOUT_EFFECT.contains(&finding.rule);
        Diagnostic {
            range: self.range(finding.place),
            severity: Some(severity(finding.severity)),
            code: Some(Code::String(finding.rule.to_owned())),
            code_description: page.map(|address| CodeDescription { href: Uri(address) }),
            source: Some(SOURCE.to_owned()),
            message: Message::String(message(finding)),
            tags: is_faded.then(|| vec![DiagnosticTag::Unnecessary]),
            related_information: Some(others.collect())
                .filter(|all: &Vec<_>| self.client.shows_related && !all.is_empty()),
            data: None,
        }
    }
}

const fn severity(severity: Severity) -> DiagnosticSeverity {
    match severity {
        Severity::Fault | Severity::Danger => DiagnosticSeverity::Error,
        Severity::Caution => DiagnosticSeverity::Warning,
        Severity::Note => DiagnosticSeverity::Information,
    }
}

/// What is found, how it shows on the bench, and what can be done where no edit does it.
fn message(finding: &Finding) -> String {
    let mut text = format!("{}: {}", finding.severity.word(), plain(&finding.message));
    if let Some(reached) = &finding.reached {
        text += &format!("\nReached: {}", plain(reached));
    }
    if let Some(witness) = &finding.witness {
        let cautions: Vec<&str> = finding.cautions.iter().map(|caution: &Caution| caution.words()).collect();
        text += &format!("\nTo see it on the bench. {} {}", cautions.join(" "), in_words(witness, &finding.channels()));
    }
    if let Mend::Words(words) | Mend::Choices(words, _) = &finding.mend
        && !words.is_empty()
    {
        text += &format!("\nTo mend it: {}", plain(words));
    }
    text
}

/// The findings of an outcome by their file, those of a file in their order.
fn by_file(outcome: &Outcome, files: usize) -> Vec<Vec<&Finding>> {
    let mut all: Vec<Vec<&Finding>> = vec![Vec::new(); files];
    for finding in &outcome.findings {
        if let Some(list) = all.get_mut(finding.place.file.0 as usize) {
            list.push(finding);
        }
    }
    all
}

/// The files whose diagnostics are others than before.
#[derive(Debug)]
pub(super) enum Changed {
    /// These.
    These(Vec<FileId>),
    /// Any of them: files came or went.
    All,
}

/// The diagnostics of every file of a folder, made again only where something is another.
#[derive(Default)]
pub(super) struct Diagnosed {
    outcome: Arc<Outcome>,
    names: Vec<String>,
    texts: Vec<Option<Arc<[u8]>>>,
    all: Vec<Arc<[Diagnostic]>>,
}

impl Diagnosed {
    /// Brings them to an outcome, and says whose diagnostics are others than before.
    pub(super) fn renew(&mut self, look: &Look<'_>, outcome: &Arc<Outcome>) -> Changed {
        let names = look.workspace.names();
        let count = names.len();
        let ids = || (0..count as u32).map(FileId);
        let same_names = self.names == names;
        let texts: Vec<Option<Arc<[u8]>>> = ids().map(|file| look.workspace.text(file)).collect();
        let is_same = |left: &Option<Arc<[u8]>>, right: &Option<Arc<[u8]>>| match (left, right) {
            (Some(left), Some(right)) => Arc::ptr_eq(left, right) || left == right,
            (None, None) => true,
            _ => false,
        };
        let changed: FxHashSet<FileId> = match same_names {
            true => ids()
                .zip(texts.iter().zip(&self.texts))
                .filter(|(_, (new, old))| !is_same(new, old))
                .map(|(file, _)| file)
                .collect(),
            false => ids().collect(),
        };
        let before = by_file(&self.outcome, count);
        let after = by_file(outcome, count);
        let mut others = Vec::new();
        let mut all = Vec::with_capacity(count);
        for (file, (new, old)) in ids().zip(after.iter().zip(&before)) {
            let known = self.all.get(file.0 as usize).filter(|_| same_names);
            // A place in a text that changed may be on another line, though its bytes are the same.
            let stays = new == old
                && !new.iter().flat_map(|finding| finding.places()).any(|place| changed.contains(&place.file));
            match known {
                Some(known) if stays => all.push(known.clone()),
                _ => {
                    let diagnostics: Arc<[Diagnostic]> = new.iter().map(|finding| look.diagnostic(finding)).collect();
                    if known.is_none_or(|known| *known != diagnostics) {
                        others.push(file);
                    }
                    all.push(diagnostics);
                }
            }
        }
        drop((before, after));
        if !same_names {
            self.names = names.to_vec();
        }
        (self.outcome, self.texts, self.all) = (outcome.clone(), texts, all);
        if same_names { Changed::These(others) } else { Changed::All }
    }

    /// Those of a file.
    pub(super) fn of(&self, file: FileId) -> Arc<[Diagnostic]> {
        self.all.get(file.0 as usize).cloned().unwrap_or_default()
    }

    /// The name of a file, as it was then.
    pub(super) fn names(&self) -> &[String] {
        &self.names
    }
}
