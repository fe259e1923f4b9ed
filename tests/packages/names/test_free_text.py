"""Dimensions in free text: what is read, and what only looks like a size.

Figures: sizes are those that the text states, an inch being 25.4 mm by definition.
"""

from __future__ import annotations

import pytest
from hypothesis import given, strategies as st

from capcheck.packages.candidate import Column
from capcheck.packages.names.free_text import read_dimensions

# An inch is 25.4 mm by definition.
READ = [
    ("4.0 x 3.2 x 1.1 mm", 4.0, 3.2, 1.1),
    ("5x5x0.8", 5, 5, 0.8),
    ("7.3mmx4.3mm", 7.3, 4.3, None),
    ("L=7.3 W=4.3 H=2.9", 7.3, 4.3, 2.9),
    ("IND 2.2UH 1.5A 3X3X1.5MM", 3, 3, 1.5),
    ("5,0x3,2mm oscillator part", 5.0, 3.2, None),
    ('module 0.4"x0.3"', 10.16, 7.62, None),
    ("4P-SMD-6.2X6.2X4H", 6.2, 6.2, 4),
    ("XTAL 12MHz 3.2x2.5", 3.2, 2.5, None),
    ("400x300 mil body 0.4x0.3 in", 10.16, 7.62, None),
    ("5.0 mm (L) x 3.2 mm (W) x 1.2 mm (H)", 5.0, 3.2, 1.2),
    ("length 4.5mm width 2.0mm height 1.8mm", 4.5, 2.0, 1.8),
]


# What a size in a text may be off: common practice, no source.
@pytest.mark.parametrize(("text", "long", "short", "high"), READ, ids=[r[0] for r in READ])
def test_a_size_in_a_text_is_read(text, long, short, high):
    (reading,) = read_dimensions(text, Column.DESCRIPTION)
    assert reading.length.low <= long <= reading.length.high <= long + 0.21
    assert reading.width.low <= short <= reading.width.high <= short + 0.21
    if high is None:
        assert reading.height is None
    else:
        assert reading.height.low <= high <= reading.height.high


NO_SIZE = [
    "4x10k",
    "16x2 LCD",
    "0402x4",
    "1%",
    "2.2uF 25V",
    "ARRAY-4x0402 convex",
    "pin header 1x04",
    "CONN HEADER 2x10",
    "L 4.7uH",
    "D5",
    "10x10",
    "2.5V 0.1x",
    "100x100x100 pixels",
    "RES 10K OHM 1% 1/10W 0402",
    "HDR1X2",
    "EP5.6x5.6mm",
    "X7R",
    "128Mx16",
    "1920x1080",
    "H7",
    "P10",
    "64MX8 DDR3",
    "3x AAA",
    "2x5.1k",
    "4x0.1uF",
    "-",
]


@pytest.mark.rows("text", NO_SIZE)
def test_what_only_looks_like_a_size_is_not_one(text):
    assert all(r.length is None and r.height is None for r in read_dimensions(text, Column.VALUE))


# Arithmetic: 3.2 mm and its tolerance.
def test_max_is_an_upper_bound():
    (reading,) = read_dimensions("H 1.2MAX", Column.DESCRIPTION)
    assert (reading.height.low, reading.height.high) == (0.0, 1.2)
    (reading,) = read_dimensions("3.2±0.2 x 2.5±0.2 x 0.9 max", Column.DESCRIPTION)
    assert (reading.length.low, reading.length.high) == (3.0, 3.4)
    assert (reading.height.low, reading.height.high) == (0.0, 0.9)


# Arithmetic: 0.65 mm and half of the last digit.
@pytest.mark.parametrize(
    ("text", "low", "high"), [("p0.4", 0.395, 0.405), ("0.5mm pitch", 0.495, 0.505), ("QFN 0.65P", 0.645, 0.655)]
)
def test_a_pitch_in_use_is_taken_as_written(text, low, high):
    (reading,) = read_dimensions(text, Column.DESCRIPTION)
    assert (reading.pitch.low, reading.pitch.high) == (low, high)


# Arithmetic: a twentieth of an inch, 25.4 mm by definition.
def test_a_rounded_pitch_keeps_the_pitch_it_may_stand_for():
    (reading,) = read_dimensions("pitch 1.3mm", Column.DESCRIPTION)
    assert reading.pitch.low <= 1.27 <= reading.pitch.high


# Bases of cans: capcheck/packages/data/cans.csv, from memory.
def test_a_diameter_is_both_sides_and_allows_for_the_base_of_a_can():
    (reading,) = read_dimensions("D=6.3 H=7.7", Column.DESCRIPTION)
    assert reading.length == reading.width
    assert reading.length.low <= 6.3
    assert reading.length.high >= 6.6
    assert reading.notes


def test_the_diameter_by_height_of_a_can_is_no_body():
    assert all(r.length is None for r in read_dimensions("ELCO-ELEC-6.3x7.7", Column.FOOTPRINT))


def test_the_source_tells_text_and_what_was_read():
    (reading,) = read_dimensions("choke 4.0 x 3.2 x 1.1 mm shielded", Column.DESCRIPTION)
    assert reading.source == 'description "choke 4.0 x 3.2 x 1.1 mm shielded": 4.0 X 3.2 X 1.1 MM'


@given(
    st.integers(10, 300).map(lambda n: n / 10),
    st.integers(10, 300).map(lambda n: n / 10),
    st.integers(3, 90).map(lambda n: n / 10),
)
def test_any_size_written_out_is_read_back(one, other, high):
    (reading,) = read_dimensions(f"part {one} x {other} x {high} mm", Column.DESCRIPTION)
    assert reading.length.low <= max(one, other) <= reading.length.high
    assert reading.width.low <= min(one, other) <= reading.width.high
    assert reading.height.low <= high <= reading.height.high


@given(st.text(max_size=60))
def test_no_text_breaks_the_reader(text):
    read_dimensions(text, Column.DESCRIPTION)


# Arithmetic on what the texts state.
@pytest.mark.rows(
    ("text", "high"),
    [
        ("Hmax 12 +20/-0", 32.0),
        ("height 12 mm +20/-0", 32.0),
        ("height 12 mm (+2/-0)", 14.0),
        ("height 12 -0/+20 mm", 32.0),
        ("height 12 mm ±3", 15.0),
        ("height 10 mm ±10%", 11.0),
        ("10 x 10 mm, H=12 +20/-0 mm", 32.2),
    ],
)
def test_a_tolerance_behind_a_height_makes_it_taller(text, high):
    assert max(reading.height.high for reading in read_dimensions(text, Column.DESCRIPTION)) == pytest.approx(high)


# Arithmetic on what the texts state.
def test_a_tolerance_to_both_sides_counts_its_upper_side_however_it_is_written():
    """A tolerance that begins with a minus, or with a word, left the height at its nominal size: a false pass."""
    tolerances = ("-0.1/+0.3", "-0.1 +0.3", "\u22120.1/+0.3", "\u20130.1 / +0.3", "\u20140.1/+0.3", "+0.3 -0.1")
    tolerances += (
        "+0.3-0.1",
        "+0.3/\u22120.1",
        "+0.3;-0.1",
        "+ 0.3 - 0.1",
        "+0.3",
        "-/+0.3",
        "\u22130.3",
        "(±0.3)",
        "± 0.3",
    )
    tolerances += ("±25 %", "[+0.3/-0.1]", ", +0.3/-0.1", "tol. ±0.3", "tolerance 0.3", "+25%/-5%", "+0.3mm/-0.1mm")
    for before in ("H ", "H=", "height ", "10x8x", "10 x 8 x ", "L10 W8 H", "h max "):
        for unit in ("mm", " mm"):
            for tolerance in tolerances:
                for comma in (False, True):
                    for text in (f"{before}1.2{unit} {tolerance}", f"{before}1.2{unit} {tolerance} black"):
                        written = text.replace(".", ",").replace("tol,", "tol.") if comma else text
                        read = [c.height for c in read_dimensions(written, Column.DESCRIPTION, "U") if c.height]
                        assert not read or max(height.high for height in read) >= 1.5 - 1e-9, written


@pytest.mark.parametrize("text", ["height 12 mm, +85 °C", "height 12 mm -40/+85°C", "height 12 mm"])
def test_a_temperature_behind_a_height_is_no_tolerance(text):
    """Invented heights, with the 0.2 mm that a text leaves."""
    (reading,) = read_dimensions(text, Column.DESCRIPTION)
    assert reading.height.high < 12.3


# Invented masses.
@pytest.mark.rows(
    ("text", "grams"),
    [
        ("weight 210 g", 210),
        ("relay, 210 g", 210),
        ("10 x 10 x 5 mm, 210 g", 210),
        ("Gewicht: 0,2 kg", 200),
        ("poids 35 g", 35),
        ("module 6 grams", 6),
        ("module, 6 Gramm", 6),
        ("modulo 6,5 grammi", 6.5),
        ("transformer 0.2 kilograms", 200),
        ("weighs 6 g", 6),
        ("wiegt 6 g", 6),
        ("pèse 6 g", 6),
        ("pesa 6 g", 6),
        ("重さ6g", 6),
    ],
)
def test_what_a_text_says_that_a_part_weighs_is_read(text, grams):
    assert read_dimensions(text, Column.DESCRIPTION)[0].mass.high == grams


@pytest.mark.parametrize("text", ["accelerometer ±16 g", "sensor 8g", "sensor, 200 g peak", "4.7k, 5%"])
def test_an_acceleration_is_no_mass(text):
    assert all(reading.mass is None for reading in read_dimensions(text, Column.DESCRIPTION))
