"""Tapes against component makers' packing tables and EIA-481.

Figures: bodies are invented; tapes are in reference/*.csv and EIA-481-D, each with its source.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from capcheck.model import Basis, Body, Family, LeadStyle, Measure
from capcheck.packages.names.outlines import read_package_name
from capcheck.packages.tables import tapes as tape
from capcheck.values.interval import Interval

REFERENCE = Path(__file__).parents[2] / "reference"


def table(name):
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def measure(low, high=None):
    return Measure(Interval(low, low if high is None else high), Basis.STATED, "a test")


def body_of(name):
    fields = {}
    for reading in read_package_name(name):
        for field in ("length", "width", "height", "span"):
            value = getattr(reading, field)
            if value is not None and field not in fields:
                fields[field] = Measure(value, reading.basis, reading.source)
        fields.setdefault("lead_style", reading.lead_style)
        fields.setdefault("family", reading.family)
    return Body(**fields)


def within(interval, value):
    return interval.low <= value <= interval.high


PACKED = [r for r in table("packing_tapes.csv") if tape.over_all(body_of(r["package"])) is not None]


def test_most_of_the_packing_tables_can_be_checked():
    assert len(PACKED) >= 50


@pytest.mark.rows("row", PACKED, ids=lambda r: r["package"])
def test_the_maker_s_tape_is_among_the_usual_ones(row):
    width, pitch = tape.tape_for_body(body_of(row["package"]))
    assert within(width.value, float(row["tape_width_mm"]))
    assert not row["pitch_mm"] or within(pitch.value, float(row["pitch_mm"]))
    assert width.basis is Basis.TYPICAL


MATERIALS = table("package_materials.csv")
DRAWN = [r for r in MATERIALS if read_package_name(f"{r['drawing']}0{int(r['pins']):03d}A")]


def test_most_drawing_codes_of_the_package_materials_are_read():
    assert len(DRAWN) >= 0.9 * len(MATERIALS)


# A pocket is 0.1 to 0.5 mm wider than the part, as the documents' own figures show (package_materials.csv).
@pytest.mark.rows("row", DRAWN, ids=lambda r: f"{r['drawing']} {r['pins']} {r['source'].split()[4]}")
def test_the_part_fits_the_pocket_that_its_maker_packs_it_in(row):
    body = body_of(f"{row['drawing']}0{int(row['pins']):03d}A")
    sides = sorted(tape.over_all(body), key=lambda side: side.middle)
    pocket = sorted((float(row["pocket_a_mm"]), float(row["pocket_b_mm"])))
    assert all(-0.101 <= room - side.high <= 0.5 for side, room in zip(sides, pocket, strict=True))
    assert body.height.value.low <= float(row["pocket_depth_mm"])
    width, pitch = tape.tape_for_body(body)
    assert within(width.value, float(row["tape_width_mm"]))
    assert within(pitch.value, float(row["pitch_mm"]))


def test_the_usual_tapes_are_few():
    widths = [tape.tape_for_body(body_of(r["package"]))[0].value for r in PACKED]
    exact = sum(w.is_exact for w in widths)
    assert exact >= 0.4 * len(widths)
    assert all(w.high <= 2 * w.low for w in widths)


@pytest.mark.parametrize("row", table("passive_tapes.csv"), ids=lambda r: r["part"])
def test_passive_parts_are_on_the_tapes_of_the_packing_tables(row):
    sides = {"length": measure(float(row["length_mm"])), "width": measure(float(row["width_mm"]))}
    width, pitch = tape.tape_for_body(Body(**sides, lead_style=row["lead_style"]))
    assert width.value == Interval.exactly(float(row["tape_width_mm"]))
    assert within(pitch.value, float(row["pitch_mm"]))


def test_a_part_of_unknown_size_has_no_tape():
    assert tape.tape_for_body(Body(lead_style="gull wing")) is None


def test_a_part_beyond_every_tape_has_none():
    assert tape.tape_for_body(Body(length=measure(120), width=measure(40), height=measure(5))) is None


# EIA-481-D Tables 2 and 3: the pocket with its draft stays below B1.
B1 = {8: 4.35, 12: 8.2, 16: 12.1, 24: 20.1, 32: 23, 44: 35, 56: 46, 72: 60, 88: 76, 104: 91, 120: 107}


@given(st.floats(0.3, 100), st.floats(0.1, 1), st.floats(0.2, 3))
def test_a_body_no_table_knows_fits_across_the_tape_given(length, ratio, height):
    found = tape.tape_for_body(Body(length=measure(length), width=measure(length * ratio), height=measure(height)))
    width, pitch = found
    assert B1[int(width.low)] >= length
    assert pitch.low >= length * ratio
    assert pitch.low == 2 or pitch.low % 4 == 0


def test_a_tall_part_needs_a_deeper_and_wider_tape():
    low, _ = tape.tape_for_body(Body(length=measure(7), width=measure(7), height=measure(2)))
    tall, _ = tape.tape_for_body(Body(length=measure(7), width=measure(7), height=measure(9)))
    assert tall.high > low.high


def test_a_quad_package_that_is_stated_wider_than_long_breaks_nothing():
    sizes = {"length": measure(6.0), "width": measure(9.25), "span": measure(9.36)}
    _, second = tape.over_all(Body(**sizes, lead_style=LeadStyle.GULL_WING, family_key=Family.QFP))
    assert second.high == 9.36
