"""Crowds: places at which more bodies lie on each other than on any board, told body by body instead of pair by pair.

Pairs of a crowd grow with the square of its bodies and say the same thing each. Time, memory and report stay in
proportion to the bodies, and each body of a crowd is still told of.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from msgspec import Struct, structs

from capcheck.geometry.found_pairs import Pairs
from capcheck.model import Flags, Floats, Ints

_TOUCHING: Final = 16
"""A body that touches so many others that touch as many is in a crowd, where the board holds one."""
_A_BODY: Final = 10
_A_BOARD: Final = 2000
"""A board holds a crowd with more touching pairs than so many a body and so many in all. On real boards there is at
most one or two a body, wide as sizes may be bounded."""
_NAMED: Final = 3


class Tally(Struct):
    """How many others each body touches, counted while pairs are measured."""

    touching: Ints

    def add(self, i: Ints, j: Ints, gap_low: Floats) -> None:
        """Count those of these pairs that touch."""
        touch = gap_low <= 0
        both = np.concatenate([i[touch], j[touch]])
        self.touching += np.bincount(both, minlength=len(self.touching))

    def may_be_crowded(self, pairs: int) -> bool:
        """Whether the board holds a crowd if so many pairs touch."""
        return pairs > max(_A_BOARD, _A_BODY * len(self.touching))

    @property
    def crowded(self) -> Flags:
        """The bodies that lie in a crowd."""
        if not self.may_be_crowded(int(self.touching.sum()) // 2):
            return np.zeros(len(self.touching), np.bool_)
        crowded: Flags = self.touching >= _TOUCHING
        return crowded


class Crowd(Struct, frozen=True):
    """What pairs that stand for all pairs of a body in a crowd stand for: pairs from row *first* on.

    *named* has the nearest neighbours of each, shape (n, 3), −1 where there is none; *count* how many neighbours it
    has, where *at_least* does not say that there are more.
    """

    first: int
    named: Ints
    count: Ints
    at_least: Flags


def gathered(found: Pairs, bodies: int, one_part: Flags) -> tuple[Pairs, Crowd | None]:
    """Return the pairs without those of *one_part*; in place of all pairs inside a crowd one for each of its bodies.

    Its gap is the least that the body has to any other of the crowd. Where pairs were not measured and the measured
    ones are no proof of an overlap, nothing bounds it downwards.
    """
    tally = Tally(np.zeros(bodies, np.int64))
    tally.add(found.i, found.j, found.gap_low)
    crowded = tally.crowded | found.left_out
    inside = crowded[found.i] & crowded[found.j]
    rest = found.take(~inside & ~one_part)
    if not inside.any():
        return rest, None
    within = found.take(inside)
    body, other = np.concatenate([within.i, within.j]), np.concatenate([within.j, within.i])
    low, high, side = (np.tile(column, 2) for column in (within.gap_low, within.gap_high, within.side))
    same = np.tile(one_part[inside], 2)
    low, high = np.where(same, -math.inf, low), np.where(same, math.inf, high)
    keep = ~same | found.left_out[body]
    order = np.lexsort((other, low, high, body))
    order = order[keep[order]]
    body, other, low, high, side = (column[order] for column in (body, other, low, high, side))
    own, start, count = np.unique(body, return_index=True, return_counts=True)
    place = start[:, None] + np.arange(_NAMED)
    named = np.where(np.arange(_NAMED) < count[:, None], other[np.minimum(place, len(other) - 1)], -1)
    least_low, least_high = np.minimum.reduceat(low, start), np.minimum.reduceat(high, start)
    open_ = found.left_out[own] & (least_high >= 0)
    least_low = np.where(open_, -math.inf, least_low)
    each = structs.replace(
        within, i=own, j=named[:, 0], gap_low=least_low, gap_high=np.maximum(least_high, least_low), side=side[start]
    )
    return rest.followed_by(each), Crowd(len(rest), named, count, found.left_out[own])
