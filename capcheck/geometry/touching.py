"""Which neighbours may touch as their bodies are taken to lie: fewer than those that nothing proves apart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from capcheck.geometry.bodies import Bodies
from capcheck.geometry.found_pairs import Pairs
from capcheck.geometry.orientation import lying_alike
from capcheck.geometry.spacing import rectangle_gaps
from capcheck.model import Body, Flags, Floats, Ints

_WAYS: Final = (0, 1)
_TAKEN: Final = {None: -1, "x": 0, "y": 1}
_FAR_APART: Final = 2.0
"""Bounds of a side that are as many times apart tell no size: those of a class are; common practice, no source."""


def may_touch(
    bodies: Bodies, found: Pairs, of: Ints, types: tuple[Sequence[Body], Sequence[str]], overlap_mm: float
) -> Flags:
    """Return which pairs may have a gap below *overlap_mm* in a way in which both bodies are taken to lie.

    *of* is the type of each of the bodies and *types* has their bodies and footprints. Parts of one footprint and size
    lie alike; a longer side that neighbours leave one way lies that way; any other lies either way. Of a body whose
    bounds tell no size the least is taken: it is no larger than its neighbours leave room for, since bodies do not
    overlap.
    """
    named = np.array([bool(name) for name in types[1]], np.bool_)
    alike = np.append(np.where(named, lying_alike(*types), -1), -1)[of]
    taken = np.array([_TAKEN[b.longer_taken_along] for b in (*types[0], Body())])[of]
    one, other = bodies.take(found.i), bodies.take(found.j)
    same = (alike[found.i] == alike[found.j]) & (alike[found.i] >= 0)
    touch: Flags = np.zeros(len(found), np.bool_)
    for a in _WAYS:
        for b in _WAYS:
            open_ = np.isin(taken[found.i], (-1, a)) & np.isin(taken[found.j], (-1, b))
            if a != b:
                open_ &= ~same
            near = rectangle_gaps(one, _taken_sides(one, a), other, _taken_sides(other, b)) < overlap_mm
            touch |= open_ & near
    return touch


def _taken_sides(bodies: Bodies, way: int) -> Floats:
    """Return the half sides of the greatest bodies with the longer side this way; the least where none is known."""
    greatest, least = bodies.outer_ways()[way], bodies.inner_ways()[way]
    far_apart: Flags = np.any(greatest >= _FAR_APART * least, axis=1, keepdims=True)
    sides: Floats = np.where(far_apart, least, greatest)
    return sides
