"""How many of each board are made a year: a CSV of the shop, with the columns ``board`` and ``per year``."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path
from typing import Final

from capcheck.values import Place, Problems, read_text

COLUMNS: Final = ("board", "per year")


def read_quantities(path: str | Path) -> dict[str, float]:
    """Return the yearly quantity of each board by its name, or by that of its folder or archive.

    Raises :class:`~capcheck.values.InputError` with all that is wrong in the file.
    """
    where = str(path)
    rows = csv.reader(io.StringIO(read_text(Path(path), "list of yearly quantities")))
    header = [cell.strip().lower().replace("_", " ") for cell in next(rows, [])]
    problems = Problems()
    for name in COLUMNS:
        if name not in header:
            problems.add(
                Place(where, 1),
                f'has no column "{name}"',
                "each row is a board and how many of it are made a year",
                f"head the columns {', '.join(COLUMNS)}",
            )
    problems.raise_if_any()
    of, number = (header.index(name) for name in COLUMNS)
    found: dict[str, float] = {}
    for row in rows:
        board, cell = (row[at].strip() if at < len(row) else "" for at in (of, number))
        if not any(map(str.strip, row)):
            continue
        place = Place(where, rows.line_num)
        if not board:
            problems.add(
                place, "names no board", "the quantity belongs to one", "write its name, or that of its folder"
            )
        elif (quantity := _quantity(cell)) is None:
            problems.add(
                place, f'"{cell}" is not a yearly quantity', "it is a number, zero or more", f"write {board},5000"
            )
        elif found.setdefault(board, quantity) != quantity:
            problems.add(place, f'"{board}" has {found[board]:g} in another row', "one of the two is wrong", "keep one")
    problems.raise_if_any()
    return found


def _quantity(cell: str) -> float | None:
    try:
        number = float(cell)
    except ValueError:
        return None
    return number if 0 <= number < math.inf else None
