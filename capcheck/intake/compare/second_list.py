"""Two placement files of one board: which references lie elsewhere in the second, whatever its unit and origin."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.intake.tables import Role, read_numbers
from capcheck.model import Flags, Floats
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.intake.tables import Recognised

_FEWEST: Final = 5
"""References that must be common: fewer lie on a line by chance."""
_MOST: Final = 0.98
_ALIKE: Final = 0.7
_AS_WRITTEN: Final = 1e-6
_TOLERANCE: Final = 1e-3
"""Share of the span that rounding may move a place."""

Places = Mapping[str, tuple[float, float]]


def places_of(tables: Sequence[Recognised]) -> Places:
    """Return the coordinates of each reference as written; a reference that stands twice is left out."""
    found: dict[str, tuple[float, float]] = {}
    twice: set[str] = set()
    for recognised in tables:
        table = recognised.table
        try:
            index = recognised.columns("placements").index
        except InputError:
            continue
        x, _ = read_numbers(table.columns[index[Role.X]], decimal=table.decimal, thousands=False)
        y, _ = read_numbers(table.columns[index[Role.Y]], decimal=table.decimal, thousands=False)
        for ref, at in zip(table.columns[index[Role.REF]], zip(x.tolist(), y.tolist(), strict=True), strict=True):
            if ref in found:
                twice.add(ref)
            found[ref] = at
    return {ref: at for ref, at in found.items() if ref not in twice}


def elsewhere(places: Places, other: Places) -> list[str] | None:
    """Return the references of *other* that lie at other places than in *places*; none for a copy.

    The two may differ in unit, origin and direction of y. None where they share too few references, or where most of
    them do not lie alike: then the files have nothing to do with each other.
    """
    common = [ref for ref in other if ref in places]
    if len(common) < _MOST * len(other):
        return None
    if len(common) < _FEWEST:
        # So few lie alike only as they are written.
        apart = [ref for ref in common if np.abs(np.subtract(places[ref], other[ref])).max() > _AS_WRITTEN]
        return apart if len(apart) <= len(common) / 2 else None
    one, two = np.array([places[ref] for ref in common]), np.array([other[ref] for ref in common])
    known = np.isfinite(one).all(axis=1) & np.isfinite(two).all(axis=1)
    if known.sum() < max(_FEWEST, _MOST * len(common)):
        return None
    along, across = (_fit(one[known, k], two[known, k]) for k in range(2))
    if along is None or across is None or abs(abs(across[0]) - along[0]) > _TOLERANCE * abs(along[0]):
        return None
    alike = along[1] & across[1]
    if alike.mean() < _ALIKE:
        return None
    names = [ref for ref, k in zip(common, known.tolist(), strict=True) if k]
    return [names[i] for i in np.flatnonzero(~alike).tolist()]


def _fit(one: Floats, two: Floats) -> tuple[float, Flags] | None:
    """Return the factor from the one coordinate to the other, and which points follow it.

    Of a few pairs of points far apart that pair tells the factor which most points follow: some may have moved.
    """
    order = np.argsort(one, kind="stable")
    best: tuple[float, Flags] | None = None
    for share in (0.0, 0.03, 0.08, 0.15, 0.25):
        low, high = order[int(share * (len(order) - 1))], order[int((1 - share) * (len(order) - 1))]
        if one[low] == one[high] or two[low] == two[high]:
            continue
        factor = float((two[high] - two[low]) / (one[high] - one[low]))
        close = np.abs(two - two[low] - factor * (one - one[low])) <= _TOLERANCE * np.ptp(two)
        if best is None or close.sum() > best[1].sum():
            best = (factor, close)
    return best
