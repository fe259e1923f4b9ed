"""Where a point of a package lies on the board, by how a file says that the package is turned, and turned over.

A package on the underside is turned counter-clockwise and then mirrored across the y axis: so all 2,200 pads of the
consortium's test files of IPC-2581 lie where their pins do. Where it is not sure that a file counts so, each way in
which it may be meant is tried, and what hangs on that is not known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from capcheck.intake.files import turned

Point = tuple[float, float]
_SAME_SHARE: Final = 1e-6
_SAME_DEG: Final = 1e-6
"""A share of a point's distance, and an angle, that sums of floats stay below."""


class Lie(Struct, frozen=True):
    """One way in which a package may lie: turned, counter-clockwise as seen on its own side, then mirrored or not."""

    turned_deg: float
    mirrored: bool

    def seen(self, point: Point) -> Point:
        """Return where a point of the package lies from its origin, as seen from above."""
        x, y = turned(point, self.turned_deg)
        return (-x if self.mirrored else x), y

    def within(self, turned_deg: float) -> float:
        """Return the angle where a whole is turned too: of the underside that is the other way round."""
        return (self.turned_deg + (-turned_deg if self.mirrored else turned_deg)) % 360.0


def lies_on(side: str, turned_deg: float | None, mirrored: bool | None) -> list[Lie]:
    """Return how a package may lie by what a file says; none where it does not say how it is turned.

    *mirrored* that the side contradicts, or that cannot be read, may mean either, and a turn before the mirroring or
    after it.
    """
    if turned_deg is None:
        return []
    if mirrored is not None and (side not in {"top", "bottom"} or mirrored == (side == "bottom")):
        return [Lie(turned_deg, mirrored)]
    return [Lie(turned_deg, mirrored=False), *either_order(turned_deg)]


def either_order(turned_deg: float) -> list[Lie]:
    """Return how a package of the underside may lie where a file may turn it before it is mirrored, or after."""
    return [Lie(turned_deg, mirrored=True), Lie(-turned_deg, mirrored=True)]


def place_of_point(origin: Point, point: Point, lies: Sequence[Lie]) -> Point | None:
    """Return where a point of a package lies whose *origin* is known; None where its *lies* disagree, or are none."""
    if point == (0.0, 0.0):
        return origin
    seen = [lie.seen(point) for lie in lies]
    if not seen or any(math.dist(one, seen[0]) > _SAME_SHARE * math.hypot(*point) for one in seen):
        return None
    return origin[0] + seen[0][0], origin[1] + seen[0][1]


def angle_within(lies: Sequence[Lie], turned_deg: float) -> float | None:
    """Return the angle of a package whose board is turned within a whole; None where its *lies* disagree."""
    angles = [lie.within(turned_deg) for lie in lies]
    if not angles or any(abs((one - angles[0] + 180.0) % 360.0 - 180.0) > _SAME_DEG for one in angles):
        return None
    return angles[0]
