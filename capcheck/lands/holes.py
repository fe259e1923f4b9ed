"""Drilled holes in the frame of the layers: of several readings of a program's numbers the one that puts them on lands.

Measured on 70 public boards: four drill files state no format; the reading by which holes lie on lands is right.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import numpy as np

from capcheck.intake import Drilled, Program, Way, points_of_drills, read_drill_file, ways_of_drills
from capcheck.lands.registration import Spots
from capcheck.model import Floats, Holes, Note, say
from capcheck.values import InputError, Place

_MM: Final = {"mm": 1.0, "inch": 25.4}
_ON_LAND_MM: Final = 0.1
_LEAST_SHARE: Final = 0.5
_ENOUGH: Final = 5_000
"""So many holes are enough to tell by which reading they lie on lands."""
_PLATED: Final = {True: 1.0, False: 0.0, None: np.nan}


def holes_of(files: Sequence[Path], lands: Floats) -> tuple[Holes, list[Note]]:
    """Return the holes of drill files; *lands* are boxes (n, 4) in the layers' frame. What cannot be read is noted."""
    found: list[Floats] = [np.zeros((0, 4))]
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
        found.append(_as_it_lies(program, spots))
    table = np.concatenate(found)
    return Holes(table[:, :2], table[:, 2], table[:, 3], are_all), notes


def _as_it_lies(program: Program, spots: Spots | None) -> Floats:
    """Return the holes of a program as it is read with most of them in the middle of lands: x, y, diameter, plating."""
    chosen = program.drilled[:: max(1, len(program.drilled) // _ENOUGH)]
    best: tuple[float, Way | None] = (-1.0, None)
    for way in ways_of_drills(program):
        share = _on_lands(_middles(chosen, way), spots) if chosen else 0.0
        if share > best[0] + 1e-9:
            best = share, way
        if share >= _LEAST_SHARE:
            break
    _, lie = best
    if lie is None or not chosen:
        return np.zeros((0, 4))
    sizes = [(hole.size or 0.0) * _MM[hole.unit or lie.unit] for hole in program.drilled]
    return np.column_stack([_middles(program.drilled, lie), sizes, [_PLATED[hole.plated] for hole in program.drilled]])


def _middles(drilled: Sequence[Drilled], way: Way) -> Floats:
    """Return the place of each hole, shape (n, 2); a slot is told by its middle."""
    every = points_of_drills(drilled, way)
    return np.array([points[0] if len(points) == 1 else np.mean(points, axis=0) for points in every], dtype=np.float64)


def _on_lands(at: Floats, spots: Spots | None) -> float:
    if spots is None or not np.isfinite(at).all():
        return 0.0
    off = np.hypot(*(spots.at[spots.nearest(at)] - at).T)
    return float((off <= _ON_LAND_MM).mean())
