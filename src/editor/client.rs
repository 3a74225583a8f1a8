//! What the editor at the other end can do, and what its user has set.
//!
//! It is looked up in what the editor says, rather than read whole: an editor that says one thing in a form that nobody
//! knows is served with all the others.

use super::encoding::Encoding;
use serde_json::Value;

/// What the editor can do.
#[derive(Clone, Debug, Default)]
pub(super) struct Client {
    /// How it counts columns.
    pub(super) encoding: Encoding,
    /// It asks for diagnostics by itself.
    pub(super) pulls: bool,
    /// It takes those of other files with those that it asked for.
    pub(super) takes_related: bool,
    /// It can be told to ask for diagnostics again.
    pub(super) refreshes: bool,
    /// It shows other places of a diagnostic.
    pub(super) shows_related: bool,
    /// It leads from a diagnostic to a page.
    pub(super) shows_pages: bool,
    /// It shows pages that this server holds.
    pub(super) shows_content: bool,
    /// It watches files when it is asked to.
    pub(super) watches: bool,
    /// It takes edits of several documents, each with its version.
    pub(super) versioned_edits: bool,
    /// It takes edits with places to fill in.
    pub(super) snippet_edits: bool,
    /// It takes completions with places to fill in.
    pub(super) snippets: bool,
    /// It knows code actions, not only commands.
    pub(super) code_actions: bool,
    /// It knows symbols within symbols.
    pub(super) nested_symbols: bool,
    /// It shows Markdown.
    pub(super) markdown: bool,
    /// What its user has set.
    pub(super) set: Set,
}

/// What a user of the editor can set.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Set {
    /// Whether pulses and what is inherited are shown between the lines.
    pub(super) inlay_hints: bool,
    /// The address of the rule book on the web, without a rule's name.
    pub(super) rule_book: Option<String>,
}

impl Set {
    /// Takes what is set, in the form `{"inlayHints": true, "ruleBook": "https://…"}`; what it does not say stays.
    pub(super) fn take(&mut self, settings: &Value) {
        let settings = settings.get("walkaround").unwrap_or(settings);
        if let Some(on) = settings.get("inlayHints").and_then(Value::as_bool) {
            self.inlay_hints = on;
        }
        if let Some(address) = settings.get("ruleBook") {
            let is_web = |address: &&str| address.starts_with("https://") || address.starts_with("http://");
            self.rule_book = address.as_str().filter(is_web).map(str::to_owned);
        }
    }
}

impl Client {
    /// What an editor says with `initialize`.
    pub(super) fn of(initialize: &Value) -> Self {
        let at = |pointer: &str| initialize.pointer(&format!("/capabilities{pointer}"));
        let is = |pointer: &str| at(pointer).and_then(Value::as_bool).unwrap_or_default();
        let mut set = Set::default();
        if let Some(options) = initialize.get("initializationOptions") {
            set.take(options);
        }
        Self {
            encoding: Encoding::among(at("/general/positionEncodings")),
            pulls: at("/textDocument/diagnostic").is_some_and(Value::is_object),
            takes_related: is("/textDocument/diagnostic/relatedDocumentSupport"),
            refreshes: is("/workspace/diagnostics/refreshSupport"),
            shows_related: is("/textDocument/publishDiagnostics/relatedInformation")
                || is("/textDocument/diagnostic/relatedInformation"),
            shows_pages: is("/textDocument/publishDiagnostics/codeDescriptionSupport")
                || is("/textDocument/diagnostic/codeDescriptionSupport"),
            shows_content: at("/workspace/textDocumentContent").is_some_and(Value::is_object),
            watches: is("/workspace/didChangeWatchedFiles/dynamicRegistration"),
            versioned_edits: is("/workspace/workspaceEdit/documentChanges"),
            snippet_edits: is("/workspace/workspaceEdit/snippetEditSupport"),
            snippets: is("/textDocument/completion/completionItem/snippetSupport"),
            code_actions: at("/textDocument/codeAction/codeActionLiteralSupport").is_some_and(Value::is_object),
            nested_symbols: is("/textDocument/documentSymbol/hierarchicalDocumentSymbolSupport"),
            markdown: at("/textDocument/hover/contentFormat")
                .and_then(Value::as_array)
                .is_some_and(|forms| forms.iter().any(|form| form == "markdown")),
            set,
        }
    }

    /// The address of a rule's page that the editor can show.
    pub(super) fn page_of(&self, rule: &str) -> Option<String> {
        let anchor = || rule.replace('/', "");
        match &self.set.rule_book {
            Some(book) => Some(format!("{book}#{}", anchor())),
            None if self.shows_content => Some(format!("{PAGES}{rule}.txt")),
            None => None,
        }
    }
}

/// What the addresses of pages begin with that this server holds.
pub(super) const PAGES: &str = "walkaround:/rules/";
