"""A text that names several bodies proves none of them: what counts is the hull of all.

Figures: sizes are the digits of the names beside them; outlines are in capcheck/packages/data/*.csv with their sources.
"""

import pytest
from hypothesis import given, strategies as st

from capcheck.model import PartName
from capcheck.packages.bodies.text_meanings import alternatives_in
from capcheck.packages.bodies.weighing import bodies_of


def body(footprint, prefix):
    return bodies_of([PartName(footprint=footprint, ref_prefix=prefix)])[0]


def holds(held, value):
    return held.low <= value.low and value.high <= held.high


PAIRS = [
    ("SOIC-8", "TSSOP-8", "U"),
    ("SOIC-8", "SOT-23", "U"),
    ("SOT-23", "SOT-323", "Q"),
    ("TO-252", "TO-263", "Q"),
    ("SOD-123", "SOD-323", "D"),
    ("LQFP-48", "QFN-48", "U"),
    ("CASE-B", "CASE-C", "C"),
    ("SOT-223", "SOT-89", "U"),
]


@pytest.mark.parametrize("between", ["/", " or ", " oder ", ", ", " / ", " | ", " (alt. "])
@pytest.mark.rows(("one", "other", "prefix"), PAIRS)
def test_the_hull_of_both_counts(one, other, prefix, between):
    alone = [body(text, prefix) for text in (one, other)]
    for text in (f"{one}{between}{other}", f"{other}{between}{one}"):
        both = body(text, prefix)
        for side in ("length", "width"):
            held = getattr(both, side).proved.value
            assert all(holds(held, getattr(b, side).value) for b in alone), (text, side)
        if alone[0].lead_style != alone[1].lead_style:
            assert both.lead_style is None


def test_a_letter_or_two_sides_alone_stand_for_the_name_before_them():
    for text, first, second, prefix in (
        ("TANT B/C", "TANT B", "TANT C", "C"),
        ("QFN-16 3x3 or 4x4", "QFN-16 3x3", "QFN-16 4x4", "U"),
    ):
        held = body(text, prefix).length.proved.value
        assert holds(held, body(first, prefix).length.value)
        assert holds(held, body(second, prefix).length.value)


def test_a_part_through_holes_or_on_the_surface_is_neither():
    found = body("TO-220/TO-263", "U")
    assert found.mounting is None
    assert not found.length.proved.value.is_known


@pytest.mark.rows(
    ("text", "same", "prefix"),
    [
        ("DPAK/TO-252", "TO-252", "Q"),
        ("SOT-23/TO-236", "SOT-23", "Q"),
        ("SMA/DO-214AC", "SMA", "D"),
        ("Package_SO/SOIC-8", "SOIC-8", "U"),
        ("SOIC-8 (150 mil)", "SOIC-8", "U"),
        ("QFN-48(7x7)", "QFN-48 7x7", "U"),
    ],
)
def test_two_names_of_one_body_are_no_choice(text, same, prefix):
    found, alone = body(text, prefix), body(same, prefix)
    assert (found.length.value, found.width.value) == (alone.length.value, alone.width.value)
    assert found.lead_style is alone.lead_style


@given(st.text(alphabet="SO-8/or ,(|x3.QFN", max_size=140))
def test_pieces_are_pieces_of_the_text(text):
    pieces = alternatives_in(text)
    assert len(pieces) != 1
    assert all(piece and piece in text for piece in pieces)
