"""What two columns, two lists or two sheets say differently of one part, and a word where a figure is due, is asked.

Figures: boards, parts and sizes are invented.
"""

import openpyxl
import pytest

from capcheck import read_board
from capcheck.model import Topic

REFS = [f"R{k}" for k in range(1, 9)]
PLACED = ["Ref", "X (mm)", "Y (mm)", "Rotation", "Side", "Value", "Footprint"]
LISTED = ["Ref", "Qty", "Value", "Part number"]


@pytest.fixture
def read(tmp_path):
    def board(*, placed=None, listed=None, sheets=None, **further):
        (tmp_path / "placements.csv").write_text(text(placed or places()), encoding="utf-8")
        if sheets:
            book = openpyxl.Workbook()
            book.remove(book.active)
            for name, rows in sheets.items():
                sheet = book.create_sheet(name)
                for row in rows:
                    sheet.append(row)
            book.save(tmp_path / "bom.xlsx")
        else:
            (tmp_path / "bom.csv").write_text(text(listed or lines()), encoding="utf-8")
        for name, content in further.items():
            (tmp_path / name.replace("__", ".")).write_text(content, encoding="utf-8")
        return read_board(tmp_path)

    return board


def text(rows):
    return "\n".join(",".join(row) for row in rows) + "\n"


def places(**titled):
    """Return rows of placements; *titled* columns stand behind, each with its usual cell and what R3 says."""
    rows = [[ref, f"{10 * k}", "20", "90", "top", f"{k}0k", "0603"] for k, ref in enumerate(REFS, 1)]
    return with_columns([PLACED, *rows], titled)


def lines(**titled):
    return with_columns([LISTED, *([ref, "1", f"{k}0k", f"PN-{k}"] for k, ref in enumerate(REFS, 1))], titled)


def with_columns(rows, titled):
    for title, (usual, of_r3) in titled.items():
        rows = [[*rows[0], title.replace("_", " ")]] + [
            [*row, of_r3 if row[0] == "R3" else usual(row) if callable(usual) else usual] for row in rows[1:]
        ]
    return rows


def changed(rows, column, cell):
    at = rows[0].index(column)
    return [[*row[:at], cell, *row[at + 1 :]] if row[0] == "R3" else row for row in rows]


def asked(board, topic=Topic.ROW_IN_QUESTION):
    return {ref for d in board.discrepancies if d.topic is topic for ref in d.refs}


@pytest.mark.rows("word", ["geht nicht", "wegfalle", "X", "xx", "Rxx", "jätä", "不"])
def test_a_word_in_place_of_a_value_is_asked_about_whichever_list_has_it(read, word):
    assert asked(read(placed=changed(places(), "Value", word))) == {"R3"}
    assert asked(read(listed=changed(lines(), "Value", word))) == {"R3"}


@pytest.mark.rows("word", ["Ferrite", "JUMPER", "NTC thermistor", "Lötbrücke", "zero ohm", "-", "磁珠"])
def test_the_sort_of_a_part_in_place_of_a_value_is_no_question(read, word):
    assert asked(read(placed=changed(places(), "Value", word), listed=changed(lines(), "Value", word))) == set()


def test_a_word_that_most_parts_of_a_letter_have_is_no_question(read):
    rows = [[*row[:5], "shape", row[6]] for row in places()[1:]]
    assert asked(read(placed=[PLACED, *rows])) == set()


@pytest.mark.rows("title, of", [("Comment", "Value"), ("Value_2", "Value"), ("Package", "Footprint")])
def test_columns_that_agree_in_all_rows_but_one_are_asked_about(read, title, of):
    at = PLACED.index(of)
    columns = {title: ((lambda row: row[at]), "47X9")}
    assert asked(read(placed=places(**columns))) == {"R3"}


def test_columns_of_part_numbers_that_agree_but_for_one_are_asked_about(read):
    assert asked(read(listed=lines(MPN=((lambda row: row[3]), "PN-99")))) == {"R3"}


@pytest.mark.rows("usual, of_r3", [("", "47X9"), ("note", "47X9"), (lambda row: row[5], "30k 1%")])
def test_columns_of_two_things_or_with_more_of_one_are_no_question(read, usual, of_r3):
    found = read(placed=places(Comment=(usual, of_r3))).discrepancies
    assert "compare.columns in question" not in {d.said.key for d in found}


@pytest.mark.rows("title", ["X_offset", "Y_offset", "Offset_X"])
def test_an_offset_of_a_place_is_asked_about_where_it_is_not_0(read, title):
    assert asked(read(placed=places(**{title: ("0.0", "4.0")}))) == {"R3"}


def test_an_angle_that_the_bom_states_otherwise_is_asked_about(read):
    assert asked(read(listed=lines(Rotation=("90", "180"))), Topic.TWO_VALUES) == {"R3"}
    assert asked(read(listed=lines(Rotation=("450", "-270"))), Topic.TWO_VALUES) == set()
    assert asked(read(listed=lines(Rotation=("0", "0"))), Topic.TWO_VALUES) == set(), "a column that nobody filled in"


@pytest.mark.rows("sheet", ["optional", "Variant B", "alternates", "hand placed", "spare parts"])
def test_what_a_sheet_of_options_lists_is_asked_about_also_where_the_bom_lists_it(read, sheet):
    rows = lines()
    few = [row for row in rows if row[0] in {"Ref", "R3"}]
    assert asked(read(sheets={"BOM": [row for row in rows if row[0] != "R3"], sheet: few})) == {"R3"}
    assert asked(read(sheets={"BOM": rows, sheet: few})) == {"R3"}


def test_the_only_sheet_may_be_called_a_variant(read):
    assert asked(read(sheets={"Variant B": lines()})) == set()


@pytest.mark.rows("by, of", [("Ref", "R3"), ("Designator", '"R3, R4"'), ("Part number", "PN-3")])
def test_a_list_of_heights_counts_beside_the_bom_by_number_and_by_reference(read, by, of):
    board = read(heights__csv=f"{by},Height [mm]\n{of},12\n")
    (high,) = [board.bodies[board.placements.part_type[board.placements.ref.index("R3")]].height]
    assert high.value.high == 12


@pytest.mark.rows("text", ["units: mil", "coordinates are in mil", "Data not released", "This file is superseded"])
@pytest.mark.rows("name", ["notes__txt", "notes__md"])
def test_words_beside_the_lists_count_though_they_look_like_a_table(read, name, text):
    before = {d.said for d in read().discrepancies}
    after = read(**{name: f"Notes for manufacturing\n\n{text}\n"}).discrepancies
    assert {d.said for d in after} - before


def test_a_sentence_beside_the_lists_is_no_bill_of_materials(read):
    said = {(d.topic, d.said.key) for d in read(readme__txt="5 parts missing from the BOM\n").discrepancies}
    assert said == {(Topic.LEFT_OUT, "compare.told of the data")}


def test_a_height_in_one_of_two_units_is_asked_about_where_another_source_lies_between(read):
    board = read(placed=places(Height=("", "12")), listed=lines(**{"Height_[mm]": ("1.0", "1.0")}))
    asked = [board.bodies[k].questions for k in board.placements.part_type.tolist()]
    about = [any(q.key == "packages.size is about" for q in questions) for questions in asked]
    assert about == [ref == "R3" for ref in board.placements.ref]


@pytest.mark.rows("further", ["0.6", "1.7", "12", "50"])
def test_a_height_in_one_of_two_units_counts_with_both_whatever_another_source_states(read, further):
    board = read(placed=places(Height=("", "1.7")), listed=lines(**{"Height_[mm]": ("0.6", further)}))
    height = board.bodies[board.placements.part_type[board.placements.ref.index("R3")]].height.value
    inches = 1.7 * 25.4  # an inch is 25.4 mm by definition
    assert (height.low, height.high) == pytest.approx((min(float(further), 1.7), max(float(further), inches)))


def test_what_a_row_says_twice_is_not_asked_as_whether_it_counts_nor_settled_by_that(read, tmp_path):
    (tmp_path / "board.toml").write_text('fitted = ["R3"]\n')
    differs = read(placed=places(Comment=((lambda row: row[PLACED.index("Value")]), "47X9")))
    moved = read(placed=places(X_offset=("0.0", "4.0")))
    for board, key in ((differs, "compare.columns in question"), (moved, "compare.offset in question")):
        assert {(d.said.key, d.refs) for d in board.discrepancies if d.topic is Topic.ROW_IN_QUESTION} == {
            (key, ("R3",))
        }
