"""Each topic arises in a package that a customer may send, and whoever depends on it notices where it is another.

A case is the smallest package that yields its topic. What depends on the topic must hold for the board as read, and
must not hold once the topic is exchanged for another one: so no topic can be renamed, or compared wrongly, unseen.

Figures: what the tests write is invented.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import pytest
from msgspec.structs import replace

from capcheck.checking.answer import check_board
from capcheck.checking.read import read_board
from capcheck.facts import FACTS, Session
from capcheck.intake import read
from capcheck.model import Board, Decision, Side, Topic
from capcheck.report.questions import questions
from capcheck.shop import Choice, chosen_rules

PLACED = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n"
LISTED = "References,Value,Package,Quantity,Part number\n"
TWO = PLACED + "R1,10k,0603,10,20,0,top\nR2,10k,0603,30,40,0,top\n"
BOM = LISTED + '"R1,R2",10k,0603,2,PN-1\n'
MM, METRE = 4, 6
"""Codes of a drawing's unit in its header (DXF reference, INSUNITS)."""


def box(left: float, low: float, right: float, high: float):
    return [(left, low), (right, low), (right, high), (left, high)]


BOX = box(0, 0, 100, 60)


def drawing(*contours, units=MM, layers=("outline",), texts=()):
    """Return a drawing as text: contours by their corners, each on its layer."""
    import ezdxf

    document = ezdxf.new(units=units)
    for corners, layer in zip(contours, layers * len(contours), strict=False):
        document.modelspace().add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})
    for text in texts:
        document.modelspace().add_text(text, dxfattribs={"layer": "notes", "insert": (0, -20)})
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue()


def placed(places: Sequence[tuple[float, float, str]], header=PLACED):
    """Return a placement file of parts at *places*, each with its side."""
    return header + "".join(f"R{k},10k,0603,{x},{y},0,{side}\n" for k, (x, y, side) in enumerate(places, 1))


def certain(board: Board, side: Side) -> bool:
    """Whether the facts know where the parts of one side lie on the outline, as distances to edges need it."""
    placements = board.placements
    known = Session(FACTS, board).get("part.in_frame").yes
    rows = placements.side[placements.is_part] == side
    assert rows.any()
    return bool(known[rows].all())


def finds(rule: str) -> Callable[[Board], bool]:
    """Return whether a rule that ships has a finding on a board."""
    return lambda board: bool(check_board(board, None, chosen_rules(Choice(select=(rule,)))).findings)


def asks_which(topic: Topic) -> Callable[[Board], bool]:
    """Return whether the report says that two readings remain for a topic."""

    def asks(board: Board) -> bool:
        report = check_board(board, None, chosen_rules(Choice(select=("inferred-settled",))))
        return any(f.message == f"two readings remain for: {topic.value}" for f in report.findings)

    return asks


def holds_back(*sides: Side) -> Callable[[Board], bool]:
    """Return whether the places on *sides* are uncertain and those on the other side, if any part is there, are not."""

    def uncertain(board: Board) -> bool:
        used = {Side(code) for code in board.placements.side[board.placements.is_part].tolist()}
        return {side for side in used if not certain(board, side)} == set(sides)

    return uncertain


class Case(NamedTuple):
    """A customer's package, and what depends on the topic that it yields."""

    files: Mapping[str, str]
    depends: tuple[Callable[[Board], bool], ...] = ()
    open: bool = False
    """Whether the decision on the topic is a guess."""
    found: bool = False
    """Whether the files are found by content; else they are named."""


def two(bom, placements=TWO):
    return {"placements.csv": placements, "bom.csv": bom}


def _pair(ref, x_mm, y_mm):
    """Return two records of a netlist, a millimetre on each side of a place."""
    return "".join(
        f"327NET              {ref:<6}-{pin:<4}       A01X{1000 * (x_mm + at):+07d}Y{1000 * y_mm:+07d}\n"
        for pin, at in (("1", -1), ("2", 1))
    )


def asked(files, rule, *, found=False):
    return Case(files, (finds(rule),), found=found)


EIGHT = [(x, y, side) for side, y in (("top", -10), ("bottom", 10)) for x in (-20, -5, 5, 20)]
GRID = [(5 + 10 * i, 5 + 10 * k, "top") for i in range(10) for k in range(6)]
CASES: dict[Topic, Case] = {
    Topic.UNIT: Case(
        {"placements.csv": "Ref,X,Y,Rotation,Side\nR1,2,3,0,top\n"},
        (asks_which(Topic.UNIT), lambda board: not board.unit_settled),
        open=True,
    ),
    Topic.SIDE: Case(
        {"placements.csv": "Ref,X (mm),Y (mm),Rotation\nR1,10,20,0\nR2,30,40,0\n"}, (asks_which(Topic.SIDE),), open=True
    ),
    Topic.BOTTOM_SIDE: Case(
        {"placements.csv": placed(EIGHT), "outline.dxf": drawing(box(-25, -15, 25, 15))},
        (asks_which(Topic.BOTTOM_SIDE), holds_back(Side.BOTTOM)),
        open=True,
    ),
    Topic.ORIGIN: Case(
        {
            "placements.csv": placed([(x / 4, y / 8, side) for x, y, side in GRID]),
            "outline.dxf": drawing(box(500, 500, 600, 580)),
        },
        (asks_which(Topic.ORIGIN), holds_back(Side.TOP)),
        open=True,
    ),
    Topic.Y_AXIS: Case(
        {
            "placements.csv": placed([(x, -y, side) for x, y, side in GRID if x < 60 or y < 30]),
            "outline.dxf": drawing([(0, 0), (100, 0), (100, 30), (60, 30), (60, 60), (0, 60)]),
        }
    ),
    Topic.ROTATION: Case(
        {
            "placements.csv": "Ref,X mm,Y mm,Rotation,Side\n"
            "R1,1,2,1.5708,top\nR2,4,5,3.1416,top\nR3,7,9,0,top\nR4,12,5,4.712,top\n"
        }
    ),
    Topic.PANEL: Case(
        {
            "placements.csv": PLACED
            + "".join(
                f"R{k},10k,0603,{50 * circuit + 7 * k},{3 * k * k},0,top\n" for circuit in range(3) for k in range(1, 6)
            )
        }
    ),
    Topic.VARIANT: Case(
        two("References,Value,Part number,Qty basic,Qty full\nR1,1k,PN-1,1,1\nR2,2k,PN-2,0,1\n"),
        (asks_which(Topic.VARIANT),),
        open=True,
    ),
    Topic.PART_NUMBER: Case(two("References,Value,Mfr part number,Part number\nR1,1k,PN-1,9901\nR2,2k,PN-2,9902\n")),
    Topic.PLACEMENTS: Case(
        {"placements.csv": TWO, "other.csv": TWO.replace("30,40", "35,45")},
        (asks_which(Topic.PLACEMENTS),),
        open=True,
        found=True,
    ),
    Topic.BOM: Case(
        {**two(BOM), "other.csv": BOM.replace("PN-1", "PN-2")}, (asks_which(Topic.BOM),), open=True, found=True
    ),
    Topic.OUTLINE: Case(
        {"placements.csv": TWO, "a.dxf": drawing(BOX), "b.dxf": drawing(BOX)},
        (asks_which(Topic.OUTLINE),),
        open=True,
        found=True,
    ),
    Topic.OUTLINE_UNIT: Case(
        {"placements.csv": TWO, "outline.dxf": drawing(BOX, units=METRE)},
        (asks_which(Topic.OUTLINE_UNIT), holds_back(Side.TOP)),
        open=True,
    ),
    Topic.OUTLINE_CONTOUR: Case(
        {
            "placements.csv": TWO,
            "outline.dxf": drawing(BOX, box(-5, -5, 105, 65), layers=("one", "two")),
        },
        (asks_which(Topic.OUTLINE_CONTOUR), holds_back(Side.TOP)),
        open=True,
    ),
    Topic.DRAWN_INSIDE: asked(
        {"placements.csv": TWO, "outline.dxf": drawing(BOX, box(40, 20, 60, 30), layers=("outline", "sketch"))},
        "drawing-understood",
    ),
    Topic.STATED_IN_DRAWING: asked(
        {
            "placements.csv": TWO,
            "outline.dxf": drawing(BOX, texts=("board thickness 0.8 mm",)),
            "board.toml": 'thickness = "1.6 mm"\n',
        },
        "drawing-agrees",
        found=True,
    ),
    Topic.SIDE_UNKNOWN: Case({"placements.csv": "Ref,X (mm),Y (mm),Rotation\nR1,10,20,0\nR2,30,40,0\n"}),
    Topic.NO_POSITION: Case({"placements.csv": TWO + "R3,10k,0603,,,0,top\n"}),
    Topic.PART_OR_NOT: asked(
        two(BOM + "DS1,graphic LCD 128x64,,1,PN-D\n", TWO + "DS1,graphic LCD 128x64,,50,40,0,top\n"),
        "part-or-feature",
    ),
    Topic.NOT_IN_BOM: asked(two(LISTED + "R1,10k,0603,1,PN-1\n"), "in-bom"),
    Topic.NOT_PLACED: asked(two(BOM + "J1,,,1,PN-J\n"), "in-placements"),
    Topic.FITTED_OR_NOT: asked(
        two(
            "References,Value,Part number,Fitted\nR1,10k,PN-1,yes\nR2,10k,PN-1,no\n",
            "Ref,Value,X (mm),Y (mm),Rotation,Side,Fitted\nR1,10k,1,2,0,top,no\nR2,10k,4,2,0,top,no\n",
        ),
        "fitted-by-both",
    ),
    Topic.FITTED_AGAINST_A_TEXT: asked(
        two("References,Value,Part number,Fitted\nR1,10k,PN-1,yes\nR2,11k DNF,PN-2,yes\n"), "fitted-as-described"
    ),
    Topic.ON_TWO_BOM_LINES: asked(two(BOM + "R2,11k,0603,1,PN-2\n"), "on-one-bom-line"),
    Topic.QUANTITY: asked(two(BOM.replace(",2,", ",3,")), "quantity-matches"),
    Topic.QUANTITY_OF_THE_ORDER: asked(
        two(
            LISTED + "R1,10k,0603,10,PN-1\nR2,11k,0603,10,PN-2\nR3,12k,0603,10,PN-3\n",
            TWO + "R3,12k,0603,50,40,0,top\n",
        ),
        "quantity-of-order",
    ),
    Topic.ROW_IN_QUESTION: asked(two(BOM + "Option parts:\nR3,12k,0603,1,PN-3\n"), "every-row-counts"),
    Topic.BY_HAND: asked(two(BOM.replace("10k", "10k solder by hand")), "machine-or-hand"),
    Topic.LEFT_OUT: asked({"placements.csv": TWO + "#R3,10k,0603,50,40,0,top\n"}, "no-row-left-out"),
    Topic.NO_REFERENCE: asked(two(BOM + ",,,1,PN-7\n"), "reference-on-every-line"),
    Topic.AGAINST_LANDS: asked(
        {
            "placements.csv": PLACED + "".join(f"R{i},10k,0603,{9 * i},{5 * i},0,top\n" for i in range(1, 7)),
            "lands.txt": "P  UNITS CUST 1\n" + "".join(_pair(f"R{i}", 9 * i + (i == 6), 5 * i) for i in range(1, 7)),
        },
        "parts-on-their-lands",
        found=True,
    ),
    Topic.ONE_SPOT: asked({"placements.csv": TWO.replace("30,40", "10,20")}, "one-part-a-spot"),
    Topic.ONE_REFERENCE_TWICE: asked({"placements.csv": TWO + "R2,10k,0603,30,40,0,top\n"}, "one-row-a-reference"),
    Topic.NOT_ANNOTATED: asked(
        {"placements.csv": TWO + "R?,10k,0603,50,40,0,top\nR?,10k,0603,60,40,0,top\n"}, "references-named"
    ),
    Topic.NO_PART_NUMBER: asked(two(LISTED + "R1,10k,0603,1,PN-1\nR2,11k,0603,1,\n"), "part-number-given"),
    Topic.GENERIC_PART_NUMBER: asked(
        two(LISTED + "R1,10k,0603,1,PN-1\nR2,11k,0603,1,11k 0603\n"), "part-number-specific"
    ),
    Topic.DAMAGED_PART_NUMBER: asked(two(BOM.replace("PN-1", "1E-05")), "part-number-whole"),
    Topic.DAMAGED_PACKAGE: asked(two(BOM.replace("0603", "603")), "package-whole"),
    Topic.TWO_FOOTPRINTS: asked(two(BOM, TWO.replace("R2,10k,0603", "R2,10k,0805")), "one-footprint-a-number"),
    Topic.SEVERAL_NUMBERS: asked(two(LISTED + "R1,10k,0603,1,PN-1\nR2,10k,0603,1,PN-2\n"), "one-number-a-value"),
    Topic.TWO_VALUES: asked(two(BOM.replace("10k", "4k7")), "values-agree"),
    Topic.SIZE_UNIT: Case(
        two(BOM.replace("Part number", "Height").replace("PN-1", "0.5")), (asks_which(Topic.SIZE_UNIT),), open=True
    ),
    Topic.REVISION: asked({"placements_revA.csv": TWO, "bom_revB.csv": BOM}, "one-revision"),
}
ELSEWHERE = {Topic.ORIENTATION_X, Topic.ORIENTATION_Y, Topic.LAYERS, Topic.STATED_ELSEWHERE, Topic.THICKNESS}
"""Topics of what is worked out from bodies, layers, other boards or the shop's habits, after the files are read."""
EVERY = pytest.mark.parametrize("topic", CASES)


@pytest.fixture
def board_of(tmp_path):
    """Return a function that writes a case's files and reads them."""

    def make(case: Case) -> Board:
        for name, text in case.files.items():
            (tmp_path / name).write_text(text)
        if case.found:
            return read_board(tmp_path)
        given = {
            role: [tmp_path / name for name in case.files if name.startswith(role)]
            for role in ("placements", "bom", "outline")
        }
        (bom, outline) = (next(iter(given[role]), None) for role in ("bom", "outline"))
        return read_board(placements=given["placements"], bom=bom, outline=outline)

    return make


def topics_of(board: Board) -> set[Topic]:
    return {record.topic for record in (*board.decisions, *board.discrepancies)}


def other_than(topic: Topic) -> Topic:
    return Topic.PANEL if topic is not Topic.PANEL else Topic.VARIANT


def exchanged(records, topic):
    return [replace(r, topic=other_than(topic)) if r.topic is topic else r for r in records]


def test_topics_are_called_what_reports_and_rules_call_them():
    """A shop's own rules compare ``data.kind`` with these names, and readers of the JSON look for them."""
    assert "; ".join(Topic) == (
        "unit; side; bottom side; origin; y axis; rotation; panel; variant; part number; placements; BOM; outline; "
        "outline unit; outline contour; drawn inside the contour; stated in the drawing; orientation along x; "
        "orientation along y; unit of sizes; side unknown; no position; part or not; not in BOM; not placed; "
        "fitted or not; fitted against a text; on two BOM lines; row in question; by hand; row left out; no "
        "reference; quantity; quantity of the order; layers; against its lands; one spot; one reference twice; not "
        "annotated; no part number; generic part number; damaged part number; damaged package; one number, two "
        "footprints; one value, several numbers; two values; revision; thickness; stated otherwise for another "
        "board"
    )


def test_every_topic_has_a_case():
    assert set(CASES) | ELSEWHERE == set(Topic)


@EVERY
def test_each_topic_arises_and_is_noticed(topic, board_of):
    case = CASES[topic]
    board = board_of(case)
    assert topic in topics_of(board)
    assert any(d.open for d in board.decisions if d.topic is topic) is case.open
    assert [bool(depends(board)) for depends in case.depends] == [True] * len(case.depends)


@EVERY
def test_whoever_depends_on_a_topic_notices_that_it_is_another(topic, board_of, monkeypatch):
    case = CASES[topic]
    decide = read._decisions
    monkeypatch.setattr(read, "_decisions", lambda *given: exchanged(decide(*given), topic))
    board = board_of(case)
    board = replace(board, discrepancies=exchanged(board.discrepancies, topic))
    assert topic not in topics_of(board)
    assert not any(depends(board) for depends in case.depends)


HOLDS_BACK = {
    Topic.OUTLINE_UNIT: {Side.TOP, Side.BOTTOM},
    Topic.OUTLINE_CONTOUR: {Side.TOP, Side.BOTTOM},
    Topic.ORIGIN: {Side.TOP, Side.BOTTOM},
    Topic.Y_AXIS: {Side.TOP, Side.BOTTOM},
    Topic.BOTTOM_SIDE: {Side.BOTTOM},
}
"""The sides on which places are uncertain while the decision on a topic is open."""


@pytest.mark.parametrize("topic", Topic)
def test_an_open_decision_holds_back_the_places_that_depend_on_it_and_no_others(topic, board_of):
    both = [(x, y, "top" if x < 50 else "bottom") for x, y, _ in GRID]
    board = board_of(Case({"placements.csv": placed(both), "outline.dxf": drawing(BOX)}))
    settled = [d for d in board.decisions if not d.open]
    guess = Decision(topic, "one reading", "some evidence", "another reading", open=True)
    assert holds_back()(replace(board, decisions=settled))
    assert holds_back(*HOLDS_BACK.get(topic, ()))(replace(board, decisions=[*settled, guess]))


@pytest.mark.parametrize("topic", [Topic.PLACEMENTS, Topic.BOM, Topic.OUTLINE])
@pytest.mark.parametrize("other", ["", "another reading"])
def test_which_file_is_which_is_asked_only_where_another_may_be_meant(topic, other, board_of):
    board = board_of(Case({"placements.csv": TWO}))
    settled = Decision(topic, "the one reading", "some evidence", runner_up=other)
    report = check_board(replace(board, decisions=[settled]), None, [])
    asked = [q.key for q in questions(report) if q.key.startswith("which-file")]
    assert len(asked) == (1 if other else 0)
