"""What a column or a description says a part is supplied in goes before what such parts usually come in.

Figures: texts are invented; carrier tapes of 4 to 200 mm by EIA-481-D, those that feeders commonly take by common
practice, no source.
"""

import pytest

from capcheck import read_board
from capcheck.model import Basis, Packaging
from capcheck.packages.bodies.stated_supply import supply_of

PLACED = "Ref,X (mm),Y (mm),Rot,Side,Package\nR1,10,20,0,top,RES-0603-1608M\nR2,20,20,0,top,RES-0603-1608M\n"


@pytest.mark.rows(
    ("text", "supply"),
    [
        ("Tape & Reel (TR)", Packaging.TAPE),
        ("Cut Tape", Packaging.TAPE),
        ("Gurt", Packaging.TAPE),
        ("编带", Packaging.TAPE),
        ("bobine", Packaging.TAPE),
        ("Tray", Packaging.TRAY),
        ("托盘", Packaging.TRAY),
        ("Stange", Packaging.STICK),
        ("Tube", Packaging.STICK),
        ("Bulk", None),
        ("Schüttgut", None),
        ("vrac", None),
        ("sfuso", None),
        ("a granel", None),
        ("Tube or tray", None),
    ],
)
def test_a_text_names_what_parts_are_supplied_in(text, supply):
    assert supply_of(text) == supply


@pytest.fixture
def body(tmp_path):
    def write(cell, title="Packaging", description="resistor"):
        (tmp_path / "placements.csv").write_text(PLACED)
        (tmp_path / "bom.csv").write_text(
            f"Ref,Qty,Part number,Description,{title}\nR1,1,PN-1,{description},{cell}\nR2,1,PN-2,resistor,reel\n"
        )
        board = read_board(tmp_path)
        return board.bodies[board.placements.part_type[list(board.placements.ref).index("R1")]]

    return write


TITLES = ["Packaging", "Verpackung", "Conditionnement", "Embalaje", "Imballo", "包装", "梱包形態"]


@pytest.mark.parametrize("title", TITLES)
def test_a_column_states_the_supply_of_each_part(body, title):
    assert body("tray", title).supply is Packaging.TRAY
    bulk = body("bulk", title)
    assert bulk.supply is None
    assert any(q.key == "packages.supply not fed" for q in bulk.questions)


def test_a_word_that_is_not_known_is_named(body):
    found = body("clamshell")
    assert found.supply is None
    assert any("clamshell" in str(q.values) for q in found.questions)
    assert body("").supply is Packaging.TAPE


def test_a_description_states_it_too_and_a_bulk_capacitor_is_none(body):
    assert body("", description="resistor supplied in bulk").supply is None
    assert body("", description="resistor in trays").supply is Packaging.TRAY
    assert body("", description="bulk capacitor").supply is Packaging.TAPE
    assert body("reel", description="resistor in bulk").supply is None


@pytest.mark.parametrize(
    ("cell", "title"),
    [
        ("tape 200 mm", "Packaging"),
        ("tape 72 mm", "Packaging"),
        ("200", "Tape width"),
        ("cut tape strip of 10", "Packaging"),
        ("not available on tape", "Feeder"),
    ],
)
def test_a_tape_that_no_common_feeder_takes_is_asked_about(body, cell, title):
    found = body(cell, title)
    assert found.supply is None
    assert any(q.key == "packages.supply not fed" for q in found.questions)


@pytest.mark.parametrize(("cell", "title"), [("tape 8 mm", "Packaging"), ("8", "Tape width"), ("12", "Tape width")])
def test_a_common_tape_is_asked_nothing_and_its_width_is_none_of_the_body(body, cell, title):
    found = body(cell, title)
    assert found.supply is Packaging.TAPE
    assert found.width.high < 2


def test_a_description_that_says_tape_contradicts_a_tray(body):
    assert body("tray", description="resistor on tape and reel").supply is None


# EIA-481: 8 mm tape has pockets up to 4.4 mm wide; SOIC-8 is 4.9 mm long and 6.0 mm wide over its leads, JEDEC MS-012.
@pytest.mark.parametrize(("tape", "is_asked"), [("8", True), ("12", False)])
def test_a_body_lies_in_its_tape_with_its_leads(tmp_path, tape, is_asked):
    (tmp_path / "placements.csv").write_text("Ref,X (mm),Y (mm),Rot,Side,Package\nU1,10,20,0,top,SOIC-8\n")
    (tmp_path / "bom.csv").write_text(f"Ref,Qty,Part number,Tape width\nU1,1,PN-1,{tape}\n")
    (body,) = read_board(tmp_path).bodies
    assert any(q.key == "packages.supply not fed" for q in body.questions) == is_asked
    assert (body.tape_width.basis is Basis.STATED) != is_asked
