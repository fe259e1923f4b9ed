"""The rows of all placement files as one table: where they lie, what they are, and which line of the BOM is theirs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from capcheck.intake.compare import Joined
from capcheck.intake.frame import Located
from capcheck.intake.placements import Feature, PlacementColumns, pin_1_places, with_starts
from capcheck.intake.tables import Role, prefix_of
from capcheck.lexicon import reference_letters
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
        test_lands=dict(_test_lands(files)),
    )


def _test_lands(files: Sequence[PlacementColumns]) -> Iterator[tuple[int, str]]:
    """Yield the rows that are test points, with the text that names the land; board.toml says only that it is no part.

    What board.toml sets apart is one by the letters of its reference.
    """
    for file, start in with_starts(files):
        for row, told in file.apart.items():
            if told.feature is Feature.TEST_POINT or (told.stated and _by_letters(file.ref[row])):
                yield start + row, file.text(Role.FOOTPRINT, row) or file.text(Role.VALUE, row)


def _by_letters(ref: str) -> bool:
    letters = reference_letters().get(prefix_of(ref))
    return letters is not None and letters.nothing == "test point"


def _place_open(files: Sequence[PlacementColumns], located: Located) -> Flags | None:
    if all(file.place_open is None for file in files):
        return located.place_open
    none = [np.zeros(len(file), dtype=np.bool_) if file.place_open is None else file.place_open for file in files]
    told: Flags = np.concatenate(none)
    return told if located.place_open is None else told | located.place_open
