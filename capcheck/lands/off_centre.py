"""Two-land parts that a file places beside the middle of their lands, and parts that lie across the others' axis.

A placement file may hold the place of pad 1, or another point of the footprint: then all parts of a footprint are off
by the same way in their own frame (seen on one of 70 public boards, up to 1.8 mm). Of a footprint with fewer than three
instances that are off alike nothing is told: what lies near may be the neighbour's.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import Final

import numpy as np

from capcheck.lands.many import own_frame
from capcheck.lands.pairs import Parts, along_own_axes
from capcheck.lands.registration import CENTRED_MM, Spots
from capcheck.model import Flags, Ints, PartLands

_REACH_MM: Final = 4.0
_MOST_NEAR: Final = 12
_INSTANCES: Final = 3
_SHARE: Final = 0.8
_AROUND: Final = 2.0
_STEP_MM: Final = 0.05
_SAME_MM: Final = 0.08

Beside = tuple[tuple[int, int], tuple[float, float]]
"""Two lands, and the way from the place to their middle in the part's own frame."""


def beside_lands(
    spots: Spots, parts: Parts, footprints: Sequence[str], chosen: Ints, free: Ints
) -> Mapping[int, Beside]:
    """Return the lands of the *chosen* two-land parts among the *free* ones, by the parts' numbers."""
    is_free = np.zeros(len(spots), dtype=np.bool_)
    is_free[free] = True
    options = {part: list(_options(spots, parts, part, is_free)) for part in chosen.tolist()}
    by_footprint: dict[str, list[int]] = {}
    for part in options:
        by_footprint.setdefault(footprints[part], []).append(part)
    found: dict[int, Beside] = {}
    for name, own in by_footprint.items():
        way = _shared_way([options[part] for part in own]) if name and len(own) >= _INSTANCES else None
        for part in own if way is not None else ():
            told = None if way is None else _nearest_to(options[part], way)
            if told is not None and is_free[list(told[0])].all() and not _has_more(spots, told[0], is_free):
                is_free[list(told[0])] = False
                found[part] = told
    return found


def _options(spots: Spots, parts: Parts, part: int, is_free: Flags) -> Iterator[Beside]:
    """Yield the pairs of equal free lands near a part, along its own axes."""
    _, near = spots.near(parts.at[[part]], _REACH_MM)
    near = near[is_free[near]]
    near = near[np.argsort(np.hypot(*(spots.at[near] - parts.at[part]).T), kind="stable")][:_MOST_NEAR]
    if len(near) < 2 or not np.isfinite(parts.angle_deg[part]):
        return
    at, _ = own_frame(spots, parts, part, near)
    for i, j in combinations(range(len(near)), 2):
        one, other = near[[i]], near[[j]]
        length = float(np.hypot(*(at[i] - at[j])))
        middle = (at[i] + at[j]) / 2
        if (
            spots.alike(one, other).all()
            and along_own_axes(spots.at[other] - spots.at[one], parts.angle_deg[[part]]).all()
            and CENTRED_MM < float(np.hypot(*middle)) <= 0.75 * length
        ):
            yield (int(near[i]), int(near[j])), (float(middle[0]), float(middle[1]))


def _shared_way(options: Sequence[Sequence[Beside]]) -> tuple[float, float] | None:
    """Return the way that most instances of a footprint can be off by."""
    votes: Counter[tuple[int, int]] = Counter()
    for own in options:
        votes.update({(round(x / _STEP_MM), round(y / _STEP_MM)) for _, (x, y) in own})
    if not votes:
        return None
    (x, y), _ = votes.most_common(1)[0]
    way = x * _STEP_MM, y * _STEP_MM
    agree = sum(_nearest_to(own, way) is not None for own in options)
    return way if agree >= max(_INSTANCES, _SHARE * len(options)) else None


def _nearest_to(options: Sequence[Beside], way: tuple[float, float]) -> Beside | None:
    near = [one for one in options if np.hypot(one[1][0] - way[0], one[1][1] - way[1]) <= _SAME_MM]
    return near[0] if len(near) == 1 else None


def _has_more(spots: Spots, two: tuple[int, int], is_free: Flags) -> bool:
    """Whether a further free land lies as near to the middle of two: then the part may have more than these."""
    one, other = spots.at[list(two)]
    _, near = spots.near(((one + other) / 2)[None, :], _AROUND * float(np.hypot(*(one - other))) / 2)
    return any(is_free[land] and land not in two for land in near.tolist())


def lying_across(of: Mapping[int, PartLands], footprint: Mapping[int, str]) -> frozenset[int]:
    """Return the rows of two-land parts whose lands lie across the own axis that most of their footprint share.

    Only where three instances and four fifths of all agree: else it is open which are right.
    """
    by_footprint: dict[str, list[int]] = {}
    for row, lands in of.items():
        if lands.along_y is not None and footprint.get(row):
            by_footprint.setdefault(footprint[row], []).append(row)
    across: set[int] = set()
    for rows in by_footprint.values():
        along = [row for row in rows if of[row].along_y]
        fewer = along if 2 * len(along) < len(rows) else [row for row in rows if not of[row].along_y]
        if len(rows) - len(fewer) >= max(_INSTANCES, _SHARE * len(rows)):
            across.update(fewer)
    return frozenset(across)
