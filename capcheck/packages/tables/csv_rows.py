"""The package tables that ship, read once: rows of text cells from capcheck/packages/data."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from typing import Final

Row = dict[str, str]
_DATA: Final = Path(__file__).parents[1] / "data"


@cache
def rows_of(name: str) -> tuple[Row, ...]:
    """Return the rows of ``data/<name>.csv``, each a mapping from column to text."""
    with (_DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


def number(cell: str) -> float | None:
    """Return a cell as a number; None where it is empty."""
    return float(cell) if cell else None
