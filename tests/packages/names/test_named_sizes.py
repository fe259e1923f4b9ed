"""Diodes, MELF and molded cases by name: bodies that hold the standards, heights that promise no more than known."""

import pytest

from capcheck.model import Basis, PartName
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.values import Interval


def body(text, prefix):
    return bodies_of([PartName(footprint=text, ref_prefix=prefix)])[0]


def holds(measure, low, high):
    return measure.low <= low and high <= measure.high


# JEDEC DO-214, DO-215 and DO-220 and SOD drawings, from memory, but for DO-214AC (reference/size_codes.csv).
@pytest.mark.rows(
    ("text", "length", "width", "style"),
    [
        ("DO-214AC", (4.0, 4.6), (2.29, 2.92), "J lead"),
        ("DO-214AA", (4.06, 4.57), (3.3, 3.94), "J lead"),
        ("DO-214AB", (6.6, 7.11), (5.59, 6.22), "J lead"),
        ("DO-215AB", (6.6, 7.11), (5.59, 6.22), "gull wing"),
        ("DO-219AB", (2.7, 2.9), (1.7, 1.9), "flat lead"),
        ("DO-220AA", (3.61, 3.61), (2.0, 2.18), "flat lead"),
        ("DO-221AC", (4.22, 4.32), (2.5, 2.7), "flat lead"),
        ("SOD-123W", (2.5, 2.7), (1.6, 1.8), "flat lead"),
        ("SOD-123FL", (2.5, 2.9), (1.5, 1.8), "flat lead"),
        ("SOD-128", (3.6, 4.0), (2.3, 2.7), "flat lead"),
        ("SOD-87", (3.3, 3.7), (1.9, 2.1), "melf"),
        ("SOD-962", (0.575, 0.645), (0.275, 0.345), "no lead"),
    ],
)
def test_a_diode_outline_holds_the_range_of_its_drawing(text, length, width, style):
    found = body(text, "D")
    assert holds(found.length, *length)
    assert holds(found.width, *width)
    assert found.lead_style == style
    assert found.mounting == "surface"


@pytest.mark.rows("text", ["SOD-123", "SOD-323", "SOD-523", "SMB", "SMC", "MELF", "MiniMELF", "LL-34"])
def test_a_height_of_which_only_the_greatest_is_known_starts_at_nothing(text):
    assert body(text, "D").height.low == 0


def test_a_greatest_height_from_memory_is_allowed_a_tenth():
    assert body("SOD-323", "D").height.high == pytest.approx(1.1 * 1.1)  # 1.1 mm, from memory
    assert body("SMA", "D").height.high == 2.4  # DO-214AC in reference/size_codes.csv
    assert body("TANT_EIA-7343-31", "C").height.high == 3.1  # the suffix states it: reference/size_codes.csv


# Arithmetic: the height is the digits of the name.
@pytest.mark.parametrize("text", ["MODULE-QX_H3max", "MODULE-QX Hmax3", "MODULE-QX_H3MAX"])
def test_a_whole_number_with_max_is_the_greatest_height(text):
    assert body(text, "U").height.value == Interval(0.0, 3.0)
    assert not body(text.replace("max", "").replace("MAX", ""), "U").height.value.is_known


# EIA-535BAAC, size 7343: 7.3 x 4.3 mm; from memory.
def test_letters_of_a_ceramic_before_a_size_of_molded_cases_leave_the_height_open():
    ceramic, plain = body("CC7343", "C"), body("C7343", "C")
    assert holds(ceramic.length, 7.3, 7.3)
    assert holds(ceramic.width, 4.3, 4.3)
    assert ceramic.height.basis is Basis.UNKNOWN
    assert ceramic.questions
    assert plain.height.high == 4.3  # the tallest case of the EIA size, 7343-43


@pytest.mark.parametrize(
    ("text", "long", "short", "pins"),
    [
        ("DFN1608D-2", 1.6, 0.8, 2),
        ("DFN2020MD-6", 2.0, 2.0, 6),
        ("DFN1006-2", 1.0, 0.6, 2),
        ("DFN1010D-3", 1.0, 1.0, 3),
    ],
)
def test_digits_behind_a_no_lead_word_are_its_sides_and_no_chip(text, long, short, pins):
    """A maker's small no-lead names give the sides in tenths of a millimetre (common practice, no source)."""
    found = body(text, "D")
    assert found.lead_style == "no lead"
    assert holds(found.length, long, long)
    assert holds(found.width, short, short)
    assert found.pins == pins


def test_two_leads_under_a_diode_come_on_tape_and_a_carrier_of_chips_in_sticks():
    assert body("SMA", "D").supply == "tape"
    assert body("PLCC-44", "U").supply == "stick"


# A pin count that rows in pairs cannot give includes the exposed pad (IPC-7351B names).
@pytest.mark.rows(
    ("text", "pins"),
    [
        ("QFN50P900X350X80-43N", 42),
        ("QFN50P400X400X80-25N", 24),
        ("QFN50P500X500X100-28N", 28),
        ("SON50P200X200X80-9N", 8),
        ("SOP65P640X120-21N", 20),
        ("QFN50P700X700X100-49T410", 48),
    ],
)
def test_an_odd_count_of_a_land_pattern_includes_the_exposed_pad(text, pins):
    assert body(text, "U").pins == pins


# Case B is 3.5 x 2.8 mm: size_codes.csv.
@pytest.mark.parametrize(
    "description", ["Tantalkondensator Bauform B", "condensateur tantale, boîtier B", "tantale taille B"]
)
def test_a_case_is_read_from_descriptions_in_german_and_french(description):
    (found,) = bodies_of([PartName(value="10uF", description=description, ref_prefix="C")])
    assert holds(found.length, 3.5, 3.5)
    assert holds(found.width, 2.8, 2.8)
