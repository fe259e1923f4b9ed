"""Text columns as numbers, so that groups of equal rows are found by NumPy and each group is looked at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import count
from typing import Final

import numpy as np

from capcheck.model import Ints

Coded = tuple[Ints, list[str]]
"""A column as numbers with the distinct texts they stand for."""
_ROOM: Final = 8
"""Keys up to this many times the rows are numbered by a table of all; beyond it sorting is cheaper."""


def code(cells: Sequence[str]) -> tuple[Ints, list[str]]:
    """Return the number of each cell's text and the distinct texts in the order in which they first stand."""
    number: dict[str, int] = defaultdict(count().__next__)
    codes = np.fromiter(map(number.__getitem__, cells), dtype=np.int64, count=len(cells))
    return codes, list(number)


def code_stems(refs: Sequence[str]) -> tuple[Ints, list[str]]:
    """Return the references without the number at their end as :func:`code` does."""
    return code([ref.rstrip("0123456789") for ref in refs])


def group(columns: Sequence[Ints]) -> tuple[Ints, Ints]:
    """Return the group of each row and the first row of each group, groups in the order of their first rows.

    Rows are in one group if they agree in all *columns*, which hold small whole numbers from −1 up.
    """
    rows = len(columns[0])
    groups = np.zeros(rows, dtype=np.int64)
    first = np.zeros(min(rows, 1), dtype=np.int64)
    for column in columns:
        if np.array_equal(column[first][groups], column):
            continue  # the column says nothing new, as most do beside the line of the BOM
        groups, first = _renumbered(groups * (int(column.max()) + 2) + column + 1)
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return rank[groups], first[order]


def _renumbered(key: Ints) -> tuple[Ints, Ints]:
    """Return the rows' keys as numbers from 0 without gaps, and the first row of each."""
    size = int(key.max()) + 1
    if size > _ROOM * len(key):
        _, first, inverse = np.unique(key, return_index=True, return_inverse=True)
        return inverse, first
    at = np.full(size, -1, dtype=np.int64)
    at[key[::-1]] = np.arange(len(key) - 1, -1, -1)
    used = at >= 0
    return (np.cumsum(used) - 1)[key], at[used]
