"""A unit in a title is read, or refused with its name; a remark is told from a unit.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest
from hypothesis import given, strategies as st

from capcheck.intake.read import read_package
from capcheck.intake.tables.header_units import unread_unit
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.lexicon import sentence
from capcheck.values.errors import InputError
from capcheck.values.units import ANGLE, MASS

UNITS = {
    "mm": "mm",
    "MM": "mm",
    "millimetre": "mm",
    "cm": "cm",
    "µm": "um",
    "um": "um",
    "microns": "um",
    "mil": "mil",
    "mils": "mil",
    "thou": "mil",
    "inch": "in",
    "inches": "in",
    "in": "in",
    "Zoll": "in",
}
TITLES = {
    Role.X: ["X", "Middle X", "X-loc", "Centre-X", "x position", "X-Koordinate"],
    Role.Y: ["Y", "Middle Y", "Y-loc", "Centre-Y", "y position", "Y-Koordinate"],
    Role.HEIGHT: ["Height", "Höhe", "Part height"],
    Role.WIDTH: ["Width", "Breite"],
}
FORMS = ["{} [{}]", "{}({})", "{} ({})", "{}_{}", "{} {}", "{} / {}", "{} <{}>", "{} {{{}}}", "{} in {}"]


@given(
    st.sampled_from([(role, title) for role, titles in TITLES.items() for title in titles]),
    st.sampled_from(list(UNITS)),
    st.sampled_from(FORMS),
    st.sampled_from([str, str.upper, str.lower]),
)
def test_a_unit_of_length_is_read_from_a_title_in_every_form(titled, unit, form, case):
    role, title = titled
    read = read_title(form.format(case(title), unit))
    assert read.strongest is role
    assert unread_unit(form.format(case(title), unit)) is None
    assert read.unit == UNITS[unit] or (form == "{} in {}" and UNITS[unit] in read.units)


@given(
    st.sampled_from([t for ts in TITLES.values() for t in ts]),
    st.sampled_from(FORMS[:4] + FORMS[6:8]),
    st.sampled_from(["ft", "feet", "Foot", "yd", "furlong", "km", "dm", "nm"]),
)
def test_a_unit_of_length_that_is_not_read_is_found_in_every_form(title, form, unit):
    assert unread_unit(form.format(title, unit)).casefold() == unit.casefold()


@pytest.mark.rows(
    ("title", "unit"),
    [
        ("X [furlong]", "furlong"),
        ("Y (ft)", "ft"),
        ("Pos X [Feet]", "Feet"),
        ("X_ft", "ft"),
        ("Middle Y ft", "ft"),
        ("X_FT", "ft"),
        ("Height [ft]", "ft"),
    ],
)
def test_a_unit_that_is_not_read_is_found(title, unit):
    assert unread_unit(title) == unit


@pytest.mark.rows(
    "title",
    [
        "X [centre]",
        "Y (mid)",
        "X (mm)",
        "X",
        "X [pin]",
        "X (M)",
        "Y [inch]",
        "X (abs.)",
        "X_mid",
        "X_pt",
        "X_m",
        "X [m]",
        "Y_pcb",
        "X_abs",
    ],
)
def test_a_remark_and_a_known_unit_are_none(title):
    assert unread_unit(title) is None


@pytest.mark.parametrize(
    ("title", "unit"), [("X [1/10 mm]", "1/10 mm"), ("Y (0.01 inch)", "0.01 inch"), ("X [0,1 mm]", "0,1 mm")]
)
def test_a_unit_with_a_factor_is_not_read_as_the_unit(title, unit):
    """Read as mm, tenths of a millimetre would make a board ten times too large, silently."""
    assert unread_unit(title) == unit


@pytest.mark.parametrize("title", ["X [1 mm]", "Middle X (1)", "X-loc [2]"])
def test_a_plain_number_in_brackets_is_no_factor(title):
    assert unread_unit(title) is None


def test_angles_and_masses_have_units_of_their_own():
    assert unread_unit("Rotation [gon]", ANGLE) == "gon"
    assert unread_unit("Mass (oz)", MASS) == "oz"
    assert unread_unit("Rotation [deg]", ANGLE) is None


@pytest.fixture
def read(tmp_path):
    def write(x="X", y="Y", rotation="Rotation", extra="", scale=1.0, bom=None):
        rows = "".join(
            f"R{k},10k,0603,{3.1 * k * scale:.6f},{(k % 4) * 2.3 * scale:.6f},90,top{',1.2' if extra else ''}\n"
            for k in range(1, 12)
        )
        title = f"Ref,Value,Footprint,{x},{y},{rotation},Side" + (f",{extra}" if extra else "")
        (tmp_path / "p.csv").write_text(f"{title}\n{rows}", encoding="utf-8")
        if bom is not None:
            (tmp_path / "b.csv").write_text(bom, encoding="utf-8")
        return read_package(None, placements=[tmp_path / "p.csv"], bom=None if bom is None else tmp_path / "b.csv")

    return write


def refused(read, **titles):
    with pytest.raises(InputError) as caught:
        read(**titles)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("titles", "said"),
    [
        ({"x": "X [deg]"}, '"deg" is no unit of length, and the column was taken for the x'),
        ({"y": "Y (g)"}, '"g" is no unit of length'),
        ({"x": "X_ft"}, '"ft" is no known unit of coordinates (known: mm, cm, µm, mil, inch)'),
        ({"rotation": "Rotation [mm]"}, '"mm" is no unit of angle'),
        ({"rotation": "Rotation (gon)"}, '"gon" is no known unit of angle (known: deg, rad)'),
        ({"extra": "Height [deg]"}, '"deg" is no unit of length'),
        ({"extra": "Height [ft]"}, '"ft" is no known unit of length'),
        ({"extra": "Mass [mm]"}, '"mm" is no unit of mass'),
        ({"x": "X [mm]", "y": "Y [mil]"}, '"X [mm]" and "Y [mil]" name two units'),
    ],
)
def test_a_unit_that_does_not_fit_its_column_is_refused_with_its_title(read, titles, said):
    (problem,) = refused(read, **titles)
    assert said in problem
    assert "p.csv:1" in problem


@pytest.mark.parametrize(
    ("extra", "why"), [("Mass [mm]", "its mass cannot be known"), ("Height [deg]", "its size cannot be known")]
)
def test_what_cannot_be_known_is_named_by_its_quantity(read, extra, why):
    (problem,) = refused(read, extra=extra)
    assert why in problem


def test_all_wrong_titles_are_named_together(read):
    assert len(refused(read, x="X [deg]", rotation="Rotation [mm]", extra="Height (g)")) == 3


def test_a_bill_of_materials_is_held_to_the_same(read):
    bom = "References,Value,Quantity,Height [deg]\nR1,10k,1,1.2\n"
    (problem,) = refused(read, bom=bom)
    assert 'b.csv:1 Height [deg]: "deg" is no unit of length' in problem


@pytest.mark.parametrize("rotation", ["Rotation [deg]", "Rotation in deg", "Rot. (°)", "Angle (grad)", "Rotation"])
def test_units_that_fit_are_no_problem(read, rotation):
    package = read(x="X [mm]", y="Y [mm]", rotation=rotation, extra="Height [mm]")
    assert package.placements.rotation_deg[0] == 90


def test_metres_in_brackets_are_read_where_the_board_then_has_the_size_of_one(read):
    package = read(x="X [m]", y="Y [m]", scale=0.001)
    assert package.placements.x_mm[0] == pytest.approx(3.1)


def test_an_m_in_brackets_over_larger_numbers_is_a_remark(read):
    package = read(x="X [m]", y="Y [m]")
    assert package.placements.x_mm[0] == pytest.approx(3.1)
    assert any("not read as metres" in sentence(note.said) for note in package.notes)


@pytest.mark.parametrize("units", [",,,mil,mil,deg,", "-,-,-,[mil],[mil],[°],-", ",,,(mil),(mil),,"])
def test_a_row_of_units_below_the_titles_belongs_to_them(tmp_path, units):
    rows = "".join(f"R{k},10k,0603,{100 * k},{50 * k},90,top\n" for k in range(1, 12))
    (tmp_path / "p.csv").write_text(f"Ref,Value,Footprint,X,Y,Rotation,Side\n{units}\n{rows}", encoding="utf-8")
    package = read_package(None, placements=[tmp_path / "p.csv"])
    assert package.placements.x_mm[0] == pytest.approx(2.54)
    assert "units of the columns" in {sentence(aside.reason) for aside in package.set_aside}
    (tmp_path / "board.toml").write_text('placements = "p.csv"\n[columns.placements]\nx = "X"\ny = "Y"\n')
    assert read_package(tmp_path).placements.x_mm[0] == pytest.approx(2.54)
