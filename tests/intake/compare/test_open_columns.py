"""A column that no role took and that sets some rows apart is asked about; no part is placed without a word on it.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck import read_board
from capcheck.model import Topic

PLACED = "Ref,X (mm),Y (mm),Rot,Side,Package\n" + "".join(f"R{k},{10 * k},20,0,top,0603\n" for k in range(1, 6))


@pytest.fixture
def left_open(tmp_path):
    """Return the references that are asked about, or that stay off the board, by a BOM with further columns."""

    def refs(title, most, last):
        rows = [f"R{k},1,{k}0k,PN-{k},{last if k == 5 else most}\n" for k in range(1, 6)]
        (tmp_path / "placements.csv").write_text(PLACED)
        (tmp_path / "bom.csv").write_text(f"Reference,Qty,Value,Part number,{title}\n" + "".join(rows))
        board = read_board(tmp_path)
        asked = {Topic.ROW_IN_QUESTION, Topic.FITTED_OR_NOT, Topic.BY_HAND}
        off = {ref for ref, fitted in zip(board.placements.ref, board.placements.fitted, strict=True) if not fitted}
        return off | {ref for d in board.discrepancies if d.topic in asked for ref in d.refs}

    return refs


@pytest.mark.parametrize(
    ("title", "most", "last"),
    [
        ("Assemble", "Y", "N"),
        ("Place", "yes", "no"),
        ("Montage", "oui", "non"),
        ("Bestücken", "x", ""),
        ("Fitted", "x", ""),
        ("Equip", "1", "0"),
        ("是否贴装", "是", "否"),
        ("实装", "○", "×"),
        ("Monteren", "ja", "nee"),
        ("Montaż", "tak", "nie"),
        ("Osadit", "ano", "ne"),
        ("Montaj", "evet", "hayır"),
        ("Монтаж", "да", "нет"),
        ("NC", "", "NC"),
        ("Build", "yes", "no"),
        ("Use", "1", "0"),
        ("Place", "", "later"),
        ("Stuffing", "", "never"),
        ("Version 1", "x", ""),
        ("Variant A", "●", ""),
        ("Exclude", "", "yes"),
        ("Load", "load", "no load"),
    ],
)
def test_what_sets_one_row_apart_by_a_mark_is_asked_about(left_open, title, most, last):
    assert left_open(title, most, last) == {"R5"}


@pytest.mark.parametrize(
    "last",
    [
        "obsolete - do not place",
        "deleted",
        "remove",
        "do not use",
        "option",
        "customer fits",
        "gestrichen",
        "supprimé",
        "eliminato",
        "eliminado",
        "削除",
        "作废",
        "usunięty",
        "vervallen",
        "удалён",
        "삭제",
        "zrušeno",
        "iptal",
    ],
)
@pytest.mark.parametrize("title", ["Status", "Action", "Lifecycle"])
def test_a_word_of_a_status_is_asked_about(left_open, title, last):
    assert left_open(title, "active", last) == {"R5"}


@pytest.mark.parametrize("last", ["wave", "manual", "hand solder", "not reflowable", "fit after test", "selective"])
def test_a_word_for_another_process_is_asked_about(left_open, last):
    assert left_open("Process", "reflow", last) == {"R5"}


@pytest.mark.parametrize(
    ("title", "most", "last"),
    [("Variant A,Variant B", "x,x", "x,"), ("V1,V2", "x,x", ",x"), ("Variante", "alle", "B"), ("SMT,THT", "x,", "x,x")],
)
def test_parts_that_differ_between_variants_are_asked_about(left_open, title, most, last):
    assert left_open(title, most, last) == {"R5"}


@pytest.mark.parametrize(
    ("title", "most", "last"),
    [
        ("RoHS", "yes", "no"),
        ("Price", "1", "0"),
        ("Colour", "", "red"),
        ("Tolerance", "1", ""),
        ("DNP", "", ""),
        ("Supplier", "A", "B"),
        ("MSL", "1", ""),
    ],
)
def test_what_says_nothing_of_fitting_is_not_asked_about(left_open, title, most, last):
    assert not left_open(title, most, last)


@pytest.mark.parametrize("last", ["except R5", "ohne R5", "NF(R5)", "see R2", "R5 replaced"])
def test_a_remark_that_names_a_part_is_asked_about(left_open, last):
    assert left_open("Remark", "", last) == {"R5"}


@pytest.mark.rows(
    "last",
    [
        *(
            "use XQ77-99",
            "XQ77-99",
            "-> XQ77-99",
            "oder XQ77-99",
            "place on other side",
            "vertical",
            "at 97/40",
            "0603M",
        ),
        *(
            "rotate 90",
            "skip this part",
            "pads only",
            "for test only",
            "instalace později",
            "glued",
            "check value",
            "12",
        ),
    ],
)
@pytest.mark.parametrize("title", ["Remark", "Bemerkung"])
def test_a_remark_of_which_nothing_is_made_is_asked_about(left_open, title, last):
    assert left_open(title, "", last) == {"R5"}


@pytest.mark.rows("last", ["X7R", "C0G type", "RoHS, lead free", "1% 50 V", "resistor, thick film", "bleifrei", "n/a"])
def test_a_remark_that_only_says_which_sort_of_part_it_is_asks_nothing(left_open, last):
    assert not left_open("Remark", "", last)


def test_a_remark_of_a_placement_list_is_asked_about_unless_an_entry_says_what_holds(make_board):
    rows = ["R1,10,10,0,top,10k,0603,", "R2,20,10,0,top,10k,0603,use XQ77-99"]
    header = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint,Remark"
    for toml, refs in (("", {"R2"}), ('fitted = ["R2"]\n', set())):
        board = read_board(make_board(rows, header=header, toml=toml))
        assert {ref for d in board.discrepancies if d.topic is Topic.ROW_IN_QUESTION for ref in d.refs} == refs


@pytest.mark.parametrize("last", ["remove", "reserved", "optional", "future", "customer supplied", "n/a", "/", "—"])
def test_a_cell_below_fitted_that_says_neither_is_asked_about(left_open, last):
    assert left_open("Fitted", "yes", last) == {"R5"}


def test_a_column_of_fitting_that_says_something_else_in_most_rows_asks_nothing(left_open):
    assert not left_open("Assembly", "line 1", "line 2")


@pytest.mark.parametrize("last", ["DNP", "vacant", "nicht bestückt", "obsolete"])
def test_a_word_below_no_title_is_asked_about(left_open, last):
    assert left_open("", "", last) == {"R5"}


@pytest.mark.parametrize("last", ["x", "7", "0.35 EUR", "ordered"])
def test_what_else_stands_below_no_title_asks_nothing(left_open, last):
    assert left_open("", "", last) == set()


@pytest.mark.rows("title", ["Substitute", "Ersatz", "Équivalent", "Alternatives", "代替品", "Replacement"])
def test_a_column_of_alternates_is_asked_about_in_either_list(make_board, title):
    header = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"
    rows = [f"R{k},{10 * k},10,0,top,10k,0603" for k in (1, 2)]
    listed = ["Ref,Part number,Qty", "R1,PN-1,1", "R2,PN-2,1"]
    more = [title, "", "XQ77-99"]
    by_bom = make_board(rows, bom=[f"{row},{cell}" for row, cell in zip(listed, more, strict=True)])
    assert "bom.other numbers" in {note.said.key for note in read_board(by_bom).notes}
    placed = make_board(
        [f"{row},{cell}" for row, cell in zip(rows, more[1:], strict=True)], bom=listed, header=f"{header},{title}"
    )
    assert {ref for d in read_board(placed).discrepancies if d.topic is Topic.ROW_IN_QUESTION for ref in d.refs} == {
        "R2"
    }


def test_another_number_of_few_parts_in_the_placements_is_no_number_of_a_stock(make_board):
    rows = [f"R{k},{10 * k},10,0,top,10k,0603,{'XQ77-99' if k == 3 else ''}" for k in (1, 2, 3)]
    bom = ["Ref,Part number,Qty", *(f"R{k},PN-{k},1" for k in (1, 2, 3))]
    header = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint,MPN"
    board = read_board(make_board(rows, bom=bom, header=header))
    assert [d.refs for d in board.discrepancies if d.topic is Topic.TWO_VALUES] == [("R3",)]


@pytest.mark.rows("quantity", ["", "-"])
def test_a_line_without_a_quantity_is_asked_about_where_most_have_one(make_board, quantity):
    rows = [f"R{k},{10 * k},10,0,top,10k,0603" for k in (1, 2, 3)]
    board = read_board(make_board(rows, bom=["Ref,Part number,Qty", "R1,PN-1,1", "R2,PN-2,1", f"R3,PN-3,{quantity}"]))
    assert {ref for d in board.discrepancies if d.topic is Topic.ROW_IN_QUESTION for ref in d.refs} == {"R3"}


@pytest.mark.rows("value", ["10k leave it out", "10k bleibt frei", "10k struck through", "10k pads only", "10k 空き"])
def test_words_behind_a_value_that_others_do_not_have_are_asked_about(make_board, value):
    rows = [f"R{k},{10 * k},10,0,top,{value if k == 5 else '10k 1% thin film'},0603" for k in range(1, 6)]
    assert {ref for d in read_board(make_board(rows)).discrepancies for ref in d.refs} == {"R5"}


@pytest.mark.rows("name", ["DNI list.csv", "not_fitted.csv", "nicht bestückt.csv"])
def test_a_file_named_not_fitted_takes_nothing_off_without_a_question(tmp_path, name):
    (tmp_path / "placements.csv").write_text(PLACED)
    (tmp_path / "bom.csv").write_text("Ref,Part number,Qty\n" + "".join(f"R{k},PN-{k},1\n" for k in range(1, 6)))
    (tmp_path / name).write_text("Ref,Part\nR5,PN-5\n")
    assert {ref for d in read_board(tmp_path).discrepancies for ref in d.refs} == {"R5"}
