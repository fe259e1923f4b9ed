"""What follows from a settled body: balls, hidden joints, mass, tape, tray or stick.

Figures: bodies are invented; balls, trays and tapes are in capcheck/packages/data/*.csv, with their sources.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from msgspec.structs import replace

from capcheck.model import Basis, Body, Family, LeadStyle, Measure
from capcheck.packages.bodies.consequences import with_consequences
from capcheck.packages.tables.ball_diameters import ball_diameter
from capcheck.values.interval import Interval

REFERENCE = Path(__file__).parents[2] / "reference"


def balls():
    with (REFERENCE / "ball_diameters.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def measure(low, high=None):
    return Measure(Interval(low, low if high is None else high), Basis.STATED, "a test")


def body(length, width, style, **fields):
    return Body(
        length=measure(length),
        width=measure(width),
        height=measure(1.0),
        lead_style=style and LeadStyle(style),
        mounting="surface",
        **fields,
    )


@pytest.mark.parametrize("row", balls(), ids=lambda r: f"{r['part']} {r['pitch_mm']}")
def test_published_balls_are_within_those_usual_on_their_pitch(row):
    found = ball_diameter(Interval.exactly(float(row["pitch_mm"])))
    assert found.low <= float(row["diameter_mm"]) <= found.high
    assert found.high < float(row["pitch_mm"])
    assert found.basis is Basis.TYPICAL


def test_a_pitch_between_two_tabled_ones_gets_both_and_one_beyond_none():
    found = ball_diameter(Interval.exactly(0.7))
    assert (found.low, found.high) == (0.25, 0.5)
    assert ball_diameter(Interval.exactly(2.54)) is None


# JEDEC MS-034: 17 x 17 mm at 1.0 mm; balls: reference/ball_diameters.csv.
def test_a_ball_grid_is_completed():
    found = with_consequences(body(17, 17, "ball grid", family="BGA-256 17x17", pitch=measure(1.0)))
    assert found.hidden_joints is True
    assert found.ball_diameter.low <= 0.6 <= found.ball_diameter.high
    assert found.supply == "tray"
    assert found.mass.basis is Basis.TYPICAL


# Bodies: JEDEC MS-012 AA, MS-018 AC; the others are invented. Packaging: common practice, no source.
@pytest.mark.rows(
    ("given", "supply"),
    [
        (body(4.9, 3.9, "gull wing", family="SOIC-8"), "tape"),
        (body(7, 7, "gull wing", family_key=Family.QFP), "tape"),
        (body(14, 14, "gull wing", family_key=Family.QFP), "tray"),
        (body(16.6, 16.6, "J lead", family="PLCC-44"), "stick"),
        (body(12, 12, "no lead", family="QFN-100"), "tray"),
        (body(60, 20, None), "tray"),
        (Body(lead_style=LeadStyle.GULL_WING), None),
    ],
)
def test_the_form_of_supply_follows_size_and_family(given, supply):
    assert with_consequences(given).supply == supply


@pytest.mark.parametrize("mounting", ["through hole", "none"])
def test_what_is_not_placed_on_the_surface_gets_no_tape(mounting):
    found = with_consequences(replace(body(5, 4, "gull wing"), mounting=mounting))
    assert found.supply is None
    assert found.tape_width.basis is Basis.UNKNOWN


def test_what_is_known_is_not_changed():
    known = replace(
        body(17, 17, "ball grid", pitch=measure(1.0)),
        hidden_joints=False,
        supply="tape",
        mass=measure(2.0),
        ball_diameter=measure(0.7),
        tape_width=measure(44),
        tape_pitch=measure(24),
    )
    assert with_consequences(known) == known


def test_an_empty_body_stays_empty():
    assert with_consequences(Body()) == Body()


@pytest.mark.rows(
    ("style", "hidden"), [("chip", False), ("no lead", True), ("land grid", True), ("can", False), ("other", None)]
)
def test_joints_under_the_body_are_hidden(style, hidden):
    assert with_consequences(Body(lead_style=LeadStyle(style))).hidden_joints is hidden
