"""Fiducials as the layers show them: round copper in a clearly larger opening of the mask, without paste and hole.

Measured on 70 public boards: such circles are 34 of the 38 fiducials that placement data list, and one other thing.
Those that nothing lists are certain where they are few, far apart and free of other copper. A board without any is one
whose drawing shows none: the rails of a panel may hold them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import permutations
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.lands.layer_set import LayerSet
from capcheck.lands.registration import Spots
from capcheck.lands.shapes import circles, middles
from capcheck.model import Flags, Floats, Kind, LayerKind, LayerSide, Mark, Openings, Placements, Side

if TYPE_CHECKING:
    from shapely import Polygon

_SIDES: Final[tuple[tuple[LayerSide, Side], ...]] = (("top", Side.TOP), ("bottom", Side.BOTTOM))
_SIZES_MM: Final = (0.5, 3.2)
"""Diameters that fiducials of real boards have; SMEMA 3.1 asks for 1 to 3 mm."""
_WIDER: Final = 1.5
"""An opening so many times as wide as the copper is meant to leave it bare; for a land it is 0.05 to 0.2 mm wider."""
_SAME_MM: Final = 0.05
"""What has one centre or one size: layers are rounded to 0.001 mm, and drawn alike."""
_LISTED_MM: Final = 0.2
"""A circle this near to a listed fiducial is that fiducial."""
_ALIKE: Final = 2
"""So many circles of one size on a side are fiducials: two are needed to find a board's place and angle."""
_MOST: Final = 4
"""More of one size and ring on a side are dots of a coupon, thieving or test lands, or local fiducials among them; the
sides of public boards that list fiducials have three of one size."""
_APART: Final = 0.5
"""Fiducials of a board lie far apart, for its angle: the farthest two by this share of the diagonal of its placements
at least. On seven sides of public boards that list some, 0.75 of it; dots of a coupon are nearer."""
_STEP_MM: Final = 0.1
"""Equal steps of a row differ by less."""
_ROUNDED: Final = 4
_RING: Final = 1.5
"""Diameters from a fiducial's centre to the end of a ring as wide as its diameter."""


class _Discs(Struct, frozen=True):
    """Full circles, one a row: their centres (n, 2), diameters in mm."""

    at: Floats
    diameter: Floats

    def __len__(self) -> int:
        return len(self.diameter)

    def of(self, rows: Flags) -> _Discs:
        return _Discs(self.at[rows], self.diameter[rows])

    def around(self, place: Floats, reach: float) -> _Discs:
        return self.of(np.hypot(*(self.at - place).T) <= reach)


def marks_of_layers(
    layers: LayerSet,
    placed: Placements,
    stated: Sequence[tuple[float, float, str]] = (),
    contour: Polygon | None = None,
) -> tuple[Mark, ...]:
    """Return the fiducials that the layers of each side show, and the circles that may be some.

    *stated* are places and sides of fiducials that are known beside those of the placements. Copper is read only for a
    side that has a listed fiducial, or an opening of the mask that may be one's. What lies beside the *contour* is on
    the rails of a panel, or on its other boards: it is not certain to be the board's. Raises
    :class:`~capcheck.values.InputError` for a layer that states what it is and cannot be read.
    """
    listed = {
        side: _listed(placed, code, [(x, y) for x, y, on in stated if on == side])
        for side, code in _SIDES
        if side in layers.registered
    }
    lists_any = bool(stated) or bool((placed.kind == Kind.FIDUCIAL).any())
    found: list[Mark] = []
    for side, code in _SIDES:
        if side in listed:
            apart = _APART * _diagonal(placed)
            others = _others(placed, code)
            found += _on_side(layers, side, listed[side], others, _Bounds(apart, contour), lists_any=lists_any)
    return tuple(found)


class _Bounds(Struct, frozen=True):
    """What the fiducials of a board keep to: the farthest of a side are *apart* by so many mm, all in the *contour*."""

    apart: float
    contour: Any = None

    def inside(self, marks: Sequence[Mark]) -> list[bool]:
        """Return of each whether it lies on the board; without a contour nobody can say that one does not."""
        import shapely

        if self.contour is None:
            return [True] * len(marks)
        whole = shapely.Polygon(self.contour.exterior)
        found: list[bool] = shapely.contains_xy(
            whole, [one.x_mm for one in marks], [one.y_mm for one in marks]
        ).tolist()
        return found


def _listed(placed: Placements, code: Side, stated: Sequence[tuple[float, float]]) -> Floats:
    rows = (placed.side == code) & (placed.kind == Kind.FIDUCIAL)
    at = np.concatenate([np.column_stack([placed.x_mm[rows], placed.y_mm[rows]]), np.array(stated).reshape(-1, 2)])
    found: Floats = at[np.isfinite(at).all(axis=1)]
    return found


def _others(placed: Placements, code: Side) -> Floats:
    """Return the places of all that is listed on a side and is no fiducial."""
    rows = (placed.side == code) & (placed.kind != Kind.FIDUCIAL)
    at = np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])
    found: Floats = at[np.isfinite(at).all(axis=1)]
    return found


def _diagonal(placed: Placements) -> float:
    at = np.column_stack([placed.x_mm, placed.y_mm])
    at = at[np.isfinite(at).all(axis=1)]
    return float(np.hypot(*np.ptp(at, axis=0))) if len(at) else 0.0


def _on_side(
    layers: LayerSet, side: LayerSide, listed: Floats, others: Floats, bounds: _Bounds, *, lists_any: bool
) -> list[Mark]:
    """Return what copper shows of a side; where nothing lists fiducials, only what it may prove is looked for.

    How many there are is open then in any case, and a circle that may be one says nothing new.
    """
    mask, paste = layers.openings(LayerKind.MASK, side), layers.openings(LayerKind.PASTE, side)
    bare = _bare_openings(layers, side, mask, paste, others)
    proves = paste is not None and len(paste) > 0 and len(layers.holes(side)) > 0
    if not len(listed) and not (len(bare) if lists_any else proves and _are_alike(bare)):
        return []
    copper = layers.openings(LayerKind.COPPER, side)
    if copper is None or not len(copper):
        return []
    discs = _discs(copper, _SIZES_MM)
    named = [one for place in listed if (one := _listed_mark(discs, mask, place, side)) is not None]
    drawn = [one for k in range(len(bare)) if (one := _drawn_mark(discs, bare, k, side)) is not None]
    new = [one for one in drawn if not (np.hypot(*(listed - (one.x_mm, one.y_mm)).T) <= _LISTED_MM).any()]
    near, alone = _around(layers, side, [*named, *new])
    named, new, alone = near[: len(named)], near[len(named) :], alone[len(named) :]
    own = [one for one, is_inside in zip(near, bounds.inside(near), strict=True) if is_inside or one in named]
    alike = [proves and one in own and _are_fiducials(_alike(one, own), bounds.apart) for one in new]
    file = layers.files[LayerKind.COPPER, side].file.name
    found = [
        *(replace(one, listed=True) for one in named),
        # A test land has a track, a fiducial has none.
        *(replace(one, certain=a and b) for one, a, b in zip(new, alike, alone, strict=True)),
    ]
    return [replace(one, file=file) for one in found]


def _around(layers: LayerSet, side: LayerSide, marks: Sequence[Mark]) -> tuple[list[Mark], list[bool]]:
    """Return the circles with the ring around each that no mask, other copper or print reaches into.

    The second says of each whether copper leaves it as wide a ring as its opening must: print says nothing of what the
    copper is.

    Copper is looked at as far as a fiducial's ring should be free at best: by its diameter (SMEMA 3.1), or as far as
    its opening in the mask. Copper that joins the circle leaves it no ring.
    """
    at = np.array([(one.x_mm, one.y_mm) for one in marks]).reshape(-1, 2)
    reach = [max(_RING * one.diameter_mm, (one.opening_mm or 0.0) / 2) for one in marks]
    found, alone = list(marks), [False] * len(marks)
    print_ = layers.drawn_around(LayerKind.LEGEND, side, at, reach)
    # Print that cannot be read may lie anywhere.
    is_known = print_ is not None
    inked = [0.0 if own else other for own, other in print_ or ()] or reach
    for k, (own, other) in enumerate(layers.drawn_around(LayerKind.COPPER, side, at, reach) or ()):
        one = marks[k]
        radius = one.diameter_mm / 2
        mask = math.inf if one.opening_mm is None else one.opening_mm / 2
        free = min(other, inked[k])
        most = 0.0 if own > radius + _SAME_MM else max(min(free, mask) - radius, 0.0)
        low = most if is_known and one.opening_mm is not None else 0.0
        # What lies beyond the window is not known, where the mask ends no sooner.
        alone[k] = own <= radius + _SAME_MM and min(other, mask) >= _WIDER * radius - _SAME_MM / 10
        high = most if most == 0.0 or min(free, mask) < reach[k] or mask <= reach[k] else math.inf
        found[k] = replace(one, ring=(round(max(low, 0.0), _ROUNDED), round(high, _ROUNDED)))
    return found, alone


def _are_alike(discs: _Discs) -> bool:
    """Whether two of them are of one size, as two fiducials of a side are."""
    return len(discs) >= _ALIKE and float(np.diff(np.sort(discs.diameter)).min()) <= _SAME_MM


def _discs(openings: Openings, sizes: tuple[float, float]) -> _Discs:
    """Return the full circles among openings, of the diameters asked for."""
    is_round, diameter = circles(openings)
    rows = is_round & (diameter >= sizes[0] - _SAME_MM / 10) & (diameter <= sizes[1] + _SAME_MM / 10)
    return _Discs(middles(openings.box)[rows], diameter[rows])


def _bare_openings(
    layers: LayerSet, side: str, mask: Openings | None, paste: Openings | None, others: Floats
) -> _Discs:
    """Return the round openings of the mask that a fiducial may lie in: with no paste, no hole, and no part's land.

    What has the circle for its land is placed on its middle; a part may be placed over a fiducial beside it.
    """
    none = _Discs(np.zeros((0, 2)), np.zeros(0))
    if mask is None or not len(mask):
        return none
    found = _discs(mask, (_WIDER * _SIZES_MM[0], 4 * _SIZES_MM[1]))
    holes = layers.holes(side)
    for at, reach in ((holes.at, math.inf), (others, _LISTED_MM)):
        found = found.of(_empty(found, at, reach))
    return found if paste is None or not len(paste) else found.of(_apart(found, paste.box))


def _empty(discs: _Discs, at: Floats, reach: float) -> Flags:
    """Whether none of the places, shape (n, 2), lies in a circle, within *reach* of its middle."""
    found = np.ones(len(discs), dtype=np.bool_)
    if not len(discs) or not len(at):
        return found
    radius = np.minimum(discs.diameter / 2, reach)
    place, disc = Spots(np.hstack([discs.at, discs.at])).near(at, float(radius.max()))
    off = np.hypot(*(at[place] - discs.at[disc]).T)
    found[disc[off <= radius[disc]]] = False
    return found


def _apart(discs: _Discs, box: Floats) -> Flags:
    """Whether none of the boxes, shape (n, 4), reaches into a circle."""
    if not len(discs):
        return np.zeros(0, np.bool_)
    off = np.maximum(np.maximum(box[None, :, :2] - discs.at[:, None], discs.at[:, None] - box[None, :, 2:]), 0.0)
    clear = np.hypot(off[..., 0], off[..., 1]) >= discs.diameter[:, None] / 2
    found: Flags = np.all(clear, axis=1)
    return found


def _drawn_mark(discs: _Discs, bare: _Discs, row: int, side: LayerSide) -> Mark | None:
    """Return the circle of copper in the middle of an opening, where it is the only one in it, and clearly smaller."""
    place, opening = bare.at[row], float(bare.diameter[row])
    inside = discs.around(place, opening / 2)
    if not len(inside) or np.hypot(*(inside.at - place).T).max() > _SAME_MM:
        return None
    diameter = float(inside.diameter.max())
    if opening < _WIDER * diameter - _SAME_MM / 10:
        return None
    return _mark(place, side, diameter, opening)


def _listed_mark(discs: _Discs, mask: Openings | None, place: Floats, side: LayerSide) -> Mark | None:
    """Return the circle of copper at the place of a listed fiducial; None where the mask hides it, or part of it."""
    near = discs.around(place, _LISTED_MM)
    if not len(near) or np.ptp(near.at, axis=0).max() > _SAME_MM:
        return None
    diameter = float(near.diameter.max())
    at = near.at[int(near.diameter.argmax())]
    if mask is None or not len(mask):
        return _mark(at, side, diameter, None)
    box = mask.box
    free = np.minimum(at - box[:, :2], box[:, 2:] - at).min(axis=1)
    around = np.flatnonzero(free >= diameter / 2 - _SAME_MM / 10)
    if not len(around):
        return None
    return _mark(at, side, diameter, 2 * float(free[around].min()))


def _mark(at: Floats, side: LayerSide, diameter: float, opening: float | None) -> Mark:
    wide = None if opening is None else round(opening, _ROUNDED)
    return Mark(round(float(at[0]), _ROUNDED), round(float(at[1]), _ROUNDED), side, round(diameter, _ROUNDED), wide)


def _alike(mark: Mark, others: Sequence[Mark]) -> list[Mark]:
    """Return those of a fiducial's size, itself among them."""
    return [one for one in others if abs(one.diameter_mm - mark.diameter_mm) <= _SAME_MM]


def _are_fiducials(alike: Sequence[Mark], apart: float) -> bool:
    """Whether circles of one size can be nothing but the fiducials of a side: few, far apart and in no even row."""
    at = np.array([(one.x_mm, one.y_mm) for one in alike]).reshape(-1, 2)
    if not _ALIKE <= len(at) <= _MOST:
        return False
    far = float(np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1)).max())
    return far >= apart and not any(
        math.dist(end, 2 * middle - start) <= 2 * _STEP_MM for start, middle, end in permutations(at, 3)
    )
