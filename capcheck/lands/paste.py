"""How much of the lands of each part the openings of the paste layer leave free."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from capcheck.model import BoardLands, LayerKind, Openings

if TYPE_CHECKING:
    from shapely import Polygon


def paste_shares(lands: BoardLands) -> dict[int, float]:
    """Return the area of paste within the lands of each placement as a share of theirs, by the lands' identity.

    Nothing for a side that has no layer of paste, or whose lands were taken from it.
    """
    import shapely

    found: dict[int, float] = {}
    for side in lands.layers.registered:
        kind, paste = lands.layers.kind_of_lands(side), lands.layers.openings(LayerKind.PASTE, side)
        openings = None if kind is None else lands.layers.openings(kind, side)
        if kind is LayerKind.PASTE or openings is None or paste is None:
            continue
        stencil, areas = polygons_of(paste), polygons_of(openings)
        tree = shapely.STRtree(stencil)
        for own in lands.of.values():
            if own.side == side:
                some = [areas[k] for k in own.lands]
                part, hit = tree.query(some, predicate="intersects")
                pasted = sum(some[i].intersection(stencil[j]).area for i, j in zip(part, hit, strict=True))
                found[id(own)] = float(pasted / sum(area.area for area in some))
    return found


def polygons_of(openings: Openings) -> Sequence[Polygon]:
    """Return the areas within the outer lines of openings, mended where rounding made one cross itself."""
    import shapely

    rings = [np.asarray(ring).reshape(-1, 2) for ring in openings.rings]
    return [area if area.is_valid else area.buffer(0) for area in map(shapely.Polygon, rings)]
