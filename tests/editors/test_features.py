"""What an editor asks of a log, everywhere in it. The referee looks at the shape of each answer, the tests at its sense."""

import asyncio
import json
import subprocess

import pytest
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException

from conftest import SEASON
from editor import as_position, as_range, unstructured
from referee import decoded
from texts import Text

SPRING, SUMMER, LAGERS, YEAST = "ales/spring.barm", "ales/summer.barm", "lagers/spring.barm", "yeast.barm"
LOGS = sorted(str(log.relative_to(SEASON)) for log in SEASON.rglob("*.barm"))
LEVELS = {"error": 1, "warning": 2, "note": 3}


def document(editor, path, cls, **more):
    return cls(text_document=editor.id(path), **more)


def at(editor, path, marked, cls=lsp.TextDocumentPositionParams, **more):
    return document(editor, path, cls, position=editor.at(path, marked), **more)


def everywhere(editor, path, step=1):
    text = editor.text(path)
    return [as_position(text.position(offset)) for offset in range(0, len(text.text) + 1, step)]


async def together(editor, method, params):
    return await asyncio.gather(*(editor.ask(method, each) for each in params))


def errors(diagnostics):
    return [each.message for each in diagnostics if each.severity == lsp.DiagnosticSeverity.Error]


def told(diagnostics):
    return sorted((each.range.start.line + 1, each.code, int(each.severity)) for each in diagnostics)


async def test_findings_are_those_of_the_command_line(editor, barm, season):
    checked = subprocess.run([barm, "check", ".", "--format", "json"], cwd=season, capture_output=True, check=False)
    wanted = {path: [] for path in LOGS}
    for finding in json.loads(checked.stdout)["findings"]:
        wanted[finding["file"]].append((finding["line"], finding["rule"], LEVELS[finding["severity"]]))
    assert sum(map(len, wanted.values())) > 10
    for path in LOGS:
        editor.open(path)
    for path in LOGS:
        assert told(await editor.findings(path)) == sorted(wanted[path]), path


async def test_findings_elsewhere_follow_an_edit(editor):
    editor.open(SPRING)
    editor.open(YEAST)
    before = told(await editor.findings(SPRING))
    editor.replace(YEAST, "3 generations", "1 generations")
    if editor.pulls:
        refresh = lsp.WORKSPACE_DIAGNOSTIC_REFRESH
        if editor.referee.can("workspace.diagnostics.refreshSupport"):
            # A client asks again when it is told to.
            await editor.until(lambda: refresh in editor.refreshed, "a refresh")
        assert told(await editor.findings(SPRING)) != before
    else:
        await editor.until(lambda: told(editor.published[editor.uri(SPRING)][1]) != before, "findings of the other file")


async def test_the_whole_workspace_is_told(editor):
    if editor.pulls:
        ask = lambda known: editor.ask("workspace/diagnostic", lsp.WorkspaceDiagnosticParams(previous_result_ids=known))
        report = await ask([])
        assert {item.uri for item in report.items} >= {editor.uri(path) for path in LOGS}
        again = await ask([lsp.PreviousResultId(uri=item.uri, value=item.result_id) for item in report.items])
        assert {item.kind for item in again.items} == {"unchanged"}
    else:
        # Nobody opens these: what is wrong in them is sent all the same.
        await editor.until(
            lambda: {editor.uri(p) for p in (SPRING, SUMMER, LAGERS)} <= editor.published.keys(), "files that are not open"
        )


async def test_an_unchanged_report_is_short(editor):
    if not editor.pulls:
        return
    editor.open(SUMMER)
    ask = lambda known: editor.ask(
        "textDocument/diagnostic", document(editor, SUMMER, lsp.DocumentDiagnosticParams, previous_result_id=known)
    )
    first = await ask(None)
    assert first.items and (await ask(first.result_id)).kind == "unchanged"
    editor.replace(SUMMER, "24.6 °C", "18.6 °C")
    assert (await ask(first.result_id)).kind == "full"


async def test_hover_everywhere(editor):
    for path in LOGS:
        editor.open(path)
    for path in [SUMMER, YEAST]:
        answers = await together(
            editor,
            "textDocument/hover",
            [document(editor, path, lsp.HoverParams, position=p) for p in everywhere(editor, path, 5)],
        )
        assert sum(answer is not None for answer in answers) > len(answers) / 3
        assert all(answer.contents.value.strip() for answer in answers if answer)
    jar = await editor.ask("textDocument/hover", at(editor, SPRING, "pitch tide|-b 300 mL", lsp.HoverParams))
    assert "generation" in jar.contents.value and SPRING in jar.contents.value
    oxygen = await editor.ask("textDocument/hover", at(editor, SPRING, "aer|ate oxygen 50 s", lsp.HoverParams))
    assert "dissolved oxygen" in oxygen.contents.value


async def test_completion_everywhere(editor):
    editor.open(SPRING)
    positions = everywhere(editor, SPRING, 11)
    answers = await together(
        editor, "textDocument/completion", [document(editor, SPRING, lsp.CompletionParams, position=p) for p in positions]
    )
    assert sum(bool(answer) for answer in answers) > len(answers) / 4


@pytest.mark.parametrize("line, wanted", [("    pitch ", "tide-b"), ("    aer", "aerate"), ("    temp 18 ", "°C")])
async def test_a_completion_can_be_taken(editor, line, wanted):
    editor.open(SPRING)
    end = len(editor.text(SPRING).text)
    editor.change(SPRING, (end, end, "  on 2026-05-04 10:00\n" + line))
    params = document(editor, SPRING, lsp.CompletionParams, position=as_position(editor.text(SPRING).end()))
    found = await editor.ask("textDocument/completion", params)
    items = found if isinstance(found, list) else found.items
    item = next(item for item in items if item.label == wanted)
    edit = unstructured(item.text_edit) if item.text_edit else None
    text = editor.text(SPRING)
    after = text.edited([edit]) if edit else text.text + item.insert_text
    assert after.splitlines()[-1].startswith(line.rstrip("aer ")[:8])
    assert wanted in after.splitlines()[-1]


async def test_hints_stand_in_their_range(editor):
    editor.open(SPRING)
    text = editor.text(SPRING)
    whole = as_range(text.range(0, len(text.text)))
    every = await editor.ask("textDocument/inlayHint", document(editor, SPRING, lsp.InlayHintParams, range=whole))
    assert len(every) > 10
    part = lsp.Range(start=lsp.Position(line=10, character=0), end=lsp.Position(line=20, character=0))
    some = await editor.ask("textDocument/inlayHint", document(editor, SPRING, lsp.InlayHintParams, range=part))
    assert 0 < len(some) < len(every)
    assert all(10 <= hint.position.line <= 20 for hint in some)


async def test_each_brew_has_a_lens(editor):
    editor.open(SPRING)
    lenses = await editor.ask("textDocument/codeLens", document(editor, SPRING, lsp.CodeLensParams))
    brews = [nth for nth, line in enumerate(editor.text(SPRING).text.splitlines()) if line.startswith("brew ")]
    assert set(brews) <= {lens.range.start.line for lens in lenses}
    assert all(lens.command.title for lens in lenses)


async def test_names_lead_to_their_places(editor):
    for path in [SPRING, YEAST]:
        editor.open(path)
    found = await editor.ask("textDocument/definition", at(editor, SPRING, "pitch tide|-a 1 pack", lsp.DefinitionParams))
    [place] = found if isinstance(found, list) else [found]
    assert place.uri == editor.uri(YEAST)
    assert editor.text(YEAST).within(unstructured(place.range)) == "tide-a"
    references = await editor.ask(
        "textDocument/references",
        at(editor, SPRING, "pitch tide|-b 110", lsp.ReferenceParams, context=lsp.ReferenceContext(include_declaration=True)),
    )
    assert {editor.texts(each.uri)[-1].within(unstructured(each.range)) for each in references} == {"tide-b"}
    highlights = await editor.ask(
        "textDocument/documentHighlight", at(editor, SPRING, "pitch tide|-b 110", lsp.DocumentHighlightParams)
    )
    here = [each.range for each in references if each.uri == editor.uri(SPRING)]
    assert sorted(map(str, here)) == sorted(str(each.range) for each in highlights)
    assert len(here) == 3
    uses = await editor.ask(
        "textDocument/references",
        at(editor, SPRING, "pitch tide|-b 110", lsp.ReferenceParams, context=lsp.ReferenceContext(include_declaration=False)),
    )
    assert len(uses) == len(references) - 1
    assert await editor.ask("textDocument/definition", at(editor, SPRING, "Ales of| the spring", lsp.DefinitionParams)) is None


async def test_rename_across_files(editor):
    # Spring's log is open and the yeast's is not: the one is changed in the editor and the other on disk.
    editor.open(SPRING)
    before = told(await editor.findings(SPRING))
    if editor.referee.can("textDocument.rename.prepareSupport"):
        prepared = await editor.ask("textDocument/prepareRename", at(editor, SPRING, "pitch tide|-a", lsp.PrepareRenameParams))
        assert editor.text(SPRING).within(unstructured(prepared.range)) == prepared.placeholder == "tide-a"
    edit = await editor.ask("textDocument/rename", at(editor, SPRING, "pitch tide|-a", lsp.RenameParams, new_name="ebb-a"))
    assert editor.apply(edit) == {editor.uri(SPRING), editor.uri(YEAST)}
    for path in [SPRING, YEAST]:
        assert "tide-a" not in editor.text(path).text
    assert "culture ebb-a of" in (editor.root / YEAST).read_text()
    if editor.pulls:
        assert told(await editor.findings(SPRING)) == before
    else:
        await editor.until(lambda: told(editor.published[editor.uri(SPRING)][1]) == before, "the same findings")
    assert await editor.servers_text(SPRING) == editor.text(SPRING).text


@pytest.mark.parametrize("name", ["tide-b", "two words", ""])
async def test_a_rename_that_would_spoil_the_log_is_refused(editor, name):
    editor.open(SPRING)
    with pytest.raises(JsonRpcException) as refused:
        await editor.ask("textDocument/rename", at(editor, SPRING, "pitch tide|-a", lsp.RenameParams, new_name=name))
    assert len(refused.value.message) > 10


TROUBLE = """\
brew slip-1 "Slips of the pen
  wort 20 L at 1.048
  on 2026-03-01
    16:00 tmep 18 °C
    16:10 pitch tide-a ?
    16:30 pitch tide-a 1 pakc
  on 2026-02-29  gravity 1.010
"""


async def test_each_action_leaves_a_sound_text(editor):
    """Each is done to the text as it was, and never makes an error of what was none."""
    literals = editor.referee.can("textDocument.codeAction.codeActionLiteralSupport") is not None
    editor.open(YEAST)
    editor.open(SUMMER)
    editor.open("slips.barm", TROUBLE)
    done = 0
    for path in [SUMMER, "slips.barm"]:
        findings = await editor.findings(path)
        original = editor.text(path).text
        ranges = [finding.range for finding in findings]
        ranges += [as_range(Text(original, editor.encoding).range(start, start)) for start in range(0, len(original), 40)]
        for range_ in ranges:
            params = document(
                editor,
                path,
                lsp.CodeActionParams,
                range=range_,
                context=lsp.CodeActionContext(diagnostics=[one for one in findings if one.range == range_]),
            )
            for action in await editor.ask("textDocument/codeAction", params) or []:
                done += 1
                editor.apply(action.edit)
                assert await editor.servers_text(path) == editor.text(path).text
                assert len(errors(await editor.findings(path))) <= len(errors(findings)), action.title
                editor.rewrite(path, original)
    assert done > 20 if literals else done == 0


@pytest.mark.parametrize("kind", ["quickfix", "refactor", "source.fixAll", "source"])
async def test_actions_of_one_kind(editor, kind):
    editor.open("slips.barm", TROUBLE)
    findings = await editor.findings("slips.barm")
    here = editor.at("slips.barm", "2|0 L") if kind == "refactor" else editor.at("slips.barm", "tm|ep")
    params = document(
        editor,
        "slips.barm",
        lsp.CodeActionParams,
        range=lsp.Range(start=here, end=here),
        context=lsp.CodeActionContext(diagnostics=findings, only=[kind]),
    )
    actions = await editor.ask("textDocument/codeAction", params)
    if editor.referee.can("textDocument.codeAction.codeActionLiteralSupport") is not None:
        assert actions
    for action in (actions or [])[:1]:
        editor.apply(action.edit)
        assert editor.text("slips.barm").text != TROUBLE


UNTIDY = """\
strain  s
 kind    ale

brew  a   "A, set by hand — œuvre 𝛼"
 wort    20 L   at 1.048
 on 2026-03-01
   16:00   temp   18 °C ,   krausen none
   16:30 pitch tide-a   1 pack
"""


async def test_format_is_that_of_the_command_line(editor, barm):
    options = lsp.FormattingOptions(tab_size=2, insert_spaces=True)
    wanted = subprocess.run([barm, "fmt", "-"], input=UNTIDY.encode(), capture_output=True, check=True).stdout.decode()
    for text in [UNTIDY, UNTIDY.replace("\n", "\r\n")]:
        editor.open("untidy.barm", text)
        ask = lambda: editor.ask(
            "textDocument/formatting", document(editor, "untidy.barm", lsp.DocumentFormattingParams, options=options)
        )
        edits = await ask()
        editor.rewrite("untidy.barm", editor.text("untidy.barm").edited([unstructured(edit) for edit in edits]))
        assert editor.text("untidy.barm").text.replace("\r\n", "\n") == wanted
        assert ("\r\n" in editor.text("untidy.barm").text) == ("\r\n" in text)
        assert not await ask()
        editor.close("untidy.barm")


async def test_format_of_a_range_leaves_the_rest(editor):
    editor.open("untidy.barm", UNTIDY)
    text = editor.text("untidy.barm")
    start = text.text.index("brew  a")
    params = document(
        editor,
        "untidy.barm",
        lsp.DocumentRangeFormattingParams,
        range=as_range(text.range(start, len(text.text))),
        options=lsp.FormattingOptions(tab_size=2, insert_spaces=True),
    )
    edits = await editor.ask("textDocument/rangeFormatting", params)
    after = text.edited([unstructured(edit) for edit in edits])
    assert after[:start] == text.text[:start] and after[start:] != text.text[start:]


async def test_the_outline_names_every_block(editor):
    editor.open(SPRING)
    symbols = await editor.ask("textDocument/documentSymbol", document(editor, SPRING, lsp.DocumentSymbolParams))
    names = " ".join(symbol.name for symbol in symbols)
    for name in ["tide-s1", "slack-water-1", "neap-bitter"]:
        assert name in names
    found = await editor.ask("workspace/symbol", lsp.WorkspaceSymbolParams(query="fenpils"))
    assert {"fen-pils-1", "fen-pils-2"} <= {symbol.name for symbol in found}
    assert await editor.ask("workspace/symbol", lsp.WorkspaceSymbolParams(query="")) is not None


async def test_folds_selections_and_links(editor):
    editor.open(SPRING)
    folds = await editor.ask("textDocument/foldingRange", document(editor, SPRING, lsp.FoldingRangeParams))
    lines = editor.text(SPRING).text.splitlines()
    assert {nth for nth, line in enumerate(lines) if line.startswith("brew ")} <= {fold.start_line for fold in folds}
    positions = everywhere(editor, SPRING, 17)
    chosen = await editor.ask(
        "textDocument/selectionRange", document(editor, SPRING, lsp.SelectionRangeParams, positions=positions)
    )
    assert sum(one.parent is not None for one in chosen) > len(chosen) / 2
    (editor.root / "ales/cellar.csv").write_text("time,temperature\n2026-03-05 08:00,17.9\n")
    editor.replace(SPRING, "  taste good, clean, bread crust\n", '  readings "cellar.csv"\n')
    links = await editor.ask("textDocument/documentLink", document(editor, SPRING, lsp.DocumentLinkParams))
    assert [link.target for link in links] == [editor.uri("ales/cellar.csv")]


async def test_tokens_full_by_range_and_by_difference(editor):
    editor.open(SPRING)
    full = await editor.ask("textDocument/semanticTokens/full", document(editor, SPRING, lsp.SemanticTokensParams))
    text = editor.text(SPRING)
    every = decoded(full.data, text)
    assert len(every) > 200
    legend = editor.referee.server["semanticTokensProvider"]["legend"]["tokenTypes"]
    kinds = {text.line(line)[column:][:4]: legend[kind] for line, column, _, kind, _ in every}
    assert kinds["brew"] == "keyword"
    part = lsp.Range(start=lsp.Position(line=8, character=0), end=lsp.Position(line=14, character=0))
    some = await editor.ask(
        "textDocument/semanticTokens/range", document(editor, SPRING, lsp.SemanticTokensRangeParams, range=part)
    )
    assert decoded(some.data, text) == [token for token in every if 8 <= token[0] < 14]
    editor.replace(SPRING, "note pale malt", "note 𝛼 pale\n  in bucket-9\n  note malt")
    params = document(editor, SPRING, lsp.SemanticTokensDeltaParams, previous_result_id=full.result_id)
    delta = await editor.ask("textDocument/semanticTokens/full/delta", params)
    data = list(full.data)
    if isinstance(delta, lsp.SemanticTokensDelta):
        for edit in sorted(delta.edits, key=lambda edit: -edit.start):
            data[edit.start : edit.start + edit.delete_count] = edit.data or []
    else:
        data = list(delta.data)
    again = await editor.ask("textDocument/semanticTokens/full", document(editor, SPRING, lsp.SemanticTokensParams))
    assert data == list(again.data) != list(full.data)


async def test_the_family_of_a_culture(editor):
    for path in [SPRING, YEAST]:
        editor.open(path)
    [here] = await editor.ask(
        "textDocument/prepareTypeHierarchy", at(editor, SPRING, "harvest tide|-c", lsp.TypeHierarchyPrepareParams)
    )
    names, item = [here.name], here
    while True:
        parents = await editor.ask("typeHierarchy/supertypes", lsp.TypeHierarchySupertypesParams(item=item))
        if not parents:
            break
        item = parents[0]
        names.append(item.name)
    assert names[0] == "tide-c" and "tide-b" in names and "tide-a" in names
    children = await editor.ask("typeHierarchy/subtypes", lsp.TypeHierarchySubtypesParams(item=here))
    assert "ebb-porter" in [child.name for child in children] or children
