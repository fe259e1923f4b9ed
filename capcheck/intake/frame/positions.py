"""All files' coordinates in mm in one frame: unit, origin, off-board rows, panel, repeated references."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.intake.frame.coordinate_unit import decide_units
from capcheck.intake.frame.file_frames import FileRows, frames_of
from capcheck.intake.frame.panel_in_outline import circuits_in_outline
from capcheck.intake.frame.panel_in_placements import Panel, find_panel
from capcheck.intake.frame.registration import Frame, Wanted, holes_coincide
from capcheck.intake.frame.repeated_references import repeated_references, written_two_ways
from capcheck.model import Codes, Decision, Discrepancy, Flags, Floats, Kind, Manifest, Note, Outline, Placed, say
from capcheck.values import Place

if TYPE_CHECKING:
    from capcheck.intake.placements import PlacementColumns

_FAR_MM: Final = 5.0
_LONGEST_PART_MM: Final = 30.0
"""Pads of parts at one spot do not lie farther apart; common practice, no source."""


class Located(Struct, frozen=True):
    """The rows of all files in order, placed: coordinates in mm, in the outline's frame where there is one."""

    ref: list[str]
    x: Floats
    y: Floats
    side: Codes
    kind: Codes
    unique: bool
    """Whether no reference stands twice."""
    mirrored: bool
    """Whether x of bottom parts was written mirrored, in some file."""
    panel: Panel | None
    decisions: tuple[Decision, ...]
    notes: tuple[Note, ...]
    discrepancies: tuple[Discrepancy, ...]
    placed: Placed = Placed.AS_WRITTEN
    place_open: Flags | None = None
    """Rows of which nobody can say the place, since their reference names several; None where none does."""


def locate(
    files: Sequence[PlacementColumns],
    outline: Outline | None,
    manifest: Manifest,
    origins: Mapping[str, tuple[float, float]] = MappingProxyType({}),
    *,
    outline_unit_open: bool = False,
) -> Located:
    """Return the placements of all *files* in one frame; *origins* are the shifts stated for single files.

    *outline_unit_open* says that the outline's own unit is a guess.

    Raises :class:`InputError` for references that stand twice in one file at different places without a panel that
    explains it.
    """
    factors, decisions = decide_units(files, outline, outline_unit_open=outline_unit_open)
    notes: list[Note] = []
    pairs = [_centres(f, factor, notes) for f, factor in zip(files, factors, strict=True)]
    side, kind = np.concatenate([f.side for f in files]), np.concatenate([f.kind for f in files])
    wanted = Wanted(
        (manifest.origin.x, manifest.origin.y) if manifest.origin else None,
        None if manifest.y_axis is None else manifest.y_axis == "down",
        None if manifest.bottom_view is None else manifest.bottom_view == "from below",
    )
    rows = [
        FileRows(f.table.file, p[0] * k, p[1] * k, f.side, f.kind, origins.get(f.table.file))
        for f, p, k in zip(files, pairs, factors, strict=True)
    ]
    frames, found = frames_of(rows, outline, wanted)
    decisions += found
    placed = [frame.apply(r.x, r.y, r.side) for frame, r in zip(frames, rows, strict=True)]
    x, y = np.concatenate([p[0] for p in placed]), np.concatenate([p[1] for p in placed])
    if outline is not None:
        x, y = _other_pair(list(zip(files, factors, frames, strict=True)), outline, (x, y), notes)
    # A millionth of a mm: 63 mil is 1.6002 mm, not 1.6001999999999998.
    x, y = np.round(x, 6), np.round(y, 6)
    ref = list(chain.from_iterable(f.ref for f in files))
    unique = len(set(ref)) == len(ref)
    panel, question = find_panel(ref, x, y, side, unique=unique) or (None, None)
    if panel is None and outline is not None and manifest.panel is None:
        question = circuits_in_outline(outline, x, y)
    decisions += [question] if question is not None else []
    discrepancies: list[Discrepancy] = []
    place_open = None
    if panel is None and not unique:
        discrepancies, unplaced = repeated_references(files, x, y, kind)
        x[unplaced] = y[unplaced] = np.nan
        if unplaced:
            place_open = np.isin(np.arange(len(x)), unplaced)
    discrepancies += written_two_ways(files, kind)
    mirrored = any(frame.mirror_x is not None for frame in frames)
    how = Placed.AS_WRITTEN
    if wanted.shift is not None or origins:
        how = Placed.AS_STATED
    elif outline is not None and holes_coincide(outline, x, y, kind):
        how = Placed.BY_HOLES
    elif any(frame != Frame() for frame in frames):
        how = Placed.SHIFTED
    said = tuple(decisions), tuple(notes), tuple(discrepancies)
    return Located(ref, x, y, side, kind, unique, mirrored, panel, *said, how, place_open)


def _centres(file: PlacementColumns, factor: float, notes: list[Note]) -> tuple[Floats, Floats]:
    """Return the centre pair, with marks that share one centre taken from another pair where that tells them apart.

    Some programs write one and the same point as the centre of everything that has no body of its own. Of a part the
    other pair is a pad, and no centre: its place is then unknown. Parts whose pads lie near one another are alternates
    for one spot, or a part above another, and stay where they are.
    """
    x, y = file.x, file.y
    if not file.other_pairs or len(x) < 2:
        return x, y
    key = (x * 1e6 + y) * 4 + file.side
    order = np.argsort(key, kind="stable")
    same = np.flatnonzero(key[order][1:] == key[order][:-1])
    if not len(same):
        return x, y
    shared = np.zeros(len(x), dtype=np.bool_)
    shared[order[same]] = True
    shared[order[same + 1]] = True
    for other_x, other_y in file.other_pairs:
        groups: dict[tuple[float, float, int], list[int]] = defaultdict(list)
        for i in np.flatnonzero(shared).tolist():
            groups[float(x[i]), float(y[i]), int(file.side[i])].append(i)
        use = [
            i
            for rows in groups.values()
            if len({(float(other_x[i]), float(other_y[i])) for i in rows}) == len(rows)
            and all(np.isfinite(other_x[i]) and np.isfinite(other_y[i]) for i in rows)
            and max(np.ptp(other_x[rows]), np.ptp(other_y[rows])) * factor > _LONGEST_PART_MM
            for i in rows
        ]
        if use:
            x, y = x.copy(), y.copy()
            x[use], y[use] = _marks_alone(file, use, (other_x[use], other_y[use]))
            notes += _taken(file, use, "frame.shared centre")
            return x, y
    return x, y


def _other_pair(
    files: Sequence[tuple[PlacementColumns, float, Frame]],
    outline: Outline,
    centres: tuple[Floats, Floats],
    notes: list[Note],
) -> tuple[Floats, Floats]:
    """Return the coordinates with rows off the board taken from another pair that lies on it."""
    x, y = centres
    left, low, right, high = outline.polygon.bounds

    def off(px: Floats, py: Floats) -> Floats:
        beside = np.maximum(np.maximum(left - px, px - right), np.maximum(low - py, py - high))
        return np.asarray(beside, dtype=np.float64)

    start = 0
    for file, factor, frame in files:
        rows = slice(start, start + len(file))
        start += len(file)
        for other_x, other_y in file.other_pairs:
            ox, oy = frame.apply(other_x * factor, other_y * factor, file.side)
            at = np.flatnonzero((off(x[rows], y[rows]) > _FAR_MM) & (off(ox, oy) <= 0)).tolist()
            if at:
                x[rows][at], y[rows][at] = _marks_alone(file, at, (ox[at], oy[at]))
                notes += _taken(file, at, "frame.centres off the board")
    return x, y


def _marks_alone(file: PlacementColumns, rows: list[int], pair: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Return the other coordinates of these *rows*; of a part they are those of a pad, which tells no body's place."""
    part = file.kind[rows] == Kind.PART
    return np.where(part, np.nan, pair[0]), np.where(part, np.nan, pair[1])


def _taken(file: PlacementColumns, rows: list[int], key: str) -> Iterator[Note]:
    """Yield the notes on *rows* whose centre is none: marks whose other pair is taken, and parts without a place."""
    for which, parts in ((key, False), ("frame.no centre of its own", True)):
        of_kind = [i for i in rows if (file.kind[i] == Kind.PART) == parts]
        if of_kind:
            refs = [file.ref[i] for i in of_kind]
            yield Note(say(which, refs=refs), Place(file.table.file, int(file.row[of_kind[0]])))
