"""Whether two placement files are copies: the same references at the same places, whatever their unit and origin."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.errors import InputError
from capcheck.intake.cells import read_numbers
from capcheck.intake.columns import Role, recognise
from capcheck.model import Floats

if TYPE_CHECKING:
    from capcheck.intake.table import Table

_FEWEST: Final = 5
"""References that must be common: fewer lie on a line by chance."""
_MOST: Final = 0.98
_TOLERANCE: Final = 1e-3
"""Share of the span that rounding may move a place."""

Places = Mapping[str, tuple[float, float]]


def places_of(tables: Sequence[Table]) -> Places:
    """Return the coordinates of each reference as written; a reference that stands twice is left out."""
    found: dict[str, tuple[float, float]] = {}
    twice: set[str] = set()
    for table in tables:
        try:
            index = recognise(table, "placements").index
        except InputError:
            continue
        x, _ = read_numbers(table.columns[index[Role.X]], decimal=table.decimal)
        y, _ = read_numbers(table.columns[index[Role.Y]], decimal=table.decimal)
        for ref, at in zip(table.columns[index[Role.REF]], zip(x.tolist(), y.tolist(), strict=True), strict=True):
            if ref in found:
                twice.add(ref)
            found[ref] = at
    return {ref: at for ref, at in found.items() if ref not in twice}


def is_copy(places: Places, other: Places) -> bool:
    """Whether nearly all references of *other* stand in *places* too, at places of the same arrangement.

    The two may differ in unit, origin and direction of y.
    """
    common = [ref for ref in other if ref in places]
    if len(common) < max(_FEWEST, _MOST * len(other)):
        return False
    one, two = np.array([places[ref] for ref in common]), np.array([other[ref] for ref in common])
    known = np.isfinite(one).all(axis=1) & np.isfinite(two).all(axis=1)
    if known.sum() < max(_FEWEST, _MOST * len(common)):
        return False
    along, across = (_scale(one[known, k], two[known, k]) for k in range(2))
    return along is not None and across is not None and abs(abs(across) - along) < _TOLERANCE * along


def _scale(one: Floats, two: Floats) -> float | None:
    """Return the factor from the one coordinate to the other where all but a few points follow it, else None."""
    low, high = int(one.argmin()), int(one.argmax())
    if one[low] == one[high] or two[low] == two[high]:
        return None
    factor = float((two[high] - two[low]) / (one[high] - one[low]))
    off = np.abs(two - two[low] - factor * (one - one[low]))
    return factor if (off <= _TOLERANCE * np.ptp(two)).mean() >= _MOST else None
