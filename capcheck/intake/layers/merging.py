"""Areas that touch become one: what is drawn with many strokes, or over another, is one opening."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from capcheck.model import Flags, Ints

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry as Geometry

Shaped = NDArray[np.object_]
"""Areas, one a place."""
_MOST_TOUCHING: Final = 60_000
"""Areas whose boxes meet, each pair counted twice: the most of 60 masks and pastes of real boards are 35,000."""
_AT_ONCE: Final = 32


def is_too_dense(drawn: Sequence[Geometry]) -> bool:
    """Whether merging areas would take long: so many lie over each other as no board draws; told before it is done.

    Boxes alone are compared, a few areas at a time: of stacked areas all pairs would fill the memory.
    """
    import shapely

    boxes: Any = shapely.box(*shapely.bounds(np.asarray(drawn, dtype=object)).T)
    tree = shapely.STRtree(boxes)
    pairs = 0
    for start in range(0, len(boxes), _AT_ONCE):
        pairs += tree.query(boxes[start : start + _AT_ONCE]).shape[1]
        if pairs - len(boxes) > _MOST_TOUCHING:
            return True
    return False


def without(drawn: Sequence[Geometry], erased: Sequence[Geometry]) -> list[Geometry]:
    """Return what was drawn without what is erased."""
    import shapely

    tree = shapely.STRtree(erased)
    hit, by = tree.query(drawn, predicate="intersects")
    found = list(drawn)
    for k in set(hit.tolist()):
        found[k] = drawn[k].difference(shapely.union_all([erased[j] for j in by[hit == k]]))
    return found


def merged(drawn: Sequence[Geometry]) -> list[Geometry]:
    """Return areas of which none touches another: what lies alone as it is, what touches as one."""
    import shapely

    areas = shapely.get_parts(drawn)
    areas = areas[(shapely.get_type_id(areas) == shapely.GeometryType.POLYGON) & (shapely.area(areas) > 0)]
    if not len(areas):
        return []
    one, other = shapely.STRtree(areas).query(areas, predicate="intersects")
    inside = _inside(areas, one, other)
    if inside.any():  # as the openings of vias within one land
        areas = areas[~inside]
        number = np.cumsum(~inside) - 1
        kept = ~inside[one] & ~inside[other]
        one, other = number[one[kept]], number[other[kept]]
    group = _connected(len(areas), one, other)
    counts = np.bincount(group)
    found = list(areas[counts[group] == 1])
    order = np.argsort(group, kind="stable")
    order = order[counts[group[order]] > 1]
    for some in np.split(order, np.flatnonzero(np.diff(group[order])) + 1) if len(order) else ():
        found += list(shapely.get_parts(shapely.union_all(areas[some])))
    return found


def _inside(areas: Shaped, one: Ints, other: Ints) -> Flags:
    """Whether each area lies in another that it is a neighbour of, by pairs of both; of two that are equal one does."""
    import shapely

    box = shapely.bounds(areas)
    may = (one != other) & (box[one, :2] <= box[other, :2]).all(axis=1) & (box[one, 2:] >= box[other, 2:]).all(axis=1)
    one, other = one[may], other[may]
    holds = np.zeros(len(areas), dtype=np.bool_)
    holds[one] = True  # np.unique would load masked arrays, for longer than a small layer takes to be read
    shapely.prepare(areas[holds])
    covered = shapely.covers(areas[one], areas[other])
    one, other = one[covered], other[covered]
    equal = (box[one] == box[other]).all(axis=1)
    found = np.zeros(len(areas), dtype=np.bool_)
    found[other[~equal | (one < other)]] = True
    return found


def _connected(count: int, one: Ints, other: Ints) -> Ints:
    """Return a number for each of *count* things, the same for those that hang together."""
    root = list(range(count))

    def top(k: int) -> int:
        while root[k] != k:
            root[k] = k = root[root[k]]
        return k

    apart = one < other
    for a, b in zip(one[apart].tolist(), other[apart].tolist(), strict=True):
        root[top(a)] = top(b)
    return np.unique([top(k) for k in range(count)], return_inverse=True)[1]
