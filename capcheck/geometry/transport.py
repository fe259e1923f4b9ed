"""How a board travels: which edges the rails carry, what its leading edge looks like, and its proportions and mass."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.geometry.edges import BOX_SIDES, BoxSide, ring_distance
from capcheck.model import NOTHING, Floats, Said, say
from capcheck.values import UNKNOWN_SIZE, Interval

if TYPE_CHECKING:
    from shapely import Polygon

FLATNESS_MM: Final = 0.05
"""A contour that stays this near to a side of the board's box counts as lying on it."""
LIGHT_HOLE_MM: Final = 2.0
"""A sensor's light passes holes from this diameter on: from memory; common practice, no source."""
_PARALLEL_SLOPE: Final = 0.02
"""Steeper pieces near a side belong to a rounded corner: the first chords of its arc."""


class TransportLimits(Struct, frozen=True):
    """The board sizes that a conveyor takes, along and across the way of travel, in mm; *name* is the lane mode."""

    along: Interval = UNKNOWN_SIZE
    across: Interval = UNKNOWN_SIZE
    name: str = ""


class Travel(Struct, frozen=True):
    """One way for a board to travel: *turned* if along its own y. *fits* is None where the sizes do not decide it."""

    turned: bool
    along: Interval
    across: Interval
    fits: bool | None = None
    mode: str = ""
    reason: Said = NOTHING

    @property
    def transported(self) -> tuple[BoxSide, BoxSide]:
        """The sides of the board, in its own frame, that lie on the rails."""
        return ("left", "right") if self.turned else ("bottom", "top")

    @property
    def leading(self) -> tuple[BoxSide, BoxSide]:
        """The sides that run ahead and behind; which is which depends on the line, so both must serve."""
        return ("bottom", "top") if self.turned else ("left", "right")


class Wish(Struct, frozen=True):
    """The way that a board is meant to travel: *turned* if along its own y; *only* if no other way is allowed."""

    turned: bool
    reason: Said = say("geometry.rails are carried")
    only: bool = False


def _holds(size: Interval, limit: Interval) -> bool | None:
    if limit.low <= size.low and size.high <= limit.high:
        return True
    return None if size.overlaps(limit) else False


def ways(
    length: Interval, width: Interval, limits: Sequence[TransportLimits] = (), wish: Wish | None = None
) -> tuple[Travel, ...]:
    """Return every way to travel, best first: proved to fit, then undecided; then as wished, else the long edge along.

    *length* lies along the board's x, *width* along its y. Every way is tried with every lane mode in *limits*, whose
    order is a preference too. Without limits both ways fit. A *wish* for one way only leaves no other.
    """
    found: list[Travel] = []
    for mode in limits or (TransportLimits(),):
        for turned in (False, True) if wish is None or not wish.only else (wish.turned,):
            along, across = (width, length) if turned else (length, width)
            parts = (_holds(along, mode.along), _holds(across, mode.across))
            fits = False if False in parts else None if None in parts else True
            found.append(Travel(turned, along, across, fits, mode.name))
    rank = {True: 0, None: 1, False: 2}
    unwished = {False: False, True: False} if wish is None else {wish.turned: False, not wish.turned: True}
    return tuple(sorted(found, key=lambda w: (rank[w.fits], unwished[w.turned], _short_edge_first(w), w.turned)))


def _short_edge_first(way: Travel) -> bool:
    return way.along.high < way.across.low


def choose_travel(
    length: Interval, width: Interval, limits: Sequence[TransportLimits] = (), wish: Wish | None = None
) -> Travel:
    """Return the way a board travels through one machine, with the reason."""
    best, *others = ways(length, width, limits, wish)
    reason = _reason(best, others, wish)
    return replace(best, reason=say("geometry.not proved to fit", reason=reason) if best.fits is None else reason)


def _reason(best: Travel, others: Sequence[Travel], wish: Wish | None) -> Said:
    short = _short_edge_first(best)
    edge = say("geometry.edge along", short=short)
    if best.fits is False:
        turned_in_vain = any(other.turned != best.turned for other in others)
        return say("geometry.fits neither way" if turned_in_vain else "geometry.does not fit", edge=edge)
    if wish is not None and wish.turned == best.turned:
        return say("geometry.as wished", edge=edge, wish=wish.reason)
    if wish is not None:
        return say("geometry.only way against the rails", edge=edge)
    if short:
        return say("geometry.only way", edge=edge)
    if any(way.fits is True and way.turned != best.turned for way in others):
        return say("geometry.long edge first")
    return edge


def ratio(numerator: Interval, denominator: Interval) -> Interval:
    """Return the bounds of a quotient of two sizes, none negative; a denominator that may be 0 leaves it open."""
    if not math.isfinite(numerator.low):
        return UNKNOWN_SIZE
    low = numerator.low / denominator.high if denominator.high > 0 else 0.0
    high = numerator.high / denominator.low if denominator.low > 0 else math.inf
    return Interval(low, max(low, high))


def aspect(length: Interval, width: Interval) -> Interval:
    """Return long side over short side, 1 or more, whichever of the two is which."""
    one, other = ratio(length, width), ratio(width, length)
    return Interval(max(1.0, one.low, other.low), max(1.0, one.high, other.high))


def bare_mass(area_mm2: Interval, thickness_mm: Interval, density_g_mm3: Interval) -> Interval:
    """Return the mass of the bare board in gram, area × thickness × density; parts come on top."""
    lows = (area_mm2.low, thickness_mm.low, density_g_mm3.low)
    highs = (area_mm2.high, thickness_mm.high, density_g_mm3.high)
    return Interval(math.prod(lows), math.inf if math.inf in highs else math.prod(highs))


def board_area(polygon: Polygon | None, length: Interval, width: Interval) -> Interval:
    """Return the area in mm²: of the contour with its cut-outs, else at most that of the box."""
    if polygon is not None:
        return Interval.exactly(float(polygon.area))
    return Interval.at_most(math.inf if math.inf in (length.high, width.high) else length.high * width.high)


class SideProfile(Struct, frozen=True):
    """One side of a board's box and how much of it the contour follows; lengths in mm.

    *notch* is the longest stretch between two straight ones where the contour leaves the side; *start_gap* and
    *end_gap* are the stretches up to the corners (a rounded corner, a chamfer or a missing corner).
    """

    length: float
    straight_share: float
    notch: float
    start_gap: float
    end_gap: float


def side_profiles(polygon: Polygon) -> dict[BoxSide, SideProfile]:
    """Return the profile of each side of the board's box, seen along x or y."""
    points = np.asarray(polygon.exterior.coords)[:, :2]
    left, bottom, right, top = polygon.bounds
    lines = {"left": (0, left), "right": (0, right), "bottom": (1, bottom), "top": (1, top)}
    profiles: dict[BoxSide, SideProfile] = {}
    for side in BOX_SIDES:
        axis, value = lines[side]
        span = (bottom, top) if axis == 0 else (left, right)
        profiles[side] = _profile(points, axis, value, span)
    return profiles


def _profile(points: Floats, axis: int, value: float, span: tuple[float, float]) -> SideProfile:
    on_line = np.abs(points[:, axis] - value) <= FLATNESS_MM
    step = np.abs(np.diff(points, axis=0))
    both = on_line[:-1] & on_line[1:] & (step[:, axis] <= _PARALLEL_SLOPE * step[:, 1 - axis])
    runs = np.sort(np.stack([points[:-1, 1 - axis], points[1:, 1 - axis]], axis=1)[both], axis=1)
    length = span[1] - span[0]
    if not len(runs):
        return SideProfile(length, 0.0, 0.0, length, length)
    covered, notch, end = 0.0, 0.0, float(runs[:, 0].min())
    start = end
    for low, high in sorted(map(tuple, runs.tolist())):
        notch = max(notch, low - end)
        covered += max(0.0, high - max(low, end))
        end = max(end, high)
    return SideProfile(length, covered / length, notch, start - span[0], span[1] - end)


def corner_radius(profiles: dict[BoxSide, SideProfile]) -> float:
    """Return the least radius or chamfer, in mm, of the four corners of the board's box; 0 for a square corner."""
    left, right, bottom, top = (profiles[s] for s in BOX_SIDES)
    corners = (
        (left.start_gap, bottom.start_gap),
        (right.start_gap, bottom.end_gap),
        (left.end_gap, top.start_gap),
        (right.end_gap, top.end_gap),
    )
    return min(min(pair) for pair in corners)


Holes = Sequence[tuple[float, float, float]]
"""Round holes: x, y and diameter in mm."""


def cutout_behind_edge(polygon: Polygon, side: BoxSide, holes: Holes = ()) -> float:
    """Return the distance in mm from a side of the board's box to the nearest cut-out or hole; infinite without one.

    A stop or a sensor that meets one near the leading edge sees the board end too early. Holes narrower than
    :data:`LIGHT_HOLE_MM` do not count.
    """
    left, bottom, right, top = polygon.bounds
    boxes = [ring.bounds for ring in polygon.interiors]
    boxes += [(x - d / 2, y - d / 2, x + d / 2, y + d / 2) for x, y, d in holes if d >= LIGHT_HOLE_MM]
    distances = {
        "left": [b[0] - left for b in boxes],
        "right": [right - b[2] for b in boxes],
        "bottom": [b[1] - bottom for b in boxes],
        "top": [top - b[3] for b in boxes],
    }
    return min(distances[side], default=math.inf)


def hole_at_edge(polygon: Polygon, holes: Holes) -> tuple[float, str] | None:
    """Return the narrowest web in mm between a hole or cut-out and the outer contour, and which one; None without any.

    Negative where a round hole breaks through the contour. Webs too wide to matter may come out a little too narrow
    (:func:`~capcheck.geometry.edges.ring_distance`).
    """
    import shapely

    round_ones = np.array([h for h in holes if all(map(math.isfinite, h))], float).reshape(-1, 3)
    rings = np.array(list(polygon.interiors), dtype=object)
    if not len(round_ones) and not len(rings):
        return None
    shapes: Any = np.concatenate([shapely.points(round_ones[:, :2]), rings])
    webs = ring_distance(shapes, [polygon.exterior])[0]
    webs[: len(round_ones)] -= round_ones[:, 2] / 2
    nearest = int(np.argmin(webs))
    if nearest < len(round_ones):
        x, y, diameter = round_ones[nearest].tolist()
        return float(webs[nearest]), f"the hole of {diameter:.4g} mm at ({x:.5g}, {y:.5g})"
    left, bottom, right, top = shapely.bounds(shapes[nearest]).tolist()
    return float(webs[nearest]), f"the cut-out at ({(left + right) / 2:.5g}, {(bottom + top) / 2:.5g})"
