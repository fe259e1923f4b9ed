"""A Gerber profile reads as the contour along the middle of its strokes.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import builtins
import math

import pytest
from shapely import Polygon

from capcheck.intake.outline.forms import read_drawing
from capcheck.intake.outline.outline_file import OutlineOptions, read_outline
from capcheck.lexicon import sentence
from capcheck.values.errors import InputError

pytest.importorskip("gerbonara")

# The examples are written by hand after the Gerber layer format specification (revision 2024.05), chapter 4.
MM = "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10C,0.150000*%\nG01*\nD10*\n"
INCH = "%FSLAX25Y25*%\n%MOIN*%\n%LPD*%\n%ADD10C,0.01*%\nG01*\nD10*\n"


def at(x, y, scale=1_000_000):
    return f"X{round(x * scale)}Y{round(y * scale)}"


def loop(corners, scale=1_000_000):
    moves = [f"{at(*corners[0], scale)}D02*"]
    moves += [f"{at(*corner, scale)}D01*" for corner in [*corners[1:], corners[0]]]
    return "\n".join(moves) + "\n"


def rounded(g75=True):
    """Return an 80 × 50 mm rectangle with corners of 4 mm, in multi-quadrant or single-quadrant mode."""
    mode = "G75*\n" if g75 else "G74*\n"
    sign = (lambda v: v) if g75 else abs  # single-quadrant offsets are written without sign
    text = mode + f"{at(4, 0)}D02*\n"
    legs = [
        ((76, 0), (80, 4), (0, 4)),
        ((80, 46), (76, 50), (-4, 0)),
        ((4, 50), (0, 46), (0, -4)),
        ((0, 4), (4, 0), (4, 0)),
    ]
    for straight, end, (i, j) in legs:
        text += f"G01*\n{at(*straight)}D01*\nG03*\n{at(*end)}I{round(sign(i) * 1e6)}J{round(sign(j) * 1e6)}D01*\n"
    return text + "G01*\n"


@pytest.fixture
def read(tmp_path):
    def write_and_read(text, points=None, **options):
        file = tmp_path / "board.gko"
        file.write_text(text, encoding="ascii")
        return read_outline(file, OutlineOptions(**options), points)

    return write_and_read


RECTANGLE = [(0, 0), (80, 0), (80, 50), (0, 50)]


def test_strokes_count_by_their_middle_not_by_their_width(read):
    reading = read(MM + loop(RECTANGLE) + "M02*\n")
    assert reading.outline.polygon.bounds == pytest.approx((0, 0, 80, 50))
    assert reading.unit == "mm"
    assert not reading.decisions


def test_inches_convert_exactly(read):
    corners = [(0, 0), (3, 0), (3, 2), (0, 2)]
    assert read(INCH + loop(corners, 100_000) + "M02*\n").outline.polygon.bounds == pytest.approx((0, 0, 76.2, 50.8))


@pytest.mark.parametrize("g75", [True, False], ids=["multi quadrant", "single quadrant"])
def test_arcs_read_in_both_quadrant_modes(g75, read):
    polygon = read(MM + rounded(g75) + "M02*\n").outline.polygon
    assert polygon.area == pytest.approx(4000 - (4 - math.pi) * 16, abs=0.02)
    assert polygon.bounds == pytest.approx((0, 0, 80, 50), abs=1e-4)


def test_without_a_unit_it_is_inferred_and_open(read):
    reading = read(MM.replace("%MOMM*%\n", "") + loop([(0, 0), (3, 0), (3, 2), (0, 2)]) + "M02*\n")
    assert reading.unit == "inch"
    assert [d.open for d in reading.decisions if d.topic == "outline unit"] == [True]


def test_a_drawing_that_is_stepped_and_repeated_is_noted(read):
    reading = read(MM + "%SRX2Y3I100J100*%\n" + loop(RECTANGLE) + "%SR*%\nM02*\n")
    assert any("repeats its drawing 2 × 3 times" in sentence(note.said) for note in reading.notes)


def test_without_a_number_format_the_file_is_refused(read):
    with pytest.raises(InputError, match="does not say how its numbers are written"):
        read(MM.replace("%FSLAX46Y46*%\n", "") + loop(RECTANGLE) + "M02*\n")


def test_deprecated_commands_do_no_harm(read):
    text = "G04 old*\n%FSLAX46Y46*%\nG71*\n%MOMM*%\nG01*\nG75*\n%ADD10C,0.15*%\nG54D10*\n" + loop(RECTANGLE) + "M02*\n"
    assert read(text).outline.polygon.area == pytest.approx(4000)


def test_a_region_is_a_contour(read):
    assert read(MM + "G36*\n" + loop(RECTANGLE) + "G37*\nM02*\n").outline.polygon.area == pytest.approx(4000)


# An inch is 25.4 mm by definition (1959).
def test_a_region_in_inches_with_arcs_keeps_its_size(read):
    moves = (
        "G75*\nG36*\nX0Y0D02*\nG01*\nX300000Y0D01*\nG03*\nX300000Y200000I0J100000D01*\n"
        "G01*\nX0Y200000D01*\nX0Y0D01*\nG37*\n"
    )
    polygon = read(INCH + moves + "M02*\n").outline.polygon
    assert polygon.bounds == pytest.approx((0, 0, 101.6, 50.8), abs=1e-6)
    assert polygon.area == pytest.approx((6 + math.pi / 2) * 25.4**2, rel=1e-4)


def test_full_circles_and_flashes_are_holes_and_inner_loops_cut_outs(read):
    circle = "G75*\nX8000000Y5000000D02*\nG03*\nX8000000Y5000000I-3000000J0D01*\nG01*\n"
    flash = "%ADD11C,3.200000*%\nD11*\nX70000000Y40000000D03*\n"
    inner = loop([(30, 20), (40, 20), (40, 25), (30, 25)])
    outline = read(MM + loop(RECTANGLE) + circle + inner + flash + "M02*\n").outline
    assert sorted(outline.holes) == [pytest.approx((5, 5, 6)), pytest.approx((70, 40, 3.2))]
    assert [Polygon(r).bounds for r in outline.polygon.interiors] == [pytest.approx((30, 20, 40, 25))]


def test_a_title_beside_the_board_is_not_the_board(read):
    letters = "".join(loop([(x, -12), (x + 2, -12), (x + 2, -9), (x, -9)]) for x in range(0, 40, 4))
    assert read(MM + letters + loop(RECTANGLE) + "M02*\n").outline.polygon.bounds == pytest.approx((0, 0, 80, 50))


def test_an_open_profile_names_the_gap(read):
    moves = "X0Y0D02*\nX80000000Y0D01*\nX80000000Y50000000D01*\nX0Y50000000D01*\nX0Y2000000D01*\n"
    with pytest.raises(InputError, match=r"open between .*the gap is 2 mm"):
        read(MM + moves + "M02*\n")


def test_a_profile_that_crosses_itself_names_the_crossing(read):
    with pytest.raises(InputError, match=r"crosses itself at \(40\.0000, 25\.0000\)"):
        read(MM + loop([(0, 0), (80, 50), (80, 0), (0, 50)]) + "M02*\n")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("%FSLAX46Y46*%\n%MOMM*%\nM02*\n", "nothing in it can be a contour"),
        ("%FSLAX46Y46*%\n%MOMM*%\nX1Y1D99Z%\n%%%", "not a Gerber file that can be read|nothing in it"),
    ],
)
def test_a_file_without_a_profile_says_so(text, said, read):
    with pytest.raises(InputError, match=said):
        read(text)


def test_without_the_library_the_message_says_how_to_install_it(tmp_path, monkeypatch):
    file = tmp_path / "board.gko"
    file.write_text(MM + loop(RECTANGLE) + "M02*\n")

    imported = builtins.__import__

    def refuse(name, *args, **kwargs):
        if name.startswith("gerbonara"):
            raise ImportError(name)
        return imported(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", refuse)
    with pytest.raises(InputError, match=r'pip install "capcheck\[gerber\]"'):
        read_drawing(file)


MIDDLE = at(40, 25)
TOOLS = MM + "%ADD11C,2*%\n%ADD12O,6X2*%\n%ADD13R,6X2*%\n%ADD14P,4X6*%\n%AMTURNED*21,1,6,2,0,0,30*%\n%ADD15TURNED*%\n"


@pytest.mark.parametrize(("tool", "area"), [(12, 8 + math.pi), (13, 12), (14, 6 * math.sqrt(3))])
def test_a_flash_that_is_not_round_is_a_cut_out(read, tool, area):
    """An obround of 6 × 2 mm, a rectangle, and a regular hexagon of 4 mm over its corners."""
    outline = read(TOOLS + loop(RECTANGLE) + f"D{tool}*\n{MIDDLE}D03*\nM02*\n").outline
    (ring,) = outline.polygon.interiors
    assert Polygon(ring).area == pytest.approx(area, rel=1e-3)


def test_a_flash_of_a_macro_is_not_dropped(read):
    reading = read(TOOLS + loop(RECTANGLE) + f"D15*\n{MIDDLE}D03*\nM02*\n")
    assert reading.outline.polygon.interiors or reading.outline.doubts


def test_a_line_of_no_length_is_a_hole_as_wide_as_its_tool(read):
    outline = read(TOOLS + loop(RECTANGLE) + f"D11*\n{MIDDLE}D02*\n{MIDDLE}D01*\nM02*\n").outline
    assert outline.holes == (pytest.approx((40, 25, 2)),)


@pytest.mark.parametrize("tool", [10, 11])
def test_a_slot_that_is_drawn_as_one_line_may_be_an_opening_as_wide_as_its_tool(read, tool):
    reading = read(TOOLS + loop(RECTANGLE) + f"D{tool}*\n{at(30, 25)}D02*\n{at(50, 25)}D01*\nM02*\n")
    (doubt,) = reading.outline.doubts
    left, low, right, high = doubt.area.bounds
    assert high - low == pytest.approx({10: 0.0, 11: 2.0}[tool], abs=0.01)
    assert right - left >= 20.0
    assert len(reading.discrepancies) == 1


def test_what_a_repeated_drawing_holds_may_be_an_opening_anywhere(read):
    slot = f"%SRX2Y1I10J0*%\nD11*\n{at(30, 25)}D03*\n%SR*%\n"
    reading = read(TOOLS + loop(RECTANGLE) + slot + "M02*\n")
    assert None in [doubt.area for doubt in reading.outline.doubts]
