"""A sweep of names as customers write them, through the whole resolver, against the bodies that the standards give.

Figures: sizes are the digits of the name beside them; those of codes and outlines are in
capcheck/packages/data/*.csv with their sources, else from memory.
"""

import csv
from collections import Counter
from pathlib import Path

import pytest

from capcheck.model import Basis, PartName
from capcheck.packages.bodies.weighing import bodies_of

REFERENCE = Path(__file__).parents[1] / "reference"
ROUNDING = 0.0051
"""Names and tables round to hundredths of a millimetre."""


def table(name):
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ROWS = table("more_names.csv")


def body(text, prefix):
    # A name that is inch only beside it (size_codes.csv) settles the codes of both systems, as a real BOM does.
    found, _ = bodies_of([PartName(footprint=text, ref_prefix=prefix), PartName(footprint="R1206", ref_prefix="R")])
    return found


def holds(measure, value):
    return measure.low - ROUNDING <= float(value) <= measure.high + ROUNDING


def test_the_sweep_is_wide():
    kinds = Counter(row["kind"] for row in ROWS)
    assert min(kinds["land pattern"], kinds["outline number"], kinds["package name"]) >= 100
    assert len({row["text"] for row in ROWS}) == len(ROWS)


@pytest.mark.rows("row", ROWS, ids=lambda r: r["text"])
def test_a_name_comes_to_the_body_of_its_standard(row):
    found = body(row["text"], row["ref_prefix"])
    long, short = sorted(map(float, (row["side_mm"], row["other_side_mm"])), reverse=True)
    assert found.length.value.is_known
    assert found.width.value.is_known
    assert holds(found.length, long)
    assert holds(found.width, short)
    assert found.length.basis is not Basis.TYPICAL
    assert found.mounting == "surface"
    if row["height_max_mm"] and found.height.basis is not Basis.UNKNOWN:
        assert found.height.high + ROUNDING >= float(row["height_max_mm"])
    for field, measure in (("pitch_mm", found.pitch), ("span_mm", found.span)):
        assert not row[field] or holds(measure, row[field])
    assert not row["pins"] or found.pins == int(row["pins"])


@pytest.mark.rows("row", [r for r in ROWS if r["kind"] == "land pattern"], ids=lambda r: r["text"])
def test_a_land_pattern_name_gives_its_height(row):
    found = body(row["text"], row["ref_prefix"])
    if row["height_max_mm"]:
        assert holds(found.height, row["height_max_mm"])
        assert found.height.basis is Basis.DECODED


TAPES = table("more_tapes.csv")


def test_the_sweep_of_tapes_is_wide():
    assert len(TAPES) >= 100


@pytest.mark.rows("row", TAPES, ids=lambda r: r["text"])
def test_a_name_comes_to_the_tape_it_is_packed_on(row):
    found = body(row["text"], row["ref_prefix"])
    assert holds(found.tape_width, row["tape_width_mm"])
    assert holds(found.tape_pitch, row["pitch_mm"])
    assert found.tape_width.high <= 2 * found.tape_width.low
    assert found.tape_width.basis is Basis.TYPICAL
