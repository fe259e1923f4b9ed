"""Imports run one way: the order of the data's way, and nothing imports the command line."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "capcheck"

ORDER = ["intake", "packages", "geometry", "machines", "facts", "engine", "planning", "report", "commands", "cli"]
"""Each may import those before it (and the modules at the top level that hold shared types), none after it."""

FORBIDDEN = {
    "report": {"intake", "commands", "cli"},
    "planning": {"intake", "facts", "engine", "report", "commands", "cli"},
}


def imports_of(path):
    """Return the modules of the package that a file imports when it runs, with those used for types only left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    typing_only = {
        id(node)
        for block in ast.walk(tree)
        if isinstance(block, ast.If) and ast.unparse(block.test) == "TYPE_CHECKING"
        for node in ast.walk(block)
    }
    found = set()
    for node in ast.walk(tree):
        if id(node) in typing_only:
            continue
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("capcheck"):
            parts = node.module.split(".")
            found |= {parts[1]} if len(parts) > 1 else {alias.name for alias in node.names}
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[1] for alias in node.names if alias.name.startswith("capcheck.")}
    return found


FILES = sorted(path for room in ORDER[:-1] for path in (PACKAGE / room).rglob("*.py"))


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_module_imports_only_what_comes_before_it(path):
    room = path.relative_to(PACKAGE).parts[0]
    later = set(ORDER[ORDER.index(room) + 1 :]) | FORBIDDEN.get(room, set())
    if room == "commands":
        later -= {"cli"}
    assert imports_of(path) & later == set()


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_module_can_be_read_in_one_sitting(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400
