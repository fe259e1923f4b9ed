"""Numbers and texts as JSON.

Figures: invented.
"""

import json
import math

from hypothesis import given, strategies as st
from msgspec import UNSET, Struct, UnsetType

from capcheck.model.record import Topic
from capcheck.report.json_encoding import json_data, json_text
from capcheck.values.interval import Interval


class Named(Struct, rename={"source": "from"}):
    source: str
    left_out: str | UnsetType = UNSET


def test_an_interval_is_its_ends_and_an_open_end_is_null():
    assert json_data({"span": Interval(1, math.inf)}) == {"span": [1.0, None]}


def test_numbers_carry_no_noise_and_no_minus_before_zero():
    assert json_text([0.1 + 0.2, -1e-9, math.nan, 3]) == json.dumps([0.3, 0.0, None, 3], indent=1) + "\n"


def test_a_struct_is_written_by_its_own_names_without_what_is_unset():
    assert json_data([Named("bom.csv:3"), Topic.UNIT]) == [{"from": "bom.csv:3"}, "unit"]


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(-1e9, 1e9) | st.text(st.characters()),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=12,
)


@given(PLAIN)
def test_what_is_read_back_is_what_was_written(data):
    """Also half a surrogate pair, which no UTF-8 holds (RFC 8259, section 8.2)."""
    text = json_text(data)
    assert json.loads(text) == json_data(data)
    text.encode("utf-8")
