"""Bounds of families: proofs where physics or a published outline gives them, nothing where none does.

Figures: sides and spans are invented; bounds follow by arithmetic from the shares in
capcheck/packages/data/families/*.toml, from memory where no other source stands beside.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from capcheck.model import Basis, LeadStyle, PartName
from capcheck.packages.bodies.bounds import family_bounds
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.candidate import Candidate, Trust
from capcheck.packages.names.outlines import read_package_name
from capcheck.packages.tables import Family
from capcheck.values.interval import Interval

REFERENCE = Path(__file__).parents[2] / "reference"


def known(key, **fields):
    return Candidate(Basis.DECODED, Trust.PACKAGE_NAME, family_key=None if key is None else Family(key), **fields)


def outlines():
    with (REFERENCE / "package_outlines.csv").open(encoding="utf-8", newline="") as file:
        return [r for r in csv.DictReader(file) if r["height_max_mm"]]


@pytest.mark.rows("row", outlines(), ids=lambda r: r["name"])
def test_no_bound_is_below_a_published_outline_of_the_family(row):
    for named in read_package_name(row["name"]):
        bound = family_bounds(named)
        if bound is not None and bound.height is not None:
            assert bound.height.high >= float(row["height_max_mm"])


def test_a_ceramic_chip_is_no_higher_than_it_is_wide_with_the_tolerance_of_thick_ones():
    bound = family_bounds(known("chip capacitor", length=Interval(1.9, 2.1), width=Interval(1.1, 1.4)))
    assert bound.height == Interval(0.0, 1.6)
    assert bound.basis is Basis.BOUND
    assert "wide" in bound.source


@pytest.mark.rows(
    ("code", "thickest"),
    [("C0201", 0.39), ("C0402", 0.7), ("C0603", 1.0), ("C0805", 1.45), ("C1206", 1.9), ("C1210", 2.8)],
)
def test_the_bound_holds_for_the_thickest_parts_of_a_size(code, thickest):
    """Greatest thicknesses of high-capacitance parts, with their wider tolerances: from memory."""
    others = PartName(footprint="R1206", ref_prefix="R")  # an inch name beside it settles the system
    body, _ = bodies_of([PartName(footprint=code, ref_prefix="C"), others], size_codes="inch")
    assert body.height.high >= thickest


def test_a_ceramic_chip_of_unknown_width_has_no_bound():
    assert family_bounds(known("chip capacitor")) is None


@pytest.mark.rows(
    "key",
    [
        "can capacitor",
        "connector",
        "switch",
        "transformer",
        "lga",
        None,
    ],
)
def test_families_without_a_published_limit_get_none(key):
    assert family_bounds(known(key, length=Interval(3, 3), width=Interval(3, 3))) is None


@pytest.mark.rows("key", ["chip inductor", "molded inductor", "crystal", "oscillator", "chip"])
def test_a_coded_part_is_at_most_one_and_a_half_of_its_longer_side_high(key):
    bound = family_bounds(known(key, length=Interval(3, 3.2), width=Interval(2, 2.2)))
    assert bound.height == Interval(0, 4.8)
    assert bound.basis is Basis.BOUND


def test_a_chip_fuse_is_hardly_higher_than_its_shorter_side():
    assert family_bounds(known("chip fuse", length=Interval(3, 3.4), width=Interval(1.5, 1.8))).height.high == 2.2


# Subminiature dome lamp, 2.2 mm body and 2.7 mm high; 3.5 x 2.8 mm molded lamp, 1.9 mm high: from memory.
@pytest.mark.parametrize(("key", "side", "height"), [("chip led", 2.2, 2.7), ("molded led", 3.5, 1.9)])
def test_a_lamp_is_bounded_by_its_longer_side_with_room_for_a_dome(key, side, height):
    bound = family_bounds(known(key, length=Interval.exactly(side), width=Interval.exactly(side)))
    assert height <= bound.height.high <= 1.5 * side + 1e-9
    assert bound.basis is Basis.BOUND


@pytest.mark.parametrize("key", ["chip led", "chip fuse", "chip diode"])
def test_a_family_bounded_by_its_sides_has_no_bound_without_them(key):
    assert family_bounds(known(key)) is None


# KOA Speer MCB data sheet SS-219, table 1: a 1608 bead is 0.8 mm thick with 0.15 mm tolerance.
def test_a_ferrite_bead_is_no_thicker_than_wide():
    sides = {"length": Interval(1.45, 1.75), "width": Interval(0.65, 0.95)}
    bound = family_bounds(known("chip ferrite bead", nominal_width=Interval.exactly(0.8), **sides))
    assert bound.height == Interval(0.0, 1.0)


# Crystal land patterns as makers print them, from memory: 3.2 x 2.5 with four lands 2.2 mm apart along the longer
# side and 1.7 along the shorter; oscillator 7 x 5 with six lands 2.54 mm apart.
@pytest.mark.parametrize(
    ("key", "pins", "long", "short", "pitch"),
    [("crystal", 4, 3.2, 2.5, 2.2), ("crystal", 4, 3.2, 2.5, 1.7), ("oscillator", 6, 7.0, 5.0, 2.54)],
)
def test_lands_at_the_corners_bound_the_pitch(key, pins, long, short, pitch):
    sides = {"length": Interval.exactly(long), "width": Interval.exactly(short)}
    bound = family_bounds(known(key, pins=pins, lead_style=LeadStyle.NO_LEAD, **sides))
    assert bound.pitch.low <= pitch <= bound.pitch.high


def test_more_lands_than_corners_leave_the_pitch_open():
    sides = {"length": Interval.exactly(5), "width": Interval.exactly(3.2)}
    bound = family_bounds(known("crystal", pins=8, lead_style=LeadStyle.NO_LEAD, **sides))
    assert bound is None or bound.pitch is None


# Height classes: JEDEC MS-026 (1.6 and 1.2 mm), MO-220; the letters' meaning is JESD30, from memory.
@pytest.mark.rows(
    ("name", "high"),
    [
        ("LQFP-64", 1.6),
        ("TQFP-64", 1.2),
        ("VQFN-20", 1.0),
        ("UQFN-16 3x3", 0.715),  # 0.65 and a tenth, as the letter's meaning is from memory
        ("TSSOP-14", 1.2),
        ("TFBGA-100 9x9", 1.32),
    ],
)
def test_the_height_class_in_a_name_bounds_it(name, high):
    assert family_bounds(read_package_name(name)[0]).height.high == high


def test_a_ball_grid_without_a_pitch_gets_the_pitches_that_fit():
    bound = family_bounds(known("bga", length=Interval(10, 10), width=Interval(10, 10), pins=100))
    assert bound.pitch.low == 0.3
    assert bound.pitch.high == pytest.approx(10 / 9, abs=0.001)  # ten balls on a side leave nine gaps


@given(st.integers(2, 40), st.integers(2, 40), st.floats(0.35, 1.4))
def test_every_full_grid_is_within_the_pitches_that_fit(columns, rows, pitch):
    length, width = (columns - 1) * pitch + 0.5, (rows - 1) * pitch + 0.5
    body = {"length": Interval.exactly(max(length, width)), "width": Interval.exactly(min(length, width))}
    bound = family_bounds(known("bga", pins=columns * rows, **body))
    assert bound.pitch.low <= pitch <= bound.pitch.high


def test_a_body_is_bounded_by_the_span_over_its_leads():
    bound = family_bounds(known("qfp", span=Interval(12, 12)))
    assert bound.length == bound.width == Interval(0.0, 12.0)
    bound = family_bounds(known("soic", span=Interval(6, 6)))
    assert bound.length is None
    assert bound.width == Interval(0.0, 6.0)
