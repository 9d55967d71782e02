"""What editors say at the start that they can do.

Those of Neovim, of Emacs and of an older Visual Studio Code were recorded from the editors by the makers of pytest-lsp. What
today's Visual Studio Code says beyond that, and Helix, are from memory.
"""

import copy

from lsprotocol.converters import get_converter
from pytest_lsp import client_capabilities


def recorded(name: str) -> dict:
    return get_converter().unstructure(client_capabilities(name))


def merged(base: dict, more: dict) -> dict:
    """`base` with what stands in `more`, object by object."""
    out = copy.deepcopy(base)
    for key, value in more.items():
        both = isinstance(value, dict) and isinstance(out.get(key), dict)
        out[key] = merged(out[key], value) if both else value
    return out


CODE_TODAY = {
    "general": {"positionEncodings": ["utf-16"]},
    "workspace": {
        "diagnostics": {"refreshSupport": True},
        "inlayHint": {"refreshSupport": True},
        "didChangeWatchedFiles": {"dynamicRegistration": True, "relativePatternSupport": True},
    },
    "textDocument": {
        "completion": {
            "completionItem": {"labelDetailsSupport": True},
            "completionList": {"itemDefaults": ["commitCharacters", "editRange", "insertTextFormat", "data"]},
        },
        "diagnostic": {"dynamicRegistration": True, "relatedDocumentSupport": False},
        "foldingRange": {
            "foldingRangeKind": {"valueSet": ["comment", "imports", "region"]},
            "foldingRange": {"collapsedText": False},
        },
        "inlayHint": {
            "dynamicRegistration": True,
            "resolveSupport": {"properties": ["tooltip", "textEdits", "label.tooltip", "label.location"]},
        },
        "typeHierarchy": {"dynamicRegistration": True},
    },
}

HELIX = {
    "general": {"positionEncodings": ["utf-8", "utf-32", "utf-16"]},
    "workspace": {
        "configuration": True,
        "didChangeConfiguration": {"dynamicRegistration": False},
        "workspaceFolders": True,
        "applyEdit": True,
        "symbol": {"dynamicRegistration": False},
        "executeCommand": {"dynamicRegistration": False},
        "inlayHint": {"refreshSupport": False},
        "workspaceEdit": {
            "documentChanges": True,
            "resourceOperations": ["create", "rename", "delete"],
            "failureHandling": "abort",
            "normalizesLineEndings": False,
        },
        "didChangeWatchedFiles": {"dynamicRegistration": True, "relativePatternSupport": False},
    },
    "textDocument": {
        "completion": {
            "completionItem": {
                "snippetSupport": True,
                "resolveSupport": {"properties": ["documentation", "detail", "additionalTextEdits"]},
                "insertReplaceSupport": True,
                "deprecatedSupport": True,
                "tagSupport": {"valueSet": [1]},
            },
            "completionItemKind": {},
        },
        "hover": {"contentFormat": ["markdown"]},
        "signatureHelp": {"signatureInformation": {"documentationFormat": ["markdown"]}},
        "rename": {"dynamicRegistration": False, "prepareSupport": True, "honorsChangeAnnotations": False},
        "formatting": {"dynamicRegistration": False},
        "codeAction": {
            "codeActionLiteralSupport": {
                "codeActionKind": {
                    "valueSet": [
                        "",
                        "quickfix",
                        "refactor",
                        "refactor.extract",
                        "refactor.inline",
                        "refactor.rewrite",
                        "source",
                        "source.organizeImports",
                    ]
                }
            },
            "isPreferredSupport": True,
            "disabledSupport": True,
            "dataSupport": True,
            "resolveSupport": {"properties": ["edit", "command"]},
        },
        "publishDiagnostics": {"versionSupport": True, "tagSupport": {"valueSet": [1, 2]}},
        "inlayHint": {"dynamicRegistration": False},
    },
    "window": {"workDoneProgress": True, "showDocument": {"support": True}},
}

EDITORS = {
    "Neovim 0.11": recorded("neovim@0.11.0"),
    "Neovim 0.7": recorded("neovim@0.7.0"),
    "Visual Studio Code": merged(recorded("visual-studio-code"), CODE_TODAY),
    "Emacs 29": recorded("emacs@29.1"),
    "Helix": HELIX,
}


# How each counts columns; those without a word on it are left as they are.
PROFILES = {
    "Neovim 0.11": (EDITORS["Neovim 0.11"], ["utf-8", "utf-16"]),
    "Neovim 0.7": (EDITORS["Neovim 0.7"], [None]),
    "Visual Studio Code": (EDITORS["Visual Studio Code"], ["utf-16"]),
    "Emacs 29": (EDITORS["Emacs 29"], ["utf-32"]),
    "Helix": (EDITORS["Helix"], ["utf-8"]),
    "the least": ({}, [None]),
}


def profiles() -> list[tuple[str, str, dict]]:
    """Editors, how they count columns, and what they say that they can do."""
    return [
        (name, encoding or "utf-16", merged(said, {"general": {"positionEncodings": [encoding]}} if encoding else {}))
        for name, (said, encodings) in PROFILES.items()
        for encoding in encodings
    ]
