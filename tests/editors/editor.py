"""An editor without a window: pygls speaks for it, a referee listens, and it keeps its own texts."""

import asyncio
import itertools
import json
import pathlib
from concurrent.futures import Future

from lsprotocol import types as lsp
from pygls.lsp.client import LanguageClient
from pygls.protocol import LanguageServerProtocol, default_converter
from pygls.uris import to_fs_path

from referee import Referee
from texts import Text

# No answer takes so long; a server that hangs must not hang the tests.
TOO_LONG = 60


class Overheard(LanguageServerProtocol):
    """The protocol as pygls has it, with every message shown to a referee."""

    referee: Referee

    def __init__(self, *args):
        super().__init__(*args)
        # pygls keeps the server's requests and ours in one list, so the two must not count alike.
        self.ids = itertools.count(10_000)

    def structure_message(self, data):
        # It is called for every object in a message, the outermost last.
        if "jsonrpc" in data:
            self.referee.received(data)
        return super().structure_message(data)

    def _send_data(self, data):
        self.referee.sent(json.loads(json.dumps(data, default=self._serialize_message)))
        super()._send_data(data)

    def send_request(self, method, params=None, callback=None, msg_id=None):
        # Editors count; pygls would make up a name for each request.
        return super().send_request(method, params, callback, next(self.ids) if msg_id is None else msg_id)


class Speaker(LanguageClient):
    def __init__(self, editor: "Editor"):
        self.editor = editor
        super().__init__(name="tests", version="1", protocol_cls=Overheard, converter_factory=default_converter)

    def report_server_error(self, error, source):
        if not self.editor.refuses:
            self.editor.referee.fault("pygls", f"could not take a message: {error!r}")


class Editor:
    """One editor with one server."""

    def __init__(self, barm: str, root: pathlib.Path, capabilities: dict, encoding: str):
        self.barm, self.root = barm, root
        self.capabilities, self.encoding = capabilities, encoding
        # All texts that a document has had, and its version; what is open.
        self.history: dict[str, list[Text]] = {}
        self.versions: dict[str, int] = {}
        self.published: dict[str, tuple[int | None, list]] = {}
        self.news = asyncio.Condition()
        self.refreshed: set[str] = set()
        self.registered: list[str] = []
        self.referee = Referee(capabilities, self.texts, self.versions)
        self.client = Speaker(self)
        self.client.protocol.referee = self.referee
        self.refuses = False
        self.listen()

    def listen(self):
        feature = self.client.feature

        async def hear():
            async with self.news:
                self.news.notify_all()

        @feature(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
        async def _(params: lsp.PublishDiagnosticsParams):
            self.published[params.uri] = (params.version, params.diagnostics)
            await hear()

        @feature(lsp.WINDOW_SHOW_MESSAGE)
        async def _(params: lsp.ShowMessageParams):
            await hear()

        @feature(lsp.CLIENT_REGISTER_CAPABILITY)
        async def _(params: lsp.RegistrationParams):
            if self.refuses:
                raise ValueError("this editor registers nothing")
            self.registered += [registration.method for registration in params.registrations]
            await hear()

        @feature(lsp.WINDOW_WORK_DONE_PROGRESS_CREATE)
        async def _(params: lsp.WorkDoneProgressCreateParams):
            return None

        @feature(lsp.WORKSPACE_CONFIGURATION)
        async def _(params: lsp.ConfigurationParams):
            return [None for _ in params.items]

        for method in (lsp.WORKSPACE_DIAGNOSTIC_REFRESH, lsp.WORKSPACE_INLAY_HINT_REFRESH, lsp.WORKSPACE_CODE_LENS_REFRESH):

            @feature(method)
            async def _(*_, method=method):
                self.refreshed.add(method)
                await hear()

    async def until(self, condition, what: str):
        async with self.news:
            await asyncio.wait_for(self.news.wait_for(condition), TOO_LONG)
        assert condition(), what

    # --- Beginning and end

    async def start(self):
        await self.client.start_io(self.barm, "serve")
        params = lsp.InitializeParams(
            process_id=None,
            root_uri=self.root.as_uri(),
            capabilities=default_converter().structure(self.capabilities, lsp.ClientCapabilities),
            workspace_folders=[lsp.WorkspaceFolder(uri=self.root.as_uri(), name="logs")],
        )
        result = await self.ask("initialize", params)
        self.client.initialized(lsp.InitializedParams())
        return result

    async def ask(self, method: str, params=None, id=None):
        return await asyncio.wait_for(self.client.protocol.send_request_async(method, params, msg_id=id), TOO_LONG)

    async def ask_anything(self, method: str, params: dict):
        """A request that no type of pygls would let pass."""
        future, id = Future(), next(self.client.protocol.ids)
        self.client.protocol._request_futures[id] = future
        self.client.protocol._send_data({"jsonrpc": "2.0", "id": id, "method": method, "params": params})
        return await asyncio.wait_for(asyncio.wrap_future(future), TOO_LONG)

    @property
    def process(self) -> asyncio.subprocess.Process:
        return self.client._server

    async def ended(self) -> int:
        """The exit status, once the server has ended."""
        status = await asyncio.wait_for(self.process.wait(), TOO_LONG)
        await asyncio.wait_for(asyncio.gather(*self.client._async_tasks), TOO_LONG)
        return status

    async def quit(self) -> int:
        """A farewell in good order, with the server's input left open."""
        await self.ask("shutdown")
        self.client.exit(None)
        return await self.ended()

    # --- Documents

    def uri(self, path: str) -> str:
        return (self.root / path).as_uri()

    def texts(self, uri: str) -> list[Text]:
        """The texts in which a place of a document may count: the editor's and, unless it is open, the disk's."""
        path, had = pathlib.Path(to_fs_path(uri)), self.history.get(uri, [])
        if uri in self.versions or not path.is_file():
            return had
        return [*had, Text(path.read_bytes().decode(), self.encoding)]

    def text(self, path: str) -> Text:
        return self.texts(self.uri(path))[-1]

    def open(self, path: str, text: str | None = None):
        uri = self.uri(path)
        text = (self.root / path).read_bytes().decode() if text is None else text
        self.history.setdefault(uri, []).append(Text(text, self.encoding))
        self.versions[uri] = 1
        self.published.pop(uri, None)
        item = lsp.TextDocumentItem(uri=uri, language_id="barm", version=1, text=text)
        self.client.text_document_did_open(lsp.DidOpenTextDocumentParams(text_document=item))

    def close(self, path: str):
        uri = self.uri(path)
        self.versions.pop(uri)
        self.client.text_document_did_close(lsp.DidCloseTextDocumentParams(self.id(path)))

    def id(self, path: str) -> lsp.TextDocumentIdentifier:
        return lsp.TextDocumentIdentifier(uri=self.uri(path))

    def change(self, path: str, *changes: tuple[int, int, str]):
        """Several changes in one message, each of characters `start..end` of what the one before left."""
        uri = self.uri(path)
        self.versions[uri] += 1
        sent = []
        for start, end, new in changes:
            text = self.history[uri][-1]
            sent.append(lsp.TextDocumentContentChangePartial(range=as_range(text.range(start, end)), text=new))
            self.history[uri].append(Text(text.text[:start] + new + text.text[end:], self.encoding))
        self.client.text_document_did_change(
            lsp.DidChangeTextDocumentParams(
                text_document=lsp.VersionedTextDocumentIdentifier(uri=uri, version=self.versions[uri]), content_changes=sent
            )
        )

    def replace(self, path: str, old: str, new: str):
        start = self.text(path).text.index(old)
        self.change(path, (start, start + len(old), new))

    def rewrite(self, path: str, new: str):
        """Makes a document's text another, by one change."""
        self.change(path, (0, len(self.text(path).text), new))

    def at(self, path: str, marked: str) -> lsp.Position:
        """The place of the bar in a piece of the text: `pitch tide|-a`."""
        before, after = marked.split("|")
        return as_position(self.text(path).position(self.text(path).text.index(before + after) + len(before)))

    async def servers_text(self, path: str) -> str:
        return await self.ask("barm/text", {"uri": self.uri(path)})

    def apply(self, edit: lsp.WorkspaceEdit) -> set[str]:
        """Does what an editor does with edits of several files, and returns their names."""
        if edit.document_changes:
            each = [(change.text_document.uri, change.edits) for change in edit.document_changes]
        else:
            each = list((edit.changes or {}).items())
        for uri, edits in each:
            new = self.texts(uri)[-1].edited([unstructured(one) for one in edits])
            path = str(pathlib.Path(to_fs_path(uri)).relative_to(self.root))
            if uri in self.versions:
                self.rewrite(path, new)
            else:
                (self.root / path).write_bytes(new.encode())
                self.tell_changed(path)
        return {uri for uri, _ in each}

    def tell_changed(self, path: str, kind=lsp.FileChangeType.Changed):
        uri = self.uri(path)
        if uri not in self.versions and kind != lsp.FileChangeType.Deleted:
            # What the server reads now it may still tell of once the file is gone.
            self.history[uri] = self.texts(uri)
        event = lsp.FileEvent(uri=uri, type=kind)
        self.client.workspace_did_change_watched_files(lsp.DidChangeWatchedFilesParams(changes=[event]))

    # --- Findings

    @property
    def pulls(self) -> bool:
        return bool(self.referee.server.get("diagnosticProvider"))

    async def findings(self, path: str) -> list[lsp.Diagnostic]:
        """Those of the open document's present version, asked for or awaited."""
        uri = self.uri(path)
        if self.pulls:
            report = await self.ask("textDocument/diagnostic", lsp.DocumentDiagnosticParams(text_document=self.id(path)))
            return list(report.items)
        told = lambda: uri in self.published and self.published[uri][0] == self.versions[uri]
        await self.until(told, f"findings of {path}")
        return self.published[uri][1]


def unstructured(value) -> dict:
    return default_converter().unstructure(value)


def as_position(position: dict) -> lsp.Position:
    return lsp.Position(**position)


def as_range(range: dict) -> lsp.Range:
    return lsp.Range(start=as_position(range["start"]), end=as_position(range["end"]))
