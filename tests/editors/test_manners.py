"""Edits in step, and how the server behaves towards its client."""

import asyncio
import random

import pytest
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException

from editor import Editor
from profiles import EDITORS
from test_features import SPRING, YEAST, at, document, errors


async def test_several_changes_in_one_message(editor):
    editor.open("new.barm", "brew a\r\n  note œ𝛼e\u0301\r\n  wort 20 L at 1.048\r\n")
    text = editor.text("new.barm").text
    at = text.index("𝛼")
    editor.change("new.barm", (at, at + 1, "x𝛼y"), (at + 1, at + 2, ""), (0, 0, "# first\r\n"), (9, 15, "brew bb"))
    assert await editor.servers_text("new.barm") == editor.text("new.barm").text
    assert not errors(await editor.findings("new.barm"))


async def test_many_edits_keep_step(editor):
    editor.open(SPRING)
    dice = random.Random(12)
    pieces = ["\n", "  on 2026-03-05\n", "𝛼", "é", "°C", "brew x\n", "    08:00 temp 18 °C\n", "", ",", " "]
    for _ in range(150):
        changes, length = [], len(editor.text(SPRING).text)
        for _ in range(dice.randint(1, 4)):
            start = dice.randint(0, length)
            end = min(length, start + dice.choice([0, 0, 1, 5, 40]))
            new = dice.choice(pieces)
            changes.append((start, end, new))
            length += len(new) - (end - start)
        editor.change(SPRING, *changes)
    assert await editor.servers_text(SPRING) == editor.text(SPRING).text
    await editor.findings(SPRING)


async def test_places_out_of_bounds_are_answered(editor):
    editor.open(SPRING)
    far = lsp.Position(line=10**6, character=10**6)
    for method, cls in [("textDocument/hover", lsp.HoverParams), ("textDocument/definition", lsp.DefinitionParams)]:
        # What the referee says of the answer's place would be of the client's own making.
        assert await editor.ask(method, document(editor, SPRING, cls, position=far)) is None


async def test_what_is_not_known_is_answered(editor):
    with pytest.raises(JsonRpcException) as refused:
        await editor.ask("textDocument/noSuchThing", {})
    assert refused.value.code == -32601
    with pytest.raises(JsonRpcException):
        await editor.ask_anything("textDocument/hover", {"textDocument": 5})
    nowhere = lsp.HoverParams(lsp.TextDocumentIdentifier(uri=editor.uri("nowhere.barm")), lsp.Position(0, 0))
    assert await editor.ask("textDocument/hover", nowhere) is None
    editor.client.protocol.notify("$/noSuchThing", {})
    editor.client.set_trace(lsp.SetTraceParams(value="verbose"))
    editor.client.workspace_did_change_configuration(lsp.DidChangeConfigurationParams(settings={"barm": {}}))
    editor.open(SPRING)
    assert await editor.ask(
        "textDocument/hover", at(editor, SPRING, "bre|w slack-water-1", lsp.HoverParams), id="a name for an id"
    )


async def test_each_request_is_answered_once_whether_cancelled_or_not(editor):
    editor.open(SPRING)
    protocol = editor.client.protocol
    asked = []
    for nth in range(60):
        id = 1000 + nth
        params = document(editor, SPRING, lsp.CompletionParams, position=lsp.Position(line=nth, character=0))
        asked.append(asyncio.wrap_future(protocol.send_request("textDocument/completion", params, msg_id=id)))
        if nth % 2:
            editor.client.protocol.notify("$/cancelRequest", lsp.CancelParams(id=id))
        if nth % 5 == 0:
            editor.replace(SPRING, "les of", "les, ales of")
    answers = await asyncio.wait_for(asyncio.gather(*asked, return_exceptions=True), 120)
    refused = [answer for answer in answers if isinstance(answer, BaseException)]
    assert all(answer.code == -32800 for answer in refused)
    assert len(answers) - len(refused) >= 30


async def test_findings_go_with_their_file(editor):
    editor.open("brief.barm", "brew brief\n  wort twenty\n")
    assert errors(await editor.findings("brief.barm"))
    uri = editor.uri("brief.barm")
    if not editor.pulls:
        editor.published.pop(uri)
    editor.close("brief.barm")
    if not editor.pulls:
        await editor.until(lambda: uri in editor.published, "no findings of a file that is gone")
        assert editor.published[uri][1] == ()


async def test_a_file_that_appears_on_disk_is_known(editor):
    editor.open(SPRING)
    (editor.root / "more.barm").write_text("culture from-disk of tidemill-ale\n  pack 1 × 100 B\n  made 2026-03-01\n")
    editor.tell_changed("more.barm", lsp.FileChangeType.Created)
    editor.replace(SPRING, "pitch tide-b 110 mL", "pitch from-disk 1 pack")
    params = at(editor, SPRING, "pitch from|-disk", lsp.DefinitionParams)
    assert (await editor.ask("textDocument/definition", params))[0].uri == editor.uri("more.barm")
    (editor.root / "more.barm").unlink()
    editor.tell_changed("more.barm", lsp.FileChangeType.Deleted)
    assert await editor.ask("textDocument/definition", params) is None


async def test_settings_that_are_wrong_are_said(editor):
    (editor.root / "barm.toml").write_text('units = "furlongs"\n')
    editor.tell_changed("barm.toml")
    uri = editor.uri("barm.toml")
    messages = lambda: [one for one in editor.referee.heard if one.get("method") == "window/showMessage"]
    if editor.pulls:
        await editor.until(lambda: any("barm.toml" in one["params"]["message"] for one in messages()), "a message")
    else:
        await editor.until(lambda: uri in editor.published and editor.published[uri][1], "findings of the settings")


async def test_the_end_of_input_ends_the_server(editor):
    editor.open(YEAST)
    editor.process.stdin.close()
    assert await editor.ended() == 1


async def test_exit_without_shutdown_is_a_failure(editor):
    editor.client.exit(None)
    assert await editor.ended() == 1


async def test_nothing_is_answered_after_shutdown(editor):
    editor.open(SPRING)
    await editor.ask("shutdown")
    with pytest.raises(JsonRpcException) as refused:
        await editor.ask("textDocument/hover", at(editor, SPRING, "bre|w slack-water-1", lsp.HoverParams))
    assert refused.value.code == -32600
    editor.client.exit(None)
    assert await editor.ended() == 0


async def test_a_refused_registration_does_no_harm(barm, season):
    editor = Editor(barm, season, EDITORS["Visual Studio Code"], "utf-16")
    editor.refuses = True
    await editor.start()
    editor.open(SPRING)
    assert await editor.findings(SPRING)
    assert await editor.quit() == 0
    assert not editor.referee.verdict()


async def test_nothing_is_answered_before_initialize(barm, season):
    editor = Editor(barm, season, {}, "utf-16")
    await editor.client.start_io(barm, "serve")
    with pytest.raises(JsonRpcException) as refused:
        await editor.ask("textDocument/hover", lsp.HoverParams(editor.id(SPRING), lsp.Position(0, 0)))
    assert refused.value.code == -32002
    editor.client.exit(None)
    assert await editor.ended() == 1


async def test_a_single_loose_log(barm, tmp_path):
    """An editor that was opened with a file and no folder."""
    editor = Editor(barm, tmp_path, EDITORS["Neovim 0.11"], "utf-8")
    await editor.client.start_io(barm, "serve")
    params = lsp.InitializeParams(process_id=None, root_uri=None, capabilities=lsp.ClientCapabilities(), workspace_folders=None)
    editor.referee.capabilities = {}
    editor.encoding = "utf-16"
    await editor.ask("initialize", params)
    editor.client.initialized(lsp.InitializedParams())
    editor.open("alone.barm", "brew alone\n  wort twenty\n")
    assert errors(await editor.findings("alone.barm"))
    assert await editor.quit() == 0
    assert not editor.referee.verdict()
