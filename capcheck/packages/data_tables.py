"""The package tables that ship, read once: rows of text cells from capcheck/packages/data."""

from __future__ import annotations

import csv
import io
from functools import cache
from importlib import resources

Row = dict[str, str]


@cache
def rows_of(name: str) -> tuple[Row, ...]:
    """Return the rows of ``data/<name>.csv``, each a mapping from column to text."""
    path = resources.files("capcheck.packages") / "data" / f"{name}.csv"
    return tuple(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))


def number(cell: str) -> float | None:
    """Return a cell as a number; None where it is empty."""
    return float(cell) if cell else None
