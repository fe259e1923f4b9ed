"""Equal rows are one group, whatever the columns hold.

Figures: invented, or the digits of the text.
"""

import numpy as np
from hypothesis import given, strategies as st

from capcheck.intake.tables.grouping import code, code_stems, group


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


@given(st.lists(st.integers(-1, 10**12), min_size=1, max_size=30))
def test_numbers_far_apart_are_grouped_like_near_ones(column):
    groups, first = group([np.array(column)])
    seen = list(dict.fromkeys(column))
    assert groups.tolist() == [seen.index(number) for number in column]
    assert first.tolist() == [column.index(number) for number in seen]


# Circuit suffixes, digits inside, no digits, digits alone, nothing, a cell with a line break, other scripts.
@given(st.lists(st.from_regex(r"[A-Cß部]{0,2}[0-9]{0,2}(_[0-9]|\n|\nR1|[A-Z])?", fullmatch=True), max_size=12))
def test_stems_are_the_references_without_the_digits_at_their_end(refs):
    codes, stems = code_stems(refs)
    assert [stems[k] for k in codes] == [ref.rstrip("0123456789") for ref in refs]
