"""How the lands of one side lie to its placements: by a shift, and for how many of them a land and its mirror agree.

A part lies in the middle of its lands: the nearest land, mirrored at the part's place, meets a land of the same size. A
shift is found by the midpoints of equal neighbouring lands, which two-land parts lie on. Measured on 70 public boards:
layers and placements share a frame on 56, the others are shifted, some on one side only, none is mirrored or turned.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.lands.shapes import middles, sizes, tree_of
from capcheck.model import Flags, Floats, Ints, Registered

if TYPE_CHECKING:
    from shapely import STRtree

CENTRED_MM: Final = 0.1
"""A part is off the middle of its lands where it lies farther from it; exports round, to 0.01 mm and less."""
EQUAL_MM: Final = 0.05
"""Lands are of one size where their boxes differ by no more: lands are drawn alike, and layers are rounded to 0.001."""
LEAST_MATCH: Final = 0.5
_FEWEST: Final = 4
"""So few parts on their lands prove nothing."""
_FEWEST_SHIFTED: Final = 12
"""Where a shift is fitted, chance finds some: so many parts have to lie on their lands then."""
_GOOD: Final = 0.8
"""A share on their lands as they stand beside which no shift is looked for."""
_BETTER: Final = 0.15
_NEXT_MM: Final = 5.0
_AS_GOOD: Final = 0.8
_APART_MM: Final = 0.5
_LEFT_BESIDE: Final = 0.25
"""Of so many parts that lie on their lands as these are drawn, and would not by a shift, others lie beside theirs."""
_CANDIDATES: Final = 8
_CELL_MM: Final = 0.1
_WIDEST_PAIR_MM: Final = 20.0
_CROWDED: Final = 1000
"""Of more lands only the neighbours within a tenth of that are paired."""
_PARTNERS: Final = 6
_MOST_PARTS: Final = 150
_MOST_PAIRS: Final = 6_000
"""So many parts and pairs of lands are enough to find a shift by."""


def holds(found: Registered, *, known_shift: bool = False) -> bool:
    """Whether the lands are of these placements: less than half on their lands prove the contrary.

    A shift that was fitted here needs more parts to hold than one that is known.
    """
    hits = round(found.match * found.judged)
    fitted = found.shift != (0.0, 0.0) and not known_shift
    return found.match >= LEAST_MATCH and hits >= (_FEWEST_SHIFTED if fitted else _FEWEST)


class Spots:
    """Lands as points with their boxes, to find the nearest and those near a place."""

    def __init__(self, box: Floats) -> None:
        self.box = box
        self.at, self.size = middles(box), sizes(box)
        self.tree: STRtree = tree_of(self.at)

    def __len__(self) -> int:
        return len(self.box)

    def nearest(self, places: Floats) -> Ints:
        """Return the nearest land of each place, shape (n, 2)."""
        import shapely

        found: Ints = self.tree.query_nearest(shapely.points(places), all_matches=False)[1]
        return found

    def near(self, places: Floats, reach: Floats | float) -> tuple[Ints, Ints]:
        """Return pairs of place and land that lie within *reach* of each other."""
        import shapely

        place, land = self.tree.query(shapely.points(places), predicate="dwithin", distance=reach)
        return place, land

    def alike(self, one: Ints, other: Ints) -> Flags:
        """Whether lands are of one size as they lie."""
        found: Flags = np.all(np.abs(self.size[one] - self.size[other]) <= EQUAL_MM, axis=1)
        return found


def mirrored(spots: Spots, places: Floats, *, pads: bool = False) -> tuple[Ints, Ints, Flags]:
    """Return the nearest land of each place, the land nearest to its mirror image, and whether the two are a pair.

    A land in whose middle a place lies is its own image. Where places may be those of *pads* it proves nothing: then
    the next land is taken.
    """
    first = spots.nearest(places)
    if pads:
        inside = np.flatnonzero(np.hypot(*(spots.at[first] - places).T) <= CENTRED_MM)
        first = first.copy()
        first[inside] = _next_nearest(spots, places[inside], first[inside])
    image = 2 * places - spots.at[first]
    second = spots.nearest(image)
    off = np.hypot(*(spots.at[second] - image).T)
    # The middle of the two is half as far from the place as the image is from the land.
    even = (off <= 2 * CENTRED_MM) & spots.alike(first, second)
    return first, second, even & (first != second) if pads else even


def _next_nearest(spots: Spots, places: Floats, nearest: Ints) -> Ints:
    """Return the land next to the nearest one of each place, the nearest where none lies within reach."""
    if not len(places):
        return nearest
    place, land = spots.near(places, _NEXT_MM)
    others = land != nearest[place]
    place, land = place[others], land[others]
    far = np.hypot(*(spots.at[land] - places[place]).T)
    order = np.lexsort((-far, place))
    found = nearest.copy()
    found[place[order]] = land[order]  # of each place the last one, which is the nearest
    return found


def register(spots: Spots, places: Floats, known: tuple[float, float] | None = None) -> Registered:
    """Return how lands lie to the *places* of a side's parts, shape (n, 2) in mm; *known* is the other side's shift.

    Of two shifts that are nearly as good, as on a board whose parts repeat in a grid, neither is taken; nor is one by
    which most parts of one footprint would lie right, all placed on their pad 1, and the rest would not.
    """
    places = places[np.isfinite(places).all(axis=1)]
    if not len(places) or not len(spots):
        return Registered((0.0, 0.0), 0.0, len(places))
    on_lands = mirrored(spots, places)[2]
    as_drawn = float(on_lands.mean())
    best = Registered((0.0, 0.0), as_drawn, len(places))
    if as_drawn >= _GOOD:
        return best
    if known is not None and known != (0.0, 0.0):
        there = float(mirrored(spots, places - np.array(known))[2].mean())
        if there >= max(LEAST_MATCH, as_drawn + _BETTER):
            return Registered(known, there, len(places))
    tried = [(float(mirrored(spots, places - shift)[2].mean()), shift) for shift in _common_shifts(spots, places)]
    tried.sort(key=lambda one: -one[0])
    if tried and tried[0][0] >= as_drawn + _BETTER:
        match, shift = tried[0]
        if any(other >= _AS_GOOD * match and np.hypot(*(at - shift)) > _APART_MM for other, at in tried[1:]):
            return best
        if float((on_lands & ~mirrored(spots, places - shift)[2]).mean()) > _LEFT_BESIDE:
            return best
        best = Registered((round(float(shift[0]), 4), round(float(shift[1]), 4)), match, len(places))
    return best


def midpoints(spots: Spots) -> Floats:
    """Return the middle of each land and those of its nearest neighbours that are of its size, shape (n, 2)."""
    one, other = spots.near(spots.at, _WIDEST_PAIR_MM if len(spots) < _CROWDED else _WIDEST_PAIR_MM / 10)
    apart = one != other
    one, other = one[apart], other[apart]
    same = spots.alike(one, other)
    one, other = one[same], other[same]
    distance = np.hypot(*(spots.at[one] - spots.at[other]).T)
    order = np.lexsort((distance, one))
    one, other = one[order], other[order]
    rank = np.arange(len(one)) - np.searchsorted(one, one)
    kept = (rank < _PARTNERS) & (one < other)
    found: Floats = (spots.at[one[kept]] + spots.at[other[kept]]) / 2
    return found


def _common_shifts(spots: Spots, places: Floats) -> list[Floats]:
    """Return the shifts of lands that most parts agree on, each the median of those that do."""
    pairs = midpoints(spots)
    chosen = places[:: math.ceil(len(places) / _MOST_PARTS)]
    pairs = pairs[:: max(1, math.ceil(len(pairs) / _MOST_PAIRS))]
    if not len(pairs):
        return []
    apart = (chosen[:, None, :] - pairs[None, :, :]).reshape(-1, 2)
    cells = np.floor(apart / _CELL_MM).astype(np.int64)
    keys = cells[:, 0] * 1_000_003 + cells[:, 1]
    _, first, counts = np.unique(keys, return_index=True, return_counts=True)
    found = []
    for at in first[np.argsort(-counts, kind="stable")[:_CANDIDATES]].tolist():
        # A shift on the border of two cells falls half into each.
        near = (np.abs(cells - cells[at]) <= 1).all(axis=1)
        found.append(np.median(apart[near], axis=0))
    return found
