"""Bodies on the board as rotated rectangles: the greatest that the data leave possible, and the least.

Every distance is then an interval: its low end comes from the greatest bodies, its high end from the least.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.model import ONE_SIDED, Basis, Body, Codes, Flags, Floats, Ints, Placements, Side

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

_SIGNS: Final = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
_RIGHT_ANGLE_TOLERANCE_DEG: Final = 1e-6


class Bodies(Struct, frozen=True):
    """Rectangles of *n* parts in mm: centre, angle (degree, counter-clockwise, board seen from the top) and half sides.

    *outer* and *inner* have shape (n, 2): half sides of the greatest and the least body. The true body covers the
    inner and lies in the outer rectangle. An outer half side is infinite where nothing bounds it; an inner one is 0
    where the body may be as small as a point. Parts without a place have NaN centres.

    *either*, shape (n, 4), has the half sides of the bodies whose longer side may lie along either axis: greatest
    length and width, least length and width; NaN for all others. Their outer rectangle is the square around both.
    """

    x_mm: Floats
    y_mm: Floats
    angle_deg: Floats
    outer: Floats
    inner: Floats
    side: Codes
    either: Floats | None = None

    def __len__(self) -> int:
        return len(self.x_mm)

    @property
    def located(self) -> Flags:
        """Bodies whose centre is known."""
        return np.isfinite(self.x_mm) & np.isfinite(self.y_mm)

    @property
    def bounded(self) -> Flags:
        """Bodies whose centre is known and whose size has an upper bound."""
        located: Flags = self.located & np.isfinite(self.outer).all(axis=1)
        return located

    def outer_corners(self) -> Floats:
        """Return the corners of the greatest bodies, shape (n, 4, 2), counter-clockwise; NaN where unbounded."""
        return _corners(self, np.where(np.isfinite(self.outer), self.outer, np.nan))

    def inner_corners(self) -> Floats:
        """Return the corners of the least bodies, shape (n, 4, 2); NaN where the centre is unknown."""
        return _corners(self, self.inner)

    def take(self, rows: Ints | Flags) -> Bodies:
        """Return the bodies of these rows, an index or a mask."""
        return Bodies(
            self.x_mm[rows],
            self.y_mm[rows],
            self.angle_deg[rows],
            self.outer[rows],
            self.inner[rows],
            self.side[rows],
            None if self.either is None else self.either[rows],
        )

    @property
    def either_way(self) -> Flags:
        """Bodies whose longer side may lie along either axis, so that they cover less than their outer square."""
        chosen: Flags = np.zeros(len(self), bool)
        if self.either is not None:
            chosen |= np.isfinite(self.either).all(axis=1)
        return chosen

    def outer_ways(self) -> tuple[Floats, Floats]:
        """Return the half sides of the greatest bodies with the longer side along x, and along y."""
        return self._ways(self.outer, 0)

    def inner_ways(self) -> tuple[Floats, Floats]:
        """Return the half sides of the least bodies with the longer side along x, and along y."""
        return self._ways(self.inner, 2)

    def _ways(self, fixed: Floats, first: int) -> tuple[Floats, Floats]:
        if self.either is None:
            return fixed, fixed
        chosen, sizes = self.either_way[:, None], self.either[:, first : first + 2]
        return np.where(chosen, sizes, fixed), np.where(chosen, sizes[:, ::-1], fixed)


def _corners(bodies: Bodies, half: Floats) -> Floats:
    angle = np.radians(bodies.angle_deg)
    cos, sin = np.cos(angle)[:, None], np.sin(angle)[:, None]
    along, across = half[:, :1] * _SIGNS[:, 0], half[:, 1:] * _SIGNS[:, 1]
    x = bodies.x_mm[:, None] + along * cos - across * sin
    y = bodies.y_mm[:, None] + along * sin + across * cos
    return np.stack([x, y], axis=-1)


def rectangles(
    x_mm: ArrayLike,
    y_mm: ArrayLike,
    rotation_deg: ArrayLike,
    length: tuple[ArrayLike, ArrayLike],
    width: tuple[ArrayLike, ArrayLike],
    *,
    oriented: ArrayLike,
    side: ArrayLike | None = None,
) -> Bodies:
    """Return the least and the greatest rectangle of each body.

    *length* and *width* are (low, high) in mm. Where *oriented* is False, length is the longer side and may lie along
    either axis: the greatest body is then the square of the longer side and the least that of the shorter. Where the
    rotation is unknown, they are squares around every turned body and within every turned body. *rotation_deg* is
    as seen from the part's own side, so that it is turned round for parts on the bottom.
    """
    x, y, rotation = (np.asarray(v, float) for v in (x_mm, y_mm, rotation_deg))
    codes = np.full(x.shape, Side.TOP, np.int8) if side is None else np.asarray(side, np.int8)
    known = np.broadcast_to(np.asarray(oriented, bool), x.shape)
    low = np.stack([_size(length[0], x, 0.0), _size(width[0], x, 0.0)], axis=-1) / 2
    high = np.stack([_size(length[1], x, math.inf), _size(width[1], x, math.inf)], axis=-1) / 2
    # The shorter side cannot exceed the longer one, so a width without a bound takes that of the length.
    high[:, 1] = np.where(known, high[:, 1], np.minimum(high[:, 1], high[:, 0]))
    outer = np.where(known[:, None], high, high.max(axis=1, keepdims=True))
    inner = np.where(known[:, None], low, low.min(axis=1, keepdims=True))
    angle = np.where(codes == Side.BOTTOM, -rotation, rotation)
    turned = ~np.isfinite(angle) | ((codes == Side.UNKNOWN) & _oblique(angle))
    outer = np.where(turned[:, None], np.hypot(high[:, :1], high[:, 1:]), outer)
    inner = np.where(turned[:, None], low.min(axis=1, keepdims=True) / math.sqrt(2), inner)
    either = np.where((known | turned)[:, None], np.nan, np.hstack([high, np.minimum(low, high)]))
    return Bodies(x, y, np.where(turned, 0.0, angle), outer, np.minimum(inner, outer), codes, either)


def _size(value: ArrayLike, like: Floats, missing: float) -> Floats:
    sizes = np.broadcast_to(np.asarray(value, float), like.shape)
    return np.where(np.isnan(sizes), missing, sizes)


def _oblique(angle_deg: Floats) -> Flags:
    """Whether the angle is no multiple of 90 degrees, so that the view from below would turn the rectangle."""
    with np.errstate(invalid="ignore"):
        rest = np.abs(np.remainder(angle_deg + 45.0, 90.0) - 45.0)
    oblique: Flags = rest > _RIGHT_ANGLE_TOLERANCE_DEG
    return oblique


def body_rectangles(placements: Placements, bodies: Sequence[Body], *, over_leads: bool = True) -> Bodies:
    """Return the rectangle of every placement row; rows without a part type have a point as least body and no bound.

    With *over_leads* the greatest body also covers the leads, where their span is known: the span is stated across
    the body without saying along which axis, so both sides grow to it. The least body never counts leads.
    """
    table = np.array([_sizes(b, over_leads=over_leads) for b in (*bodies, Body())])
    of = np.where(placements.part_type >= 0, placements.part_type, len(bodies))
    length_low, length_high, width_low, width_high, oriented = table[of].T
    return rectangles(
        placements.x_mm,
        placements.y_mm,
        placements.rotation_deg,
        (length_low, length_high),
        (width_low, width_high),
        oriented=oriented > 0,
        side=placements.side,
    )


def least_sides(body: Body) -> tuple[float, float]:
    """Return the length and width in mm that a body covers around its place for certain.

    A bound of the kind does not say around which point the body lies, so that such a one covers nothing. A body with
    leads on one side lies off its place, which is the middle of its lands: by half of what the span leaves beside it.
    """
    length, width = (0.0 if m.basis is Basis.BOUND else m.proved.low for m in (body.length, body.width))
    if body.family_key in ONE_SIDED:
        beside = body.span.proved.high - min(length, width)
        return max(0.0, length - beside), max(0.0, width - beside)
    return length, width


def _sizes(body: Body, *, over_leads: bool) -> tuple[float, float, float, float, float]:
    # A typical size proves nothing: two bodies must not be said to overlap, or to clear, because of one.
    length, width, span = (m.proved for m in (body.length, body.width, body.span))
    length_low, width_low = least_sides(body)
    length_high, width_high = length.high, width.high
    if not body.oriented:
        width_high = min(length_high, width_high)
    if over_leads and math.isfinite(span.high):
        length_high, width_high = max(length_high, span.high), max(width_high, span.high)
    if not body.centred:
        # From a point anywhere in it, a body reaches as far as its whole side, or not at all.
        return 0.0, 2 * length_high, 0.0, 2 * width_high, float(body.oriented)
    return length_low, length_high, width_low, width_high, float(body.oriented)
