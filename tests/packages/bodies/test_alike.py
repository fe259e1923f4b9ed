"""Parts that differ in texts which say nothing of a body share what is known of one: the same as weighed by themselves.

Figures: invented digits.
"""

from unittest.mock import patch

import pytest
from hypothesis import given, settings, strategies as st

from capcheck.model import PartName
from capcheck.packages.bodies import alike, weighing
from capcheck.packages.candidate import Column
from capcheck.packages.names import is_silent

FOOTPRINTS = ["C0603", "QX39-9", "RES-ARRAY-4x0603", "SOT-23-5", "DIO_SMA", "EIA-7343-31", "XTAL-3225", "FUSE-HOLDER"]
PROSE = ["##k", "##n", "#u#", "#R", "####n", "part ##, ## V, rev ##", "RES ###k #%", "CAP ####", "###nF ##V", "#X####"]
PROSE += [
    "####-#P",
    "#P#R",
    "DO-###",
    "LL-##",
    "SC-##",
    "##-LQFP",
    "H #.#",
    "## g",
    "B#B",
    "for QX##",
    "MOV##",
    "TO-##",
]
LETTERS = ("R", "C", "D", "U", "Y", "Q", "RN", "J", "F", "")
DIGITS = st.lists(st.integers(0, 9), min_size=12, max_size=12)


def filled(text, digits):
    """Return *text* with a digit for each sign in it."""
    for digit in digits:
        text = text.replace("#", str(digit), 1)
    return text


@settings(max_examples=60)
@given(
    st.sampled_from(FOOTPRINTS),
    st.sampled_from(PROSE),
    st.sampled_from(PROSE),
    st.sampled_from(LETTERS),
    DIGITS,
    DIGITS,
)
def test_what_is_shared_is_what_each_part_has_by_itself(footprint, value, description, letters, first, second):
    names = [
        PartName(
            part_number=filled("QX-###", digits),
            footprint=footprint,
            value=filled(value, digits),
            description=filled(description, digits),
            ref_prefix=letters,
        )
        for digits in (first, second)
    ]
    shared = weighing.bodies_of(names, size_codes="inch")
    with (
        patch.object(weighing, "told_by_footprint", lambda _: None),
        patch.object(weighing, "names_no_body", lambda text, *_: not text),
    ):
        assert weighing.bodies_of(names, size_codes="inch") == shared


@pytest.mark.rows("text", ["47k", "100nF 50V", "1234n", "rev 3", "part 17, 50 V"])
def test_values_and_counts_say_nothing_of_a_body(text):
    assert is_silent(text, Column.DESCRIPTION, "C")


# Traps: digits that make a size, a code, a package, a class or a part number of words that say nothing with others.
@pytest.mark.rows(
    "text", ["0603", "part 0402", "0R", "4P2R", "1206-8P", "DO-214", "LL-34", "48-LQFP", "H 2.5", "12 g", "for QX9"]
)
def test_a_text_with_telling_digits_is_read(text):
    assert not is_silent(text, Column.DESCRIPTION, "R")


def test_what_a_column_states_is_no_footprint_alone():
    plain = PartName(footprint="C0603", value="10n", ref_prefix="C")
    numbered = PartName(footprint="LIB:QX39", part_number="QX39", ref_prefix="C")
    assert alike.told_by_footprint(plain) is not None
    assert alike.told_by_footprint(numbered) is None
