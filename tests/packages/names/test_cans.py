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


@pytest.mark.parametrize(
    "name", ["ELCO-ELEC-6.3x5.4.", "Elec 6.3x5.4..", "SMD,D6.3XL7..7MM", "ELEC_6.3X.", "ECAP_4X..5"]
)
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
