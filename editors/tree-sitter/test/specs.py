"""Holds the tree-sitter grammar against the program's own parser, on every spec of the project: the
examples, the cases, and the blocks of code in the documentation. A spec in which the program finds
no mistake of syntax has a tree without an error; the queries name only what the grammar has.

    specs.py PARSER PROGRAM       (at the root of the project; PARSER is the compiled src/parser.c)
"""

import ctypes
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import tree_sitter

# Checks that say that a text cannot be read as it stands.
UNREADABLE = {"syntax", "too-large", "unknown-unit"}

# What Helix calls the colours that others call otherwise.
HELIX = {
    "@number": "@constant.numeric",
    "@module": "@namespace",
    "@property": "@variable.other.member",
    "@variable.member": "@variable.other.member",
}


def language(path):
    library = ctypes.CDLL(path)
    library.tree_sitter_clutch.restype = ctypes.c_void_p
    capsule = ctypes.pythonapi.PyCapsule_New
    capsule.restype = ctypes.py_object
    capsule.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_void_p]
    name = b"tree_sitter.Language"
    return tree_sitter.Language(capsule(library.tree_sitter_clutch(), name, None))


def specs():
    """Every spec by where it comes from."""
    for folder in ("examples", "tests/cases", "editors/tests"):
        for path in sorted(pathlib.Path(folder).rglob("*.clutch")):
            yield str(path), path.read_text(encoding="utf-8")
    for path in ("README.md", "DEVELOPERS.md", *sorted(map(str, pathlib.Path("grammar").glob("*.md")))):
        text = pathlib.Path(path).read_text(encoding="utf-8")
        for found in re.finditer(r"^```clutch\n(.*?)^```", text, re.M | re.S):
            line = text.count("\n", 0, found.start()) + 2
            block = found[1]
            # A part of a system stands in one.
            if not re.search(r"^(system|part|use|let)\b", block, re.M):
                block = "system shown {\n" + block + "}\n"
            yield f"{path}:{line}", block


def unreadable(program, texts):
    """Those of the texts, by their places, in which the program finds a mistake of syntax."""
    with tempfile.TemporaryDirectory() as folder:
        for number, text in enumerate(texts):
            pathlib.Path(folder, f"{number}.clutch").write_text(text, encoding="utf-8")
        command = [program, "check", "--format", "json", "."]
        answer = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    findings = json.loads(answer.stdout)["findings"]
    files = {one["file"] for one in findings if one["check"] in UNREADABLE}
    return {int(pathlib.Path(file).stem) for file in files}


def errors(node):
    if node.is_error or node.is_missing:
        yield node
    elif node.has_error:
        for child in node.children:
            yield from errors(child)


def main(parser_path, program):
    clutch = language(parser_path)
    parser = tree_sitter.Parser(clutch)
    all_specs = list(specs())
    broken = unreadable(program, [text for _, text in all_specs])
    wrong, sound = [], 0
    for number, (name, text) in enumerate(all_specs):
        root = parser.parse(text.encode()).root_node
        if number in broken:
            continue
        sound += 1
        for node in errors(root):
            row, column = node.start_point
            shown = text.encode().splitlines()[row].decode(errors="replace")
            wrong.append(f"{name}, line {row + 1}, column {column + 1}: {shown}")
    folders = ("editors/tree-sitter/queries/clutch", "editors/helix/queries/clutch")
    queries = [path for folder in folders for path in sorted(pathlib.Path(folder).glob("*.scm"))]
    for path in queries:
        query = tree_sitter.Query(clutch, path.read_text(encoding="utf-8"))
        # A colour for every example's words, not only a query that can be read.
        if path.name == "highlights.scm":
            text = pathlib.Path("examples/larkfield.clutch").read_bytes()
            found = tree_sitter.QueryCursor(query).captures(parser.parse(text).root_node)
            if sum(map(len, found.values())) < 100:
                wrong.append(f"{path} colours next to nothing")
    # Helix has names of its own for some colours, and nothing else is different.
    ours, theirs = (pathlib.Path(folder, "highlights.scm").read_text(encoding="utf-8") for folder in folders)
    if re.sub(r"@[\w.]+", lambda name: HELIX.get(name[0], name[0]), ours) != theirs:
        wrong.append(f"{folders[1]}/highlights.scm is not {folders[0]}/highlights.scm with Helix's names")
    if wrong:
        sys.exit("tree-sitter: specs without a mistake have errors in their trees:\n" + "\n".join(wrong))
    print(f"tree-sitter: {sound} of {len(all_specs)} specs are sound, and so are their trees; {len(queries)} queries")


if __name__ == "__main__":
    main(*sys.argv[1:])
