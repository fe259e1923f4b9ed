"""The plan of the house: rooms know only rooms below them, and of those only their faces; no circle of files."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import networkx as nx
import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "capcheck"
LONGEST = 400

ROOMS = (
    "version",
    "values",
    "model",
    "lexicon",
    "intake",
    "packages",
    "store",
    "machines",
    "lands",
    "geometry",
    "facts",
    "engine",
    "shop",
    "checking",
    "revisions",
    "planning",
    "lists",
    "survey",
    "report",
    "answers",
    "desk",
    "commands",
)
"""From the ground up: each room may import those before it."""
FLOORS = {
    "capcheck.intake": (
        "confined",
        "files",
        "archives",
        "tables",
        "bom",
        "placements",
        "outline",
        "drills",
        "exchange",
        "layers",
        "frame",
        "opened",
        "ahead",
        "compare",
        "told_of_board",
        "said_beside",
        "size_lists",
        "folder",
        "stated_thickness",
        "package",
        "input_files",
        "outline_among_files",
        "outline_with_parts",
        "placed_rows",
        "other_places",
        "provided_parts",
        "stated_references",
        "whole_panel",
        "read",
    ),
    "capcheck.packages": ("tables", "candidate", "names", "library_entries", "library", "library_edit", "bodies"),
    "capcheck.store": (
        "address",
        "records",
        "tables",
        "upgrades",
        "opening",
        "keys",
        "figures",
        "asked",
        "boards",
        "contradicted",
        "looked_up",
        "interchange",
        "offer",
        "quote_records",
        "quotes",
        "copied",
        "store",
    ),
    "capcheck.planning": (
        "accuracy",
        "job",
        "job_of_boards",
        "times",
        "search",
        "stations_of_line",
        "part_accuracy",
        "hours_and_costs",
        "plan_data",
        "least_cycle",
        "assignment",
        "set_ups",
        "kept_slots",
        "verdict",
        "grouping",
        "planner",
        "candidate_changes",
        "what_if",
        "accepted_parts",
        "benches",
        "set_up_work",
        "both_sides",
        "break_even",
        "cost_of_boards",
        "set_up_hours",
        "floor_work",
        "board_passage",
        "line_comparison",
        "stock",
        "bounds_of_lines",
        "line_from_stock",
        "api",
    ),
}
"""The same for the folders and modules inside a room."""
SAYS_NOTHING = {
    "utils",
    "util",
    "helpers",
    "helper",
    "common",
    "misc",
    "base",
    "core",
    "types",
    "kinds",
    "reading",
    "asides",
    "coding",
    "copies",
    "takers",
    "question",
    "stuff",
    "tools",
}
DOORS = ("__main__", "cli", "pytest_plugin", "pytest_run", "pytest_processes")
"""Modules at the top, which may import every room."""


def module_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


FILES = {module_of(path): path for path in sorted(PACKAGE.rglob("*.py"))}
FOLDERS = {module for module, path in FILES.items() if path.name == "__init__.py"}


def folder_of(module: str) -> str:
    return module if module in FOLDERS else module.rpartition(".")[0]


@cache
def imports_of(module: str) -> set[str]:
    """The modules of capcheck that a file imports, wherever in the file it does; a lazy face stands in its stub."""
    path = FILES[module]
    stub = path.with_suffix(".pyi")
    found = set()
    for source in (path, *([stub] if stub.exists() else [])):
        for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name for alias in node.names if alias.name.split(".")[0] == "capcheck"}
            if isinstance(node, ast.ImportFrom):
                above = ".".join(folder_of(module).split(".")[: len(module.split(".")) - node.level + 1])
                name = f"{above}.{node.module}" if node.level else node.module or ""
                if name.split(".")[0] == "capcheck":
                    found |= {f"{name}.{a.name}" if f"{name}.{a.name}" in FILES else name for a in node.names}
    return found


def test_no_files_import_each_other_in_a_circle():
    graph = nx.DiGraph((module, other) for module in FILES for other in imports_of(module))
    assert [sorted(circle) for circle in nx.strongly_connected_components(graph) if len(circle) > 1] == []
    assert list(nx.selfloop_edges(graph)) == []


def test_a_file_takes_of_another_room_only_what_its_face_shows():
    hidden = {
        (module, other)
        for module in FILES
        for other in imports_of(module)
        if other != "capcheck" and (above := other.split(".")[:-1]) != folder_of(module).split(".")[: len(above)]
    }
    assert hidden == set()


@pytest.mark.rows(("inside", "floors"), {"capcheck": ROOMS, **FLOORS}.items())
def test_a_room_imports_only_rooms_below_it(inside, floors):
    depth = len(inside.split("."))
    upwards = set()
    for module in FILES:
        parts = module.split(".")
        if parts[:depth] != inside.split(".") or len(parts) <= depth or parts[depth] not in floors:
            continue
        allowed = floors[: floors.index(parts[depth]) + 1]
        taken = {other.split(".")[depth] for other in imports_of(module) if other.startswith(f"{inside}.")}
        upwards |= {(module, other) for other in taken - set(allowed)}
    assert upwards == set()


def test_every_folder_has_its_place_in_the_plan():
    assert {f.split(".")[1] for f in FOLDERS if "." in f} == set(ROOMS)
    for inside, floors in FLOORS.items():
        assert {m.split(".")[2] for m in FILES if m.startswith(f"{inside}.")} == set(floors)
    assert {m.split(".")[1] for m in FILES if m.count(".") == 1 and m not in FOLDERS} == set(DOORS)


def test_a_face_shows_names_that_no_module_beside_it_bears():
    """A function of a folder's face would be hidden by a module of its name, once that is imported."""
    hidden = set()
    for module in FOLDERS:
        path = FILES[module].with_suffix(".pyi") if FILES[module].with_suffix(".pyi").exists() else FILES[module]
        tree = ast.parse(path.read_text(encoding="utf-8"))
        shown = {a.asname or a.name for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) for a in n.names}
        beside = {m.rpartition(".")[2] for m in FILES if m.rpartition(".")[0] == module}
        hidden |= {(module, s) for s in shown & beside if f"{module}.{s}" not in imports_of(module)}
    assert hidden == set()


def test_a_module_can_be_read_in_one_sitting_and_says_what_it_is():
    texts = {module: path.read_text(encoding="utf-8") for module, path in FILES.items()}
    assert {module: n for module, text in texts.items() if (n := len(text.splitlines())) > LONGEST} == {}
    assert [module for module in texts if module.rpartition(".")[2] in SAYS_NOTHING] == []
    assert [module for module, text in texts.items() if not ast.get_docstring(ast.parse(text))] == []
