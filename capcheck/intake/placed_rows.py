"""The rows of all placement files as one table: where they lie, what they are, and which line of the BOM is theirs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from capcheck.intake.compare import Joined
from capcheck.intake.frame import Located
from capcheck.intake.placements import PlacementColumns, pin_1_places
from capcheck.model import Flags, Placements


def placements_of(
    files: Sequence[PlacementColumns], located: Located, joined: Joined | None, fitted: Flags
) -> Placements:
    """Return the rows of *files*, as they were located and joined with the BOM, as columns of equal length."""
    names = list(dict.fromkeys(f.table.file for f in files))
    unknown = np.full(len(located.ref), -1, dtype=np.int64)
    return Placements(
        ref=located.ref,
        x_mm=located.x,
        y_mm=located.y,
        rotation_deg=np.concatenate([f.rotation_deg for f in files]),
        side=located.side,
        kind=located.kind,
        fitted=fitted,
        file=np.concatenate([np.full(len(f), names.index(f.table.file), dtype=np.int64) for f in files]),
        row=np.concatenate([f.row for f in files]),
        bom_line=joined.line if joined is not None else unknown,
        part_type=unknown,
        files=names,
        place_open=_place_open(files, located),
        pin_1_at=pin_1_places(files),
    )


def _place_open(files: Sequence[PlacementColumns], located: Located) -> Flags | None:
    if all(file.place_open is None for file in files):
        return located.place_open
    none = [np.zeros(len(file), dtype=np.bool_) if file.place_open is None else file.place_open for file in files]
    told: Flags = np.concatenate(none)
    return told if located.place_open is None else told | located.place_open
