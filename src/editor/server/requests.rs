//! What the editor asks, and the answers.

use super::features::{FIX_ALL, TRACE};
use super::publish::provider;
use super::{Answer, Server, failed, read, written};
use crate::editor::client::{Client, PAGES};
use crate::editor::tokens::{KINDS, SAID};
use crate::report::paint::Paint;
use crate::report::rule_page;
use crate::rules::book;
use gen_lsp_types::{TextDocumentContentParams, TextDocumentContentResult};
use lsp_server::ErrorCode;
use serde_json::{Value, json};

/// What this server can do for an editor.
pub(super) fn capabilities(client: &Client) -> Value {
    let mut all = json!({
        "positionEncoding": client.encoding.name(),
        "textDocumentSync": {"openClose": true, "change": 2, "save": {"includeText": false}},
        "workspace": {"workspaceFolders": {"supported": true, "changeNotifications": true}},
        "codeActionProvider": {"codeActionKinds": ["quickfix", FIX_ALL]},
        "documentFormattingProvider": true,
        "documentOnTypeFormattingProvider": {"firstTriggerCharacter": "}"},
        "hoverProvider": true,
        "definitionProvider": true,
        "referencesProvider": true,
        "documentHighlightProvider": true,
        "renameProvider": {"prepareProvider": true},
        "documentSymbolProvider": true,
        "workspaceSymbolProvider": true,
        "foldingRangeProvider": true,
        "selectionRangeProvider": true,
        "completionProvider": {"triggerCharacters": [" "]},
        "semanticTokensProvider": {"legend": {"tokenTypes": KINDS, "tokenModifiers": SAID}, "full": true, "range": true},
        "inlayHintProvider": true,
        "codeLensProvider": {},
        "executeCommandProvider": {"commands": [TRACE]},
    });
    if let (Some(all), Some(provider)) = (all.as_object_mut(), provider(client)) {
        all.insert("diagnosticProvider".to_owned(), provider);
    }
    if let (Some(workspace), true) = (all.get_mut("workspace").and_then(Value::as_object_mut), client.shows_content) {
        workspace.insert("textDocumentContent".to_owned(), json!({"schemes": ["walkaround"]}));
    }
    all
}

impl Server<'_> {
    /// Answers what is asked while everything runs.
    pub(super) fn ask_of(&mut self, method: &str, params: Value) -> Answer {
        match method {
            "textDocument/diagnostic" => self.pull(params),
            "workspace/diagnostic" => self.pull_all(params),
            "workspace/textDocumentContent" => page(params),
            "textDocument/codeAction" => self.code_actions(&params),
            "textDocument/formatting" => self.formatting(&params),
            "textDocument/onTypeFormatting" => self.formatting_on_type(&params),
            "textDocument/hover" => self.hover(&params),
            "textDocument/definition" => self.definition(&params),
            "textDocument/references" => self.references(&params),
            "textDocument/documentHighlight" => self.highlights(&params),
            "textDocument/prepareRename" => self.prepare_rename(&params),
            "textDocument/rename" => self.rename(&params),
            "textDocument/documentSymbol" => self.document_symbols(&params),
            "workspace/symbol" => self.workspace_symbols(&params),
            "textDocument/foldingRange" => self.folding(&params),
            "textDocument/selectionRange" => self.selections(&params),
            "textDocument/completion" => self.completion(&params),
            "textDocument/semanticTokens/full" | "textDocument/semanticTokens/range" => self.semantic_tokens(&params),
            "textDocument/inlayHint" => self.inlay_hints(&params),
            "textDocument/codeLens" => self.code_lenses(&params),
            "workspace/executeCommand" => self.execute(&params),
            _ => Err(failed(ErrorCode::MethodNotFound, &format!("`{method}` is not known here"))),
        }
    }
}

/// `workspace/textDocumentContent`: the page of a rule.
fn page(params: Value) -> Answer {
    let address = read::<TextDocumentContentParams>(params)?.uri.0;
    let rule = address.strip_prefix(PAGES).and_then(|rest| book::find(rest.strip_suffix(".txt")?));
    match rule {
        Some(rule) => written(TextDocumentContentResult { text: rule_page::page(rule, true, PAGE_WIDTH, Paint::NONE) }),
        None => Err(failed(ErrorCode::RequestFailed, "there is no such page")),
    }
}

/// How wide pages are, in characters.
const PAGE_WIDTH: usize = 100;
