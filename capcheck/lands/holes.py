"""Drilled holes in the frame of the layers: of several readings of a program's numbers the one that puts them on lands.

Measured on 70 public boards: four drill files state no format; the reading by which holes lie on lands is right.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import numpy as np

from capcheck.intake import Program, points_of_drill, read_drill_file, ways_of_drills
from capcheck.lands.registration import Spots
from capcheck.model import Floats, Holes, Note, say
from capcheck.values import InputError, Place

_MM: Final = {"mm": 1.0, "inch": 25.4}
_ON_LAND_MM: Final = 0.1
_LEAST_SHARE: Final = 0.5
_PLATED: Final = {True: 1.0, False: 0.0, None: np.nan}


def holes_of(files: Sequence[Path], lands: Floats) -> tuple[Holes, list[Note]]:
    """Return the holes of drill files; *lands* are boxes (n, 4) in the layers' frame. What cannot be read is noted."""
    found: list[tuple[float, float, float, float]] = []
    notes: list[Note] = []
    are_all = True
    spots = Spots(lands) if len(lands) else None
    for file in files:
        try:
            program = read_drill_file(file)
        except InputError as error:
            notes.append(Note(say("lands.not read", what=error.problems[0].what), Place(str(file))))
            are_all = False
            continue
        are_all &= not program.unread
        found += _as_it_lies(program, spots)
    table = np.array(found, dtype=np.float64).reshape(-1, 4)
    return Holes(table[:, :2], table[:, 2], table[:, 3], are_all), notes


def _as_it_lies(program: Program, spots: Spots | None) -> list[tuple[float, float, float, float]]:
    """Return the holes of a program as it is read with most of its plated ones in the middle of lands."""
    best: tuple[float, list[tuple[float, float, float, float]]] = (-1.0, [])
    for way in ways_of_drills(program):
        holes = []
        for hole in program.drilled:
            points = points_of_drill(hole, way)
            x, y = points[0]
            if len(points) > 1:  # a slot is told by its middle
                x, y = (sum(axis) / len(points) for axis in zip(*points, strict=True))
            size = (hole.size or 0.0) * _MM[hole.unit or way.unit]
            holes.append((x, y, size, _PLATED[hole.plated]))
        share = _on_lands(np.array([h[:2] for h in holes]), spots) if holes else 0.0
        if share > best[0] + 1e-9:
            best = share, holes
        if share >= _LEAST_SHARE:
            break
    return best[1]


def _on_lands(at: Floats, spots: Spots | None) -> float:
    if spots is None or not np.isfinite(at).all():
        return 0.0
    off = np.hypot(*(spots.at[spots.nearest(at)] - at).T)
    return float((off <= _ON_LAND_MM).mean())
