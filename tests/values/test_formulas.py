"""No cell of a table that is written is a formula to a spreadsheet, and what is read back is what was meant.

Figures: invented.
"""

import csv
import datetime as dt
import io

import pytest
from hypothesis import given, strategies as st

from capcheck.model import PartName
from capcheck.packages import LibraryFile, Statement, load_library
from capcheck.packages.library_entries import Key
from capcheck.store.interchange import as_csv
from capcheck.store.records import EVERYONE, Figure, Given, PartKey
from capcheck.values import Interval, as_written, harmless, is_formula_like

NUMBERS = ["=HYPERLINK(1)", "+cmd|' /C calc'!A0", "-2+3", "@SUM(1)", "'=B1", "＝1", "''+x"]


@given(st.text(alphabet="=+-@'＝1a.", max_size=6))
def test_a_cell_is_no_formula_and_reads_back_as_it_was(text):
    assert not is_formula_like(harmless(text))
    assert as_written(harmless(text)) == text


@pytest.fixture
def board(tmp_path):
    """A customer's board whose part numbers are what a spreadsheet would work out."""
    folder = tmp_path / "board"
    folder.mkdir()
    rows = [(f"U{i}", number, 5 * i, 3 * i, 0, "top") for i, number in enumerate(NUMBERS, 1)]
    with (folder / "placements.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([("Ref", "Part number", "X (mm)", "Y (mm)", "Rotation", "Side"), *rows])
    return folder


def test_a_library_made_of_a_customers_parts_holds_no_formula_and_is_found_by_them(board, tmp_path, run, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, _, err = run("init", "--board", board)
    assert (code, err) == (0, "")
    path = tmp_path / "packages.csv"
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))
    assert len(rows) == len(NUMBERS)
    assert not [cell for row in rows for cell in row.values() if is_formula_like(cell)]
    file = LibraryFile(path)
    for number in NUMBERS:
        file.state(Statement(Key(part_number=number), {"height": Interval(1, 1)}, "=said()"))
    path.write_bytes(file.content())
    after = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))
    assert len(after) == len(NUMBERS)
    assert not [cell for row in after for cell in row.values() if is_formula_like(cell)]
    library = load_library(path)
    for number in NUMBERS:
        assert [c.height for c in library.candidates(PartName(number))] == [Interval(1, 1)], number


def test_an_export_of_the_store_holds_no_formula(tmp_path):
    given_by = Given("=Ada", dt.datetime(2026, 3, 3, tzinfo=dt.UTC), "imported", link="@sheet")  # an invented day
    figures = [Figure(PartKey(part_number=n), EVERYONE, "height", Interval(1, 1), given_by) for n in NUMBERS]
    text, _ = as_csv(figures)
    assert not [cell for row in csv.reader(io.StringIO(text)) for cell in row if is_formula_like(cell)]
    path = tmp_path / "packages.csv"
    path.write_text(text, encoding="utf-8")
    assert sorted(entry.part_number for entry in load_library(path).entries) == sorted(NUMBERS)
