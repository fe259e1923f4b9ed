"""Chip resistor arrays by elements and size code, against their published dimension tables."""

import pytest

from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.candidate import Column
from capcheck.packages.names.arrays import read_array


# Dimensions in mm: Samsung RP102P, RP104P and RP164P (dtsheet 424484); 2x0603 and 4x0805 from memory.
@pytest.mark.rows(
    ("text", "long", "short", "pins", "pitch"),
    [
        ("ARRAY-2x0402 convex", 1.0, 1.0, 4, 0.65),
        ("R-ARRAY 4x0402", 2.0, 1.0, 8, 0.5),
        ("0603*2", 1.6, 1.6, 4, 0.8),
        ("0603x4", 3.2, 1.6, 8, 0.8),
        ("0603-8P", 3.2, 1.6, 8, 0.8),
        ("RA_8P4R_0603", 3.2, 1.6, 8, 0.8),
        ("0402 8P4R", 2.0, 1.0, 8, 0.5),
        ("4X0805", 5.08, 2.2, 8, 1.27),
    ],
)
def test_an_array_has_the_body_of_the_published_table(text, long, short, pins, pitch):
    (array,) = read_array(text, Column.FOOTPRINT, "RN")
    assert array.length.low <= long <= array.length.high
    assert array.width.low <= short <= array.width.high
    assert array.pitch.low <= pitch <= array.pitch.high
    assert array.pins == pins


@pytest.mark.rows(
    ("text", "prefix"),
    [("4x0603", "C"), ("4x0603", "J"), ("0603", "RN"), ("3x0603", "RN"), ("14x0603", "RN"), ("0603x40", "RN")],
)
def test_no_array_is_read_where_elements_code_or_kind_do_not_fit(text, prefix):
    assert read_array(text, Column.FOOTPRINT, prefix) == []


def test_the_source_names_the_table():
    (array,) = read_array("4x0603", Column.FOOTPRINT, "RN")
    assert "4x0603" in array.source
    assert "dimension table" in array.source


@pytest.mark.parametrize(
    ("text", "long", "short"),
    [
        ("RES ARRAY 4 RES 10K OHM 0804", 2.0, 1.0),
        ("RES ARRAY 2 RES 33 OHM 0606 (1616 Metric)", 1.6, 1.6),
        ("RES ARRAY 4 RES 1K OHM 1206 (3216 Metric), Concave", 3.2, 1.6),
        ("RN_0404", 1.0, 1.0),
    ],
)
def test_an_array_named_by_its_whole_body_has_that_size(text, long, short):
    """A distributor's size codes of arrays, inch and metric beside each other (common practice, no source)."""
    (array,) = read_array(text, Column.DESCRIPTION, "RN")
    assert array.length.low <= long <= array.length.high
    assert array.width.low <= short <= array.width.high


def test_a_size_that_may_be_one_element_names_no_body():
    assert read_array("RES ARRAY 4 RES 10K OHM 1206", Column.DESCRIPTION, "RN") == []


# Four elements 0603 are 3.2 by 1.6 mm over all (Samsung, the table above); so is a chip 1206, from memory.
@pytest.mark.rows(
    ("footprint", "disputed"), [("0201", True), ("SMD0603", True), ("0603X4", False), ("R1206", False), ("QX", False)]
)
def test_an_array_lies_on_no_land_of_one_chip_but_one_of_its_own_size(footprint, disputed):
    """Four of 0603 are 3.2 by 1.6 mm over all, as one 1206 is (the table above)."""
    (found,) = bodies_of([PartName(ref_prefix="RN", description="RES ARRAY 4x0603", footprint=footprint)])
    assert found.disputed == (("body",) if disputed else ())
    assert found.length.low <= 3.2 <= found.length.high
    assert (found.length.low < 2) is disputed
