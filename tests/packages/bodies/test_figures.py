"""Columns of bare numbers under titles that say nothing: right for most parts, they are sizes of the others too.

Figures: parts and numbers are invented; heights are the digits of the land patterns' names beside them.
"""

import pytest

from capcheck.lexicon import sentence
from capcheck.model import PartName
from capcheck.packages.bodies.weighing import bodies_of

# Heights: the digits of the name, in hundredths of a millimetre (IPC-7351).
LANDS = {"RESC1608X55N": 0.55, "CAPC2012X130N": 1.3, "INDM4040X200N": 2.0, "CAPC3216X180N": 1.8, "IND 12x8x5mm": 5.0}


def bodies(numbers, factor=1.0):
    """Return the bodies of LANDS and of a coil of 4 x 4 x 1.8 mm, each with its number under "T"."""
    types = [
        PartName(footprint=land, ref_prefix=land[0], figures=(("T", number * factor, f"row of {land}"),))
        for land, number in zip([*LANDS, "IND 4x4x1.8mm"], numbers, strict=True)
    ]
    return bodies_of(types)


def asked(body):
    return [sentence(said) for said in body.questions if said.key == "packages.column is a size"]


# Definition of the inch.
@pytest.mark.parametrize("factor", [1.0, 1 / 25.4, 1000 / 25.4])
def test_a_column_that_is_the_height_of_most_parts_is_that_of_the_last(factor):
    *others, coil = bodies([*LANDS.values(), 25.0], factor)
    (said,) = asked(coil)
    assert "height" in said
    assert coil.height.high == float("inf")
    assert not any(map(asked, others))
    assert all(body.height.high < 10 for body in others)


def test_a_column_that_agrees_with_all_is_not_asked_about():
    assert not any(map(asked, bodies([*LANDS.values(), 1.8])))  # invented, as in bodies()


# Invented numbers, such as lists have below titles that speak of no size.
@pytest.mark.rows(
    "numbers",
    [
        [1, 2, 3, 4, 5, 6],  # rows counted
        [10, 10, 10, 10, 10, 250],  # a quantity, an order
        [0.01, 0.02, 0.05, 0.3, 0.4, 12.5],  # prices
        [50, 25, 16, 100, 63, 35],  # volts
        [1000, 4700, 22, 220, 0.47, 10],  # values
        [3, 3, 3, 1, 1, 3],  # levels of moisture
    ],
)
def test_columns_of_other_numbers_are_not_asked_about(numbers):
    assert not any(map(asked, bodies(numbers)))


def test_two_parts_that_agree_are_too_few():
    """Numbers invented, sizes the digits of the names."""
    types = [
        PartName(footprint=land, ref_prefix=land[0], figures=(("T", number, land),))
        for land, number in (("CAPC2012X130N", 1.3), ("INDM4040X200N", 2.0), ("IND 4x4x1.8mm", 25.0))
    ]
    assert not any(map(asked, bodies_of(types)))
