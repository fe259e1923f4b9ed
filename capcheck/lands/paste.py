"""The stencil as the paste layers draw it: what it leaves free of each part's lands, and how well its openings release.

Paste leaves an opening where it holds to the lands more than to the walls: the area ratio of the opening is its area
over that of its walls, the perimeter times the thickness of the stencil, and IPC-7525 asks for 0.66 at least. Here the
part of it is worked out that the drawing shows, the area over the perimeter, in mm; the thickness divides it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.lands.registration import Spots
from capcheck.lands.shapes import areas_of, circles, middles
from capcheck.model import BoardLands, Flags, Floats, Kind, LayerKind, Openings, Placements, Side

FAR_MM: Final = 15.0
"""Paste so far from every place of a side is none of its parts': as far as lands are looked for, with room."""
_CODES: Final = {"top": Side.TOP, "bottom": Side.BOTTOM}


class Pasted(Struct, frozen=True):
    """The paste on the lands of one placement.

    *share* is its area as a share of the lands', None where the lands were taken from the paste itself; *bare* counts
    the lands without any; *release_mm* is the least area over perimeter of its openings, None where it has none.
    """

    share: float | None
    bare: int
    release_mm: float | None


class Stencil(Struct, frozen=True):
    """What the paste layers show: by the identity of lands, and for each side what is on no part's lands.

    *others* are the places (n, 2) and the area over perimeter of the openings of a side that lie on no lands of a
    part; *alone* says of each whether it is farther than :data:`FAR_MM` from all that is placed there.
    """

    of: dict[int, Pasted]
    others: dict[str, tuple[Floats, Floats]]
    alone: dict[str, Flags]


def stencil_of(lands: BoardLands, placed: Placements) -> Stencil:
    """Return what the layers of paste show; nothing of a side that has none."""
    found, others, alone = dict[int, Pasted](), dict[str, tuple[Floats, Floats]](), dict[str, Flags]()
    for side in lands.layers.registered:
        paste = lands.layers.openings(LayerKind.PASTE, side)
        kind = lands.layers.kind_of_lands(side)
        openings = None if kind is None else lands.layers.openings(kind, side)
        if paste is None or not len(paste) or openings is None:
            continue
        own = [one for one in lands.of.values() if one.side == side]
        release = _release(paste)
        if kind is LayerKind.PASTE:
            used = np.zeros(len(paste), dtype=np.bool_)
            for one in own:
                used[list(one.lands)] = True
                found[id(one)] = Pasted(None, 0, float(release[list(one.lands)].min()))
        else:
            told, used = _on_lands(openings, paste, release, [one.lands for one in own])
            found |= {id(one): pasted for one, pasted in zip(own, told, strict=True)}
        at = middles(paste.box)[~used]
        others[side] = at, release[~used]
        alone[side] = _far_from_all(at, placed, _CODES[side])
    return Stencil(found, others, alone)


def _release(paste: Openings) -> Floats:
    """Return area over perimeter of each opening in mm; of a circle a quarter of its diameter, not of its polygon's."""
    is_round, diameter = circles(paste)
    found: Floats = np.where(is_round, diameter / 4, paste.area / np.maximum(paste.around, 1e-9))
    return found


def _on_lands(
    openings: Openings, paste: Openings, release: Floats, own: Sequence[tuple[int, ...]]
) -> tuple[list[Pasted], Flags]:
    """Return the paste on the lands of each part, and which openings of the paste lie on any of them."""
    import shapely

    stencil, areas = areas_of(paste), areas_of(openings)
    owner = np.repeat(np.arange(len(own)), [len(lands) for lands in own])
    chosen = np.array([land for lands in own for land in lands], dtype=np.int64)
    land, hole = shapely.STRtree(stencil).query(areas[chosen], predicate="intersects")
    over = shapely.area(shapely.intersection(areas[chosen][land], stencil[hole]))
    land, hole, over = land[over > 0], hole[over > 0], over[over > 0]
    used = np.zeros(len(paste), dtype=np.bool_)
    used[hole] = True
    pasted = np.bincount(owner[land], weights=over, minlength=len(own))
    whole = np.bincount(owner, weights=shapely.area(areas[chosen]), minlength=len(own))
    has = np.zeros(len(chosen), dtype=np.bool_)
    has[land] = True
    bare = np.bincount(owner[~has], minlength=len(own))
    least = np.full(len(own), np.inf)
    np.minimum.at(least, owner[land], release[hole])
    return [
        Pasted(float(some / all_), int(none), float(low) if np.isfinite(low) else None)
        for some, all_, none, low in zip(pasted, whole, bare, least, strict=True)
    ], used


def _far_from_all(at: Floats, placed: Placements, code: Side) -> Flags:
    """Return which places are farther than :data:`FAR_MM` from every row that is, or may be, on a side."""
    rows = ((placed.side == code) | (placed.side == Side.UNKNOWN)) & (placed.kind != Kind.FIDUCIAL)
    places = np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])
    if not np.isfinite(places).all():
        return np.zeros(len(at), dtype=np.bool_)
    if not len(at) or not len(places):
        return np.full(len(at), not len(places))
    near = np.zeros(len(at), dtype=np.bool_)
    spot, _ = Spots(np.hstack([places, places])).near(at, FAR_MM)
    near[spot] = True
    return ~near
