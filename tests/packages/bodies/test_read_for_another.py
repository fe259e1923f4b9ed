"""Digits that are read for what they are not, and parts whose texts speak of another part.

Figures: invented names; sizes are the digits of the text beside them, else from memory.
"""

import pytest

from capcheck.model import Basis, PartName
from capcheck.packages.bodies.weighing import bodies_of


def body(letters, footprint, **more):
    (found,) = bodies_of([PartName(footprint=footprint, ref_prefix=letters, **more)])
    return found


# A lamp of 5.6 x 3.0 mm, from memory; TAS5630 is an amplifier of TI, whose digits are no size (from memory).
@pytest.mark.rows(
    ("footprint", "description", "is_lamp"),
    [
        ("TAS5630", "", False),
        ("QX5630", "", False),
        ("QX5630", "white LED", True),
        ("LED5630", "", True),
        ("5630", "", True),
    ],
)
def test_the_digits_of_a_device_are_no_size_of_a_lamp(footprint, description, is_lamp):
    found = body("D", footprint, description=description)
    assert (found.length.basis is Basis.DECODED) == is_lamp


# A socket is larger than the circuit that it takes; common practice, no source.
@pytest.mark.parametrize("letters", ["XU", "J", "X", "SO"])
@pytest.mark.parametrize("name", ["SMDSocket_SOIC8", "SOCKET_PLCC-44", "IC-Socket-QFN-32_5x5mm", "SOIC-8_SOCKET"])
def test_a_socket_has_no_size_of_the_circuit_that_it_takes(letters, name):
    found = body(letters, name)
    assert not found.length.value.is_known
    assert not found.height.value.is_known


def test_the_code_of_a_lamp_is_no_size_of_a_coil():
    assert not body("L", "IND_5630").length.value.is_known


# Molded coils named in hundredths of an inch and coils named in tenths of a millimetre; from memory.
@pytest.mark.parametrize(("number", "fits"), [("IHLP2525CZER100M01", False), ("IHLP4040DZER100M11", True)])
def test_a_coil_of_another_size_than_the_code_of_its_land_does_not_fit_it(number, fits):
    found = body("L", "IND_4040", part_number=number)
    assert (not found.misfits) == fits
    alone = body("L", "IND_4040")
    assert alone.length.value.low <= 4.0
    assert alone.length.value.high >= 10.92


@pytest.mark.parametrize(
    ("letters", "footprint", "description"),
    [
        ("SH", "QX_SHIELD", "shield cover for SMA connector"),
        ("J", "COVER_SMA", "Shielding lid for SMA"),
        ("MP", "QX1", "Cover for U.FL"),
    ],
)
def test_a_cover_takes_no_size_from_the_connector_that_it_covers(letters, footprint, description):
    found = body(letters, footprint, description=description)
    assert not found.length.value.is_known
    assert not found.width.value.is_known
    assert body("J", "QX1", description="SMA connector with shield").length.value.is_known


def test_a_number_with_a_stroke_is_not_cut_where_its_positions_begin():
    """A terminal that calls itself SMD has no pins, whatever the beginning of its number says."""
    assert body("J", "", part_number="MKDS1/2-3.81SMD").mounting is None
    assert body("J", "", part_number="MKDS1/2-3,81SMD").mounting is None
    assert body("J", "", part_number="MKDS1/2-3.81").mounting == "through hole"


# DFN1006 is 1.0 x 0.6 mm; what makers vary it by is from memory.
def test_a_kind_written_before_a_package_hides_no_size():
    found = body("D", "DIODFN1006")
    assert found.length.value.low <= 1.0 <= found.length.value.high < 1.2
    assert found.width.value.low <= 0.6 <= found.width.value.high < 0.8


# Two rows on 2.00 mm: Molex Milli-Grid, from memory.
def test_a_header_of_two_rows_is_known_by_the_name_of_its_family():
    found = body("J", "QX_MILLI-GRID_2X5")
    assert found.pitch.value.low == found.pitch.value.high == 2.0
    assert found.length.value.low >= 8.0
