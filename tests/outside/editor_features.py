"""The language server asked by a client library, as three editors would: each feature once.

Run by `tests/all/outside_editor.rs`, which gives the program in WALKAROUND and a copy of the hurried fleet in FLEET."""

import asyncio
import os
import pathlib

import pytest
import pytest_lsp
from lsprotocol import types
from pytest_lsp import ClientServerConfig, LanguageClient, client_capabilities

FLEET = pathlib.Path(os.environ["FLEET"])
DUNLIN = FLEET / "dunlin.rig"
CONFIG = ClientServerConfig(server_command=[os.environ["WALKAROUND"], "editor"])


@pytest_lsp.fixture(config=CONFIG, params=["neovim", "emacs", "visual-studio-code"])
async def client(request, lsp_client: LanguageClient):
    # Some of the editors whose abilities these are watch files when they are asked to.
    lsp_client.watched = []

    @lsp_client.feature(types.CLIENT_REGISTER_CAPABILITY)
    def register(params: types.RegistrationParams):
        lsp_client.watched += [one.method for one in params.registrations]

    lsp_client.answered = await lsp_client.initialize_session(
        types.InitializeParams(
            capabilities=client_capabilities(request.param),
            workspace_folders=[types.WorkspaceFolder(uri=FLEET.as_uri(), name="fleet")],
        )
    )
    lsp_client.text_document_did_open(
        types.DidOpenTextDocumentParams(
            types.TextDocumentItem(DUNLIN.as_uri(), "rig", 1, DUNLIN.read_text())
        )
    )
    yield
    await lsp_client.shutdown_session()


def document():
    return types.TextDocumentIdentifier(DUNLIN.as_uri())


def position(words, on=0):
    """The position of some words of the file, which is ASCII."""
    text = DUNLIN.read_text()
    at = text.index(words) + on
    line = text.count("\n", 0, at)
    return types.Position(line, at - (text.rfind("\n", 0, at) + 1))


async def diagnostics(client, code):
    """Pulled where the client pulls, else pushed: those among which there is one of a rule. What was pushed before a change may come
    behind it, so that it is looked again and again."""
    found = []
    for _ in range(200):
        if client.answered.capabilities.diagnostic_provider is not None:
            report = await client.text_document_diagnostic_async(
                types.DocumentDiagnosticParams(document())
            )
            found = report.items
        else:
            found = client.diagnostics.get(DUNLIN.as_uri(), [])
        if any(one.code == code for one in found):
            return found
        await asyncio.sleep(0.1)
    pytest.fail(f"no {code} in {found}")


@pytest.mark.asyncio
async def test_diagnostics(client):
    found = await diagnostics(client, "module/chains-wasted")
    assert [one.code for one in found if one.code == "receiver/several-answer"] == []
    assert all(one.source == "walkaround" for one in found)


@pytest.mark.asyncio
async def test_a_change_and_what_it_brings(client):
    await diagnostics(client, "module/chains-wasted")
    start = position("  channel 1 = roll", 2)
    client.text_document_did_change(
        types.DidChangeTextDocumentParams(
            types.VersionedTextDocumentIdentifier(2, DUNLIN.as_uri()),
            [
                types.TextDocumentContentChangePartial(
                    types.Range(start, types.Position(start.line, start.character + 7)), "chanel"
                )
            ],
        )
    )
    await diagnostics(client, "format/unknown-statement")


@pytest.mark.asyncio
async def test_fixes_and_waivers(client):
    found = await diagnostics(client, "module/chains-wasted")
    one = next(one for one in found if one.code == "module/chains-wasted")
    actions = await client.text_document_code_action_async(
        types.CodeActionParams(document(), one.range, types.CodeActionContext([one]))
    )
    titles = [action.title for action in actions]
    assert any(title.startswith("waive module/chains-wasted") for title in titles), titles
    assert all(action.edit is not None for action in actions)


@pytest.mark.asyncio
async def test_completion(client):
    answer = await client.text_document_completion_async(
        types.CompletionParams(document(), position("flown-at \"north", 12))
    )
    labels = [item.label for item in answer.items]
    assert '"north spit"' in labels, labels


@pytest.mark.asyncio
async def test_hover(client):
    answer = await client.text_document_hover_async(
        types.HoverParams(document(), position("channel 6 level", 2))
    )
    assert "left-rear up" in answer.contents.value


@pytest.mark.asyncio
async def test_definition_and_references(client):
    at = position("set left-front", 5)
    answer = await client.text_document_definition_async(types.DefinitionParams(document(), at))
    assert [place.uri for place in answer] == [(FLEET / "handset.rig").as_uri()]
    all_of_it = await client.text_document_references_async(
        types.ReferenceParams(types.ReferenceContext(True), document(), at)
    )
    assert len({place.uri for place in all_of_it}) > 3


@pytest.mark.asyncio
async def test_rename(client):
    at = position("condition ready", 11)
    ready = await client.text_document_prepare_rename_async(types.PrepareRenameParams(document(), at))
    assert ready.placeholder == "ready"
    edit = await client.text_document_rename_async(types.RenameParams(document(), at, "live"))
    count = sum(len(change.edits) for change in edit.document_changes or [])
    count += sum(len(edits) for edits in (edit.changes or {}).values())
    assert count == 3


@pytest.mark.asyncio
async def test_outline(client):
    symbols = await client.text_document_document_symbol_async(types.DocumentSymbolParams(document()))
    assert "dunlin" in [symbol.name for symbol in symbols]
    everywhere = await client.workspace_symbol_async(types.WorkspaceSymbolParams("marsh"))
    assert [symbol.name for symbol in everywhere] == ["marsh-900"]
    assert await client.text_document_folding_range_async(types.FoldingRangeParams(document()))
    ranges = await client.text_document_selection_range_async(
        types.SelectionRangeParams(document(), [position("condition ready", 11)])
    )
    assert ranges[0].parent is not None


@pytest.mark.asyncio
async def test_layout(client):
    options = types.FormattingOptions(2, True)
    edits = await client.text_document_formatting_async(types.DocumentFormattingParams(document(), options))
    assert not edits


def type_all(client, text, version=2):
    """Replaces the whole text of the file in the editor."""
    client.text_document_did_change(
        types.DidChangeTextDocumentParams(
            types.VersionedTextDocumentIdentifier(version, DUNLIN.as_uri()),
            [types.TextDocumentContentChangeWholeDocument(text)],
        )
    )


@pytest.mark.asyncio
async def test_layout_behind_a_brace(client):
    text = DUNLIN.read_text() + "\ncraft knot-two {\nkind   glider\n}"
    type_all(client, text)
    end = types.Position(text.count("\n"), 1)
    options = types.FormattingOptions(2, True)
    edits = await client.text_document_on_type_formatting_async(
        types.DocumentOnTypeFormattingParams(document(), end, "}", options)
    )
    assert "  kind glider" in "".join(edit.new_text for edit in edits), edits


@pytest.mark.asyncio
async def test_all_that_is_sure(client):
    text = DUNLIN.read_text()
    assert "  stick-filter off\n" in text and "  trims off\n" in text
    type_all(client, text.replace("  stick-filter off\n", "").replace("  trims off\n", "  trims on\n"))
    start = types.Range(types.Position(0, 0), types.Position(0, 0))
    only = types.CodeActionContext([], only=[types.CodeActionKind.SourceFixAll])
    actions = await client.text_document_code_action_async(types.CodeActionParams(document(), start, only))
    assert [action.kind for action in actions] == ["source.fixAll.walkaround"], actions
    edit = actions[0].edit
    changed = [change.text_document.version for change in edit.document_changes or []]
    assert changed == [2] or list(edit.changes or {}) == [DUNLIN.as_uri()], edit


async def until(holds):
    for _ in range(200):
        if holds():
            return
        await asyncio.sleep(0.1)
    pytest.fail("waited in vain")


async def found_in(client, path):
    """What is found in a file that is not open: pulled for the whole folder, or pushed."""
    if client.answered.capabilities.diagnostic_provider is not None:
        report = await client.workspace_diagnostic_async(types.WorkspaceDiagnosticParams([]))
        return [one.code for file in report.items if file.uri == path.as_uri() for one in file.items]
    return [one.code for one in client.diagnostics.get(path.as_uri(), [])]


@pytest.mark.asyncio
async def test_files_that_come_and_go(client):
    if client.capabilities.workspace.did_change_watched_files.dynamic_registration:
        await until(lambda: client.watched == [types.WORKSPACE_DID_CHANGE_WATCHED_FILES])
    path = FLEET / "come-and-gone.rig"
    for text, kind in [("rig 1\nlink a { channels 0 }\n", types.FileChangeType.Created), (None, types.FileChangeType.Deleted)]:
        path.write_text(text) if text else path.unlink()
        client.workspace_did_change_watched_files(
            types.DidChangeWatchedFilesParams([types.FileEvent(path.as_uri(), kind)])
        )
        for _ in range(200):
            found = await found_in(client, path)
            if bool(found) == bool(text):
                break
            await asyncio.sleep(0.1)
        assert bool(found) == bool(text), found


@pytest.mark.asyncio
async def test_colours_hints_and_lenses(client):
    tokens = await client.text_document_semantic_tokens_full_async(types.SemanticTokensParams(document()))
    assert len(tokens.data) % 5 == 0 and len(tokens.data) > 500
    whole = types.Range(types.Position(0, 0), types.Position(200, 0))
    assert await client.text_document_inlay_hint_async(types.InlayHintParams(document(), whole)) in ((), [])
    client.workspace_did_change_configuration(types.DidChangeConfigurationParams({"inlayHints": True}))
    assert await client.text_document_inlay_hint_async(types.InlayHintParams(document(), whole))
    lenses = await client.text_document_code_lens_async(types.CodeLensParams(document()))
    trace = next(lens.command for lens in lenses if lens.command.title == "trace")
    table = await client.workspace_execute_command_async(
        types.ExecuteCommandParams(trace.command, trace.arguments)
    )
    assert "left-rear up" in table
