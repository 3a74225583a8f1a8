//! Features over one document: each is asked for, found by the pure parts, and put into the form of the protocol.

use super::{Answer, Server, failed, read};
use crate::editor::actions::{self, Changes, by_lines};
use crate::editor::diagnostics::Look;
use crate::editor::names::{Found, Names, renamed};
use crate::editor::outline::{self, Symbol, sign};
use crate::editor::text::Text;
use crate::editor::{completion, hints, hover, tokens};
use crate::fleet::Fleet;
use crate::fleet::occurs::Role;
use crate::inspect::Workspace;
use crate::mend::tidy;
use crate::report::plain::plain;
use crate::source::{FileId, Lines, Place, Span};
use gen_lsp_types::{Position, Range};
use lsp_server::ErrorCode;
use serde_json::{Value, json};
use std::sync::Arc;

/// A rig document as it is now.
pub(super) struct Here {
    folder: usize,
    file: FileId,
    text: Arc<[u8]>,
}

/// Edits of texts, by file.
type Edits = Vec<(FileId, Vec<(Span, String)>)>;

/// What a request names.
fn address(params: &Value) -> &str {
    params.pointer("/textDocument/uri").and_then(Value::as_str).unwrap_or_default()
}

impl Server<'_> {
    /// The document that a request names, with everything read; `None` for one that is not open or no rig text.
    fn here(&mut self, params: &Value) -> Option<Here> {
        let document = self.documents.get(address(params))?;
        let (folder, name) = (document.folder, document.name.clone());
        let workspace = &mut self.folders.get_mut(folder)?.folder.workspace;
        workspace.read();
        let file = workspace.file(&name).filter(|file| !workspace.is_json(*file))?;
        Some(Here { folder, file, text: workspace.text(file)? })
    }

    fn workspace(&self, here: &Here) -> Option<&Workspace> {
        self.folders.get(here.folder).map(|open| &open.folder.workspace)
    }

    /// The byte of the position that a request names.
    fn byte(&self, here: &Here, params: &Value) -> Result<u32, lsp_server::ResponseError> {
        let position: Position = read(params.get("position").cloned().unwrap_or_default())?;
        Ok(self.client.encoding.byte(&Lines::new(&here.text), position))
    }

    /// The bytes of the range that a request names.
    fn span(&self, here: &Here, params: &Value) -> Result<Span, lsp_server::ResponseError> {
        let range: Range = read(params.get("range").cloned().unwrap_or_default())?;
        Ok(self.client.encoding.span(&Lines::new(&here.text), range))
    }

    fn range(&self, here: &Here, span: Span) -> Range {
        self.client.encoding.range(&Lines::new(&here.text), span)
    }

    fn look<T>(&self, here: &Here, tell: impl FnOnce(&Look<'_>) -> T) -> Option<T> {
        self.with_look(here.folder, |_, look| tell(look))
    }

    /// Edits as the editor takes them: with the version of each document that is open, where it can.
    fn workspace_edit(&self, here: &Here, edits: &Edits) -> Value {
        let each = edits.iter().filter_map(|(file, edits)| {
            let name = self.workspace(here)?.names().get(file.0 as usize)?;
            let at = self.address(here.folder, name);
            let ranges = self.look(here, |look| {
                let one = |(span, text): &(Span, String)| json!({"range": look.range(Place::new(*file, *span)), "newText": text});
                edits.iter().map(one).collect::<Vec<Value>>()
            })?;
            Some((at, ranges))
        });
        let each: Vec<(String, Vec<Value>)> = each.collect();
        if self.client.versioned_edits {
            let one = |(at, edits): (String, Vec<Value>)| {
                let version = self.documents.get(&at).map(|document| document.version);
                json!({"textDocument": {"uri": at, "version": version}, "edits": edits})
            };
            return json!({"documentChanges": each.into_iter().map(one).collect::<Vec<_>>()});
        }
        json!({"changes": each.into_iter().map(|(at, edits)| (at, Value::Array(edits))).collect::<serde_json::Map<_, _>>()})
    }

    /// `textDocument/codeAction`.
    pub(super) fn code_actions(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params) else { return Ok(json!([])) };
        if !self.client.code_actions {
            return Ok(json!([]));
        }
        let span = self.span(&here, params)?;
        let only: Option<Vec<&str>> = params
            .pointer("/context/only")
            .and_then(Value::as_array)
            .map(|only| only.iter().filter_map(Value::as_str).collect());
        let wants = |kind: &str| {
            let covers =
                |wanted: &&str| kind == *wanted || wanted.is_empty() || kind.starts_with(&format!("{wanted}."));
            only.as_ref().is_none_or(|only| only.iter().any(|wanted| covers(wanted)))
        };
        let Some(open) = self.folders.get_mut(here.folder) else { return Ok(json!([])) };
        let outcome = open.folder.workspace.outcome();
        let in_file = || outcome.findings.iter().filter(|finding| finding.place.file == here.file);
        let touches = |other: Span| other.start <= span.end && span.start <= other.end;
        let mut actions: Vec<Value> = Vec::new();
        for finding in in_file().filter(|finding| wants("quickfix") && touches(finding.place.span)) {
            let shown = self.look(&here, |look| look.diagnostic(finding));
            let shown = serde_json::to_value(shown).unwrap_or_default();
            let same = |sent: &&Value| sent.get("code") == shown.get("code") && sent.get("range") == shown.get("range");
            let sent = params.pointer("/context/diagnostics").and_then(Value::as_array);
            let sent: Vec<&Value> = sent.into_iter().flatten().filter(same).collect();
            let Some(workspace) = self.workspace(&here) else { continue };
            for fix in actions::fixes(workspace, finding, &outcome.findings) {
                let edits = edits_of(&fix.changes);
                let mut action = json!({
                    "title": plain(&fix.title),
                    "kind": "quickfix",
                    "diagnostics": sent,
                    "edit": self.workspace_edit(&here, &edits),
                });
                if fix.is_sure {
                    action["isPreferred"] = json!(true);
                }
                actions.push(action);
            }
            if let Some(waive) = actions::waive(workspace, finding) {
                actions.push(json!({
                    "title": format!("waive {} with a reason until …", finding.rule),
                    "kind": "quickfix",
                    "diagnostics": sent,
                    "edit": self.waiver(&here, finding.rule, &waive),
                }));
            }
        }
        // In a large folder only where it is asked for by its name.
        let is_asked = only.as_ref().is_some_and(|_| wants(FIX_ALL));
        let is_small = self.workspace(&here).is_some_and(|workspace| workspace.count() <= super::MANY_FILES);
        let has_sure = in_file().any(|finding| matches!(finding.mend, crate::findings::Mend::Sure(_)));
        if has_sure && (is_asked || only.is_none() && is_small) {
            let Some(open) = self.folders.get_mut(here.folder) else { return Ok(json!([])) };
            let mended = actions::all_sure(&mut open.folder.workspace, here.file);
            open.folder.workspace.outcome();
            let edits: Edits =
                mended.into_iter().map(|(file, before, after)| (file, by_lines(&before, &after))).collect();
            if !edits.is_empty() {
                let edit = self.workspace_edit(&here, &edits);
                actions.push(json!({"title": "mend all that is sure in this file", "kind": FIX_ALL, "edit": edit}));
            }
        }
        Ok(Value::Array(actions))
    }

    /// The edit that puts a waiver above a line. Without a reason it waives nothing, so that it is not done by a mere click.
    fn waiver(&self, here: &Here, rule: &str, waive: &actions::Waive) -> Value {
        let today = self.workspace(here).and_then(|workspace| workspace.options().today).map(|day| day.to_string());
        let until = today.and_then(|today| {
            let (year, rest) = today.split_once('-')?;
            let rest = if rest == "02-29" { "02-28" } else { rest };
            Some(format!("{:04}-{rest}", year.parse::<u16>().ok()? + 1))
        });
        let until = until.unwrap_or_else(|| "2030-01-01".to_owned());
        let at = Span::new(waive.at, waive.at);
        let (indent, end) = (&waive.indent, waive.line_break);
        if !self.client.snippet_edits {
            let text = format!("{indent}# waive {rule} because \"\" until {until}{end}");
            return self.workspace_edit(here, &vec![(here.file, vec![(at, text)])]);
        }
        let text = format!("{indent}# waive {rule} because \"${{1:the reason}}\" until ${{2:{until}}}{end}");
        let name = self.workspace(here).and_then(|workspace| workspace.names().get(here.file.0 as usize));
        let address = name.map(|name| self.address(here.folder, name)).unwrap_or_default();
        let version = self.documents.get(&address).map(|document| document.version);
        let edit = json!({"range": self.range(here, at), "snippet": {"kind": "snippet", "value": text}});
        json!({"documentChanges": [{"textDocument": {"uri": address, "version": version}, "edits": [edit]}]})
    }

    /// `textDocument/formatting`: the one layout. A text with faults of layout stays as it is.
    pub(super) fn formatting(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params) else { return Ok(Value::Null) };
        let Ok(laid) = tidy(&here.text) else { return Ok(Value::Null) };
        Ok(self.text_edits(&here, &by_lines(&here.text, &laid)))
    }

    /// `textDocument/onTypeFormatting`: the same for the block at the top level that was just closed.
    pub(super) fn formatting_on_type(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params) else { return Ok(Value::Null) };
        let byte = self.byte(&here, params)?;
        let Ok(laid) = tidy(&here.text) else { return Ok(Value::Null) };
        let text = Text::of(&here.text);
        let Some(top) = text.statement_at(byte).map(|index| text.top(index)) else { return Ok(json!([])) };
        let block = text.tables.whole(top);
        let mut edits = by_lines(&here.text, &laid);
        edits.retain(|(span, _)| block.holds(*span));
        Ok(self.text_edits(&here, &edits))
    }

    fn text_edits(&self, here: &Here, edits: &[(Span, String)]) -> Value {
        let lines = Lines::new(&here.text);
        let one = |(span, text): &(Span, String)| json!({"range": self.client.encoding.range(&lines, *span), "newText": text});
        edits.iter().map(one).collect()
    }

    /// `textDocument/hover`.
    pub(super) fn hover(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params) else { return Ok(Value::Null) };
        let byte = self.byte(&here, params)?;
        let told =
            self.workspace(&here).and_then(|workspace| hover::hover(workspace, here.file, &Text::of(&here.text), byte));
        let Some(told) = told else { return Ok(Value::Null) };
        let contents = match self.client.markdown {
            true => json!({"kind": "markdown", "value": told.markdown()}),
            false => json!({"kind": "plaintext", "value": told.plain()}),
        };
        Ok(json!({"contents": contents, "range": self.range(&here, told.span)}))
    }

    /// The name under the cursor: its place, the name, and all its places.
    fn named(&mut self, params: &Value) -> Result<Option<(Here, Span, String, Vec<Found>)>, lsp_server::ResponseError> {
        let Some(here) = self.here(params) else { return Ok(None) };
        let byte = self.byte(&here, params)?;
        let Some(open) = self.folders.get_mut(here.folder) else { return Ok(None) };
        let names = Names::of(&open.folder.workspace, &mut open.kept);
        let found = names.at(here.file, byte).map(|name| (name.span, name.name.to_string(), names.all(name)));
        Ok(found.map(|(span, name, all)| (here, span, name, all)))
    }

    fn locations<'f>(&self, here: &Here, found: impl Iterator<Item = &'f Found>) -> Value {
        let places: Vec<Place> = found.map(|found| found.place).collect();
        let all = self.look(here, |look| places.iter().map(|place| json!(look.location(*place))).collect::<Vec<_>>());
        Value::Array(all.unwrap_or_default())
    }

    /// `textDocument/definition`.
    pub(super) fn definition(&mut self, params: &Value) -> Answer {
        let Some((here, _, _, all)) = self.named(params)? else { return Ok(Value::Null) };
        Ok(self.locations(&here, all.iter().filter(|found| found.role == Role::Defined)))
    }

    /// `textDocument/references`.
    pub(super) fn references(&mut self, params: &Value) -> Answer {
        let Some((here, _, _, all)) = self.named(params)? else { return Ok(Value::Null) };
        let declared = params.pointer("/context/includeDeclaration").and_then(Value::as_bool).unwrap_or(true);
        Ok(self.locations(&here, all.iter().filter(|found| declared || found.role != Role::Defined)))
    }

    /// `textDocument/documentHighlight`.
    pub(super) fn highlights(&mut self, params: &Value) -> Answer {
        let Some((here, _, _, all)) = self.named(params)? else { return Ok(Value::Null) };
        let (text, write) = (2, 3);
        let own = all.iter().filter(|found| found.place.file == here.file);
        let one = |found: &Found| {
            let kind = if found.role == Role::Defined { write } else { text };
            json!({"range": self.range(&here, found.place.span), "kind": kind})
        };
        Ok(own.map(one).collect())
    }

    /// `textDocument/prepareRename`.
    pub(super) fn prepare_rename(&mut self, params: &Value) -> Answer {
        let Some((here, span, name, all)) = self.named(params)? else { return Ok(Value::Null) };
        if all.iter().all(|found| found.role != Role::Defined) {
            return Ok(Value::Null);
        }
        Ok(json!({"range": self.range(&here, span), "placeholder": name}))
    }

    /// `textDocument/rename`: refused where lines would not be understood afterwards.
    pub(super) fn rename(&mut self, params: &Value) -> Answer {
        let refused = |why: &str| Err(failed(ErrorCode::RequestFailed, why));
        let Some((here, _, _, all)) = self.named(params)? else { return refused("no name stands there") };
        let new = params.get("newName").and_then(Value::as_str).unwrap_or_default();
        if all.iter().all(|found| found.role != Role::Defined) {
            return refused("it is defined nowhere, so it is not known what it is");
        }
        if new.is_empty() {
            return refused("a name has a character at least");
        }
        let Some(open) = self.folders.get_mut(here.folder) else { return refused("no folder") };
        let workspace = &mut open.folder.workspace;
        let changed = renamed(workspace, &all, new);
        let before = workspace.not_understood(&|_| true).len();
        let names: Vec<String> = workspace.names().to_vec();
        let firsts: Vec<(String, Arc<[u8]>)> = changed
            .iter()
            .filter_map(|(file, ..)| Some((names.get(file.0 as usize)?.clone(), workspace.text(*file)?)))
            .collect();
        for ((name, _), (_, _, text)) in firsts.iter().zip(&changed) {
            workspace.set(name, text.as_slice());
        }
        workspace.read();
        let after = workspace.not_understood(&|_| true).len();
        firsts.iter().for_each(|(name, text)| workspace.set(name, text.clone()));
        workspace.read();
        if after > before {
            let why =
                format!("\"{new}\" can't be its name: lines would then not be understood, or mean something else");
            return refused(&plain(&why));
        }
        let edits: Edits = changed.into_iter().map(|(file, edits, _)| (file, edits)).collect();
        Ok(self.workspace_edit(&here, &edits))
    }

    /// `textDocument/documentSymbol`.
    pub(super) fn document_symbols(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params) else { return Ok(Value::Null) };
        let symbols = outline::symbols(&Text::of(&here.text));
        let lines = Lines::new(&here.text);
        let range = |span: Span| self.client.encoding.range(&lines, span);
        if self.client.nested_symbols {
            return Ok(symbols.iter().map(|symbol| nested(symbol, &range)).collect());
        }
        let mut flat = Vec::new();
        symbols.iter().for_each(|symbol| flatten(symbol, None, address(params), &range, &mut flat));
        Ok(Value::Array(flat))
    }

    /// `workspace/symbol`: the blocks at the top level of all folders.
    pub(super) fn workspace_symbols(&mut self, params: &Value) -> Answer {
        let query = params.get("query").and_then(Value::as_str).unwrap_or_default().to_owned();
        let mut all = Vec::new();
        for folder in 0..self.folders.len() {
            let Some(open) = self.folders.get_mut(folder) else { continue };
            open.folder.workspace.read();
            let names = Names::of(&open.folder.workspace, &mut open.kept);
            let found: Vec<(u8, String, Place)> =
                names.search(&query).into_iter().map(|(kind, name, place)| (kind, name.to_string(), place)).collect();
            let told = self.with_look(folder, |_, look| {
                let one = |(kind, name, place): (u8, String, Place)| {
                    let name = plain(&name).into_owned();
                    json!({"name": name, "kind": sign(kind), "containerName": Fleet::word(kind), "location": look.location(place)})
                };
                found.into_iter().map(one).collect::<Vec<Value>>()
            });
            all.extend(told.into_iter().flatten());
        }
        Ok(Value::Array(all))
    }

    /// `textDocument/foldingRange`.
    pub(super) fn folding(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params) else { return Ok(Value::Null) };
        let folds = outline::folds(&Text::of(&here.text));
        let one = |(first, last, is_comment): (u32, u32, bool)| {
            let kind = if is_comment { "comment" } else { "region" };
            json!({"startLine": first - 1, "endLine": last - 1, "kind": kind})
        };
        Ok(folds.into_iter().map(one).collect())
    }

    /// `textDocument/selectionRange`.
    pub(super) fn selections(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params) else { return Ok(Value::Null) };
        let positions: Vec<Position> = read(params.get("positions").cloned().unwrap_or_default())?;
        let (text, lines) = (Text::of(&here.text), Lines::new(&here.text));
        let one = |position: Position| {
            let spans = outline::selections(&text, self.client.encoding.byte(&lines, position));
            spans.into_iter().rev().fold(Value::Null, |parent, span| {
                let range = self.client.encoding.range(&lines, span);
                match parent {
                    Value::Null => json!({"range": range}),
                    parent => json!({"range": range, "parent": parent}),
                }
            })
        };
        Ok(positions.into_iter().map(one).collect())
    }

    /// `textDocument/completion`.
    pub(super) fn completion(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params) else { return Ok(Value::Null) };
        let byte = self.byte(&here, params)?;
        let Some(open) = self.folders.get_mut(here.folder) else { return Ok(Value::Null) };
        let text = Text::of(&here.text);
        let (span, offers) =
            completion::offers(&open.folder.workspace, &mut open.trial, &mut open.kept, here.file, &text, byte);
        let range = self.range(&here, span);
        let as_it_is = 1;
        let item = |(number, offer): (usize, completion::Offer)| {
            let has_holes = self.client.snippets && offer.snippet != offer.text;
            let (new, format) = if has_holes { (&offer.snippet, 2) } else { (&offer.text, 1) };
            let mut item = json!({
                "label": plain(&offer.label),
                "kind": offer.kind,
                "sortText": format!("{number:04}"),
                "insertTextFormat": format,
                "insertTextMode": as_it_is,
                "textEdit": {"range": range, "newText": new},
            });
            if !offer.detail.is_empty() {
                item["documentation"] = json!(offer.detail);
            }
            item
        };
        let items: Vec<Value> = offers.into_iter().enumerate().map(item).collect();
        Ok(json!({"isIncomplete": false, "items": items}))
    }

    /// `textDocument/semanticTokens/full`, or those of a range.
    pub(super) fn semantic_tokens(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params) else { return Ok(Value::Null) };
        let within = match params.get("range") {
            Some(_) => self.span(&here, params)?,
            None => Span::new(0, u32::MAX),
        };
        let (lines, mut last) = (Lines::new(&here.text), Position { line: 0, character: 0 });
        let mut data: Vec<u32> = Vec::new();
        for (span, kind, is_definition) in tokens::coloured(&Text::of(&here.text)) {
            if span.end < within.start || within.end < span.start {
                continue;
            }
            let range = self.client.encoding.range(&lines, span);
            let line = range.start.line - last.line;
            let character = if line == 0 { range.start.character - last.character } else { range.start.character };
            let length = range.end.character.saturating_sub(range.start.character);
            data.extend([line, character, length, kind, u32::from(is_definition)]);
            last = range.start;
        }
        Ok(json!({"data": data}))
    }

    /// `textDocument/inlayHint`; none unless they are set.
    pub(super) fn inlay_hints(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params).filter(|_| self.client.set.inlay_hints) else { return Ok(json!([])) };
        let span = self.span(&here, params)?;
        let text = Text::of(&here.text);
        let found = self.workspace(&here).map(|workspace| hints::hints(workspace, &text, span)).unwrap_or_default();
        let lines = Lines::new(&here.text);
        let one = |hint: hints::Hint| json!({"position": self.client.encoding.position(&lines, hint.at), "label": hint.text, "paddingLeft": true});
        Ok(found.into_iter().map(one).collect())
    }

    /// `textDocument/codeLens`: over each model the verdicts of its aircraft, and what leads to its trace.
    pub(super) fn code_lenses(&mut self, params: &Value) -> Answer {
        let Some(here) = self.here(params) else { return Ok(Value::Null) };
        let Some(open) = self.folders.get_mut(here.folder) else { return Ok(Value::Null) };
        let outcome = open.folder.workspace.outcome();
        let mut all = Vec::new();
        for (model, span) in hints::models(&Text::of(&here.text)) {
            let range = self.range(&here, span);
            let told = self.workspace(&here).map(|workspace| hints::verdicts(workspace, &outcome, &model));
            for verdict in told.into_iter().flatten() {
                all.push(json!({"range": range, "command": {"title": verdict, "command": ""}}));
            }
            let arguments = json!([address(params), model]);
            all.push(json!({"range": range, "command": {"title": "trace", "command": TRACE, "arguments": arguments}}));
        }
        Ok(Value::Array(all))
    }

    /// `workspace/executeCommand`: the trace of a model, as text.
    pub(super) fn execute(&mut self, params: &Value) -> Answer {
        if params.get("command").and_then(Value::as_str) != Some(TRACE) {
            return Err(failed(ErrorCode::InvalidParams, "there is no such command"));
        }
        let argument = |at: usize| params.get("arguments")?.get(at)?.as_str();
        let (Some(address), Some(model)) = (argument(0), argument(1)) else {
            return Err(failed(
                ErrorCode::InvalidParams,
                "the address of a document and the name of a model are needed",
            ));
        };
        let here = self.here(&json!({"textDocument": {"uri": address}}));
        let table = here.and_then(|here| hints::trace_of(self.workspace(&here)?, &Text::of(&here.text), model));
        let Some(table) = table else { return Err(failed(ErrorCode::RequestFailed, "no such model is open")) };
        let information = 3;
        self.notify("window/showMessage", json!({"type": information, "message": table}));
        Ok(Value::String(table))
    }
}

/// The kind of the action that does all sure mends.
pub(super) const FIX_ALL: &str = "source.fixAll.walkaround";
/// The command that shows what is received from a model.
pub(super) const TRACE: &str = "walkaround.trace";

fn edits_of(changes: &Changes) -> Edits {
    let one = |change: &crate::mend::Change| (change.span, change.text.clone());
    changes.iter().map(|(file, changes)| (*file, changes.iter().map(one).collect())).collect()
}

fn nested(symbol: &Symbol, range: &dyn Fn(Span) -> Range) -> Value {
    json!({
        "name": plain(&symbol.name),
        "detail": plain(&symbol.detail),
        "kind": symbol.kind,
        "range": range(symbol.whole),
        "selectionRange": range(symbol.own),
        "children": symbol.inside.iter().map(|inner| nested(inner, range)).collect::<Vec<_>>(),
    })
}

fn flatten(symbol: &Symbol, outer: Option<&str>, address: &str, range: &dyn Fn(Span) -> Range, all: &mut Vec<Value>) {
    let location = json!({"uri": address, "range": range(symbol.whole)});
    all.push(json!({"name": plain(&symbol.name), "kind": symbol.kind, "containerName": outer, "location": location}));
    symbol.inside.iter().for_each(|inner| flatten(inner, Some(&symbol.name), address, range, all));
}
