"""Rows below a heading of a variant, and parts that a text says are fitted by hand, stay and are asked about.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck import check, read_board
from capcheck.model import Topic

PLACED = "Ref,X (mm),Y (mm),Rot,Side,Package\n" + "".join(f"R{k},{10 * k},20,0,top,0603\n" for k in range(1, 5))
BOM = "Reference,Qty,Value,Part number,Remark\nR1,1,10k,PN-1,{}\nR2,1,11k,PN-2,\n{}R3,1,12k,PN-3,\nR4,1,13k,PN-4,\n"


@pytest.fixture
def read(tmp_path):
    def board(bom, placed=PLACED):
        (tmp_path / "placements.csv").write_text(placed)
        (tmp_path / "bom.csv").write_text(bom)
        return read_board(tmp_path)

    return board


def asked(board, topic):
    return {ref for d in board.discrepancies if d.topic is topic for ref in d.refs}


@pytest.mark.parametrize(
    "heading",
    [
        "Variante B nicht bestücken:",
        "Do not populate below:",
        "Option parts",
        "Bestückungsvariante 2:",
        "OPTIONS",
        "optional components",
        "Variant B only",
        "# Option parts",
        "Optional bestücken",
        "Alternativbestückung",
        "Variante 2 : ne pas monter",
        "En option",
        "Opcional",
        "Variante B: no montar",
        "Opzionale",
        "选装",
        "オプション",
        "Not fitted in version B",
        "Spare parts",
    ],
)
def test_below_a_heading_of_a_variant_rows_are_fitted_and_asked_about(read, heading):
    board = read(BOM.format("", heading + ",,,,\n"))
    assert asked(board, Topic.ROW_IN_QUESTION) == {"R3", "R4"}
    assert board.placements.fitted.all()


def test_a_further_heading_ends_what_the_first_says(read):
    bom = BOM.format("", "Option parts,,,,\n").replace("R4,", "Resistors,,,,\nR4,")
    assert asked(read(bom), Topic.ROW_IN_QUESTION) == {"R3"}


def test_a_heading_counts_in_a_list_of_few_columns_and_in_two_cells(read):
    narrow = "Reference,Value\nR1,10k\nR2,11k\nOption parts,\nR3,12k\nR4,13k\n"
    assert asked(read(narrow), Topic.ROW_IN_QUESTION) == {"R3", "R4"}
    bom = BOM.format("", "Variante B,nicht bestücken,,,\n")
    assert asked(read(bom), Topic.ROW_IN_QUESTION) == {"R3", "R4"}


@pytest.mark.parametrize("heading", ["Option parts", "Not fitted", "Nicht bestückt:"])
def test_a_heading_in_the_placements_takes_nothing_off_and_is_asked_about(read, heading):
    board = read(BOM.format("", ""), PLACED.replace("R3,", heading + ",,,,,\nR3,"))
    assert asked(board, Topic.ROW_IN_QUESTION) == {"R3", "R4"}


@pytest.mark.parametrize("heading", ["Resistors", "Section 2", "Top side", "Passive components"])
def test_an_ordinary_heading_is_no_question(read, heading):
    assert not asked(read(BOM.format("", heading + ",,,,\n")), Topic.ROW_IN_QUESTION)


@pytest.mark.parametrize(
    "remark",
    [
        "hand solder after reflow",
        "solder by hand",
        "mount manually",
        "customer fits himself",
        "press-fit after reflow",
        "hand-soldered",
        "Hand assembly",
        "fit by hand at final assembly",
        "post-reflow",
        "manual placement",
        "to be fitted by customer",
        "von Hand bestücken",
        "Handlötung",
        "nach dem Reflow einlöten",
        "manuell bestücken",
        "Kunde bestückt selbst",
        "wird nachträglich eingelötet",
        "einpressen",
        "souder à la main",
        "montage manuel",
        "après refusion",
        "monté par le client",
        "soldar a mano",
        "montaje manual",
        "montado por el cliente",
        "después del reflujo",
        "saldare a mano",
        "手焊",
        "手はんだ",
        "THT",
        "bedrahtet",
    ],
)
@pytest.mark.parametrize("where", ["BOM", "placements"])
def test_a_part_that_a_text_gives_to_a_person_is_asked_about_and_stays(read, remark, where):
    if where == "BOM":
        board = read(BOM.format(remark, ""))
    else:
        lines = PLACED.splitlines()
        lines = [lines[0] + ",Remark", f"{lines[1]},{remark}", *(line + "," for line in lines[2:])]
        board = read(BOM.format("", ""), "\n".join(lines) + "\n")
    assert asked(board, Topic.BY_HAND) == {"R1"}
    assert board.placements.fitted.all()


@pytest.mark.parametrize(
    "remark", ["handle with care", "Manual reset switch", "customer part 12", "reflow 260 °C", "main supply"]
)
def test_other_remarks_are_no_question(read, remark):
    assert not asked(read(BOM.format(remark, "")), Topic.BY_HAND)


def test_the_questions_name_rules_of_their_own(tmp_path, read):
    read(BOM.format("solder by hand", "Option parts,,,,\n"))
    assert {"every-row-counts", "machine-or-hand"} <= {f.rule for f in check(tmp_path).findings}


@pytest.mark.parametrize("answer", ["no", "nein", "non", "0", "false", "DNP"])
def test_a_placement_that_a_cell_takes_off_is_asked_about_where_the_bom_buys_it(read, answer):
    lines = PLACED.splitlines()
    placed = "\n".join([lines[0] + ",Fitted", f"{lines[1]},{answer}", *(line + ",yes" for line in lines[2:])]) + "\n"
    board = read(BOM.format("", ""), placed)
    assert asked(board, Topic.FITTED_OR_NOT) == {"R1"}
    assert board.placements.fitted.all()


def test_a_placement_that_a_cell_fits_is_asked_about_where_the_bom_does_not(read):
    lines = PLACED.splitlines()
    placed = "\n".join([lines[0] + ",Fitted", *(line + ",yes" for line in lines[1:])]) + "\n"
    board = read(BOM.format("DNP", ""), placed)
    assert asked(board, Topic.FITTED_OR_NOT) == {"R1"}


@pytest.mark.parametrize("where", ["cell", "below", "before", "beside"])
def test_a_remark_that_lists_references_is_asked_about_for_each_that_its_ranges_hold(read, tmp_path, where):
    remark = '"R1, R2-R4: do not place"'
    bom = BOM.format(remark if where == "cell" else "", "")
    if where == "beside":
        (tmp_path / "readme.txt").write_text(f"Order\n\n{remark}\n")
    board = read({"before": f"{remark}\n{bom}", "below": f"{bom}\n{remark}\n"}.get(where, bom))
    topic = Topic.ROW_IN_QUESTION if where == "cell" else Topic.LEFT_OUT
    assert asked(board, topic) == {"R1", "R2", "R3", "R4"}


def test_one_other_part_that_a_remark_names_is_not_asked_about(read):
    assert asked(read(BOM.format("not with R3", "")), Topic.ROW_IN_QUESTION) <= {"R1"}


def test_a_title_with_an_angle_in_it_is_asked_about(read):
    for title, is_asked in (("Rotation 45", True), ("Rot +90°", True), ("Rotation", False), ("Rotation 0-360", False)):
        board = read(BOM.format("", ""), PLACED.replace("Rot,", f"{title},"))
        said = [d for d in board.discrepancies if getattr(d.said, "key", "") == "compare.told of the data"]
        assert bool(said) == is_asked, title
