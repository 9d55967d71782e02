"""Hears every message between an editor and the server, and keeps what the server does wrong."""

import attrs
from lsprotocol import types as lsp

import strict
from texts import Text

# Kinds of symbols and completions that a client has which names none.
FIRST_KINDS = set(range(1, 19))


def places(value, uri):
    """Every position and range in a message, with the document in which it lies."""
    if isinstance(value, list):
        for each in value:
            yield from places(each, uri)
    if not isinstance(value, dict):
        return
    if "line" in value and "character" in value:
        yield uri, value
        return
    if "start" in value and "end" in value:
        yield uri, value
        return
    document = value.get("textDocument")
    uri = value.get("uri") or (document or {}).get("uri") or uri
    for key, each in value.items():
        if key == "changes" and isinstance(each, dict):
            for changed, edits in each.items():
                yield from places(edits, changed)
        else:
            yield from places(each, uri)


def edits_in(value):
    """Every edit of a workspace in a message."""
    if isinstance(value, list):
        for each in value:
            yield from edits_in(each)
    elif isinstance(value, dict):
        if "documentChanges" in value or "changes" in value:
            yield value
        else:
            yield from edits_in(value.get("edit"))


def decoded(data: list[int], text: Text) -> list[tuple[int, int, int, int, int]]:
    """Semantic tokens: line, column, length, type, modifiers. ValueError where they lie outside the text or on another."""
    out, line, column, free = [], 0, 0, 0
    if len(data) % 5:
        raise ValueError("tokens are fives of numbers")
    for down, right, length, kind, modifiers in zip(*[iter(data)] * 5):
        line, column = line + down, right + (0 if down else column)
        free = 0 if down else free
        if column < free:
            raise ValueError(f"the token at {line}:{column} lies on the one before")
        free = column + length
        text.span({"start": {"line": line, "character": column}, "end": {"line": line, "character": free}})
        out.append((line, column, length, kind, modifiers))
    return out


class Referee:
    """`texts(uri)` are the texts in which what the server says of a document may count, the newest last; `versions` those
    of the documents that are open."""

    def __init__(self, capabilities: dict, texts, versions: dict):
        self.capabilities = capabilities
        self.texts = texts
        self.versions = versions
        self.faults: list[str] = []
        self.asked: dict = {}
        self.answered: set = set()
        self.asking: set = set()
        self.pulled: set[str] = set()
        self.pushed: set[str] = set()
        self.tokens: set[str] = set()
        self.server: dict = {}
        self.shut = False
        self.heard: list[dict] = []

    def fault(self, where: str, what: str):
        self.faults.append(f"{where}: {what}")

    def can(self, path: str):
        """What the client said of itself, by a path of names."""
        value = self.capabilities
        for name in path.split("."):
            value = value.get(name) if isinstance(value, dict) else None
        return value

    # --- From the client

    def sent(self, message: dict):
        if "method" not in message:
            self.asking.discard(message["id"])
            return
        if "id" in message:
            # The answer counts in what stands here now, whatever is edited before it comes.
            texts = {uri: self.texts(uri)[-1:] for uri in self.versions}
            self.asked[message["id"]] = (message, texts, dict(self.versions))

    # --- From the server

    def received(self, message: dict):
        self.heard.append(message)
        if message.get("jsonrpc") != "2.0":
            self.fault("a message", "is not of JSON-RPC 2.0")
        if "method" in message:
            self.said(message)
        else:
            self.answer(message)

    def said(self, message: dict):
        method = message["method"]
        if method not in lsp.METHOD_TO_TYPES:
            return self.fault(method, "is not in the protocol")
        if lsp.message_direction(method) == "clientToServer":
            self.fault(method, "is for clients to send")
        fields = {field.name: field for field in attrs.fields(lsp.METHOD_TO_TYPES[method][0])}
        if ("id" in fields) != ("id" in message):
            self.fault(method, "requests have an id and notifications have none")
        if "params" in fields:
            self.shape(method, message.get("params"), fields["params"].type)
        if self.shut:
            self.fault(method, "said after shutdown")
        if "id" in message:
            if message["id"] in self.asking:
                self.fault(method, f"the id {message['id']!r} waits for another answer")
            self.asking.add(message["id"])
        params = message.get("params") or {}
        check = getattr(self, "said_" + method.replace("/", "_").replace("$", "").lstrip("_"), None)
        if check:
            check(params)
        elif method not in ("window/showMessage", "window/logMessage"):
            self.fault(method, "nothing here knows when it may be said")

    def answer(self, message: dict):
        id = message.get("id")
        if id in self.answered:
            return self.fault(f"request {id}", "answered twice")
        if id not in self.asked:
            return self.fault(f"request {id}", f"was never asked: {message}")
        self.answered.add(id)
        request, texts, versions = self.asked[id]
        method = request["method"]
        if ("result" in message) == ("error" in message):
            self.fault(method, "an answer is a result or an error")
        for name in message.keys() - {"jsonrpc", "id", "result", "error"}:
            self.fault(method, f"an answer has no {name}")
        if "error" in message:
            self.shape(method, message["error"], lsp.ResponseError)
            return
        if method not in lsp.METHOD_TO_TYPES:
            return
        field = {field.name: field for field in attrs.fields(lsp.METHOD_TO_TYPES[method][1])}["result"]
        if not self.shape(method, message["result"], field.type):
            return
        if method == "initialize":
            return self.began(message["result"])
        self.shut |= method == "shutdown"
        self.provided(method)
        params = request.get("params") or {}
        uri = (params.get("textDocument") or params.get("item") or {}).get("uri")
        self.placed(method, message["result"], uri, texts)
        for edit in edits_in(message["result"]):
            self.edit(method, edit, versions)
        check = getattr(self, "answer_" + method.replace("/", "_"), None)
        if check and message["result"] is not None:
            check(method, message["result"], params, uri, texts)

    def shape(self, method: str, value, kind) -> bool:
        found = strict.faults(value, kind)
        for fault in found:
            self.fault(method, fault)
        return not found

    def placed(self, method: str, value, uri, texts=None):
        """All places lie within their document."""
        for at, place in places(value, uri):
            candidates = (texts or {}).get(at) or self.texts(at)
            why = "is nowhere"
            for text in reversed(candidates):
                try:
                    text.span(place if "start" in place else {"start": place, "end": place})
                    break
                except ValueError as error:
                    why = str(error)
            else:
                self.fault(method, f"{at}: {why}")

    # --- What is said unasked

    def said_textDocument_publishDiagnostics(self, params: dict):
        uri = params["uri"]
        self.pushed.add(uri)
        if self.can("textDocument.diagnostic") is not None:
            self.fault("publishDiagnostics", f"{uri}: this client asks for them")
        self.placed("publishDiagnostics", params["diagnostics"], uri)
        for diagnostic in params["diagnostics"]:
            self.diagnostic(diagnostic)

    def said_client_registerCapability(self, params: dict):
        for registration in params["registrations"]:
            section = registration["method"].replace("workspace/", "workspace.").replace("textDocument/", "textDocument.")
            if not self.can(section + ".dynamicRegistration"):
                self.fault("registerCapability", f"{registration['method']} was not announced")
            kind = lsp.METHOD_TO_TYPES[registration["method"]][3]
            self.shape("registerCapability", registration.get("registerOptions"), kind)

    def said_window_workDoneProgress_create(self, params: dict):
        if not self.can("window.workDoneProgress"):
            self.fault("workDoneProgress/create", "was not announced")
        self.tokens.add(params["token"])

    def said_progress(self, params: dict):
        if params["token"] not in self.tokens:
            self.fault("$/progress", f"nobody knows the token {params['token']!r}")
        kinds = {"begin": lsp.WorkDoneProgressBegin, "report": lsp.WorkDoneProgressReport, "end": lsp.WorkDoneProgressEnd}
        kind = kinds.get(params["value"].get("kind"))
        if kind is None:
            return self.fault("$/progress", f"{params['value']} is no progress")
        self.shape("$/progress", params["value"], kind)
        if kind is lsp.WorkDoneProgressEnd:
            self.tokens.discard(params["token"])

    def said_workspace_configuration(self, _):
        if not self.can("workspace.configuration"):
            self.fault("workspace/configuration", "was not announced")

    def refresh(self, section: str):
        if not self.can(f"workspace.{section}.refreshSupport"):
            self.fault(f"{section} refresh", "was not announced")

    def said_workspace_diagnostic_refresh(self, _):
        self.refresh("diagnostics")

    def said_workspace_inlayHint_refresh(self, _):
        self.refresh("inlayHint")

    def said_workspace_codeLens_refresh(self, _):
        self.refresh("codeLens")

    def said_workspace_semanticTokens_refresh(self, _):
        self.refresh("semanticTokens")

    # --- What is answered

    def began(self, result: dict):
        self.server = result["capabilities"]
        offered = self.can("general.positionEncodings") or ["utf-16"]
        chosen = self.server.get("positionEncoding", "utf-16")
        if chosen not in offered:
            self.fault("initialize", f"{chosen} was not offered")
        if isinstance(self.server.get("renameProvider"), dict) and not self.can("textDocument.rename.prepareSupport"):
            self.fault("initialize", "options of rename are for clients that know prepareRename")
        literals = self.can("textDocument.codeAction.codeActionLiteralSupport")
        if isinstance(self.server.get("codeActionProvider"), dict) and literals is None:
            self.fault("initialize", "options of code actions are for clients that know literals")
        if self.server.get("diagnosticProvider") and self.can("textDocument.diagnostic") is None:
            self.fault("initialize", "this client does not ask for diagnostics")

    def provided(self, method: str):
        """A request that is answered was offered at the start."""
        name = method.removeprefix("textDocument/")
        providers = {
            "textDocument/diagnostic": "diagnosticProvider",
            "textDocument/foldingRange": "foldingRangeProvider",
            "workspace/diagnostic": "diagnosticProvider",
            "workspace/symbol": "workspaceSymbolProvider",
            "textDocument/formatting": "documentFormattingProvider",
            "textDocument/rangeFormatting": "documentRangeFormattingProvider",
            "textDocument/prepareRename": "renameProvider",
            "textDocument/prepareTypeHierarchy": "typeHierarchyProvider",
            "typeHierarchy/supertypes": "typeHierarchyProvider",
            "typeHierarchy/subtypes": "typeHierarchyProvider",
            "textDocument/semanticTokens/full": "semanticTokensProvider",
            "textDocument/semanticTokens/full/delta": "semanticTokensProvider",
            "textDocument/semanticTokens/range": "semanticTokensProvider",
        }
        if method != "shutdown" and not self.server.get(providers.get(method, name + "Provider")):
            self.fault(method, "answered but not offered")

    def diagnostic(self, diagnostic: dict):
        can = "textDocument.publishDiagnostics"
        if "relatedInformation" in diagnostic and not self.can(f"{can}.relatedInformation"):
            self.fault("a diagnostic", "related places were not announced")
        known = self.can(f"{can}.tagSupport.valueSet") or []
        if set(diagnostic.get("tags", [])) - set(known):
            self.fault("a diagnostic", "tags were not announced")
        if "codeDescription" in diagnostic and not self.can(f"{can}.codeDescriptionSupport"):
            self.fault("a diagnostic", "pages of codes were not announced")
        if "data" in diagnostic and not self.can(f"{can}.dataSupport"):
            self.fault("a diagnostic", "data were not announced")

    def answer_textDocument_diagnostic(self, method, result, params, uri, texts):
        self.pulled.add(uri)
        if self.can("textDocument.diagnostic") is None:
            self.fault(method, "this client does not ask")
        if result["kind"] == "unchanged" and params.get("previousResultId") != result["resultId"]:
            self.fault(method, "unchanged since a report that the client does not have")
        for diagnostic in result.get("items", []):
            self.diagnostic(diagnostic)

    def answer_workspace_diagnostic(self, method, result, params, uri, texts):
        known = {each["uri"]: each["value"] for each in params["previousResultIds"]}
        seen = [item["uri"] for item in result["items"]]
        if len(seen) != len(set(seen)):
            self.fault(method, "a document is told twice")
        for item in result["items"]:
            self.pulled.add(item["uri"])
            if item["kind"] == "unchanged" and known.get(item["uri"]) != item["resultId"]:
                self.fault(method, "unchanged since a report that the client does not have")
            for diagnostic in item.get("items", []):
                self.diagnostic(diagnostic)

    def markup(self, method: str, formats, value):
        if isinstance(value, dict) and value.get("kind") not in (formats or ["plaintext"]):
            self.fault(method, f"{value.get('kind')} was not announced")

    def answer_textDocument_hover(self, method, result, params, uri, texts):
        self.markup(method, self.can("textDocument.hover.contentFormat"), result["contents"])
        [text] = texts[uri]
        if "range" in result:
            start, end = text.span(result["range"])
            if not start <= text.offset(params["position"]) <= end:
                self.fault(method, "what is told of lies elsewhere")

    def answer_textDocument_completion(self, method, result, params, uri, texts):
        can = "textDocument.completion.completionItem"
        kinds = set(self.can("textDocument.completion.completionItemKind.valueSet") or FIRST_KINDS)
        items = result if isinstance(result, list) else result["items"]
        if isinstance(result, dict) and "itemDefaults" in result and not self.can("textDocument.completion.completionList"):
            self.fault(method, "defaults of items were not announced")
        [text] = texts[uri]
        at = text.offset(params["position"])
        for item in items:
            if item.get("kind", 1) not in kinds:
                self.fault(method, f"the kind {item['kind']} was not announced")
            if item.get("insertTextFormat") == 2 and not self.can(f"{can}.snippetSupport"):
                self.fault(method, "snippets were not announced")
            for name, ability in {
                "labelDetails": "labelDetailsSupport",
                "tags": "tagSupport",
                "deprecated": "deprecatedSupport",
                "preselect": "preselectSupport",
                "commitCharacters": "commitCharactersSupport",
                "insertTextMode": "insertTextModeSupport",
            }.items():
                if name in item and not self.can(f"{can}.{ability}"):
                    self.fault(method, f"{name} was not announced")
            self.markup(method, self.can(f"{can}.documentationFormat"), item.get("documentation"))
            edit = item.get("textEdit", {})
            if "insert" in edit and not self.can(f"{can}.insertReplaceSupport"):
                self.fault(method, "two ranges were not announced")
            if "range" in edit:
                start, end = text.span(edit["range"])
                if edit["range"]["start"]["line"] != edit["range"]["end"]["line"] or not start <= at <= end:
                    self.fault(method, f"{item['label']!r} does not go where the cursor is")

    def answer_textDocument_codeAction(self, method, result, params, uri, texts):
        can = "textDocument.codeAction"
        for action in result:
            if isinstance(action.get("command"), str):
                continue
            if self.can(f"{can}.codeActionLiteralSupport") is None:
                self.fault(method, "literals were not announced")
            if "isPreferred" in action and not self.can(f"{can}.isPreferredSupport"):
                self.fault(method, "isPreferred was not announced")
            if "disabled" in action and not self.can(f"{can}.disabledSupport"):
                self.fault(method, "disabled was not announced")
            if "data" in action and not self.can(f"{can}.dataSupport"):
                self.fault(method, "data were not announced")
            for diagnostic in action.get("diagnostics", []):
                if diagnostic not in params["context"]["diagnostics"]:
                    self.fault(method, "mends what the client did not name")
            only = params["context"].get("only")
            if only and not any((action["kind"] + ".").startswith(kind + ".") for kind in only):
                self.fault(method, f"{action['kind']} was not asked for")

    def edit(self, method: str, edit: dict, versions: dict):
        can = "workspace.workspaceEdit"
        if "documentChanges" in edit and not self.can(f"{can}.documentChanges"):
            self.fault(method, "documentChanges were not announced")
        if "changeAnnotations" in edit and not self.can(f"{can}.changeAnnotationSupport"):
            self.fault(method, "annotations were not announced")
        for change in edit.get("documentChanges", []):
            document = change["textDocument"]
            if document["version"] != versions.get(document["uri"]):
                self.fault(method, f"{document} was of version {versions.get(document['uri'])}")

    def answer_textDocument_definition(self, method, result, params, uri, texts):
        links = isinstance(result, list) and any("targetUri" in each for each in result)
        if links and not self.can("textDocument.definition.linkSupport"):
            self.fault(method, "links were not announced")

    def answer_textDocument_documentSymbol(self, method, result, params, uri, texts):
        can = "textDocument.documentSymbol"
        [text] = texts[uri]

        def look(symbol: dict, outer):
            self.symbol_kind(method, can, symbol)
            if "location" in symbol:
                return
            if not self.can(f"{can}.hierarchicalDocumentSymbolSupport"):
                self.fault(method, "trees were not announced")
            (start, end), (name, name_end) = text.span(symbol["range"]), text.span(symbol["selectionRange"])
            if not start <= name <= name_end <= end:
                self.fault(method, f"the name of {symbol['name']} lies outside of it")
            if outer and not outer[0] <= start <= end <= outer[1]:
                self.fault(method, f"{symbol['name']} lies outside of what it lies in")
            for inner in symbol.get("children", []):
                look(inner, (start, end))

        for symbol in result:
            look(symbol, None)

    def answer_workspace_symbol(self, method, result, params, uri, texts):
        for symbol in result:
            self.symbol_kind(method, "workspace.symbol", symbol)

    def symbol_kind(self, method: str, can: str, symbol: dict):
        if symbol["kind"] not in set(self.can(f"{can}.symbolKind.valueSet") or FIRST_KINDS):
            self.fault(method, f"the kind {symbol['kind']} was not announced")
        if "tags" in symbol and not self.can(f"{can}.tagSupport"):
            self.fault(method, "tags were not announced")

    def answer_textDocument_foldingRange(self, method, result, params, uri, texts):
        [text] = texts[uri]
        for fold in result:
            if not fold["startLine"] < fold["endLine"] < len(text.starts):
                self.fault(method, f"{fold} folds nothing")
            if "collapsedText" in fold and not self.can("textDocument.foldingRange.foldingRange.collapsedText"):
                self.fault(method, "collapsed texts were not announced")

    def answer_textDocument_selectionRange(self, method, result, params, uri, texts):
        [text] = texts[uri]
        if len(result) != len(params["positions"]):
            self.fault(method, "one answer for each position")
        for position, chosen in zip(params["positions"], result):
            inner = (text.offset(position),) * 2
            while chosen:
                outer = text.span(chosen["range"])
                if not outer[0] <= inner[0] <= inner[1] <= outer[1]:
                    self.fault(method, f"{outer} does not hold {inner}")
                inner, chosen = outer, chosen.get("parent")

    def answer_textDocument_documentLink(self, method, result, params, uri, texts):
        for link in result:
            if "tooltip" in link and not self.can("textDocument.documentLink.tooltipSupport"):
                self.fault(method, "tooltips were not announced")

    def answer_textDocument_semanticTokens_full(self, method, result, params, uri, texts):
        if "data" in result:
            self.check_tokens(method, result["data"], texts[uri][0])

    answer_textDocument_semanticTokens_range = answer_textDocument_semanticTokens_full

    def check_tokens(self, method: str, data: list[int], text: Text):
        legend = self.server["semanticTokensProvider"]["legend"]
        try:
            for *_, kind, modifiers in decoded(data, text):
                if kind >= len(legend["tokenTypes"]) or modifiers >> len(legend["tokenModifiers"]):
                    self.fault(method, "a token of a kind that is not in the legend")
        except ValueError as why:
            self.fault(method, str(why))

    # --- At the end

    def verdict(self) -> list[str]:
        """All that was wrong, once."""
        unanswered = [
            f"{request['method']}: never answered" for id, (request, *_) in self.asked.items() if id not in self.answered
        ]
        both = [f"{uri}: sent and asked for" for uri in self.pushed & self.pulled]
        return list(dict.fromkeys(self.faults + unanswered + both))
