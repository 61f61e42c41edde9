#!/usr/bin/env python3
"""Holds every message that the server sent in tests/server.rs against the protocol's types.

    cargo test --test server
    pip install lsprotocol==2025.0.0
    python3 tests/lsp_shapes.py target/tmp/lsp-sessions

The Rust types that the server is written with, and that its tests read, are one description of
the protocol; this is another. A message must be accepted, and come back without a loss.
"""

import collections
import json
import pathlib
import sys

from lsprotocol import converters, types


def kind(method, message):
    if "error" in message:
        return types.ResponseErrorMessage
    request, response, _, _ = types.METHOD_TO_TYPES[method]
    return request if "method" in message else response


def whole_numbers(value):
    if isinstance(value, dict):
        return all(map(whole_numbers, value.values()))
    if isinstance(value, list):
        return all(map(whole_numbers, value))
    return not isinstance(value, float)


def without_nulls(value):
    if isinstance(value, dict):
        return {k: without_nulls(v) for k, v in value.items() if v is not None}
    if isinstance(value, list):
        return [without_nulls(item) for item in value]
    return value


def main():
    converter = converters.get_converter()
    seen = collections.Counter()
    wrong = 0
    for session in sorted(pathlib.Path(sys.argv[1]).glob("*.jsonl")):
        for line in session.read_text(encoding="utf-8").split("\n"):
            if not line:
                continue
            record = json.loads(line)
            method, message = record["method"], record["message"]
            if (method or "").startswith("bitepoint/"):
                continue  # ours, and unknown to the protocol
            try:
                typed = converter.structure(message, kind(method, message))
                back = converter.unstructure(typed)
                assert without_nulls(back) == without_nulls(message), f"came back as {back}"
                assert whole_numbers(message), "a position is no fraction"
            except Exception as error:  # whatever the converter objects with
                wrong += 1
                print(f"{session.name}: {error!r}\n  {json.dumps(message)[:500]}")
            seen["an error" if "error" in message else method] += 1
    for method, count in sorted(seen.items()):
        print(f"{count:5} {method}")
    wanted = {
        "$/progress",
        "callHierarchy/incomingCalls",
        "callHierarchy/outgoingCalls",
        "client/registerCapability",
        "codeAction/resolve",
        "initialize",
        "inlayHint/resolve",
        "shutdown",
        "textDocument/codeAction",
        "textDocument/codeLens",
        "textDocument/completion",
        "textDocument/definition",
        "textDocument/diagnostic",
        "textDocument/documentHighlight",
        "textDocument/documentLink",
        "textDocument/documentSymbol",
        "textDocument/foldingRange",
        "textDocument/formatting",
        "textDocument/hover",
        "textDocument/inlayHint",
        "textDocument/onTypeFormatting",
        "textDocument/prepareCallHierarchy",
        "textDocument/prepareRename",
        "textDocument/prepareTypeHierarchy",
        "textDocument/publishDiagnostics",
        "textDocument/rangeFormatting",
        "textDocument/references",
        "textDocument/rename",
        "textDocument/selectionRange",
        "textDocument/semanticTokens/full",
        "textDocument/semanticTokens/full/delta",
        "textDocument/semanticTokens/range",
        "textDocument/signatureHelp",
        "typeHierarchy/subtypes",
        "typeHierarchy/supertypes",
        "window/workDoneProgress/create",
        "workspace/codeLens/refresh",
        "workspace/configuration",
        "workspace/diagnostic",
        "workspace/diagnostic/refresh",
        "workspace/symbol",
        "workspace/willRenameFiles",
    }
    for method in sorted(wanted - set(seen)):
        wrong += 1
        print(f"no {method} was recorded")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
