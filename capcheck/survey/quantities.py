"""How many of each board are made a year: a CSV of the shop, with the columns ``board`` and ``per year``."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path, PurePath
from typing import Final

from capcheck.values import Place, Problems, pattern, read_text

COLUMNS: Final = ("board", "per year")
_PARTED: Final = pattern(r"\+?[0-9]{1,3}(?:\.[0-9]{3})+")


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
                place,
                f'"{cell}" is not a yearly quantity',
                "it is a number, zero or more, without signs that part thousands",
                f"write {board},5000",
            )
        elif found.setdefault(board, quantity) != quantity:
            problems.add(place, f'"{board}" has {found[board]:g} in another row', "one of the two is wrong", "keep one")
    problems.raise_if_any()
    return found


def _quantity(cell: str) -> float | None:
    if "_" in cell or _PARTED.fullmatch(
        cell
    ):  # "1.500" may be one and a half, and is fifteen hundred where the comma is decimal
        return None
    try:
        number = float(cell)
    except ValueError:
        return None
    return number if 0 <= number < math.inf else None


class Quantities:
    """The quantities of a list, and which of them found their board; a board's own counts where the list has none."""

    def __init__(self, listed: Mapping[str, float]) -> None:
        self._listed = listed
        self._used: dict[str, list[str]] = {}

    def of(self, board: str, place: str, own: float | None) -> float | None:
        """Return how many are made a year of the board of that name at *place*; its *own* where the list has none."""
        key = next((name for name in _names(board, place) if name in self._listed), None)
        if key is None:
            return own
        self._used.setdefault(key, []).append(place)
        return self._listed[key]

    @property
    def of_several(self) -> Mapping[str, Sequence[str]]:
        """The names of the list that fit several boards, with their places: it is not known of which they speak."""
        return {name: places for name, places in self._used.items() if len(places) > 1}

    def listed_as(self, place: str) -> str | None:
        """Return the name under which the list has what lies at *place*, if it has it; the quantity is not taken."""
        return next((name for name in _names(PurePath(place).name, place) if name in self._listed), None)

    @property
    def unused(self) -> tuple[str, ...]:
        """The boards of the list that were not found."""
        return tuple(name for name in self._listed if name not in self._used)


def _names(name: str, place: str) -> Iterator[str]:
    """Yield what a list may call a board: where it lies, its name, its folder or archive, with and without ending."""
    path = PurePath(place)
    folder = path.parent if path.suffix.lower() == ".toml" else path
    yield from (place, name, folder.name, folder.name.split(".")[0])
