"""A line above the table states the unit of the coordinates; the word "in" before another unit is no inch.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence

# 1 inch is 25.4 mm exactly (international inch, 1959); a mil is a thousandth of it.
# Definitions: an inch is 25.4 mm, a mil a thousandth of it.
MM_PER = {"mm": 1.0, "inch": 25.4, "mil": 0.0254}


@pytest.fixture
def read(tmp_path):
    def write(*above, x="X", y="Y", places=((2, 3), (4, 5), (7, 3))):
        rows = "".join(f"R{k},1k,0603,{a},{b},0,top\n" for k, (a, b) in enumerate(places, 1))
        text = "".join(f"{line}\n" for line in above) + f"Ref,Value,Footprint,{x},{y},Rotation,Side\n{rows}"
        (tmp_path / "p.csv").write_text(text, encoding="utf-8")
        return read_package(None, placements=[tmp_path / "p.csv"])

    return write


@pytest.mark.parametrize(
    ("line", "unit"),
    [
        ("# Units in mm", "mm"),
        ("# All units are in mm", "mm"),
        ("# Einheit in mm", "mm"),
        ("# units used in this file: mm", "mm"),
        ("# Masseinheiten: mm", "mm"),
        ("# Units in (mm)", "mm"),
        ("# Units in: mm", "mm"),
        ("# Units in  mm", "mm"),
        ("# Units: mil (1 in = 1000 mil)", "mil"),
        ("# Units: in", "inch"),
        ("# Units are in inches", "inch"),
        ("# Units = in, degrees", "inch"),
        ("# Unit (in)", "inch"),
        ("# Units: in  Angle: deg", "inch"),
        ('# Units: "', "inch"),
    ],
)
def test_a_line_above_the_table_states_the_unit(read, line, unit):
    package = read(line)
    assert "unit" not in {d.topic for d in package.decisions}
    assert package.placements.x_mm[0] == pytest.approx(2 * MM_PER[unit])


@pytest.mark.parametrize(
    "line", ["# Community in Motion", "# 12 units in stock", "# Unit in test, lot 4", "# Rotation units in degrees"]
)
def test_a_line_that_only_sounds_like_one_states_nothing(read, line):
    assert "unit" in {d.topic for d in read(line).decisions}


@pytest.mark.parametrize("places", [[(0.02, 0.03)], [(-0.02, 0.03), (-0.02, 0.03)]])
def test_metres_over_parts_in_one_place_are_read_with_a_note(read, places):
    package = read(x="X [m]", y="Y [m]", places=places)
    assert package.placements.x_mm[0] == pytest.approx(1000 * places[0][0])
    assert any(
        "read as metres" in sentence(n.said) and "30 mm from the origin" in sentence(n.said) for n in package.notes
    )


@pytest.mark.parametrize("places", [[(2, 3)], [(0.2, 0.9)], [(0, 0)]])
def test_an_m_over_one_part_that_may_be_a_remark_leaves_the_unit_open(read, places):
    package = read(x="X [m]", y="Y [m]", places=places)
    assert [d.open for d in package.decisions if d.topic == "unit"] == [True]
    (note,) = [n for n in package.notes if "not read as metres" in sentence(n.said)]
    assert "one place" in sentence(note.said)
    assert "span" not in sentence(note.said)
