"""One line tells one cause, however many parts it is about. Figures: invented.

Figures: invented, those of fixtures/ and of what the test writes.
"""

import pytest

from capcheck import read_board
from capcheck.report.revisions.causes import data_sections, headline_of_difference, uncertain_lines
from capcheck.report.revisions.difference_as_text import styled_difference
from capcheck.revisions import Comparison, Revision, data_changes
from capcheck.shop import difference

HEADER = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"
ROWS = [("R1", 0, 0, 0), ("R2", 10, 0, 90), ("R3", 20, 0, 180), ("R4", 30, 7, 0), ("R5", 40, 9, 0), ("R6", 50, 3, 0)]


@pytest.fixture
def told(tmp_path):
    """Return a function that gives the lines of each heading for two lists of rows."""

    def read(name, rows, value="10k", footprint="RES 1608M"):
        folder = tmp_path / name
        folder.mkdir(exist_ok=True)
        lines = [f"{ref},{x},{y},{angle},top,{value},{footprint}" for ref, x, y, angle in rows]
        (folder / "placements.csv").write_text("\n".join([HEADER, *lines]) + "\n")
        return read_board(folder)

    def compare(old, new, **others):
        data = data_changes(read("old", old), read("new", new, **others))
        return {section.title: [cause.told(10) for cause in section.causes] for section in data_sections(data)}, data

    return compare


def test_parts_turned_alike_from_different_angles_are_one_line(told):
    turned = [(ref, x, y, (angle + 90) % 360 if x < 25 else angle) for ref, x, y, angle in ROWS]
    assert told(ROWS, turned)[0] == {"Turned": ["R1–R3: by 90° counter-clockwise"]}


def test_half_a_turn_of_a_part_without_polarity_says_that_it_looks_the_same(told):
    turned = [(ref, x, y, 180 if ref == "R5" else angle) for ref, x, y, angle in ROWS]
    assert told(ROWS, turned)[0] == {"Turned": ["R5: by 180°, which looks the same: no polarity (0° → 180°)"]}


def test_values_that_one_revision_does_not_state_at_all_are_one_line(told):
    told_now, data = told(ROWS, ROWS, value="")
    assert told_now["Another part"] == ["R1–R6: value stated no more"]
    assert headline_of_difference(_comparison(data)) == "6 with another value"


def test_a_move_is_told_by_its_length_and_its_way(told):
    moved = [(ref, x + 3 * (ref == "R4"), y - 4 * (ref == "R4"), angle) for ref, x, y, angle in ROWS]
    told_now, data = told(ROWS, moved)
    assert told_now == {"Moved": ["R4: by 5 mm (x +3, y −4 mm)"]}
    assert uncertain_lines(data) == []


def test_a_feeder_without_a_part_number_says_what_stands_for_it(told):
    told_now, _ = told(ROWS, ROWS, value="22k")
    assert told_now["Feeders to add"] == ["R1–R6: 22k RES 1608M (6 placements, by value and footprint: no part number)"]


def test_the_last_line_counts_findings_and_the_first_names_the_board(told):
    _, data = told(ROWS, ROWS)
    lines = [line.text for line in styled_difference(_comparison(data), width=80, full=False)]
    assert (lines[0], lines[-1]) == ("Board", "0 new, 0 worse, 0 gone, 0 unchanged")
    assert "  no change in the data: 6 rows compared" in lines


def _comparison(data):
    old, new = (Revision(name, "folder", None, (), unanswered=False, line=None) for name in ("a", "b"))
    return Comparison(old, new, data, difference([], []), ())
