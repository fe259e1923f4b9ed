"""Whole packages: written in a random form, the same parts come back; questions come first; nothing is lost.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import csv
import io

import numpy as np
import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence
from capcheck.model import Kind, Side, Topic
from capcheck.values.errors import InputError

PER_MM = {"mm": 1.0, "mil": 1 / 0.0254, "inch": 1 / 25.4}
"""Units per mm; 1 inch is 25.4 mm exactly (international inch, 1959)."""

HEADERS = [
    ("Ref", "X", "Y", "Rotation", "Side", "Value", "Footprint"),
    ("Part", "Middle X", "Middle Y", "Angle", "Face", "Comment", "Package"),
    ("RefDes", "Centre-X", "Centre-Y", "Angle", "Board side", "Value", "Land pattern"),
    ("Bauteil", "X-Position", "Y-Position", "Drehung", "Seite", "Wert", "Gehäuse"),
    ("Repère", "Position X", "Position Y", "Rotation", "Face", "Valeur", "Empreinte"),
]
SIDES = [("top", "bottom"), ("T", "B"), ("F.Cu", "B.Cu"), ("Oben", "Unten"), ("1", "2")]


@st.composite
def forms(draw):
    """Return an invented board and one of the ways to write it."""
    n = draw(st.integers(12, 40))
    parts = [
        (
            f"{draw(st.sampled_from(['R', 'C', 'L', 'U']))}{i}",
            round(4.0 * (i % 8) + draw(st.floats(0.1, 1.5)), 2),
            round(5.0 * (i // 8) + draw(st.floats(0.1, 1.5)), 2),
            draw(st.sampled_from([0, 45, 90, 180, 270])),
            draw(st.sampled_from([0, 1])),
            draw(st.sampled_from(["10k", "100n", "4u7"])),
            draw(st.sampled_from(["LAND-1", "LAND-2"])),
        )
        for i in range(1, n + 1)
    ]
    return {
        "parts": parts,
        "header": draw(st.sampled_from(HEADERS)),
        "sides": draw(st.sampled_from(SIDES)),
        "unit": draw(st.sampled_from(list(PER_MM))),
        "where": draw(st.sampled_from(["header", "cells", "preamble", "board.toml"])),
        "decimal": draw(st.sampled_from([".", ","])),
        "delimiter": draw(st.sampled_from([",", ";", "\t"])),
        "negative": draw(st.booleans()),
        "origin": (draw(st.floats(-200, 200)), draw(st.floats(-200, 200))),
        "end": draw(st.sampled_from(["\n", "\r\n"])),
    }


def write(form):
    """Return the text of the placement file in this form."""
    unit, mark = form["unit"], form["decimal"]
    digits = {"mm": 4, "mil": 2, "inch": 6}[unit]  # never three: "39,370" may be thousands

    def number(value):
        return f"{value * PER_MM[unit]:.{digits}f}".replace(".", mark) + (unit if form["where"] == "cells" else "")

    stream = io.StringIO()
    rows = csv.writer(stream, delimiter=form["delimiter"], lineterminator=form["end"])
    header = list(form["header"])
    if form["where"] == "header":
        header[1], header[2] = f"{header[1]} ({unit})", f"{header[2]} ({unit})"
    if form["where"] == "preamble":
        stream.write(f"# Units: {unit}{form['end']}")
    rows.writerow(header)
    for ref, x, y, angle, side, value, land in form["parts"]:
        shown = angle - 360 if form["negative"] and angle > 180 else angle
        at = (number(x + form["origin"][0]), number(y + form["origin"][1]))
        rows.writerow([ref, *at, shown, form["sides"][side], value, land])
    return stream.getvalue()


@settings(max_examples=sample_size(120))
@given(forms())
def test_the_same_parts_come_back_from_any_form(tmp_path_factory, form):
    folder = tmp_path_factory.mktemp("board")
    (folder / "parts.txt").write_text(write(form), encoding="utf-8", newline="")
    stated = f'units = "{form["unit"]}"\n' if form["where"] == "board.toml" else ""
    (folder / "board.toml").write_text(f'placements = "parts.txt"\n{stated}', encoding="utf-8")
    package = read_package(folder)
    p = package.placements
    parts = form["parts"]
    assert list(p.ref) == [part[0] for part in parts]
    assert np.allclose(p.x_mm, [part[1] + form["origin"][0] for part in parts], atol=2e-4)
    assert np.allclose(p.y_mm, [part[2] + form["origin"][1] for part in parts], atol=2e-4)
    assert p.rotation_deg.tolist() == [part[3] for part in parts]
    expected = [part[4] for part in parts]
    if form["sides"] != ("1", "2") or set(expected) == {0, 1}:
        assert p.side.tolist() == expected
    names = [package.types[i] for i in p.part_type]
    assert [(t.value, t.footprint) for t in names] == [(part[5], part[6]) for part in parts]
    (table,) = package.tables
    assert table.rows == len(p)


HEADER = "Ref,X (mm),Y (mm),Rotation,Side,Value\n"


@pytest.fixture
def folder(tmp_path):
    def write_files(**files):
        for name, text in files.items():
            (tmp_path / name.replace("__", ".")).write_text(text, encoding="utf-8")
        return tmp_path

    return write_files


def test_a_reference_at_two_places_is_an_error_with_its_rows(folder):
    path = folder(
        p__csv=HEADER + "R1,1,1,0,top,1k\nR2,5,1,0,top,1k\nR1,9,1,0,top,1k\nC1,3,9,0,top,1u\nC1,4,9,0,top,1u\n"
    )
    with pytest.raises(InputError) as caught:
        read_package(None, placements=[path / "p.csv"])
    assert [p.where.row for p in caught.value.problems] == [4, 6]
    assert "rows 2, 4" in str(caught.value)


def test_one_row_twice_is_a_record_and_not_an_error(folder):
    package = read_package(None, placements=[folder(p__csv=HEADER + "R1,1,1,0,top,1k\nR1,1,1,0,top,1k\n") / "p.csv"])
    assert [d.title for d in package.discrepancies if d.refs == ("R1",)] == ["one reference twice"]


def test_a_file_whose_references_are_values_is_read_and_asked_about(folder):
    rows = (
        "10k,1,1,0,top,\n10k,5,1,0,top,\n100uF 35V,9,1,0,top,\n100uF 35V,13,1,0,top,\n12V,1,9,0,top,\n5V,5,9,0,top,\n"
    )
    package = read_package(None, placements=[folder(p__csv=HEADER + rows) / "p.csv"])
    assert len(package.placements) == 6
    assert {d.title for d in package.discrepancies} >= {"not annotated"}


def test_a_repeated_circuit_is_a_panel_with_every_row_kept(folder):
    circuit = [("R1", 1, 2), ("R2", 4, 2), ("C1", 2, 7), ("U1", 6, 8)]
    rows = "".join(f"{r},{x + dx},{y},0,top,v\n" for dx in (0, 20, 40) for r, x, y in circuit)
    package = read_package(None, placements=[folder(p__csv=HEADER + rows) / "p.csv"])
    assert package.panel.circuits == 3
    assert len(package.placements) == 12
    assert "panel" in {d.topic for d in package.decisions}


def test_board_toml_steps_one_circuit(folder):
    path = folder(
        p__csv=HEADER + "R1,1,2,0,top,v\nC1,9,7,90,top,v\n",
        board__toml='placements = "p.csv"\n[panel]\ncolumns = 2\npitch_x = "20 mm"\n',
    )
    p = read_package(path).placements
    assert list(p.ref) == ["R1", "C1", "R1/2", "C1/2"]
    assert p.x_mm.tolist() == [1, 9, 21, 29]
    assert p.row.tolist() == [2, 3, 2, 3]


def test_board_toml_names_what_is_not_fitted_and_what_rows_are(folder):
    path = folder(
        p__csv=HEADER + "R1,1,2,0,top,v\nR2,9,7,90,top,v\nR3,15,7,90,top,v\nX9,5,5,0,top,v\n",
        board__toml='placements = "p.csv"\nnot_fitted = ["R2-R3"]\n[kinds]\n"X*" = "fiducial"\n',
    )
    p = read_package(path).placements
    assert p.fitted.tolist() == [True, False, False, True]
    assert p.kind[3] == Kind.FIDUCIAL


def test_a_file_of_a_side_states_it_in_board_toml(folder):
    path = folder(
        a__csv="Ref,X (mm),Y (mm),Rotation\nR1,1,2,0\nR2,4,2,0\n",
        b__csv="Ref,X (mm),Y (mm),Rotation\nC1,1,2,0\nC2,4,2,0\n",
        board__toml='placements = [{ file = "a.csv", side = "top" }, { file = "b.csv", side = "bottom" }]\n',
    )
    assert read_package(path).placements.side.tolist() == [Side.TOP, Side.TOP, Side.BOTTOM, Side.BOTTOM]


def test_open_questions_of_unit_and_side_come_first_and_hold_back_what_needs_them(folder):
    path = folder(p__csv="Ref,X,Y,Rotation\nR1,7,7,0\nR2,7,7,0\n")
    package = read_package(None, placements=[path / "p.csv"])
    assert [d.title for d in package.discrepancies][:2] == ["unit open", "side open"]
    assert not package.unit_settled
    assert "one spot" not in {d.title for d in package.discrepancies}


def test_shared_centres_are_told_apart_by_the_other_pair(folder):
    path = folder(
        p__csv="Part,Middle X (mm),Middle Y (mm),Origin X (mm),Origin Y (mm),Face,Angle\n"
        "FID1,-20,-20,3,3,top,0\nFID2,-20,-20,97,3,top,0\nR1,10,10,9,10,top,0\nR2,20,10,19,10,top,0\n"
    )
    package = read_package(None, placements=[path / "p.csv"])
    assert package.placements.x_mm.tolist() == [3, 97, 10, 20]
    assert any("FID1, FID2 share one centre" in sentence(n.said) for n in package.notes)


def test_inputs_carry_their_hashes(folder):
    # SHA-256 of the empty text (FIPS 180-4) is not the file's: the bytes are hashed, not the path.
    path = folder(p__csv=HEADER + "R1,1,1,0,top,1k\nR2,5,1,0,top,1k\n")
    (one,) = read_package(None, placements=[path / "p.csv"]).inputs
    assert one.role == "placements"
    assert len(one.sha256) == 64
    assert one.sha256 != "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


@pytest.mark.parametrize("path", ["missing", "missing/board.toml"])
def test_a_path_that_does_not_exist_is_an_error(tmp_path, path):
    with pytest.raises(InputError):
        read_package(tmp_path / path)


def test_without_any_placement_file_the_error_says_what_to_give():
    with pytest.raises(InputError, match="--placements"):
        read_package(None)


def test_an_outline_alone_is_read_where_that_is_asked_for(folder):
    square = "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,Profile,NP*%\n%ADD10C,0.1*%\nD10*\nX0Y0D02*\n"
    square += "".join(f"X{x}000000Y{y}000000D01*\n" for x, y in [(40, 0), (40, 30), (0, 30), (0, 0)]) + "M02*\n"
    file = folder(edge__gbr=square) / "edge.gbr"
    package = read_package(None, outline=file, outline_alone=True)
    assert len(package.placements) == 0
    assert package.outline.polygon.bounds == pytest.approx((0, 0, 40, 30), abs=0.1)
    with pytest.raises(InputError, match="no placement file"):
        read_package(None, outline=file)


@pytest.mark.parametrize("pair", ["Origin", "Pad"])
def test_a_mark_off_the_board_takes_its_other_coordinates_and_a_part_has_no_place(folder, pair):
    """The other pair is a pad or an origin: it tells where a mark is, and not where a body is."""
    square = "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,Profile,NP*%\n%ADD10C,0.1*%\nD10*\nX0Y0D02*\n"
    square += "".join(f"X{x}000000Y{y}000000D01*\n" for x, y in [(40, 0), (40, 30), (0, 30), (0, 0)]) + "M02*\n"
    rows = "".join(f"R{i},{i},{i},{i},{i},top,0\n" for i in range(1, 29))
    path = folder(
        edge__gbr=square,
        p__csv=f"Part,Middle X (mm),Middle Y (mm),{pair} X (mm),{pair} Y (mm),Face,Angle\n"
        + rows
        + "J1,-90,5,3,25,top,0\nFID1,-90,6,5,25,top,0\n",
    )
    package = read_package(None, placements=[path / "p.csv"], outline=path / "edge.gbr")
    assert (package.placements.x_mm[-1], package.placements.y_mm[-1]) == (5, 25)
    assert np.isnan(package.placements.x_mm[-2])
    assert any("FID1 lie off the board" in sentence(n.said) for n in package.notes)
    assert ("J1",) in [d.refs for d in package.discrepancies if d.topic is Topic.NO_POSITION]


SHARED = "Part,Middle X (mm),Middle Y (mm),Pad X (mm),Pad Y (mm),Face,Angle\nR9,10,10,9,10,top,0\n"


@pytest.mark.parametrize("other", ["bottom,0", "top,90", "bottom,180"])
@pytest.mark.parametrize("pads", [("47,50", "50,47"), ("47,50", "51,50"), ("35,50", "50,53")])
def test_two_parts_with_one_centre_are_not_moved_to_their_pads(folder, other, pads):
    """A part under a part, or alternates for one spot."""
    path = folder(p__csv=SHARED + f"U1,50,50,{pads[0]},top,0\nU2,50,50,{pads[1]},{other}\n")
    package = read_package(None, placements=[path / "p.csv"])
    assert package.placements.x_mm.tolist() == [10, 50, 50]
    assert package.placements.y_mm.tolist() == [10, 50, 50]


def test_many_parts_with_one_centre_that_is_none_have_no_place(folder):
    rows = "".join(f"U{k},-20,-20,{20 * k},{15 * k},top,0\n" for k in range(1, 6))
    package = read_package(None, placements=[folder(p__csv=SHARED + rows) / "p.csv"])
    assert np.isnan(package.placements.x_mm).tolist() == [False, *[True] * 5]
    (record,) = [d for d in package.discrepancies if d.topic is Topic.NO_POSITION]
    assert record.refs == ("U1", "U2", "U3", "U4", "U5")


def test_one_reference_in_the_files_of_both_sides_is_a_record(folder):
    path = folder(
        a__csv=HEADER + "R1,1,1,0,top,1k\nR2,5,1,0,top,1k\n",
        b__csv=HEADER + "R1,1,1,0,bottom,1k\nC2,5,1,0,bottom,1k\n",
    )
    package = read_package(None, placements=[path / "a.csv", path / "b.csv"])
    assert [d.refs for d in package.discrepancies if d.title == "one reference twice"] == [("R1",)]


def test_the_files_of_both_sides_report_their_errors_together(folder):
    path = folder(
        a__csv=HEADER
        + "R1,3,1,0,top,1k\nR2,5,1,0,top,1k\nR3,seven,7,0,top,1k\n".replace("3,1", "c,1").replace("5,1", "e,1"),
        b__csv="",
    )
    with pytest.raises(InputError) as caught:
        read_package(None, placements=[path / "a.csv", path / "b.csv"])
    assert {p.where.file.rsplit("/", 1)[-1] for p in caught.value.problems} == {"a.csv", "b.csv"}


def test_parts_that_placements_and_bom_contradict_each_other_about_stay_fitted(tmp_path):
    (tmp_path / "p.csv").write_text(
        "Ref,Footprint,X (mm),Y (mm),Rotation,Side,Fitted\nR1,0603,1,1,0,top,no\nR2,0603,9,1,0,top,yes\n"
    )
    (tmp_path / "bom.csv").write_text("Reference,Part number,Value,Fitted\nR1,P-1,10k,yes\nR2,P-1,10k,no\n")
    package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "bom.csv")
    assert package.placements.fitted.tolist() == [True, True]
    assert [d.refs for d in package.discrepancies if d.title == "fitted or not"] == [("R1",), ("R2",)]


def test_fuses_that_the_bom_buys_are_no_fiducials(tmp_path):
    (tmp_path / "p.csv").write_text(
        "Ref,Footprint,Value,X (mm),Y (mm),Rotation,Side\nFD1,0603,1A,5,5,0,top\nFID1,round,,9,9,0,top\n"
    )
    (tmp_path / "bom.csv").write_text("Reference,Part number,Value,Description\nFD1,P-77,1A,SMD fuse\n")
    package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "bom.csv")
    assert package.placements.kind.tolist() == [Kind.PART, Kind.FIDUCIAL]
    assert any(sentence(note.said).startswith("FD1: taken as to be placed") for note in package.notes)


@pytest.mark.parametrize("unseen", ["\u200b", "\ufeff", "\u00ad", "\u200e", "\u2060"])
def test_characters_that_are_not_seen_make_no_other_reference(tmp_path, unseen):
    (tmp_path / "p.csv").write_text(f"Ref,X (mm),Y (mm),Rotation,Side\nR1,5,5,0,top\nR{unseen}2,9,9,0,top\n", "utf-8")
    (tmp_path / "bom.csv").write_text(f"Reference,Part number,Value\nR1{unseen},P-77,10k\nR2,P-77,10k\n", "utf-8")
    package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "bom.csv")
    assert package.placements.ref == ["R1", "R2"]
    assert package.placements.bom_line.tolist() == [0, 1]
    assert any("not seen" in sentence(note.said) for note in package.notes)


def test_the_mark_of_a_footnote_makes_no_other_reference(tmp_path):
    (tmp_path / "p.csv").write_text("Ref,X (mm),Y (mm),Rotation,Side\nR1,5,5,0,top\nR2 *,9,9,0,top\n")
    (tmp_path / "bom.csv").write_text("Reference,Part number,Value\nR1*,P-77,10k\nR2,P-77,10k\n* see remark,,\n")
    package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "bom.csv")
    assert package.placements.ref == ["R1", "R2"]
    assert package.placements.bom_line.tolist()[:2] == [0, 1]
    assert sum("footnote" in sentence(d.said) for d in package.discrepancies) == 2


def test_marks_that_alone_tell_references_apart_stay(tmp_path):
    (tmp_path / "p.csv").write_text("Ref,X (mm),Y (mm),Rotation,Side\nR1,5,5,0,top\nR1*,9,9,0,top\n")
    assert read_package(None, placements=[tmp_path / "p.csv"]).placements.ref == ["R1", "R1*"]
