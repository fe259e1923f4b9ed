"""Which of several bodies that a name may mean has no room among its neighbours.

It is no proof, as little as the way bodies are taken to lie (:mod:`capcheck.geometry.orientation`): a size, a place or
a neighbour may be wrong, and to find that is what a check is for. Every limit is judged by the hull; what is told here
goes to whoever settles which body it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.geometry.orientation import CLEAR_OVERLAP_MM, LEAST_ODDS, Near
from capcheck.geometry.spacing import rectangle_gaps
from capcheck.model import Body, Ints, Placements, PossibleBody, Said, say

_WAYS: Final = {None: (0, 1), "x": (0,), "y": (1,)}


def told_by_room(placements: Placements, bodies: Sequence[Body], near: Near) -> list[Body]:
    """Return the bodies, each with those that it may be and that would reach into a neighbour's least body."""
    several = [number for number, body in enumerate(bodies) if len(body.may_be) > 1 and body.centred]
    told = list(bodies)
    for number in several:
        told[number] = replace(told[number], no_room=tuple(_no_room(placements, bodies[number], number, near)))
    return told


def _no_room(placements: Placements, body: Body, number: int, near: Near) -> Iterator[Said]:
    """Yield a statement for each body that reaches into neighbours where another one, or nearly so, does not."""
    pairs = [_reaching(placements, body, number, size, near) for size in body.may_be]
    fewest = min(map(len, pairs))
    out = [len(found) > LEAST_ODDS * fewest for found in pairs]
    left = [size.name for size, is_out in zip(body.may_be, out, strict=True) if not is_out]
    for size, found, is_out in zip(body.may_be, pairs, out, strict=True):
        if is_out:
            own, other = (placements.ref[row] for row in found[0].tolist())
            yield say(
                "geometry.no room",
                name=size.name,
                length=size.nominal[0],
                width=size.nominal[1],
                own=own,
                other=other,
                pairs=len(found),
                left=left,
            )


def _reaching(placements: Placements, body: Body, number: int, size: PossibleBody, near: Near) -> Ints:
    """Return the pairs, shape (n, 2), own row first, that overlap whichever way a body of *size* may lie."""
    of_type = placements.part_type
    ends = np.concatenate([np.column_stack([near.i, near.j]), np.column_stack([near.j, near.i])])
    ends = ends[of_type[ends[:, 0]] == number]
    alike = of_type[ends[:, 1]] == number
    ends, alike = ends[~alike | (ends[:, 0] < ends[:, 1])], alike[~alike | (ends[:, 0] < ends[:, 1])]
    one, other = near.rectangles.take(ends[:, 0]), near.rectangles.take(ends[:, 1])
    least = np.array([size.length.low, size.width.low]) / 2
    reach = np.isfinite(placements.rotation_deg[ends]).all(axis=1)
    for way in (0,) if body.oriented else _WAYS[body.longer_taken_along]:
        sides = np.broadcast_to(least[::-1] if way else least, other.inner.shape)
        reach &= rectangle_gaps(one, sides, other, np.where(alike[:, None], sides, other.inner)) < -CLEAR_OVERLAP_MM
    found: Ints = ends[reach]
    return found
