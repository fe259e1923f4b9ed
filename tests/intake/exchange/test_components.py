"""What a component layer states of each part: its height in the file's unit, each flash a part, no turn made up.

Figures: parts, places and sizes are invented; an inch is 25.4 mm by definition.
"""

import math

import pytest

from capcheck.checking import read_board
from capcheck.intake.exchange.components import parts_of_layer, read_here
from capcheck.values import InputError

HEAD = (
    "%TF.FileFunction,Component,L1,Top*%\n%FSLAX46Y46*%\n%MO{unit}*%\n%TA.AperFunction,ComponentMain*%\n%ADD10C,0.3*%\n"
    "%TD*%\n%TA.AperFunction,ComponentOutline,Body*%\n%ADD11C,0.1*%\n%TD*%\n"
)
BOX = ((-4.5, -3.5), (4.5, -3.5), (4.5, 3.5), (-4.5, 3.5), (-4.5, -3.5))


def at(x, y, per_mm):
    return f"X{round(x * 1e6 * per_mm)}Y{round(y * 1e6 * per_mm)}"


def part(ref, x, y, *, turn="0", height=3.2, corners=BOX, per_mm=1.0, line="\n"):
    said = [f"%TO.C,{ref}*%", f"%TO.CHgt,{height * per_mm:.9f}*%", *([f"%TO.CRot,{turn}*%"] if turn else [])]
    drawn = [f"{at(x + a, y + b, per_mm)}D0{1 if k else 2}*" for k, (a, b) in enumerate(corners)]
    return line.join(["D10*", *said, f"{at(x, y, per_mm)}D03*", "D11*", *drawn, "%TD*%"]) + line


def layer(*parts, unit="MM", end="M02*\n"):
    return HEAD.format(unit=unit) + "".join(parts) + end


@pytest.fixture
def stated(tmp_path):
    def read(text):
        (tmp_path / "top.gbr").write_text(text)
        return read_here(str(tmp_path / "top.gbr"), b"")

    return read


@pytest.fixture
def listed(tmp_path):
    """Read a board that component layers alone place: each row with its reference, place and angle."""

    def read(text):
        (tmp_path / "top.gbr").write_text(text)
        found = read_board(tmp_path)
        p = found.placements
        rows = zip(p.ref, p.x_mm.tolist(), p.y_mm.tolist(), p.rotation_deg.tolist(), strict=True)
        return found, list(rows)

    return read


FIVE = [part(f"U{k}", 20.0 * k, 9.0) for k in range(1, 6)]


@pytest.mark.parametrize(("unit", "per_mm"), [("MM", 1.0), ("IN", 1 / 25.4)])  # an inch by definition
def test_a_height_is_in_the_unit_of_the_file(stated, unit, per_mm):
    found = stated(layer(part("U1", 20, 9, height=12.7, per_mm=per_mm), unit=unit))["U1"]
    assert found.height_mm == pytest.approx(12.7)  # half an inch by definition
    assert found.outline == pytest.approx((9.0, 7.0), abs=1e-4)


def test_two_flashes_of_one_part_are_two_rows(listed):
    """Also on one line, as where a writer breaks none."""
    one_line = part("U1", 20, 9, line="") + part("U1", 60, 9, line="")
    with pytest.raises(InputError, match="stands 2 times, at different places"):
        listed(layer(one_line, *FIVE[1:]))


def test_parts_of_a_step_are_repeated(listed):
    _, rows = listed(layer("%SRX2Y1I200.0J0*%\n", *FIVE, "%SR*%\n", part("U9", 150, 60)))
    assert sorted(x for _, x, *_ in rows) == sorted([20.0 * k + far for k in range(1, 6) for far in (0, 200)] + [150.0])


@pytest.mark.parametrize("turn", ["", "ninety"])
def test_a_turn_that_is_not_stated_is_none(listed, stated, turn):
    text = layer(part("U6", 20, 30, turn=turn), *FIVE)
    own = stated(text)["U6"]
    assert (own.turned_deg, own.outline) == (None, None)
    found, rows = listed(text)
    [angle] = [angle for ref, *_, angle in rows if ref == "U6"]
    assert math.isnan(angle) or any("U6" in d.refs for d in found.discrepancies)


def test_a_part_without_reference_is_not_lost(listed):
    found, rows = listed(layer(*FIVE, part("", 150, 60)))
    said = [*(n.said for n in found.notes), *(d.said for d in found.discrepancies)]
    assert len(rows) == 6 or any("reference" in getattr(s, "key", "") for s in said)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (layer(*FIVE, end=""), "breaks off"),
        (layer(*FIVE)[:-400], "breaks off"),
        (layer(*FIVE).replace("X24500000", "X2.45e7"), "cannot be read"),
        (layer("%ABD12*%\n", *FIVE, "%AB*%\n"), "blocks"),
        (layer("%SRX2Y1*%\n", *FIVE), "cannot be read"),
        (layer("%SRX9999Y9999I1J1*%\n", *FIVE), "repeats"),
    ],
)
def test_what_would_lose_a_part_or_a_corner_is_an_error(stated, text, what):
    with pytest.raises(InputError, match=what):
        stated(text)


def test_every_flash_is_a_part(tmp_path):
    (tmp_path / "top.gbr").write_text(layer("D10*\n", "%TO.C,U1*%", "X1Y1D03*X2Y2D03*X3Y3D03*"))
    assert len(parts_of_layer(str(tmp_path / "top.gbr"))) == 3


def test_a_place_without_code_is_drawn_as_the_one_before(tmp_path):
    (tmp_path / "top.gbr").write_text(layer("D10*\n", "%TO.C,U1*%", "X1Y1D03*X2Y2*X3Y3*"))
    assert len(parts_of_layer(str(tmp_path / "top.gbr"))) == 3
