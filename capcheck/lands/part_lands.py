"""Which lands are whose, for each placement of a board, and what they measure: gap, extent, axis, pitch, holes, paste.

Only what is sure is kept: pairs of two-land parts, as many even lands as names say pins, and what all instances of a
footprint have in common. Of any other part nothing is said.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace

from capcheck.intake import pitch_of
from capcheck.lands.many import many_of, repeated_of
from capcheck.lands.off_centre import beside_lands, lying_across
from capcheck.lands.pairs import Parts, pairs_of
from capcheck.lands.registration import CENTRED_MM, Spots
from capcheck.lands.shapes import middles, tree_of_boxes
from capcheck.model import (
    BoardLands,
    Body,
    Flags,
    Floats,
    How,
    Ints,
    Kind,
    LayerKind,
    Layers,
    Mounting,
    Openings,
    PartLands,
    Placements,
    Side,
)

_REACH_MM: Final = 12.0
"""How far lands of a part without a known body may lie from it."""
_OVER_MM: Final = 1.0
"""Lands reach so far beyond the leads (IPC-7351: toe fillets of at most 0.55 mm; from memory, with room)."""
_LEAST_HOLE: Final = 0.25
"""A hole narrower than a quarter of its land is a via in it (measured on public boards)."""
_LEAST_HOLE_MM: Final = 0.4
"""A narrower hole is a via: leads need 0.15 mm more than they are thick (common practice, no source)."""
_FEW: Final = 100
"""Of so many lands one in the middle is a ball among others."""
_LARGE: Final = 4.0
"""A land in the middle is a thermal one where it has so many times the area of the others' median."""
_STRAIGHT_DEG: Final = 1.0
_OF_TWO: Final = frozenset({How.PAIR, How.OFF_CENTRE})
_CODES: Final = {"top": Side.TOP, "bottom": Side.BOTTOM}


def lands_of_board(layers: Layers, placed: Placements, bodies: Sequence[Body], footprints: Sequence[str]) -> BoardLands:
    """Return the lands of each placement of which they are sure; *bodies* and *footprints* are those of the types."""
    found: dict[int, PartLands] = {}
    free: dict[str, Ints] = {}
    # Of two places that are in dispute either may be in the middle of a neighbour's lands.
    is_open = np.zeros(len(placed), dtype=np.bool_) if placed.place_open is None else placed.place_open
    for side in layers.registered:
        kind = layers.kind_of_lands(side)
        openings = None if kind is None else layers.openings(kind, side)
        if kind is None or openings is None or not len(openings):
            continue
        spots = Spots(openings.box)
        parts, types = parts_of_side(placed, bodies, side)
        pairs = pairs_of(spots, parts)
        taken = pairs.taken.copy()
        own: dict[int, tuple[How, Ints]] = {k: (How.PAIR, np.array(two)) for k, two in pairs.of.items()}
        counted = many_of(spots, parts, _reaches(bodies, types), taken)
        own |= {k: (How.COUNTED, lands) for k, lands in counted.items()}
        names = [footprints[t] if t >= 0 else "" for t in types.tolist()]
        repeated = repeated_of(spots, parts, names, _REACH_MM, taken)
        own |= {k: (How.REPEATED, lands) for k, lands in repeated.items()}
        two = np.array(
            [k for k in np.flatnonzero(_on_surface(parts, bodies, types)).tolist() if k not in own], np.int64
        )
        beside = beside_lands(spots, parts, names, two, np.flatnonzero(~taken))
        taken[[land for lands, _ in beside.values() for land in lands]] = True
        own |= {k: (How.OFF_CENTRE, np.array(lands)) for k, (lands, _) in beside.items()}
        free[side] = np.flatnonzero(~taken)
        measured = _Measured(layers, side, kind, openings, spots)
        twos = [k for k, (how, _) in own.items() if how in _OF_TWO]
        of_two = measured.of_two(
            [own[k][0] for k in twos], np.array([own[k][1] for k in twos]).reshape(-1, 2), parts.angle_deg[twos]
        )
        told = dict(zip(twos, of_two, strict=True))
        for k, (how, lands) in own.items():
            if k not in told:
                told[k] = measured.of(how, lands, parts.at[k])
            if not is_open[parts.row[k]]:
                found[int(parts.row[k])] = replace(told[k], offset=beside[k][1]) if k in beside else told[k]
    named = {row: footprints[t] for row, t in enumerate(placed.part_type.tolist()) if t >= 0}
    return BoardLands(found, layers, free, layers.file_of_lands(), lying_across(found, named))


def _on_surface(parts: Parts, bodies: Sequence[Body], types: Ints) -> Flags:
    """Whether a part has two lands on the surface in whose middle it should lie: of a header that may be pin 1."""
    surface = np.array([*(body.mounting is Mounting.SURFACE for body in bodies), False], dtype=np.bool_)
    found: Flags = surface[types] & (parts.pins == 2)
    return found


def _beside_parts(placed: Placements, side: str) -> Floats:
    """Return the places of what is listed on a side and is no part, shape (n, 2): it has lands of its own."""
    rows = (placed.side == _CODES[side]) & (placed.kind != Kind.PART)
    at = np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])
    found: Floats = at[np.isfinite(at).all(axis=1)]
    return found


def parts_of_side(placed: Placements, bodies: Sequence[Body], side: str) -> tuple[Parts, Ints]:
    """Return the parts of a side that have a place, fitted or not, and the type of each."""
    code = _CODES[side]
    rows = np.flatnonzero((placed.side == code) & (placed.kind == Kind.PART) & np.isfinite(placed.x_mm))
    rows = rows[np.isfinite(placed.y_mm[rows])]
    types = placed.part_type[rows]
    pins = np.array([*(body.pins or -1 for body in bodies), -1], dtype=np.int64)
    angle = placed.rotation_deg[rows] * (-1.0 if code is Side.BOTTOM else 1.0)
    at = np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])
    return Parts(rows, at, angle, pins[types], _beside_parts(placed, side)), types


def _reaches(bodies: Sequence[Body], types: Ints) -> Floats:
    """Return how far from its place a part's lands may lie: half its diagonal over the leads, and what lands need."""
    table = []
    for body in bodies:
        span = body.span.high if math.isfinite(body.span.high) else 0.0
        sides = [max(side.high, span) for side in (body.length, body.width)]
        table.append(math.hypot(*sides) / 2 + _OVER_MM if all(map(math.isfinite, sides)) else _REACH_MM)
    return np.array([*table, _REACH_MM])[types]


_IN_FRAME: Final = 2
"""So many lands with a lead's hole in their middle show that drills lie as the layers do: one may do so by chance."""
_LEAD_MM: Final = 0.6
"""Plated holes at least so wide are for leads (common practice, no source); of some boards vias are as wide."""
_MOST_IN_FRAME: Final = 0.5
"""Share of leads' holes that lie within lands where drills lie as the layers do: some wide vias are covered."""


class _Measured:
    """What the lands of one side measure, with the holes and the paste in them."""

    def __init__(self, layers: Layers, side: str, kind: LayerKind, openings: Openings, spots: Spots) -> None:

        self._side, self._openings, self._spots = side, openings, spots
        self._is_land = kind is not LayerKind.PASTE
        self._boxes = tree_of_boxes(openings.box)
        holes = layers.holes(side)
        bare = holes.plated == 0.0
        self._in_middle, self._any, self._vias = self._holes_in(holes.at, holes.diameter, bare)
        self._has_holes = len(holes) > 0
        # Drills in a frame of their own, or files of other holes alone, would leave all lands without one.
        leads = (holes.diameter >= _LEAD_MM) & ~bare
        count = int(self._in_middle.sum())
        lie_so = count >= _IN_FRAME and self._hold(holes.at[leads], holes.diameter[leads])
        self._knows_holes = holes.are_all and lie_so
        paste = layers.openings(LayerKind.PASTE, side)
        self._pasted = None if paste is None or not len(paste) else self._inside(middles(paste.box))

    def _holes_in(self, at: Floats, diameter: Floats, bare: Flags) -> tuple[Flags, Flags, Ints]:
        """Return for each land whether a lead's hole is in its middle, whether any hole is in it, and the others."""
        middle, some = np.zeros(len(self._spots), bool), np.zeros(len(self._spots), bool)
        if not len(at):
            return middle, some, np.zeros(len(self._spots), np.int64)
        import shapely

        hole, land = self._boxes.query(shapely.points(at), predicate="intersects")
        some[land] = True
        off = np.hypot(*(self._spots.at[land] - at[hole]).T)
        least = np.maximum(_LEAST_HOLE_MM, _LEAST_HOLE * self._spots.size[land].min(axis=1))
        lead = (off <= CENTRED_MM) & (diameter[hole] >= least) & ~bare[hole]
        middle[land[lead]] = True
        return middle, some, np.bincount(land[~lead & ~bare[hole]], minlength=len(self._spots))

    def _hold(self, at: Floats, diameter: Floats) -> bool:
        """Whether most of some holes, shape (n, 2), lie within lands, or there is none."""
        if not len(at):
            return True
        import shapely

        hole, land = self._boxes.query(shapely.points(at), predicate="intersects")
        room = self._spots.size[land] / 2 - np.abs(self._spots.at[land] - at[hole])
        within = room.min(axis=1) >= diameter[hole] / 2
        return len(set(hole[within].tolist())) >= _MOST_IN_FRAME * len(at)

    def _inside(self, at: Floats) -> Flags:
        import shapely

        found = np.zeros(len(self._spots), bool)
        found[self._boxes.query(shapely.points(at), predicate="intersects")[1]] = True
        return found

    def of(self, how: How, lands: Ints, place: Floats) -> PartLands:
        """Return what the lands of a part that may have more than two measure."""
        box = self._spots.box[lands]
        middle = (box[:, :2].min(axis=0) + box[:, 2:].max(axis=0)) / 2
        drilled, some = self._in_middle[lands], self._any[lands]
        has_paste = None if self._pasted is None else bool(self._pasted[lands].any())
        return PartLands(
            side=self._side,
            lands=tuple(lands.tolist()),
            how=how,
            middle=(float(middle[0]), float(middle[1])),
            pitch=self._pitch(lands, place),
            in_holes=self._in_holes(drilled, some, has_paste=has_paste),
            vias=self._vias_in(lands, place) if self._has_holes else None,
            has_paste=has_paste,
            thermal=self._thermal(lands, place),
        )

    def _in_holes(self, drilled: Flags, some: Flags, *, has_paste: bool | None) -> bool | None:
        """Whether all lands of a part have a lead's hole, or none has any hole.

        Of lands that have neither hole nor paste, where others have paste, the hole may be in a file that was not sent.
        """
        if drilled.all():
            return True
        return False if self._knows_holes and has_paste is not False and not some.any() else None

    def of_two(self, hows: Sequence[How], lands: Ints, angle_deg: Floats) -> Iterator[PartLands]:
        """Yield what the two lands of each part measure, *lands* of shape (n, 2): all at once, they are the most."""
        if not len(lands):
            return
        box = self._spots.box[lands]
        middle = (box[:, :, :2].min(axis=1) + box[:, :, 2:].max(axis=1)) / 2
        pasted = np.ones(lands.shape, bool) if self._pasted is None else self._pasted[lands]
        vias = (self._vias[lands] * pasted).sum(axis=1)
        gap, extent, across, along_y, straight = self._along(lands, angle_deg)
        for k, how in enumerate(hows):
            has_paste = None if self._pasted is None else bool(pasted[k].any())
            yield PartLands(
                side=self._side,
                lands=(int(lands[k, 0]), int(lands[k, 1])),
                how=how,
                middle=(float(middle[k, 0]), float(middle[k, 1])),
                gap_mm=float(gap[k]) if self._is_land else None,
                extent_mm=float(extent[k]) if self._is_land else None,
                across_mm=float(across[k]) if self._is_land else None,
                along_y=bool(along_y[k]) if self._is_land and straight[k] else None,
                in_holes=self._in_holes(self._in_middle[lands[k]], self._any[lands[k]], has_paste=has_paste),
                vias=int(vias[k]) if self._has_holes else None,
                has_paste=has_paste,
                thermal=False,
            )

    def _along(self, lands: Ints, angle_deg: Floats) -> tuple[Floats, Floats, Floats, Flags, Flags]:
        """Return gaps and extents of two lands along the line through both, what they span across it, and two flags.

        The first is whether that line is the part's own y, the last whether it can be told: of a part that is turned
        obliquely it is open from which side of the board its angle was counted.
        """
        axis = self._spots.at[lands[:, 1]] - self._spots.at[lands[:, 0]]
        axis /= np.hypot(*axis.T)[:, None]
        rings = [self._openings.rings[land] for land in lands.ravel().tolist()]
        counts = np.array([len(ring) // 2 for ring in rings])
        corners, lines = np.concatenate(rings).reshape(-1, 2), np.repeat(np.repeat(axis, 2, axis=0), counts, axis=0)
        start = np.concatenate([[0], np.cumsum(counts)[:-1]])

        def ends(way: Floats) -> Iterator[Floats]:
            reach = (corners * way).sum(axis=1)
            return (one.reduceat(reach, start).reshape(-1, 2) for one in (np.minimum, np.maximum))

        (low, high), (left, right) = ends(lines), ends(lines[:, ::-1] * (-1.0, 1.0))
        along = np.degrees(np.arctan2(axis[:, 1], axis[:, 0])) - angle_deg
        straight = np.abs((angle_deg + 45.0) % 90.0 - 45.0) <= _STRAIGHT_DEG
        return (
            low[:, 1] - high[:, 0],
            high[:, 1] - low[:, 0],
            right.max(axis=1) - left.min(axis=1),
            np.asarray(np.round(along / 90.0) % 2 == 1),
            np.asarray(straight),
        )

    def _vias_in(self, lands: Ints, place: Floats) -> int:
        """Return the holes in pasted lands that are no lead's; a land beneath the middle is drilled to carry heat."""
        if len(lands) > 2:
            half = self._spots.size[lands] / 2
            lands = lands[~(half >= np.abs(self._spots.at[lands] - place)).all(axis=1)]
        pasted = lands if self._pasted is None else lands[self._pasted[lands]]
        return int(self._vias[pasted].sum())

    def _pitch(self, lands: Ints, place: Floats) -> tuple[float, float] | None:
        """Return the distance of neighbouring lands; one in the middle of few is no neighbour, but a thermal land."""
        at = self._spots.at[lands]
        if len(lands) < _FEW:
            at = at[np.hypot(*(at - place).T) > CENTRED_MM]
        return pitch_of([(x, y) for x, y in at.tolist()])

    def _thermal(self, lands: Ints, place: Floats) -> bool | None:
        """Whether a large land with paste lies in the middle of the others; None where paste is not known."""
        if len(lands) < 3:
            return False
        at, area = self._spots.at[lands], self._openings.area[lands]
        inside = (self._spots.size[lands] / 2 >= np.abs(at - place)).all(axis=1)
        large = inside & (area >= _LARGE * np.median(area))
        if not large.any():
            return False
        return None if self._pasted is None else bool(self._pasted[lands[large]].any())
