"""Equal rows are one group, whatever the columns hold."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from capcheck.intake.coding import code, group


@given(st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from("xyz"), st.integers(-1, 2)), min_size=1, max_size=40))
def test_groups_are_those_of_a_dictionary(rows):
    groups, first = group(
        [code([r[0] for r in rows])[0], code([r[1] for r in rows])[0], np.array([r[2] for r in rows])]
    )
    expected = {}
    for row in rows:
        expected.setdefault(row, len(expected))
    assert groups.tolist() == [expected[row] for row in rows]
    assert [rows[i] for i in first] == list(expected)


def test_many_wide_columns_do_not_overflow():
    columns = [np.arange(1000)[::-1].copy() for _ in range(12)]
    assert len(group(columns)[1]) == 1000
