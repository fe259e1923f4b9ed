"""Lands of parts with three pins and more, where as many lie evenly around the part as its names say it has pins.

Lands lie evenly where each has one of its size opposite: across the part's place, or across one of its own axes. A
header whose place is that of pin 1 has its lands in a row, or in two, that begins there. A count of lands that is not
the count of pins proves nothing: neighbours look like the part's own (measured: 64 to 78 % right).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import Final

import numpy as np

from capcheck.lands.pairs import Parts
from capcheck.lands.registration import CENTRED_MM, EQUAL_MM, Spots
from capcheck.lands.shapes import tree_of
from capcheck.model import Flags, Floats, Ints

_WAYS: Final = (np.array([-1.0, -1.0]), np.array([1.0, -1.0]), np.array([-1.0, 1.0]))
"""Across the place, across the part's x axis, across its y axis."""
_MOST_LANDS: Final = 4_000
_INSTANCES: Final = 3
_OFF_SHARE: Final = 0.25
_MORE: Final = 1.5
"""Lands within so many times the distance of a part's farthest one may be of the same part."""
_LARGE: Final = 2.0
"""A land beneath the middle that carries heat has so many times the area of a lead's at least."""
_SORTS: Final = 4
"""Sizes of lands of one part: pins, end pins, a land in the middle."""


def many_of(spots: Spots, parts: Parts, reach: Floats, taken: Flags) -> dict[int, Ints]:
    """Return the lands of parts whose *pins* are known and three or more, by the parts' numbers.

    *reach* is how far in mm lands may lie from each part. *taken* marks lands of other parts; those found are added.
    """
    found: dict[int, Ints] = {}
    chosen = np.flatnonzero((parts.pins >= 3) & np.isfinite(parts.angle_deg))
    if not len(chosen) or not len(spots):
        return found
    starts = np.hypot(*(spots.at[spots.nearest(parts.at[chosen])] - parts.at[chosen]).T) <= CENTRED_MM
    of, land = spots.near(parts.at[chosen], reach[chosen])
    by_part = np.split(land[np.argsort(of, kind="stable")], np.cumsum(np.bincount(of, minlength=len(chosen)))[:-1])
    # The smallest first: what is theirs lies within the reach of the larger ones.
    for k in np.argsort(reach[chosen], kind="stable").tolist():
        part, near = int(chosen[k]), by_part[k]
        near = near[~taken[near]]
        own = _counted(spots, parts, part, near) if parts.pins[part] <= len(near) <= _MOST_LANDS else None
        if own is None and starts[k]:
            own = _in_rows(spots, parts, part, reach[part], taken)
        if own is not None:
            found[part] = own
            taken[own] = True
    return found


def own_frame(spots: Spots, parts: Parts, part: int, land: Ints) -> tuple[Floats, Floats]:
    """Return places and sizes of lands as the part sees them at 0 degrees, seen through the board, shape (n, 2)."""
    turn = np.radians(-parts.angle_deg[part])
    cos, sin = np.cos(turn), np.sin(turn)
    at = (spots.at[land] - parts.at[part]) @ np.array([[cos, sin], [-sin, cos]])
    quarter = round(float(parts.angle_deg[part]) / 90.0) % 2
    return at, spots.size[land][:, ::-1] if quarter else spots.size[land]


def _counted(spots: Spots, parts: Parts, part: int, near: Ints) -> Ints | None:
    """Return the lands around a part, as many as it has pins; None where there is no such choice, or several."""
    at, size = own_frame(spots, parts, part, near)
    pins = int(parts.pins[part])
    for way in _WAYS:
        even = _even(at, size, way)
        if even.sum() < pins:
            continue
        sets = {tuple(chosen.tolist()) for chosen in _of_count(at, size, np.flatnonzero(even), pins)}
        if len(sets) == 1:
            chosen = np.array(sets.pop(), dtype=np.int64)
            return near[chosen] if _has_its_middle(at, size, chosen, pins) else None
    return None


def _has_its_middle(at: Floats, size: Floats, chosen: Ints, pins: int) -> bool:
    """Whether the land in whose middle the part is placed is one of a choice's pins, or a large one for heat.

    It is the first pin of a header else, and what lies evenly around is its neighbours'.
    """
    counted = chosen.tolist() if len(chosen) == pins else []
    middle = [k for k in np.flatnonzero(np.hypot(*at.T) <= CENTRED_MM).tolist() if k not in counted]
    area = size.prod(axis=1)
    return bool((area[middle] >= _LARGE * np.median(area[chosen])).all())


def _even(at: Floats, size: Floats, way: Floats) -> Flags:
    """Whether each land has one of its size opposite."""
    image = at * way
    off = np.hypot(image[:, None, 0] - at[None, :, 0], image[:, None, 1] - at[None, :, 1])
    opposite = np.argmin(off, axis=1)
    alike = (np.abs(size - size[opposite]) <= EQUAL_MM).all(axis=1)
    found: Flags = (off[np.arange(len(at)), opposite] <= 2 * CENTRED_MM) & alike
    return found


def _of_count(at: Floats, size: Floats, even: Ints, pins: int) -> Iterator[Ints]:
    """Yield choices of as many lands as there are pins, or one more in the middle: all, else those of some sizes."""
    middle = even[np.hypot(*at[even].T) <= CENTRED_MM]
    for wanted in {pins, pins + len(middle)}:
        if len(even) == wanted:
            yield even
            return
    sides = np.sort(size[even], axis=1)
    _, sort = np.unique(np.round(sides / (2 * EQUAL_MM)), axis=0, return_inverse=True)
    counts = np.bincount(sort.ravel())
    if len(counts) > 2 * _SORTS:
        return
    for number in range(1, min(_SORTS, len(counts)) + 1):
        for some in combinations(range(len(counts)), number):
            if counts[list(some)].sum() == pins:
                yield even[np.isin(sort.ravel(), some)]


def _in_rows(spots: Spots, parts: Parts, part: int, reach: float, taken: Flags) -> Ints | None:
    """Return free lands in one row or two that begin where the part is placed: they reach twice as far from there."""
    pins = int(parts.pins[part])
    _, near = spots.near(parts.at[[part]], 2 * reach)
    near = near[~taken[near]]
    if not pins <= len(near) <= _MOST_LANDS:
        return None
    at, size = own_frame(spots, parts, part, near)
    start = np.flatnonzero(np.hypot(*at.T) <= CENTRED_MM)
    if len(start) != 1:
        return None
    for axis in (0, 1):
        for sign in (1.0, -1.0):
            row = _row_from(at, size, int(start[0]), axis, sign)
            if len(row) == pins:
                return near[row]
            if 2 * len(row) == pins and len(row) > 1:
                step = at[row[1]] - at[row[0]]
                across = step[::-1] * np.array([-1.0, 1.0])
                for side in (across, -across):
                    other = [k for k in row if (m := _at(at, at[k] + side)) is not None and m not in row]
                    if len(other) == len(row):
                        both = [*row, *(int(_at(at, at[k] + side) or 0) for k in row)]
                        return near[both]
    return None


def _row_from(at: Floats, size: Floats, start: int, axis: int, sign: float) -> list[int]:
    """Return a row of equally spaced lands from *start* on, along one of the part's own axes."""
    ahead = (np.abs(at[:, 1 - axis] - at[start, 1 - axis]) <= CENTRED_MM) & (
        sign * (at[:, axis] - at[start, axis]) > CENTRED_MM
    )
    others = np.flatnonzero(ahead)
    if not len(others):
        return [start]
    step = float((sign * (at[others, axis] - at[start, axis])).min())
    row = [start]
    place = at[start].copy()
    while len(row) <= len(at):
        place[axis] += sign * step
        following = _at(at, place)
        if following is None or abs(np.prod(size[following]) / np.prod(size[start]) - 1.0) > 0.3:
            break
        row.append(following)
        place = at[following].copy()
    return row


def _at(at: Floats, place: Floats) -> int | None:
    off = np.hypot(*(at - place).T)
    nearest = int(np.argmin(off))
    return nearest if off[nearest] <= CENTRED_MM else None


def repeated_of(spots: Spots, parts: Parts, footprint: Sequence[str], reach: float, taken: Flags) -> Mapping[int, Ints]:
    """Return the lands that all instances of a footprint have in common, by the parts' numbers.

    Only footprints of three instances and more whose pins are not known, and only lands that are nearer to the part
    than to anything else that is listed, in each of them: what stands between two parts may be the neighbour's, placed
    as often. A further land that one alone has leaves all open: a footprint's name that was cut stands for several.
    """
    import shapely

    found: dict[int, Ints] = {}
    groups: dict[str, list[int]] = {}
    for k, name in enumerate(footprint):
        if name and parts.pins[k] < 0 and np.isfinite(parts.angle_deg[k]):
            groups.setdefault(name, []).append(k)
    groups = {name: own for name, own in groups.items() if len(own) >= _INSTANCES}
    if not groups:
        return found
    everything = np.concatenate([parts.at, parts.beside])
    tree = tree_of(everything)
    for own in groups.values():
        sets = []
        for part in own:
            _, land = spots.near(parts.at[[part]], reach)
            land = land[~taken[land]]
            nearest = tree.query_nearest(shapely.points(spots.at[land]), all_matches=False)[1] if len(land) else land
            apart = np.hypot(*(everything[nearest] - spots.at[land]).T) if len(land) else np.zeros(0)
            mine = np.hypot(*(parts.at[part] - spots.at[land]).T) if len(land) else np.zeros(0)
            sets.append((part, land, mine <= apart + CENTRED_MM))
        common = _common(spots, parts, sets)
        if common is None:
            continue
        for part, lands in common.items():
            found[part] = lands
            taken[lands] = True
    return found


def _common(spots: Spots, parts: Parts, sets: Sequence[tuple[int, Ints, Flags]]) -> Mapping[int, Ints] | None:
    """Return for each instance the lands that all have alike; None where a land of some is open to question."""
    first, land, mine = sets[0]
    at, size = own_frame(spots, parts, first, land)
    kept = np.ones(len(land), dtype=np.bool_)
    partner: dict[int, Ints] = {first: np.arange(len(land))}
    nearer = mine.copy()
    for part, other, theirs in sets[1:]:
        if not len(other) or not len(land):
            return None
        there, sizes = own_frame(spots, parts, part, other)
        off = np.hypot(at[:, None, 0] - there[None, :, 0], at[:, None, 1] - there[None, :, 1])
        match = np.argmin(off, axis=1)
        kept &= (off[np.arange(len(land)), match] <= CENTRED_MM) & (np.abs(size - sizes[match]) <= EQUAL_MM).all(axis=1)
        nearer &= theirs[match]
        partner[part] = match
    if not kept.any():
        return None
    # A land that all have, and that lies nearer to another part in one of them, may be either's.
    if (kept & ~nearer).any():
        return None
    # Lands on one side of the place alone may be half of them: the others may be taken, or differ in size.
    extent = at[kept].max(axis=0) - at[kept].min(axis=0)
    middle = (at[kept].max(axis=0) + at[kept].min(axis=0)) / 2
    if np.hypot(*middle) > _OFF_SHARE * np.hypot(*extent):
        return None
    far = _MORE * float(np.hypot(*at[kept].T).max())
    for part, lands, theirs in sets:
        further = theirs & ~np.isin(np.arange(len(lands)), partner[part][kept])
        if (np.hypot(*(spots.at[lands[further]] - parts.at[part]).T) <= far).any():
            return None
    every = {part: lands for part, lands, _ in sets}
    return {part: every[part][match[kept]] for part, match in partner.items()}
