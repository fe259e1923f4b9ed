"""Text columns as numbers, so that groups of equal rows are found by NumPy and each group is looked at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from capcheck.model import Ints


def code(cells: Sequence[str]) -> tuple[Ints, list[str]]:
    """Return the number of each cell's text and the distinct texts in the order in which they first stand."""
    distinct = list(dict.fromkeys(cells))
    if len(distinct) == 1:
        return np.zeros(len(cells), dtype=np.int64), distinct
    number = {text: i for i, text in enumerate(distinct)}
    return np.fromiter(map(number.__getitem__, cells), dtype=np.int64, count=len(cells)), distinct


def group(columns: Sequence[Ints]) -> tuple[Ints, Ints]:
    """Return the group of each row and the first row of each group, groups in the order of their first rows.

    Rows are in one group if they agree in all *columns*, which hold small whole numbers from −1 up.
    """
    rows = len(columns[0])
    key = np.zeros(rows, dtype=np.int64)
    size = 1
    for column in columns:
        width = int(column.max(initial=-1)) + 2
        if width <= 1 or (width == 2 and int(column.min(initial=0)) == 0):  # noqa: PLR2004  one value throughout
            continue
        if size * width > 2**62:
            _, key = np.unique(key, return_inverse=True)
            size = int(key.max(initial=0)) + 1
        key = key * width + column + 1
        size *= width
    _, first, inverse = np.unique(key, return_index=True, return_inverse=True)
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return rank[inverse], first[order]
