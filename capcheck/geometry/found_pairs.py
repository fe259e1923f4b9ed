"""Pairs of neighbours with the bounds of their gaps, as columns."""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct, structs

from capcheck.model import Codes, Flags, Floats, Ints


class Pairs(Struct, frozen=True):
    """Neighbours *i* < *j* (rows of the bodies) with the bounds of their gap in mm; *side* is the one they share.

    Every two bodies whose gap may be at most *search_mm* are here, except that a body without an upper bound of size
    (in *unbounded*) is paired only with those near its centre and its nearest neighbour: its gaps are open downwards
    anyway, and a pair with every other body of the board would say nothing more.
    """

    i: Ints
    j: Ints
    gap_low: Floats
    gap_high: Floats
    side: Codes
    search_mm: float
    unbounded: Ints
    left_out: Flags
    """The bodies in a crowd, of which some pairs among themselves were not measured."""

    def __len__(self) -> int:
        return len(self.i)

    def take(self, rows: Ints | Flags) -> Pairs:
        """Return the pairs of these rows, an index or a mask."""
        return Pairs(
            self.i[rows],
            self.j[rows],
            self.gap_low[rows],
            self.gap_high[rows],
            self.side[rows],
            self.search_mm,
            self.unbounded,
            self.left_out,
        )

    def followed_by(self, more: Pairs) -> Pairs:
        """Return these pairs and behind them others of the same bodies."""
        names = ("i", "j", "gap_low", "gap_high", "side")
        both = {name: np.concatenate([getattr(self, name), getattr(more, name)]) for name in names}
        return structs.replace(self, **both)

    def closest(self, bodies: int, *, to: Flags | None = None) -> tuple[Floats, Floats, Ints]:
        """Return for each body the bounds of its least gap and the neighbour, −1 where none is near.

        With *to*, only neighbours so marked count. A body that has none near has a gap of *search_mm* or more.
        """
        row = np.concatenate([self.i, self.j])
        other = np.concatenate([self.j, self.i])
        low, high = np.tile(self.gap_low, 2), np.tile(self.gap_high, 2)
        if to is not None:
            keep = np.asarray(to, bool)[other]
            row, other, low, high = row[keep], other[keep], low[keep], high[keep]
        least_low = np.full(bodies, self.search_mm)
        least_high = np.full(bodies, math.inf)
        np.minimum.at(least_low, row, low)
        np.minimum.at(least_high, row, high)
        if to is None or np.asarray(to, bool).any():
            # A body of unknown size may reach any other: it is named itself, and at those near it.
            least_low[self.unbounded] = -math.inf
        neighbour = np.full(bodies, -1)
        order = np.lexsort((high, low))[::-1]
        neighbour[row[order]] = other[order]
        return least_low, least_high, neighbour
