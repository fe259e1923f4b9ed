"""Masses estimated from volume, against masses that makers give (from memory where no document is named).

Figures: other bodies are invented; masses are from memory, as is the factor of six.
"""

from __future__ import annotations

import pytest

from capcheck.model import Basis, Body, Family, LeadStyle, Measure
from capcheck.packages.bodies.mass import estimate
from capcheck.values.interval import Interval


def measure(low, high=None):
    return Measure(Interval(low, low if high is None else high), Basis.STATED, "a test")


# Body in mm, lead style, family, mass in g. Typical package masses of makers' material declarations, from memory.
KNOWN = [
    (4.9, 3.9, 1.5, "gull wing", "SOIC-8 narrow", 0.075),
    (2.9, 1.3, 1.0, "gull wing", "SOT-23", 0.008),
    (10, 10, 1.4, "gull wing", "LQFP-64 10x10", 0.34),
    (5, 5, 0.9, "no lead", "QFN-32 5x5", 0.065),
    (17, 17, 1.4, "ball grid", "BGA-256", 0.85),
    (10, 9.25, 4.4, "gull wing", "TO-263", 1.5, Family.DPAK),
    (16.6, 16.6, 4.2, "J lead", "PLCC-44", 2.4),
    (2.0, 1.25, 1.25, "chip", "chip capacitor 2012M", 0.016, Family.CHIP_CAPACITOR),
    (1.6, 0.8, 0.45, "chip", "chip resistor 1608M", 0.002, Family.CHIP_RESISTOR),
    (7.3, 4.3, 2.9, "molded", "tantalum 7343-31", 0.33, Family.TANTALUM),
    (6.6, 6.6, 7.7, "can", "aluminium electrolytic can 6.3 mm", 0.42),
]


@pytest.mark.parametrize("row", KNOWN, ids=lambda r: r[4])
def test_a_known_mass_is_within_the_estimate_and_the_estimate_within_a_factor_of_six(row):
    length, width, height, style, _, mass, *family = row
    found = estimate(
        Body(
            length=measure(length),
            width=measure(width),
            height=measure(height),
            lead_style=LeadStyle(style),
            family_key=family[0] if family else None,
        )
    )
    assert found.low <= mass <= found.high
    assert found.high <= 6 * found.low
    assert found.basis is Basis.TYPICAL
    assert "g/cm³" in found.source


def test_a_height_known_only_by_its_limit_widens_the_estimate():
    exact = estimate(Body(length=measure(5), width=measure(4), height=measure(1.5), lead_style="gull wing"))
    limit = estimate(Body(length=measure(5), width=measure(4), height=measure(0, 1.5), lead_style="gull wing"))
    assert 0 < limit.low < exact.low
    assert limit.high == exact.high


@pytest.mark.parametrize(
    "body",
    [
        Body(),
        Body(length=measure(5), width=measure(4), lead_style="gull wing"),
        Body(length=measure(5), width=measure(4), height=measure(1)),
        Body(length=measure(5), width=measure(4), height=measure(1), lead_style="no lead", family_key=Family.CONNECTOR),
    ],
)
def test_an_unknown_body_or_kind_has_no_mass(body):
    assert estimate(body) is None
