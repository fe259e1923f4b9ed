"""Counts in words.

Figures: invented; sums worked by hand.
"""

from capcheck.values.counts import counted, few


def test_one_is_told_in_the_singular() -> None:
    assert [counted(n, "row") for n in (0, 1, 3)] == ["0 rows", "1 row", "3 rows"]
    assert counted(2, "entry", "entries") == "2 entries"


def test_names_beyond_the_most_are_counted() -> None:
    assert few(["A", "B"], 2) == "A, B"
    assert few(["A", "B", "C", "D"], 2) == "A, B and 2 more"
    assert few([], 2) == ""
