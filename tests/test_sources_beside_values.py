"""Each outside value in a test says where it is from, where it stands.

A mark is a standard, a document, a reference table, a rule file (whose rules have their basis), "from memory",
"common practice, no source", or that the figures are invented, a definition, geometry or arithmetic. Above a
statement, or in a function's docstring, it speaks for the whole of it; above rows of a table for the rows down to the
next such comment; behind a row or a line for that alone. A line of the module's docstring that begins with "Figures:"
speaks for what is our own: invented values, sums by hand, and sizes that are the digits of a text beside them.
"""

import ast
import io
import re
import tokenize
from itertools import pairwise
from pathlib import Path

import pytest

TESTS = Path(__file__).parent

TRADE = ("checking", "engine", "facts", "geometry", "lists", "machines", "model", "packages", "planning", "values")

PLANS = ("report/papers", "report/plan")
"""Folders of tests of reports that reckon with machines, times and prices of their own."""

ALL = ("lands", "revisions", "survey")
"""Folders whose boards are invented, and from whose names of the trade a size or a pitch may follow."""

CELLS = {
    "answers": "a footprint fills a cell that questions are asked of; sizes are filled in by the test",
    "commands": "how commands end and write; bodies are written by the test and read back",
    "intake": "what stands in files that the test writes comes back; bodies come after",
    "lexicon": "asks for words",
    "report": "forms of output; a limit or a size is written by the test or is that of fixtures/",
    "shop": "configurations and waivers of invented shops",
    "store": "what the test writes into a store comes back",
}
"""Folders in which a name of the trade fills a cell and no size is asked of it; their figures are said to be own."""

OTHERS = {
    "benchmarks": "prints ratios and asserts no figure",
    "desk": "what a person typed or brought stands on pages and in rows; the report's own figures are held elsewhere",
    "fuzz": "damaged files; nothing is asserted but that a run ends in words",
    "reference": "tables with a source for each row, held by packages/tables/test_sources.py",
    "shared": "says how many samples are taken, and nothing of the trade",
    "typing": "is only type-checked",
}
"""Folders with nothing that a source could stand beside."""

OTHER_FILES = {
    "conftest.py": "seconds to wait for a run",
    "fork_server.py": "a mode of a file",
    "test_architecture.py": "the length of a module that DEVELOPERS.md states",
    "test_sources_beside_values.py": "samples of figures without a source",
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
    r"\b(IPC-([A-Z]+-)?\d{3,4}|SMEMA \d|EIA-\d{3}|EIAJ ED-?\d|JESD\d+|JEITA ED-?\d|IEC \d{5}|ISO \d{2,5}|J-STD-\d{3})"
    r"|\[MS-[A-Z]+\] \d\.\d|\b(MO|MS|TO|DO)-\d{3}\b|\bcommit [0-9a-f]{7}|\bdtsheet \d{5}|\bdocument \d{3}|\bhttps?://\w+\.\w"
    r"|\b[A-Z][A-Za-z]+ ([\w/.,-]+ )*?(?=[\w/-]*\d)[\w/-]+( [\w,-]+)* data sheets?\b"
    r"|\bpdf\.datasheet\.\w+ [0-9a-f]{8}\b|\brules/\w+\.toml\b|\b\w+\.csv\b"
    r"|\bfrom memory\b|\bcommon practice, no source\b"
    r"|\b([Ii]nvented|[Dd]efinitions?|[Gg]eometry|[Aa]rithmetic|by hand|[Pp]hysics|international inch)\b"
)
"""A standard or an outline by number, a place, the data sheet of a device, a table, or that there is none."""
FIGURES = re.compile(r"^Figures: (?:.|\n(?!\n))*", re.MULTILINE)
QUANTITY = re.compile(r"\d ?(mm|µm|um|mil|inch|in|m|g|kg|mg|N|s|ms|deg|°|%|per hour|/h)\b(?!\w)")
OWN = re.compile(
    r"\b([Ii]nvented|[Dd]efinitions?|[Gg]eometry|[Aa]rithmetic|by hand|digits of the|that the texts? states?)\b"
)
"""What the line of a whole file may say: that its figures are our own. A source stands beside its value."""
REACHED = re.compile(r"\b([Dd]efinitions?|[Gg]eometry|[Aa]rithmetic|by hand|digits of the|that the texts? states?)\b")
"""What leads to figures of four digits and more; what is only invented is round."""

NAME_OF_THE_TRADE = re.compile(
    r"(?<![A-Za-z\d.])(?<!\d,)([RCLD]?(01005|0201|0402|0603|0805|1206|1210|1812|2010|2512)|1005|1608|2012|3216|3528|6032|7343)"
    r"(?![A-Za-z\d]|\.\d)|(?<![A-Za-z\d])(HT?|T|M|V)?(SOIC|SSOP|SOP|SOJ)-?\d|(?<![A-Za-z\d])[A-Z]{0,2}(QF[NP]|BGA|LGA|DFN|SON|PLCC)-?\d"
    r"|(?<![A-Za-z\d])(SO-?\d+|SM[ABC]|D2?PAK|(Mini|Micro)?MELF)(?![A-Za-z\d])"
    r"|(?<![A-Za-z\d])(SOT|SOD|SC|DO|TO|MO|MS)-?\d{2,}"
    r"|\b(RES|CAP|IND|LED|DIO|FUS)(C|M|MELF)\d{4}X|\b(8|12|16|24|32|44) mm tape"
)
"""A code, an outline or a land pattern that fixes a size outside this project."""

# Definitions of inch, foot, yard, ounce, pound and of a fall; rows that a worksheet holds, from memory.
CONSTANTS = re.compile(
    r"(?<![\d.])(25\.4|0\.0254|39\.37|304\.8|0\.3048|914\.4|645\.16|28\.35|28\.349\d*|453\.\d+|0\.4536|9\.80?6?65|9\.81"
    r"|1048576|1,048,576)(?!\d|\.\d)"
)
"""Figures that are nobody's own, whatever the line of a file says."""

LIMITS = re.compile(r"(?<![\d.])(0\.66|1\.33|1\.67|0\.187|0\.625|0\.635|46\.5)(?!\d|\.\d)")
"""Limits that rules have from a standard, and that nobody would invent."""

NO_SIZE_FOLLOWS = {
    "model/test_topics.py": "package codes fill cells that are found again or missed; no size is asked of them",
    "packages/tables/test_sources.py": "samples of good and bad sources; no body is asked for",
    "packages/test_part_numbers_against_a_second_reader.py": "numbers for two readers to compare; sizes come after",
    "values/test_units.py": "a code among texts that are no quantity; it is refused",
}

COUNTS = frozenset({-1, 0, 1, 2})
SETTINGS = frozenset({"abs", "rel", "max_examples", "deadline", "decimals", "indent"})

NAMELESS = re.compile(
    r"\b(an?|another|the|one) ((component|chip|resistor|semiconductor) )?(maker|assembler|supplier)('s)? "
    r"(data ?sheet|sheet|table|drawing|guideline|note|catalogue)|\bmakers' (\w+ )?(data ?sheets|tables|drawings|notes)"
    r"|\bguidelines?\b|\bhandbook|\btext ?book'?s? (example|figure|value)|\b\w+-management text\b|\bderived:"
    r"|\ba published table|\bformat is published\b|\bis quoted\b|\bquoted (on|since|in the trade)\b"
    r"|\b(industry|trade) rules?\b|\btrade press|\bpublic library's",
    re.IGNORECASE,
)


def figures(node):
    """Return the numbers, and the texts with quantities, of a statement, but for counts and tolerances."""
    if isinstance(node, ast.Constant):
        if isinstance(node.value, str):
            return [node] if QUANTITY.search(node.value) else []
        is_number = isinstance(node.value, int | float) and not isinstance(node.value, bool)
        return [node] if is_number and node.value not in COUNTS else []
    if (isinstance(node, ast.keyword) and node.arg in SETTINGS) or _counts_or_draws(node):
        return []
    return [figure for child in ast.iter_child_nodes(node) for figure in figures(child)]


def _counts_or_draws(node):
    """Places in a list, and what samples are drawn from, state no value."""
    if isinstance(node, ast.Call):
        text = ast.unparse(node.func)
        return text.startswith("st.") or text in {"len", "range", "sample", "sample_of", "sample_size"}
    if isinstance(node, ast.Compare):
        return ast.unparse(node).startswith("len(")
    return isinstance(node, ast.Slice) or (isinstance(node, ast.Subscript) and "parents" in ast.unparse(node.value))


def units_of(tree):
    """Return first and last line of the statements, decorators and rows of tables of a module, the smallest first."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            found += node.decorator_list
        elif isinstance(node, ast.stmt):
            found.append(node)
        elif isinstance(node, ast.List | ast.Tuple | ast.Set):
            found += node.elts
        elif isinstance(node, ast.Dict):
            found += [(key or value, value) for key, value in zip(node.keys, node.values, strict=True)]
    pairs = [unit if isinstance(unit, tuple) else (unit, unit) for unit in found]
    return sorted(((a.lineno, b.end_lineno) for a, b in pairs), key=lambda ends: ends[1] - ends[0])


def lines_with_a_source(source, tree, units):
    """Return the numbers of the lines that a mark speaks for."""
    lines = source.splitlines()
    statements = {min([s.lineno, *(d.lineno for d in getattr(s, "decorator_list", []))]): s for s in tree.body}
    spoken_for = set()
    comments = [t for t in tokenize.generate_tokens(io.StringIO(source).readline) if t.type == tokenize.COMMENT]
    blocks = []
    for comment in comments:
        line, column = comment.start
        if lines[line - 1].lstrip().startswith("#"):
            if blocks and blocks[-1][:2] == (line - 1, column):
                blocks[-1] = (line, column, f"{blocks[-1][2]} {comment.string}")
            else:
                blocks.append((line, column, comment.string))
        elif MARK.search(comment.string):
            first, last = next(ends for ends in units if ends[0] <= line <= ends[1])
            spoken_for |= set(range(first, last + 1))
    for line, column, text in blocks:
        if MARK.search(text):
            other = {block[0] for block in blocks if block[1] == column and block[0] > line}
            below = statements.get(line + 1) if not column else None
            spoken_for |= set(range(line, below.end_lineno + 1)) if below else _below(lines, line, column, other)
    for first, statement in statements.items():
        if isinstance(statement, ast.FunctionDef | ast.ClassDef) and MARK.search(ast.get_docstring(statement) or ""):
            spoken_for |= set(range(first, statement.end_lineno + 1))
    for before, after in pairwise(tree.body):  # a text below a constant explains it
        if (
            isinstance(after, ast.Expr)
            and isinstance(after.value, ast.Constant)
            and MARK.search(str(after.value.value))
        ):
            spoken_for |= set(range(before.lineno, after.end_lineno + 1))
    return spoken_for


def _below(lines, line, column, others):
    """Return the lines under a comment down to the next comment, an empty line, or the end of its block."""
    end = line
    while end < len(lines) and end + 1 not in others:
        text = lines[end]
        if not text.strip() or len(text) - len(text.lstrip()) < column:
            break
        end += 1
    return set(range(line, end + 1))


def digits(value):
    """Return how many digits a number has from its first to its last that is not zero; a text has none of its own."""
    if isinstance(value, str):
        return 0
    return len(f"{abs(value):.12e}".split("e")[0].replace(".", "").rstrip("0"))


def _written(size, text):
    """Whether the digits of a size stand in a text, as they are or in tenths, hundredths or thousandths."""
    scaled = [round(float(abs(size)) * scale, 6) for scale in (10, 100, 1000)]
    forms = {f"{abs(size):g}", f"{abs(size):.1f}", f"{abs(size):.2f}", *(str(int(x)) for x in scaled if x.is_integer())}
    runs = {*re.findall(r"\d+(?:\.\d+)?", text), *re.findall(r"\d+", text)}
    parts = {part for run in runs if len(run) > 3 for end in (2, 3, 4) for part in (run[:end], run[-end:])}
    return bool(forms & (runs | parts))


def unmarked(source, *, names=False, sizes_follow=True):
    """Return line and text of each figure of a test module that has no source where it stands.

    Where *names* become sizes, a file's own line speaks only for what is written in a text of the same row; elsewhere
    it speaks for all but rows that hold a name of the trade, from which *sizes_follow*, figures from outside, and
    figures of more than three digits in a file whose figures are only invented.
    """
    tree = ast.parse(source)
    units = units_of(tree)
    spoken_for = lines_with_a_source(source, tree, units)
    docstring = ast.get_docstring(tree) or ""
    whole = FIGURES.search(docstring)
    own = bool(whole and OWN.search(whole[0]))
    reached = bool(whole and REACHED.search(whole[0]))
    body = tree.body[1:] if docstring else tree.body
    asked = [_without_docstring(node) for node in body if not isinstance(node, ast.Import | ast.ImportFrom)]
    texts = [n for s in asked for n in ast.walk(s) if isinstance(n, ast.Constant) and isinstance(n.value, str)]

    def beside(line):
        first, last = next(ends for ends in units if ends[0] <= line <= ends[1])
        return " ".join(t.value.replace(",", ".") for t in texts if first <= t.lineno <= last)

    def ours(node):
        if (
            CONSTANTS.search(str(node.value))
            or LIMITS.search(str(node.value))
            or not own
            or (digits(node.value) > 3 and not reached)
        ):
            return False
        if not names or isinstance(node.value, str) or abs(node.value) < LEAST_SIZE:
            return True
        return _written(node.value, beside(node.lineno))

    found = {node.lineno: repr(node.value) for s in asked for node in figures(s) if not ours(node)}
    if sizes_follow and not names:
        found |= {t.lineno: repr(t.value) for t in texts if NAME_OF_THE_TRADE.search(t.value)}
    return [f"line {line}: {found[line]}" for line in sorted(found) if line not in spoken_for]


def _without_docstring(node):
    """A sentence that explains is no figure that is tested."""
    body = getattr(node, "body", None)
    if isinstance(body, list) and isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant):
        node.body = body[1:]
    return node


def test_figures_have_their_source_beside_them():
    paths = [
        *(p for p in TESTS.glob("*.py") if p.name not in OTHER_FILES),
        *(p for folder in (*TRADE, *ALL, *CELLS) for p in (TESTS / folder).rglob("*.py")),
    ]
    found = {}
    for path in paths:
        name = path.relative_to(TESTS).as_posix()
        names = name.startswith(NAMES) and name not in INVENTED_BODIES
        follows = name not in NO_SIZE_FOLLOWS and (name.startswith(PLANS) or name.split("/")[0] not in CELLS)
        found[name] = unmarked(path.read_text(encoding="utf-8"), names=names, sizes_follow=follows)
    assert {name: lines for name, lines in found.items() if lines} == {}


def test_constants_from_outside_are_said_to_be_such_in_every_folder():
    found = {path.relative_to(TESTS).as_posix(): unspoken(path) for path in TESTS.rglob("*.py")}
    assert {name: lines for name, lines in found.items() if lines} == {}


def unspoken(path):
    """The lines of a test module that hold a constant from outside which nothing beside it says to be one."""
    source = path.read_text(encoding="utf-8")
    if not CONSTANTS.search(source):
        return []  # taking a module apart is costly
    tree = ast.parse(source)
    spoken_for = lines_with_a_source(source, tree, units_of(tree))
    explanations = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
    constants = [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and id(n) not in explanations]
    held = {n.lineno for n in constants if CONSTANTS.search(str(n.value))}
    docstring = ast.get_docstring(tree) or ""
    defined = CONSTANTS.search(docstring) and OWN.search(docstring)
    return [] if defined or path == Path(__file__) else sorted(held - spoken_for)


def test_the_rated_speed_of_a_machine_in_use_stands_in_one_test_alone():
    """Its figures are read where they stand: 'common practice, no source', and nowhere else, with commas or without."""
    (one,) = (
        p for p in (TESTS / "machines").glob("*.py") if "per hour and m²: common practice" in p.read_text("utf-8")
    )
    (sentence,) = re.findall(
        r'"""(.*per hour and m²: common practice, no source)\."""', one.read_text(encoding="utf-8")
    )
    figures_of_it = [figure.replace(",", ",?") for figure in re.findall(r"\d+,\d{3}", sentence)]
    stated = re.compile(rf"(?<![\d.,])({'|'.join(figures_of_it)})(?![\d.]|,\d)")
    root = TESTS.parent
    files = [path for folder in ("tests", "fixtures", "capcheck", "rules") for path in (root / folder).rglob("*.*")]
    texts = {".py", ".toml", ".csv", ".md", ".txt", ".html"}
    files = [path for path in (*files, *root.glob("*.md")) if path.suffix in texts]
    assert len(figures_of_it) == 4
    assert [p.name for p in files if stated.search(p.read_text(encoding="utf-8"))] == [one.name]


def nameless(source):
    """Return the comments and docstrings of a module that speak of a source without its name, nor of memory."""
    if not NAMELESS.search(source):
        return []  # taking a module apart is costly
    texts = (node.value for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Expr))
    said = [text.value for text in texts if isinstance(text, ast.Constant) and isinstance(text.value, str)]
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    said += [token.string for token in tokens if token.type == tokenize.COMMENT]
    said = [text for text in said if not re.search(r"\bguideline \d+ of\s+rules/guidelines\.csv\b", text)]
    return [text for text in said if NAMELESS.search(text) and not MARK.search(NAMELESS.sub("", text))]


def test_no_test_speaks_of_a_source_without_its_name():
    found = {p.relative_to(TESTS).as_posix(): nameless(p.read_text(encoding="utf-8")) for p in TESTS.rglob("*.py")}
    assert {name: words for name, words in found.items() if words} == {}


def test_nor_does_the_program_but_where_it_is_about_the_numbered_guidelines():
    program = TESTS.parent / "capcheck"
    found = {
        path.relative_to(program).as_posix() for path in program.rglob("*.py") if nameless(path.read_text("utf-8"))
    }
    assert found == {
        "engine/guidelines.py",
        "engine/rules.py",
        "report/reference/__init__.py",
        "report/reference/contents.py",
    }


TABLES = [path for folder in ("capcheck", "rules", "fixtures") for path in (TESTS.parent / folder).rglob("*.toml")]


@pytest.mark.rows("path", sorted(TABLES), ids=lambda p: p.relative_to(TESTS.parent).as_posix())
def test_no_comment_of_a_table_speaks_of_a_source_without_its_name(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    comments = [line for line in lines if line.lstrip().startswith("#")]
    assert [c for c in comments if NAMELESS.search(c) and not MARK.search(NAMELESS.sub("", c))] == []


@pytest.mark.rows(
    ("sample", "noticed"),
    [
        ("# 30 g: industry rule.\n", True),
        ("# 30 g, quoted in the trade.\n", True),
        ("# The format is published.\n", True),
        ("x = 4  # a maker's data sheet\n", True),
        ('def test_a():\n    """An assembler\'s guideline: 1.5 mm."""\n', True),
        ("# Makers' dimension tables.\n", True),
        ("# So it is quoted: 54.\n", True),
        ("# Operations-management text: 91.9 %.\n", True),
        ("# As fiducial guidelines have it.\n", True),
        ("# A maker's table, from memory.\n", False),
        ("# Royalohm chip resistor data sheet, pdf.datasheet.directory e8e41e5f.\n", False),
    ],
)
def test_a_source_without_its_name_is_noticed(sample, noticed):
    assert bool(nameless(sample)) is noticed


LIBRARY_LIKE = re.compile(
    r"\d{4}Metric\b|_P\d+\.\d+mm|-\dEP_|_(Vertical|Horizontal)\b|[Hh]and_?[Ss]older(?!ed)_?\d"
    r"|(?<![A-Za-z])(TestPoint|SolderJumper|MountingHole|NetTie|Fiducial)_\w|_Layout\d|_(Array|Elec)_|_SMD_\d{4}|_THTPad"
    r"|[LW]\d+\.\d+-[LW]\d+\.\d|-LS\d|-P\d\.\d+-\D|-(BL|TL|RD)\b(?=\")|_Pad\d|\d_Convex|\d_Concave"
    r"|USB_(C|Micro|Mini|A|B)[_-]([A-Z]|Rec|Plug)|SW_(SPST|SPDT|DIP|DPDT|Push|Rotary)|_Pitch\d|RJ45_\dx|BatteryHolder_|[a-z]_Jack_"
    r"|(?<![A-Za-z])(JST|Molex|PhoenixContact|Amphenol|TerminalBlock|CP_Radial|LED_D|D_DO-|Crystal_[A-Z]|Relay_[A-Z])_?[A-Z\d]"
)
"""How names of footprints in public libraries are put together."""


def test_three_tests_at_most_hold_a_name_of_a_public_library_and_say_where_it_was_seen():
    root = TESTS.parent
    files = [path for folder in ("tests", "fixtures", "capcheck", "rules") for path in (root / folder).rglob("*.*")]
    files = [path for path in files if path.suffix in {".py", ".csv", ".toml", ".json", ".txt"}]
    lines = [
        (path.relative_to(root).as_posix(), line)
        for path in sorted([*files, *root.glob("*.md")])
        for line in path.read_text(encoding="utf-8").splitlines()
        if LIBRARY_LIKE.search(line) and path != Path(__file__)
    ]
    assert [line for line in lines if "seen in public board files" not in line[1]] == []
    assert all(name.startswith("tests/") for name, _ in lines)
    assert len({name for name, _ in lines}) == len(lines) <= 3


@pytest.mark.rows(
    "name",
    [
        "R_0402_1005Metric",
        "SOP-8_L4.9-W3.9-P1.27-LS6.0-BL",
        "TestPoint_Pad_D1.5mm",
        "MountingHole_3.2mm_M3",
        "R_Array_Convex_4x0402",
        "CP_Elec_6.3x7.7",
        "USB_C_Receptacle",
        "SW_SPST_6x6mm",
        "LED_D5.0mm",
    ],
)
def test_a_name_as_public_libraries_have_it_is_noticed(name):
    assert LIBRARY_LIKE.search(name)


def test_each_folder_of_tests_is_of_the_trade_or_stands_apart_with_a_reason():
    folders = {path.name for path in TESTS.iterdir() if path.is_dir() and not path.name.startswith("__")}
    kinds = (*TRADE, *ALL, *CELLS, *OTHERS)
    assert folders == set(kinds)
    assert len(kinds) == len(folders)
    assert all(len(reason.split()) > 2 for reason in (*CELLS.values(), *OTHERS.values(), *OTHER_FILES.values()))


@pytest.mark.rows(
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
        ('"""Tapes.\n\nFigures: EIA-481-D table 2.\n"""\ndef test_a():\n    assert tape == 12\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert tape == 12\n', False),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert tape("SO-8") == 12\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert tape("C,0603,1") == 8\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert mil(1000) == 25.4\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert mil(1000) == 25.4  # by definition\n', False),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert foot(1) == 304.8\n', True),
        ('"""Tapes.\n\nFigures: sums by hand.\n"""\ndef test_a():\n    assert ounce(1) == 28.35\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert pocket == 12.34\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert cpk == 1.33\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert cpk == 1.33  # rules/accuracy.toml\n', False),
        ('"""Tapes.\n\nFigures: invented, sums by hand.\n"""\ndef test_a():\n    assert pocket == 12.34\n', False),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert floor == 31000\n', False),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert tape("R_0805") == 8\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert tape("C0603") == 8\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert tape("D_SMA") == 12\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert tape("TANT_7343") == 12\n', True),
        ('"""Tapes.\n\nFigures: invented.\n"""\ndef test_a():\n    assert tape("our_SOIC-8") == 12\n', True),
        ("def test_a():\n    assert width == 8.3  # IPC\n", True),
        ("def test_a():\n    assert width == 8.3  # ISO, JEDEC\n", True),
        ("def test_a():\n    assert width == 8.3  # data sheet\n", True),
        ("def test_a():\n    assert width == 8.3  # TI data sheet\n", True),
        ("def test_a():\n    assert width == 8.3  # in reference/\n", True),
        ("def test_a():\n    assert width == 8.3  # Yageo RC_L data sheet\n", True),
        ("def test_a():\n    assert width == 8.3  # Yageo RC0402 data sheet\n", False),
        ("def test_a():\n    assert width == 8.3  # EIA-481\n", False),
        ("def test_a():\n    assert a == 8.3  # EIA-481\n    assert b == 9.3\n", True),
        ("A = [\n    # From memory.\n    8.3,\n    # Seen somewhere.\n    9.3,\n]\n", True),
        ("A = [\n    8.3,\n    # From memory.\n    9.3,\n]\n", True),
        ("A = [\n    8.3,  # EIA-481\n    9.3,\n]\n", True),
        ("A = [\n    # from memory\n    8.3,\n    9.3,\n]\n", False),
        ("A = [  # from memory\n    8.3,\n    9.3,\n]\n", False),
        ("def test_a():\n    assert count == 2\n    assert near(a, b, abs=1e-9)\n", False),
        ('def test_a():\n    """The 8 mm tape."""\n    assert names == ["a"]\n', False),
    ],
)
def test_a_figure_without_a_source_is_noticed(sample, noticed):
    assert bool(unmarked(sample)) is noticed


@pytest.mark.rows(
    ("test", "noticed"),
    [
        ('assert size("R_0603") == 1.6', True),
        ('assert size("SOIC-8") == 3.9', True),
        ('assert size("C1608") == 1.6', False),
        ('assert size("5,0x3,2mm") == 3.2', False),
        ('assert size("SOP65P640X120") == 6.4', False),
        ('assert size("R_0603") == 1.6  # IPC-7351B', False),
        ('assert size("R_0603") == near(1, 0.02)', False),
        ('assert [size(x) for x in ("C1608", "SO8")] == 4.9', True),
        ('assert pins("QFP-44") == 44', False),
        ('assert pins("QFN-33") == 32', True),
    ],
)
def test_where_names_become_sizes_one_sentence_does_not_speak_for_all(test, noticed):
    sample = (
        f'"""Names.\n\nFigures: sizes are the digits of the name, else from memory.\n"""\n\ndef test_a():\n    {test}\n'
    )
    assert bool(unmarked(sample, names=True)) is noticed
