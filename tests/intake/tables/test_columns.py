"""Roles are told by a title's words, by content where titles are missing, and asked for where they are doubtful.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from capcheck.intake.tables import Table, read_tables
from capcheck.intake.tables.columns import Columns, Role, recognise
from capcheck.intake.tables.content import look_at
from capcheck.intake.tables.header_words import read_title
from capcheck.intake.tables.recognised import Recognised
from capcheck.values.errors import InputError

LINES = (
    ("C1", "12.5", "7.25", "90", "Top", "100n", "0402"),
    ("R2", "3.1", "-2.75", "270", "Bottom", "4k7", "0603"),
    ("U3", "40.05", "11.5", "0", "Top", "QK-52", "SO-8"),
)


def table(folder: Path, *lines: str) -> Table:
    path = folder / "t.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    return read_tables(path)[0]


def placements(folder: Path, header: str, lines: tuple[tuple[str, ...], ...] = LINES) -> Columns:
    return recognise(table(folder, header, *(",".join(line) for line in lines)), "placements")


@pytest.mark.rows(
    ("title", "role"),
    [
        ("Body centre X", Role.X),
        ("Centre of body Y (mm)", Role.Y),
        ("Body X", Role.LENGTH),
        ("Designator", Role.REF),
        ("RefDes", Role.REF),
        ("REFDES", Role.REF),
        ("Ref. Des.", Role.REF),
        ("Ref", Role.REF),
        ("Part Reference", Role.REF),
        ("# Ref", Role.REF),
        ("Repère", Role.REF),
        ("repere", Role.REF),
        ("Bauteilkennzeichen", Role.REF),
        ("リファレンス", Role.REF),
        ("部品記号", Role.REF),
        ("X", Role.X),
        ("CoordX", Role.X),
        ("pos_x", Role.X),
        ("Middle X", Role.X),
        ("Centre-X(mm)", Role.X),
        ("X [mm]", Role.X),
        ("Ref X", Role.X),
        ("座標X", Role.X),
        ("X座標", Role.X),
        ("Position X", Role.X),
        ("xpos", Role.X),
        ("X-Mittelpunkt", Role.X),
        ("Ref Y", Role.Y),
        ("Pad Y", Role.Y),
        ("CENTROID_Y", Role.Y),
        ("Rot", Role.ROTATION),
        ("Angle", Role.ROTATION),
        ("Orient.", Role.ROTATION),
        ("Drehwinkel", Role.ROTATION),
        ("回転角度", Role.ROTATION),
        ("Rotation (deg)", Role.ROTATION),
        ("TB", Role.SIDE),
        ("Layer", Role.SIDE),
        ("Mounting side", Role.SIDE),
        ("Bestückungsseite", Role.SIDE),
        ("Côté", Role.SIDE),
        ("実装面", Role.SIDE),
        ("top/bottom", Role.SIDE),
        ("Mirrored", Role.LAYER_MIRROR),
        ("Val", Role.VALUE),
        ("Wert", Role.VALUE),
        ("Valeur", Role.VALUE),
        ("値", Role.VALUE),
        ("Package", Role.FOOTPRINT),
        ("Land Pattern", Role.FOOTPRINT),
        ("Gehäuse", Role.FOOTPRINT),
        ("Bauform", Role.FOOTPRINT),
        ("Boîtier", Role.FOOTPRINT),
        ("パッケージ", Role.FOOTPRINT),
        ("PartDecal", Role.FOOTPRINT),
        ("MPN", Role.PART_NUMBER),
        ("Manufacturer Part", Role.PART_NUMBER),
        ("Mfr. Part No.", Role.PART_NUMBER),
        ("P/N", Role.PART_NUMBER),
        ("Artikelnummer", Role.PART_NUMBER),
        ("Référence fabricant", Role.PART_NUMBER),
        ("型番", Role.PART_NUMBER),
        ("Qty", Role.QUANTITY),
        ("Menge", Role.QUANTITY),
        ("Stückzahl", Role.QUANTITY),
        ("Quantité", Role.QUANTITY),
        ("数量", Role.QUANTITY),
        ("DNP", Role.FITTED),
        ("Populate", Role.FITTED),
        ("Fitted", Role.FITTED),
        ("Do not populate", Role.FITTED),
        ("Bestückt", Role.FITTED),
        ("未実装", Role.FITTED),
        ("Height", Role.HEIGHT),
        ("Höhe [mm]", Role.HEIGHT),
        ("Bauhöhe", Role.HEIGHT),
        ("Hauteur", Role.HEIGHT),
        ("高さ", Role.HEIGHT),
        ("Length", Role.LENGTH),
        ("Breite", Role.WIDTH),
        ("Weight (g)", Role.MASS),
        ("Pins", Role.PINS),
        ("Pitch", Role.PITCH),
        ("Manufacturer", Role.MANUFACTURER),
        ("Hersteller", Role.MANUFACTURER),
        ("メーカー", Role.MANUFACTURER),
        ("Comment", Role.COMMENT),
        ("Bemerkung", Role.COMMENT),
        ("備考", Role.COMMENT),
        ("Description", Role.DESCRIPTION),
        ("Beschreibung", Role.DESCRIPTION),
        ("Mount type", Role.MOUNTING),
    ],
)
def test_a_title_claims_its_role(title, role):
    assert read_title(title).strongest is role


@pytest.mark.rows("title", ["", "Price", "Datasheet", "Item", "Line", "Revision", "XY", "Unit price", "x" * 200])
def test_other_titles_claim_nothing(title):
    assert read_title(title).claims == {}


@pytest.mark.rows(
    ("title", "unit"),
    [
        ("X (mm)", "mm"),
        ("Centre-X(mil)", "mil"),
        ("X [inch]", "in"),
        ("Y_mm", "mm"),
        ("Height/µm", "um"),
        ("Mass [g]", "g"),
        ("Rotation (deg)", "deg"),
        ("X", ""),
        ("Fitted in product", ""),
        ("Pos. X（ｍｍ）", "mm"),
        ("X in", "in"),
    ],
)
def test_the_unit_of_a_title_is_read(title, unit):
    assert read_title(title).unit == unit


SPELLINGS = (
    ("RefDes", "Bauteil", "Repère", "部品番号", "Part", "Name"),
    ("CoordX", "座標X"),
    ("CoordY", "座標Y"),
    ("Rot", "Winkel", "角度"),
    ("Side", "Seite", "Côté"),
    ("Val", "Valeur"),
    ("Package", "Gehäuse", "形状"),
)


@pytest.mark.parametrize("names", list(itertools.islice(itertools.product(*SPELLINGS), 0, None, 5)))
def test_words_of_all_languages_may_stand_side_by_side(tmp_path, names):
    found = placements(tmp_path, ",".join(names)).index
    order = (Role.REF, Role.X, Role.Y, Role.ROTATION, Role.SIDE, Role.VALUE, Role.FOOTPRINT)
    assert found == {role: i for i, role in enumerate(order)}


def test_of_three_pairs_the_body_centre_is_taken_and_the_others_are_kept(tmp_path):
    header = "Part,Land X,Land Y,Origin X,Origin Y,Middle X,Middle Y,Face"
    lines = tuple((r, "1.1", "2.1", "1.2", "2.2", f"1.{n}", "2.3", "T") for n, r in enumerate(("C1", "C2", "R1")))
    found = placements(tmp_path, header, lines)
    assert (found.index[Role.X], found.index[Role.Y], found.index[Role.REF]) == (5, 6, 0)
    assert found.variants[Role.X] == (3, 1)
    assert found.variants[Role.Y] == (4, 2)


def test_a_plain_pair_wins_over_an_origin_and_the_units_stay_with_it(tmp_path):
    found = placements(
        tmp_path,
        "RefDes,Origin X(mil),Origin Y(mil),X [mm],Y [mm]",
        (("C1", "1", "2", "3", "4"), ("C2", "2", "2", "5", "4")),
    )
    assert (found.index[Role.X], found.units[Role.X], found.units[Role.Y]) == (3, "mm", "mm")


# Invented places.
def test_one_pair_in_two_units_is_no_ambiguity(tmp_path):
    found = placements(
        tmp_path,
        "RefDes,X (inch),Y (inch),X (mm),Y (mm)",
        (("C1", "1", "2", "25.4", "50.8"), ("C2", "2", "2", "50.8", "50.8")),
    )
    assert found.units[Role.X] == "mm"


def test_two_equal_pairs_are_an_error_that_names_them_and_the_line_that_settles_it(tmp_path):
    with pytest.raises(InputError) as error:
        placements(tmp_path, "RefDes,X,Y,X,Y", (("C1", "1", "2", "3", "4"), ("C2", "2", "2", "5", "4")))
    text = str(error.value)
    assert "2 pairs of columns" in text
    assert '[columns.placements] x = "2"' in text


def test_two_columns_of_references_are_an_error_with_candidates(tmp_path):
    lines = [",".join(line) for line in (("C1", "D1", "1", "2"), ("C2", "D2", "3", "4"))]
    with pytest.raises(InputError) as error:
        recognise(table(tmp_path, "Designator,RefDes,X,Y", *lines), "placements")
    text = str(error.value)
    assert '"Designator"' in text
    assert '"RefDes"' in text
    assert '[columns.placements] reference = "Designator"' in text


def test_board_toml_settles_what_is_ambiguous(tmp_path):
    t = table(tmp_path, "Designator,RefDes,X,Y", "C1,D1,1,2", "C2,D2,3,4")
    found = recognise(t, "placements", {"reference": "refdes"})
    assert found.index[Role.REF] == 1


def test_board_toml_may_name_columns_by_number(tmp_path):
    found = recognise(table(tmp_path, "C1,1.5,2.5,7,9", "C2,3.5,2.5,8,9"), "placements", {"x": "4", "y": "5"})
    assert (found.index[Role.X], found.index[Role.Y]) == (3, 4)


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ({"refrence": "Ref"}, "reference"),
        ({"reference": "Reff"}, "Ref"),
        ({"x": "Nowhere"}, "titles are"),
        ({"x": "X"}, "number"),
    ],
)
def test_board_toml_that_fits_nothing_is_an_error_with_a_way_out(tmp_path, named, said):
    t = table(tmp_path, "Ref,X,Y,X", "C1,1.5,2.5,9", "C2,3.5,2.5,9")
    with pytest.raises(InputError, match=said):
        recognise(t, "placements", named)


def test_missing_coordinates_are_an_error_with_the_titles_seen(tmp_path):
    with pytest.raises(InputError) as error:
        recognise(table(tmp_path, "Reference,Value", "C1,1u", "C2,1u"), "placements")
    assert len(error.value.problems) == 2
    assert '"Value"' in str(error.value)


def test_columns_without_titles_are_told_by_content(tmp_path):
    lines = (
        "C1,1.5,-2.5,90,top,100n,0402",
        "C2,13.5,2.25,0,top,1u,0603",
        "R1,3.25,9.5,270,bottom,10k,0402",
        "U1,33.25,19.5,180,bottom,47k,SOT-23",
    )
    found = recognise(table(tmp_path, *lines), "placements")
    assert found.index == {
        Role.REF: 0,
        Role.X: 1,
        Role.Y: 2,
        Role.ROTATION: 3,
        Role.SIDE: 4,
        Role.VALUE: 5,
        Role.FOOTPRINT: 6,
    }


def test_content_decides_what_a_doubtful_title_means(tmp_path):
    bom = table(tmp_path, "Part,Name,Quantity", 'QK52,"C1, C2",2', "QK53,R1,1", "QK54,R7,1")
    assert recognise(bom, "bom").index[Role.REF] == 1
    bom = table(tmp_path, "Désignation,Repère,Quantité", 'condensateur,"C1, C2",2', "résistance,R1,1")
    assert recognise(bom, "bom").index == {Role.DESCRIPTION: 0, Role.REF: 1, Role.QUANTITY: 2}


def test_a_strong_title_holds_although_its_cells_look_otherwise(tmp_path):
    found = placements(tmp_path, "Designator,X,Y,Value", (("100n", "1", "2", "C5"), ("knob left", "2", "2", "C6")))
    assert found.index[Role.REF] == 0


def test_variants_of_quantity_and_part_number_are_kept(tmp_path):
    bom = table(tmp_path, "Reference,MPN,Alternate MPN,Qty,Fitted A,Fitted B", "C1,AB-1,AB-2,1,x,", "C2,AB-3,AB-4,1,,x")
    found = recognise(bom, "bom")
    assert found.index[Role.PART_NUMBER] == 1
    assert found.variants[Role.PART_NUMBER] == (2,)
    assert {found.index[Role.FITTED], *found.variants[Role.FITTED]} == {4, 5}


def test_tables_score_by_what_they_are(tmp_path):
    placed = table(tmp_path, "Ref,X,Y,Rot,Side", "C1,1.5,2.5,90,top", "C2,3.5,2.5,0,top")
    bom = table(tmp_path, "Reference,Qty,Value,MPN", "C1,1,1u,AB-1", "C2,1,1u,AB-1")
    log = table(tmp_path, "Date,Author,Change", "2026-01-02,me,first", "2026-01-03,me,second")
    assert Recognised(placed).score("placements") > 0.8
    assert Recognised(placed).score("bom") < 0.4
    assert Recognised(bom).score("bom") > 0.7
    assert Recognised(bom).score("placements") < 0.1
    assert Recognised(log).score("bom") == Recognised(log).score("placements") == 0


def test_what_a_table_holds_is_looked_at_once_whatever_it_is_for(tmp_path, monkeypatch):
    looked = []
    monkeypatch.setattr("capcheck.intake.tables.columns.look_at", lambda cells: looked.append(cells) or look_at(cells))
    placed = Recognised(table(tmp_path, "Ref,X,Y", "C1,1.5,2.5", "C2,3.5,2.5"))
    assert placed.score("placements") > placed.score("bom")
    assert len(looked) == 3
