"""Each test of the trade that holds figures says where they are from, beside them or once for its whole file.

A mark is a standard, a document, a reference table, a rule file (whose rules have their basis), "from memory",
"common practice, no source", or that the figures are invented, a definition, geometry or arithmetic. A line of the
module's docstring that begins with "Figures:" speaks for the whole file, but where names become sizes: there a size
that is not written in the texts beside it is the trade's, and has its mark at its own statement.
"""

import ast
import io
import re
import tokenize
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

NAMES = ("packages/names", "packages/bodies", "packages/test_traps.py")
"""Where names become sizes."""

INVENTED_BODIES = {
    "packages/bodies/test_bounds.py": "sides are invented, to see what follows from them",
    "packages/bodies/test_consequences.py": "bodies are invented, to see what follows from them",
    "packages/bodies/test_mass.py": "bodies are invented, to see what follows from them",
}

LEAST_SIZE = 0.15
"""Below it a fraction is a tolerance of the comparison."""

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

NAMELESS = re.compile(
    r"\b(an?|another|the|one) ((component|chip|resistor|semiconductor) )?(maker|assembler|supplier)('s)? "
    r"(data ?sheet|sheet|table|drawing|guideline|note|catalogue)|\bmakers' (\w+ )?(data ?sheets|tables|drawings|notes)"
    r"|\bassemblers?'?s? guidelines?|\bhandbook|\ba published table|\bis quoted as|\btrade press|\bpublic library's",
    re.IGNORECASE,
)


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


def sizes_of_the_trade(node):
    """Return the fractions of a statement that stand in none of its texts, whole or in tenths or hundredths."""
    texts = [
        n.value.replace(",", ".") for n in ast.walk(node) if isinstance(n, ast.Constant) and isinstance(n.value, str)
    ]

    def written(size):
        scaled = [round(size * scale, 6) for scale in (10, 100, 1000)]
        forms = {f"{size:g}", f"{size:.2f}", *(str(int(x)) for x in scaled if x.is_integer())}
        return any(form in text for text in texts for form in forms)

    sizes = [f for f in figures(node) if isinstance(f, float) and not f.is_integer() and abs(f) >= LEAST_SIZE]
    return [size for size in sizes if not written(abs(size))]


def unmarked(source, *, names=False):
    """Return name or line of each statement of a test module that holds figures without a source.

    Of modules where *names* become sizes, the docstring's line does not speak for sizes of the trade.
    """
    tree = ast.parse(source)
    lines = source.splitlines()
    docstring = ast.get_docstring(tree) or ""
    whole = FIGURES.search(docstring)
    if whole and MARK.search(whole[0]) and not names:
        return []
    asked = sizes_of_the_trade if whole and names else figures
    body = tree.body[1:] if docstring else tree.body
    ends = [tree.body[0].end_lineno if docstring else 0, *(node.end_lineno for node in body)]
    found = []
    for (before, end), node in zip(pairwise(ends), body, strict=True):
        held = [] if isinstance(node, ast.Import | ast.ImportFrom) else asked(_without_docstring(node))
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
    name = path.relative_to(TESTS).as_posix()
    names = name.startswith(NAMES) and name not in INVENTED_BODIES
    assert unmarked(path.read_text(encoding="utf-8"), names=names) == []


CONSTANTS = re.compile(r"(?<![\d.])(25\.4|0\.0254|39\.37|645\.16|1048576|1,048,576)(?!\d)")
"""Outside figures that stand in tests of every folder: what an inch is, and what a worksheet holds at most."""


@pytest.mark.parametrize("path", sorted(TESTS.rglob("*.py")), ids=lambda p: p.relative_to(TESTS).as_posix())
def test_constants_from_outside_are_said_to_be_such_in_every_folder(path):
    source = path.read_text(encoding="utf-8")
    assert not CONSTANTS.search(source) or MARK.search(source) or re.search(r"\bexact", source)


def nameless(source):
    """Return the comments and docstrings of a module that speak of a source without its name, nor of memory."""
    tree = ast.parse(source)
    said = [ast.get_docstring(node) or "" for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.Module)]
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    said += [token.string for token in tokens if token.type == tokenize.COMMENT]
    return [text for text in said if NAMELESS.search(text) and not MARK.search(NAMELESS.sub("", text))]


@pytest.mark.parametrize("path", sorted(TESTS.rglob("*.py")), ids=lambda p: p.relative_to(TESTS).as_posix())
def test_no_test_speaks_of_a_source_without_its_name(path):
    assert nameless(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("sample", "noticed"),
    [
        ("x = 4  # a maker's data sheet\n", True),
        ('def test_a():\n    """An assembler\'s guideline: 1.5 mm."""\n', True),
        ("# Makers' dimension tables.\n", True),
        ("# 54 is quoted as the best.\n", True),
        ("# A maker's table, from memory.\n", False),
        ("# Royalohm data sheet, dimension table.\n", False),
    ],
)
def test_a_source_without_its_name_is_noticed(sample, noticed):
    assert bool(nameless(sample)) is noticed


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


@pytest.mark.parametrize(
    ("test", "noticed"),
    [
        ('assert size("R_0603") == 1.6', True),
        ('assert size("SOIC-8") == 3.9', True),
        ('assert size("C1608") == 1.6', False),
        ('assert size("5,0x3,2mm") == 3.2', False),
        ('assert size("SOP65P640X120") == 6.4', False),
        ('assert size("R_0603") == 1.6  # IPC-7351B', False),
        ('assert size("R_0603") == near(1, 0.02)', False),
    ],
)
def test_where_names_become_sizes_one_sentence_does_not_speak_for_all(test, noticed):
    sample = (
        f'"""Names.\n\nFigures: sizes are the digits of the name, else from memory.\n"""\n\ndef test_a():\n    {test}\n'
    )
    assert bool(unmarked(sample, names=True)) is noticed
