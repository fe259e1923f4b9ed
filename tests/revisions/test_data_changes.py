"""What is told of two revisions is what was changed between them, and nothing else. Figures: invented.

Figures: invented.
"""

import csv
import io

import pytest
import xlsxwriter
from depth import sample_size
from hypothesis import given, settings, strategies as st

from capcheck import read_board
from capcheck.revisions import Change, data_changes

HEADER = ["Ref", "X [mm]", "Y [mm]", "Rotation", "Side", "Value", "Footprint"]
BOM_HEADER = ["References", "Part number", "Value", "Fitted"]
GRID_MM = 10


class Part:
    """One part of an invented board, on a grid so wide that no move of this test reaches a neighbour."""

    def __init__(self, number):
        self.ref = f"R{number}"
        self.x, self.y = GRID_MM * (number % 5) + 5.0, GRID_MM * (number // 5) + 5.0
        self.rotation, self.side = 90 * (number % 3), "top" if number % 4 else "bottom"
        self.number, self.value, self.fitted = f"W-{31000 + number % 6}", f"{number % 6 + 1}k", "yes"


def tables(parts, shift=(0.0, 0.0)):
    placed = [
        [p.ref, f"{p.x + shift[0]:.3f}", f"{p.y + shift[1]:.3f}", str(p.rotation), p.side, p.value, "RES 1608M"]
        for p in parts
    ]
    return [HEADER, *placed], [BOM_HEADER, *([p.ref, p.number, p.value, p.fitted] for p in parts)]


def text(rows):
    file = io.StringIO()
    csv.writer(file, lineterminator="\n").writerows(rows)
    return file.getvalue()


def written(folder, placed, bom, *, book=False):
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in (("placements", placed), ("bom", bom)):
        if book:
            with xlsxwriter.Workbook(folder / f"{name}.xlsx") as file:
                sheet = file.add_worksheet()
                for number, row in enumerate(rows):
                    sheet.write_row(number, 0, row)
        else:
            (folder / f"{name}.csv").write_text(text(rows))
    return read_board(folder)


def told(old, new):
    found = data_changes(old, new)
    return {(part.row.ref, *sorted(part.changes)) for part in found.parts}, found


EDITS = ("removed", "moved", "turned", "side", "number", "value", "fitted", "renumbered")


@settings(max_examples=sample_size(30))
@given(
    edits=st.dictionaries(st.integers(0, 24), st.sampled_from(EDITS), max_size=8),
    added=st.integers(0, 3),
    shift=st.sampled_from([(0.0, 0.0), (25.0, -3.0), (-100.0, 0.5)]),
    move=st.sampled_from([(0.05, 0.0), (-1.5, 2.0), (0.0, 3.0)]),
    turn=st.sampled_from([90, 180, 270, 45]),
)
def test_random_changes_give_exactly_those_changes(tmp_path_factory, edits, added, shift, move, turn):
    folder = tmp_path_factory.mktemp("revisions")
    before = [Part(number) for number in range(25)]
    old = written(folder / "old", *tables(before))
    after, expected = [], set()
    for number in range(25):
        part, edit = Part(number), edits.get(number)
        name = part.ref
        if edit == "removed":
            expected.add((name, "removed"))
            continue
        if edit == "moved":
            part.x, part.y = part.x + move[0], part.y + move[1]
        elif edit == "turned":
            part.rotation = (part.rotation + turn) % 360
        elif edit == "side":
            part.side = "bottom" if part.side == "top" else "top"
        elif edit == "number":
            part.number = "W-39999"
        elif edit == "value":
            part.value = "47k"
        elif edit == "fitted":
            part.fitted = "no"
        elif edit == "renumbered":
            part.ref = name = f"R{number + 500}"
        if edit:
            expected.add((name, "part number" if edit == "number" else edit))
        after.append(part)
    for number in range(60, 60 + added):
        after.append(Part(number))
        expected.add((f"R{number}", "added"))
    found, changes = told(old, written(folder / "new", *tables(after, shift)))
    assert found == expected
    assert (changes.motion.dx_mm, changes.motion.dy_mm) == pytest.approx(shift, abs=1e-6)
    moved = {part.row.ref: (part.dx_mm, part.dy_mm) for part in changes.parts if Change.MOVED in part.changes}
    assert all(by == pytest.approx(move, abs=1e-6) for by in moved.values())
    turned = {round(part.turned_deg % 360, 6) for part in changes.parts if Change.TURNED in part.changes}
    assert turned <= {turn}


@settings(max_examples=sample_size(10))
@given(chance=st.randoms(use_true_random=False), book=st.booleans())
def test_the_same_board_in_other_files_is_no_change(tmp_path_factory, chance, book):
    folder = tmp_path_factory.mktemp("same")
    placed, bom = tables([Part(number) for number in range(25)])
    old = written(folder / "old", placed, bom)
    others = []
    for head, *rows in (placed, bom):
        columns = chance.sample(range(len(head)), len(head))
        chance.shuffle(rows)
        others.append([[row[k] for k in columns] for row in (head, *rows)])
    found, changes = told(old, written(folder / "elsewhere" / "new", *others, book=book))
    assert (found, changes.is_empty, changes.motion.is_still) == (set(), True, True)
    assert changes.compared == 25


def test_a_board_given_new_references_throughout_is_renumbered_not_moved(tmp_path):
    parts = [Part(number) for number in range(25)]
    old = written(tmp_path / "old", *tables(parts))
    names = [part.ref for part in parts]
    for part, name in zip(parts, names[7:] + names[:7], strict=True):
        part.ref = name
    found, changes = told(old, written(tmp_path / "new", *tables(parts, (7.0, 0.0))))
    assert {change for _, *kinds in found for change in kinds} == {"renumbered"}
    assert (changes.motion.dx_mm, changes.motion.told_by) == (pytest.approx(7.0), "parts")


def test_two_parts_of_different_types_that_change_places_have_moved(tmp_path):
    parts = [Part(number) for number in range(25)]
    old = written(tmp_path / "old", *tables(parts))
    one, other = parts[1], parts[2]
    one.x, other.x = other.x, one.x
    found, _ = told(old, written(tmp_path / "new", *tables(parts)))
    assert found == {("R1", "moved"), ("R2", "moved")}


def test_a_board_turned_as_a_whole_is_one_line(tmp_path):
    parts = [Part(number) for number in range(25)]
    old = written(tmp_path / "old", *tables(parts))
    for part in parts:
        part.x, part.y = -part.y, part.x
        part.rotation = (part.rotation + (90 if part.side == "top" else -90)) % 360
    found, changes = told(old, written(tmp_path / "new", *tables(parts)))
    assert (found, changes.motion.quarter_turns) == (set(), 1)


def test_a_bom_that_comes_later_names_parts_and_changes_no_feeder(tmp_path):
    placed, bom = tables([Part(number) for number in range(25)])
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "placements.csv").write_text(text(placed))
    found, changes = told(read_board(tmp_path / "old"), written(tmp_path / "new", placed, bom))
    assert {change for _, *kinds in found for change in kinds} == {"part number"}
    assert (changes.feeders_in, changes.feeders_out) == ((), ())


def test_feeders_come_and_go_with_part_numbers_that_are_fitted(tmp_path):
    parts = [Part(number) for number in range(12)]
    old = written(tmp_path / "old", *tables(parts))
    parts[0].number = parts[6].number = "W-40000"
    parts[1].number = "W-31002"
    parts[7].fitted = "no"
    _, changes = told(old, written(tmp_path / "new", *tables(parts)))
    assert [(f.label, sorted(f.refs)) for f in changes.feeders_in] == [("W-40000", ["R0", "R6"])]
    assert [(f.label, sorted(f.refs)) for f in changes.feeders_out] == [
        ("W-31000", ["R0", "R6"]),
        ("W-31001", ["R1", "R7"]),
    ]


def test_a_value_is_another_where_its_prefix_has_another_capital(tmp_path):
    parts = [Part(number) for number in range(5)]
    parts[0].value, parts[1].value = "1M", "100 k"
    old = written(tmp_path / "old", *tables(parts))
    parts[0].value, parts[1].value = "1m", "100k"
    assert told(old, written(tmp_path / "new", *tables(parts)))[0] == {("R0", "value")}
