"""Each test of the trade that holds figures says where they are from, beside them or once for its whole file.

A mark is a standard, a document, a reference table, a rule file (whose rules have their basis), "from memory",
"common practice, no source", or that the figures are invented, a definition, geometry or arithmetic. A line of the
module's docstring that begins with "Figures:" speaks for the whole file.
"""

import ast
import re
from itertools import pairwise
from pathlib import Path

import pytest

TESTS = Path(__file__).parent

TRADE = ("checking", "engine", "facts", "geometry", "machines", "model", "packages", "planning", "values")

OTHERS = {
    "benchmarks": "prints ratios and asserts no figure",
    "commands": "how commands end and write; bodies are written by the test and read back",
    "fuzz": "damaged files; nothing is asserted but that a run ends in words",
    "intake": "what stands in files that the test writes comes back; no figure of the trade decides",
    "lexicon": "asks for words, not figures",
    "reference": "tables with a source for each row, held by packages/tables/test_sources.py",
    "report": "forms of output; the figures are those of the fixtures and of what the test writes",
    "shop": "configurations and waivers of invented shops",
    "typing": "is only type-checked",
}

MARK = re.compile(
    r"\b(IPC|SMEMA|EIAJ?|JEDEC|JEITA|JESD\d+|IEC|ISO|J-STD)\b|\b(MO|MS|TO|DO)-\d{3}\b"
    r"|\bdtsheet \d|\bdata sheets?\b|\bdocument \d|https?://|\brules/\w+\.toml\b|\breference/|\.csv\b"
    r"|\bfrom memory\b|\bcommon practice, no source\b"
    r"|\b([Ii]nvented|[Dd]efinitions?|[Gg]eometry|[Aa]rithmetic|by hand|[Pp]hysics)\b"
)
FIGURES = re.compile(r"^Figures: (?:.|\n(?!\n))*", re.MULTILINE)
QUANTITY = re.compile(r"\d ?(mm|µm|um|mil|inch|in|m|g|kg|mg|N|s|ms|deg|°|%|per hour|/h)\b(?!\w)")
COUNTS = frozenset({-1, 0, 1, 2})
SETTINGS = frozenset({"abs", "rel", "max_examples", "deadline", "decimals", "indent"})


def figures(node):
    """Return the numbers, and the quantities in texts, of a statement; counts and tolerances of comparison are none."""
    if isinstance(node, ast.Constant):
        if isinstance(node.value, str):
            return [node.value] if QUANTITY.search(node.value) else []
        is_number = isinstance(node.value, int | float) and not isinstance(node.value, bool)
        return [node.value] if is_number and node.value not in COUNTS else []
    if isinstance(node, ast.keyword) and node.arg in SETTINGS:
        return []
    return [figure for child in ast.iter_child_nodes(node) for figure in figures(child)]


def unmarked(source):
    """Return name or line of each statement of a test module that holds figures without a source."""
    tree = ast.parse(source)
    lines = source.splitlines()
    docstring = ast.get_docstring(tree) or ""
    whole = FIGURES.search(docstring)
    if whole and MARK.search(whole[0]):
        return []
    body = tree.body[1:] if docstring else tree.body
    ends = [tree.body[0].end_lineno if docstring else 0, *(node.end_lineno for node in body)]
    found = []
    for (before, end), node in zip(pairwise(ends), body, strict=True):
        held = [] if isinstance(node, ast.Import | ast.ImportFrom) else figures(_without_docstring(node))
        if held and not MARK.search("\n".join(lines[before:end])):
            found.append(f"{getattr(node, 'name', f'line {node.lineno}')}: {held[0]!r}")
    return found


def _without_docstring(node):
    """A sentence that explains is no figure that is tested."""
    body = getattr(node, "body", None)
    if isinstance(body, list) and isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant):
        node.body = body[1:]
    return node


@pytest.mark.parametrize(
    "path",
    sorted(path for folder in TRADE for path in (TESTS / folder).rglob("*.py")),
    ids=lambda p: p.relative_to(TESTS).as_posix(),
)
def test_figures_have_their_source_beside_them(path):
    assert unmarked(path.read_text(encoding="utf-8")) == []


def test_each_folder_of_tests_is_of_the_trade_or_stands_apart_with_a_reason():
    folders = {path.name for path in TESTS.iterdir() if path.is_dir() and not path.name.startswith("__")}
    assert folders == {*TRADE, *OTHERS}
    assert not set(TRADE) & set(OTHERS)
    assert all(len(reason.split()) > 2 for reason in OTHERS.values())


@pytest.mark.parametrize(
    ("sample", "noticed"),
    [
        ("def test_a():\n    assert width == 8.3\n", True),
        ("TAPES = (8, 12, 16)\n", True),
        ('def test_a():\n    assert tape("SO8") == "12 mm"\n', True),
        ('"""Tapes of EIA-481."""\ndef test_a():\n    assert tape == 12\n', True),
        ('"""Tapes.\n\nFigures: somewhere.\n"""\ndef test_a():\n    assert tape == 12\n', True),
        ("# From a leaflet.\ndef test_a():\n    assert width == 8.3\n", True),
        ("# EIA-481 table 2.\nA = 4\ndef test_a():\n    assert width == 8.3\n", True),
        ("@pytest.mark.parametrize('w', [8, 12])\ndef test_a(w):\n    assert wide(w)\n", True),
        ("def test_a():\n    assert width == 8.3  # EIA-481 table 2\n", False),
        ("# EIA-481 table 2.\ndef test_a():\n    assert width == 8.3\n", False),
        ('def test_a():\n    """From memory: 8.3 mm; from memory."""\n    assert width == 8.3\n', False),
        ('"""Tapes.\n\nFigures: EIA-481-D table 2.\n"""\ndef test_a():\n    assert tape == 12\n', False),
        ("def test_a():\n    assert count == 2\n    assert near(a, b, abs=1e-9)\n", False),
        ('def test_a():\n    """The 8 mm tape."""\n    assert names == ["a"]\n', False),
    ],
)
def test_a_figure_without_a_source_is_noticed(sample, noticed):
    assert bool(unmarked(sample)) is noticed
