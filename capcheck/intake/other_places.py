"""Where parts lie by other columns of a placement file, or by another file that repeats it, in the board's frame.

What of two is right the files do not tell; the lands of the board may.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

import numpy as np

from capcheck.intake.folder import Sources
from capcheck.intake.input_files import read_repeats
from capcheck.intake.placements import PlacementColumns, with_starts
from capcheck.intake.tables import Role
from capcheck.model import Codes, Floats, Ints, LayerFile, OtherPlaces, Placements

_APART_MM: Final = 0.1
_FEWEST: Final = 4
_EXACT_MM: Final = 0.02
_LEAST_SHARE: Final = 0.5
"""Of the parts, that such a file places: less is a list of some parts."""
_NEAR_MM: Final = 3.0
"""Pad 1 lies no farther from the middle of most parts (655 of a public board: up to 1.8 mm)."""


def begin_with(layers: Sequence[LayerFile], drills: Sequence[Path]) -> None:
    """Have the reading process begin with the layers of a board and its drills, which tables are read beside."""
    if layers:
        from capcheck.intake.drills import expect_drill_file
        from capcheck.intake.layers import expect_layers

        expect_layers(layers)
        for file in drills:
            expect_drill_file(file)


def told_by_layers(
    sources: Sources, files: Sequence[PlacementColumns], repeats: Sequence[PlacementColumns], placed: Placements
) -> list[OtherPlaces]:
    """Return where else parts may lie, for a board whose layers can tell."""
    if not sources.layers:
        return []
    unlike = read_repeats(sources, sources.found.unlike)
    if not repeats and not unlike and not any(file.other_pairs for file in files):
        return []
    return [*other_places(files, repeats, sources.found.repeats, placed), *_of_unlike(unlike, placed)]


def other_places(
    files: Sequence[PlacementColumns],
    repeats: Sequence[PlacementColumns],
    moved: Mapping[str, Sequence[str]],
    placed: Placements,
) -> list[OtherPlaces]:
    """Return where other columns, and files that repeat the placements, put parts elsewhere.

    *files* are as they were read, before what *repeats* contradict was left unknown; *moved* are the references that
    lie elsewhere, by the file that places them so.
    """
    return [*_by_columns(files, placed), *_by_files(files, repeats, moved, placed)]


def _by_columns(files: Sequence[PlacementColumns], placed: Placements) -> Iterator[OtherPlaces]:
    for file, start in with_starts(files):
        rows = np.arange(start, start + len(file))
        pairs = zip(
            file.columns.variants.get(Role.X, ()), file.columns.variants.get(Role.Y, ()), file.other_pairs, strict=False
        )
        for x_column, y_column, (x, y) in pairs:
            here = np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])
            there = _in_frame(np.column_stack([file.x, file.y]), here, np.column_stack([x, y]), placed.side[rows])
            if there is not None:
                titles = file.table.title(x_column), file.table.title(y_column)
                yield from _apart(file.table.file, titles, rows, here, there)


def _by_files(
    files: Sequence[PlacementColumns],
    repeats: Iterable[PlacementColumns],
    moved: Mapping[str, Sequence[str]],
    placed: Placements,
) -> Iterator[OtherPlaces]:
    mine = {ref: (file, at, start + at) for file, start in with_starts(files) for at, ref in enumerate(file.ref)}
    for other in repeats:
        common = [(*mine[ref], at) for at, ref in enumerate(other.ref) if ref in mine]
        elsewhere = set(moved.get(other.table.file, ()))
        if not common or not elsewhere:
            continue
        rows = np.array([row for _, _, row, _ in common], dtype=np.int64)
        own = np.array([(file.x[at], file.y[at]) for file, at, _, _ in common])
        theirs = np.array([(other.x[at], other.y[at]) for *_, at in common])
        known = np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])
        side = placed.side[rows]
        here, there = _in_frame(own, known, own, side), _in_frame(theirs, known, theirs, side)
        if here is not None and there is not None:
            listed = np.array([placed.ref[row] in elsewhere for row in rows.tolist()])
            yield from _apart(other.table.file, (), rows[listed], here[listed], there[listed])


def _of_unlike(others: Iterable[PlacementColumns], placed: Placements) -> Iterator[OtherPlaces]:
    """Yield where files put most parts that place the same references and agree in no frame.

    Each may hold pad 1 of every part: then the two lie as far apart as a land from a middle, in all directions.
    """
    mine = {ref: row for row, ref in enumerate(placed.ref)}
    for other in others:
        common = [(mine[ref], at) for at, ref in enumerate(other.ref) if ref in mine]
        if other.stated is None or len(common) < max(_FEWEST, _LEAST_SHARE * len(placed)):
            continue
        rows, at = np.array(common, dtype=np.int64).T
        here = np.column_stack([placed.x_mm[rows], placed.y_mm[rows]])
        there = np.column_stack([other.x[at], other.y[at]]) * other.stated.factor
        known = np.isfinite(here).all(axis=1) & np.isfinite(there).all(axis=1)
        if known.any() and np.median(np.hypot(*(there - here)[known].T)) <= _NEAR_MM:
            yield from _apart(other.table.file, (), rows[known], here[known], there[known])


def _in_frame(known: Floats, placed: Floats, wanted: Floats, side: Codes) -> Floats | None:
    """Return *wanted* in the board's frame, as each side of *known* was scaled, mirrored and shifted; None if unclear.

    Rows whose place is unknown, or another, do not count: the scale is that of most of the others.
    """
    found = np.full(wanted.shape, np.nan)
    for one in np.unique(side).tolist():
        rows = np.flatnonzero(side == one)
        for axis in (0, 1):
            from_, to = known[rows, axis], placed[rows, axis]
            sure = np.isfinite(from_) & np.isfinite(to)
            if np.count_nonzero(sure) < _FEWEST or np.ptp(from_[sure]) == 0:
                return None
            scale, shift = _line(from_[sure], to[sure])
            if np.median(np.abs(from_[sure] * scale + shift - to[sure])) > _EXACT_MM:
                return None
            found[rows, axis] = wanted[rows, axis] * scale + shift
    return found


def _line(from_: Floats, to: Floats) -> tuple[float, float]:
    """Return scale and shift between two lists of numbers by the medians of their steps: outliers do not count."""
    order = np.argsort(from_, kind="stable")
    half = len(order) // 2
    low, high = order[:half], order[len(order) - half :]
    steps = from_[high] - from_[low]
    scale = float(np.median((to[high] - to[low])[steps != 0] / steps[steps != 0])) if (steps != 0).any() else 1.0
    return scale, float(np.median(to - scale * from_))


def _apart(file: str, titles: tuple[str, ...], rows: Ints, here: Floats, there: Floats) -> Iterator[OtherPlaces]:
    far = np.hypot(*(there - here).T) > _APART_MM
    if np.count_nonzero(far) >= _FEWEST:
        yield OtherPlaces(file, titles, rows[far], here[far], there[far])
