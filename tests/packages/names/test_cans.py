"""Names of aluminium cans: what they state is read, and nothing that a customer may type ends in an error.

Figures: diameters are those in the name; bases are in capcheck/packages/data/cans.csv, from memory.
"""

import pytest
from hypothesis import given, strategies as st

from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.names.outlines import read_package_name


def diameter(footprint):
    return bodies_of([PartName(footprint=footprint, ref_prefix="C")])[0].length.value


@pytest.mark.rows("name", ["ELCO-ELEC-6.3x5.4.", "Elec 6.3x5.4..", "SMD,D6.3XL7..7MM", "ELEC_6.3X.", "ECAP_4X..5"])
def test_a_stray_point_is_no_error(name):
    assert bodies_of([PartName(footprint=name, ref_prefix="C")])


# Invented names; the sizes are what a misreading would give.
@pytest.mark.parametrize(("name", "wrong"), [("ECAP_0805", 8.0), ("ELEC-0603", 6.0), ("ELEC_100X20", 10.0)])
def test_a_size_code_or_a_long_number_is_no_diameter(name, wrong):
    found = diameter(name)
    assert found.high < wrong or not found.is_known or found.low > wrong


# Bases of cans: capcheck/packages/data/cans.csv, from memory.
def test_a_plain_diameter_is_read():
    assert diameter("ELCO-ELEC-6.3x5.4").low <= 6.6 <= diameter("ELCO-ELEC-6.3x5.4").high


@given(st.text(alphabet="ECAPLDXSM0123456789._-x, ", max_size=24).map(lambda t: f"ELEC{t}".upper()))
def test_no_name_ends_in_an_error(name):
    list(read_package_name(name))


def test_a_number_of_a_higher_can_than_the_land_is_named_for_leaves_the_height_open():
    """RVT with 0607 is 6.3 by 7.7 mm (from memory), the land's name says 5.4 mm."""
    (found,) = bodies_of([PartName(ref_prefix="C", footprint="CAN-D6.3-H5.4", part_number="RVT1V999M0607")])
    assert found.disputed == ("height",)
    assert found.height.low <= 5.4
    assert found.height.high >= 7.7
    (agreeing,) = bodies_of([PartName(ref_prefix="C", footprint="CAN-D6.3-H7.7", part_number="RVT1V999M0607")])
    assert agreeing.disputed == ()
    assert agreeing.height.high < 8.5


def test_the_higher_of_two_cases_of_equal_sides_bounds_the_height():
    """7343-31 and 7343-43 differ in height alone (EIA-535BAAC): 2.8 and 4.1 mm, each to 0.3 mm more."""
    for one, other in (("7343-31", "7343-43"), ("7343-43", "7343-31")):
        texts = {"footprint": f"CP_EIA-{one}", "description": f"CAP TANT {other}"}
        (found,) = bodies_of([PartName(ref_prefix="C", value="470uF", **texts)])
        assert found.height.high >= 4.1, one
