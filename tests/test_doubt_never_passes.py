"""Over the whole way, from files to verdict: less known, or more doubted, never makes a pass of what was none.

The boards are of parts whose names say nothing, so that what the columns state is all there is: a cell that is dropped
leaves its size unknown and not to be read from a name. A rule that asks only ``when`` a fact is known may fall silent,
but then the part has another finding. By hand, for many examples: ``EXAMPLES=20000 pytest`` this file.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import os
import tempfile
import tomllib
from pathlib import Path

import ezdxf
import pytest
from depth import sample_size
from hypothesis import example, given, settings, strategies as st

from capcheck import check
from capcheck.values.errors import InputError

PLACED = ["Ref", "X [mm]", "Y [mm]", "Rotation", "Side", "Value", "Footprint"]
LISTED = ["Ref", "Part number", "Qty", "Length [mm]", "Width [mm]", "Height [mm]", "Mass [g]", "Mounting", "Note"]
SIZES = range(3, 7)
ASKED_WHEN_KNOWN = frozenset(
    rule["id"]
    for file in (Path(__file__).parent.parent / "rules").glob("*.toml")
    for rule in tomllib.loads(file.read_text(encoding="utf-8"))["rule"]
    if "is_known" in rule.get("when", "")
)
"""Rules that are not asked where a fact is unknown: that it is, another rule tells."""
MACHINE = """name = "M"
[board]
min_length = "20 mm"
max_length = "120 mm"
min_width = "20 mm"
max_width = "100 mm"
min_thickness = "0.5 mm"
max_thickness = "2 mm"
max_mass = "1 kg"
edge_clearance_top = "3 mm"
edge_clearance_bottom = "3 mm"
underside_clearance = "15 mm"
top_clearance = "15 mm"
[[head]]
name = "H"
nozzles = 1
smallest_chip = "1005M"
max_body_length = "20 mm"
max_body_width = "15 mm"
max_part_height = "10 mm"
max_part_mass = "5 g"
min_lead_pitch = "0.4 mm"
supplies = ["tape", "tray"]
"""


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop")
    (folder / "m.machine.toml").write_text(MACHINE)
    (folder / "l.line.toml").write_text('name = "L"\nmachines = ["m.machine.toml"]\n')
    outline, space = ezdxf.new("R2010"), None  # a version of DXF by definition, no size
    outline.header["$INSUNITS"] = 4
    space = outline.modelspace()
    space.add_lwpolyline([(0, 0), (100, 0), (100, 80), (0, 80)], close=True)
    outline.saveas(folder / "outline.dxf")
    return folder


near = st.sampled_from
parts = st.lists(
    st.tuples(
        st.integers(0, 24),  # where: five by five places
        near(["top", "top", "bottom"]),
        near([0, 45, 90, 180]),
        near(["0.8", "1.6", "6", "19.9", "20", "20.1", "25"]),
        near(["0.5", "0.8", "5", "14.9", "15.1"]),
        near(["0.4", "1.2", "9.9", "10", "10.1", "12", "20"]),
        near(["0.01", "4.9", "5", "6"]),
    ),
    min_size=2,
    max_size=5,
    unique_by=lambda part: part[0],
)
SETTLING = ({"surplus", "shift"}, {"contradict", "drop"}, {"another line", "drop"}, {"second list", "drop placed"})
"""Of these two the second takes back the first: a cell too many and one too few, a source and what contradicts it."""
changes = st.lists(
    st.one_of(
        st.tuples(st.just("drop"), st.integers(0, 9), st.integers(1, 8)),
        st.tuples(st.just("drop placed"), st.integers(0, 9), st.integers(3, 6)),
        st.tuples(st.just("widen"), st.integers(0, 9), near(list(SIZES))),
        st.tuples(st.just("at most"), st.integers(0, 9), near(list(SIZES))),
        st.tuples(st.just("thousands"), st.integers(0, 9), near(list(SIZES))),
        st.tuples(st.just("contradict"), st.integers(0, 9), near(list(SIZES))),
        st.tuples(st.just("shift"), st.integers(0, 9), st.integers(1, 8)),
        st.tuples(st.just("surplus"), st.integers(0, 9), st.integers(1, 8)),
        st.tuples(st.just("second list"), st.integers(0, 9), st.integers(1, 4)),
        st.tuples(st.just("another line"), st.integers(0, 9), near(list(SIZES))),
    ),
    min_size=1,
    max_size=2,
).filter(lambda steps: not any(pair <= {kind for kind, *_ in steps} for pair in SETTLING))


def tables(board):
    placed = [PLACED]
    listed = [LISTED]
    for number, (at, side, turn, length, width, height, mass) in enumerate(board, 1):
        x, y = 10 + 20 * (at % 5), 10 + 15 * (at // 5)
        placed.append([f"U{number}", f"{x}", f"{y}", f"{turn}", side, "V", f"XQ{number}"])
        listed.append([f"U{number}", f"QX-{number}W", "1", length, width, height, mass, "SMD", "n"])
    return placed, listed


def with_line_changed(cells, kind, column):
    """Return a line of the bill of materials with one cell less known, or with a cell too few or too many."""
    cell = cells[column]
    written = {
        "drop": "",
        "widen": f"{cell} ± 30%" if cell else "",
        "at most": f"max {cell}" if cell else "",
        "thousands": f"{cell},000" if cell.isdigit() else cell,
    }
    between = {"shift": [], "surplus": ["1", cell]}.get(kind, [written.get(kind, cell)])
    return [*cells[:column], *between, *cells[column + 1 :]]


def changed(placed, listed, change):
    """Return the tables with one thing less known or more doubted, and a second placement list or None."""
    kind, row, column = change
    placed, listed = [list(r) for r in placed], [list(r) for r in listed]
    at = 1 + row % (len(placed) - 1)
    second = None
    if kind == "drop placed":
        placed[at][column] = ""
    elif kind == "contradict" and LISTED[column] not in placed[0]:
        for number, cells in enumerate(placed):
            cells.append("1" if number else LISTED[column])
    elif kind == "second list":
        second = [list(r) for r in placed]
        second[at][column] = {1: "47", 2: "33", 3: "30", 4: "bottom" if placed[at][4] == "top" else "top"}[column]
    elif kind == "another line":
        listed.append([*listed[at]])
        listed[-1][min(column, len(listed[-1]) - 1)] = "1"
    elif column < len(listed[at]):
        listed[at] = with_line_changed(listed[at], kind, column)
    return placed, listed, second


def answers(shop, placed, listed, second):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)

        def write(file, rows):
            quoted = [",".join(f'"{c}"' if "," in c else c for c in row) for row in rows]
            (folder / file).write_text("\n".join(quoted) + "\n")

        write("placements.csv", placed)
        write("bom.csv", listed)
        (folder / "board.toml").write_text('bom = "bom.csv"\nthickness = "1.6 mm"\noutline = "outline.dxf"\n')
        (folder / "outline.dxf").write_bytes((shop / "outline.dxf").read_bytes())
        if second:
            write("second.csv", second)
        report = check(folder, line=shop / "l.line.toml")
    refs = {ref for ref, part in zip(report.board.placements.ref, report.board.placements.is_part, strict=True) if part}
    return {(f.rule, f.subject.ref, f.subject.machine, f.subject.side) for f in report.findings}, refs, report


def lost_findings(before, after, refs):
    """Return what was no pass of a part before and is one now, and the parts that have no finding left."""
    lost = {(rule, ref) for rule, ref, *_ in before - after if ref in refs and rule not in ASKED_WHEN_KNOWN}
    silent = {ref for _, ref, *_ in before if ref in refs} - {ref for _, ref, *_ in after}
    return lost, silent


@settings(max_examples=int(os.environ.get("EXAMPLES", sample_size(15))))
@given(parts, changes)
@example(
    board=[(0, "top", 0, "0.8", "0.5", "0.4", "0.01"), (1, "top", 0, "0.8", "0.5", "1.2", "0.01")],
    steps=[("shift", 0, 1), ("shift", 1, 1)],
)
def test_less_known_or_more_doubted_never_makes_a_pass(shop, board, steps):
    placed, listed = tables(board)
    before, refs, first = answers(shop, placed, listed, None)
    second = None
    for step in steps:
        placed, listed, another = changed(placed, listed, step)
        second = another or second
    try:
        after, _, report = answers(shop, placed, listed, second)
    except InputError:
        return  # refused: nothing passes
    assert lost_findings(before, after, refs) == (set(), set())
    assert first.verdict == "pass" or report.verdict != "pass"
