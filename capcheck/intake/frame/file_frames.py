"""The frame of each placement file: one for all, unless the outline shows that two files have different origins."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from pathlib import PurePath
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.files import as_named
from capcheck.intake.frame.registration import ALL_INSIDE, MOSTLY_INSIDE, Frame, Wanted, register, share_inside
from capcheck.model import Codes, Decision, Floats, Outline, Said, Topic, say
from capcheck.values import Place, in_toml

_APART: Final = 0.25
"""Boxes of two files this part of their size apart do not lie on one board, whatever it looks like."""


class FileRows(Struct, frozen=True):
    """One file's rows in mm, in its own frame; *origin* is the shift that board.toml states for this file alone."""

    file: str
    x: Floats
    y: Floats
    side: Codes
    kind: Codes
    origin: tuple[float, float] | None = None


def frames_of(files: Sequence[FileRows], outline: Outline | None, wanted: Wanted) -> tuple[list[Frame], list[Decision]]:
    """Return the frame of each file and the decisions that led to it.

    The files share one frame if nearly all rows of each lie inside the outline in it. Else each is looked at alone,
    and where that does not settle it the question is open.
    """
    if any(rows.origin is not None for rows in files):
        return _each(
            [_register([rows], outline, replace(wanted, shift=rows.origin or wanted.shift)) for rows in files], files
        )
    frame, decisions = _register(files, outline, wanted)
    together = [frame] * len(files)
    if len(files) < 2 or wanted.shift is not None:
        return together, decisions
    if outline is None:
        return together, [*decisions, *_far_apart(files, frame)]
    shares = [_inside(rows, frame, outline) for rows in files]
    if min(shares) >= ALL_INSIDE:
        return together, decisions
    alone = [_register([rows], outline, wanted) for rows in files]
    own = [_inside(rows, one, outline) for rows, (one, _) in zip(files, alone, strict=True)]
    if not any(_asks_origin(found) for _, found in alone) and min(own) >= MOSTLY_INSIDE and sum(own) > sum(shares):
        return _each(alone, files)
    if _asks_origin(decisions) or min(shares) >= MOSTLY_INSIDE:
        return together, decisions
    inside = [
        say("frame.share of a file", share=share, file=PurePath(rows.file).name)
        for rows, share in zip(files, shares, strict=True)
    ]
    odd = min(range(len(files)), key=lambda k: (shares[k], -k))
    return together, [*decisions, _question(files, odd, say("frame.shares of files", shares=inside))]


def _asks_origin(decisions: Sequence[Decision]) -> bool:
    return any(d.open and d.topic == Topic.ORIGIN for d in decisions)


def _each(
    found: Sequence[tuple[Frame, list[Decision]]], files: Sequence[FileRows]
) -> tuple[list[Frame], list[Decision]]:
    """Return frames that were found file by file, with each decision marked by its file."""
    marked = [replace(d, place=Place(rows.file)) for rows, (_, ds) in zip(files, found, strict=True) for d in ds]
    return [frame for frame, _ in found], marked


def _register(files: Sequence[FileRows], outline: Outline | None, wanted: Wanted) -> tuple[Frame, list[Decision]]:
    x, y = np.concatenate([rows.x for rows in files]), np.concatenate([rows.y for rows in files])
    side, kind = np.concatenate([rows.side for rows in files]), np.concatenate([rows.kind for rows in files])
    return register(x, y, side, kind, outline=outline, wanted=wanted)


def _inside(rows: FileRows, frame: Frame, outline: Outline) -> float:
    return share_inside(outline, frame, rows.x, rows.y, rows.side)


def _far_apart(files: Sequence[FileRows], frame: Frame) -> list[Decision]:
    """Return an open decision where two files' parts lie so far from each other that one board is unlikely.

    Asked about is the file that lies apart from most others, and of two the one with fewer parts.
    """
    boxes = [_box(*frame.apply(rows.x, rows.y, rows.side)) for rows in files]
    counts = [int((np.isfinite(rows.x) & np.isfinite(rows.y)).sum()) for rows in files]
    apart = [0] * len(files)
    for j, k in combinations(range(len(files)), 2):
        one, other = boxes[j], boxes[k]
        size = max(*(one[1] - one[0]), *(other[1] - other[0]))
        # Two files of one part each have no size to measure a distance by.
        if max(counts[j], counts[k]) > 1 and max(*(one[0] - other[1]), *(other[0] - one[1])) > _APART * size:
            apart[j] += 1
            apart[k] += 1
    if not any(apart):
        return []
    odd = max(range(len(files)), key=lambda k: (apart[k], -counts[k], k))
    return [_question(files, odd, say("frame.parts apart"))]


def _box(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    points = np.column_stack([x, y])
    points = points[np.isfinite(points).all(axis=1)]
    if not len(points):
        return np.full(2, -np.inf), np.full(2, np.inf)
    return points.min(axis=0), points.max(axis=0)


def _question(files: Sequence[FileRows], odd: int, evidence: Said) -> Decision:
    """Return the question of the files' origins, whose answer names them all and asks for that of file *odd*."""
    origin = ', origin = { x = "… mm", y = "… mm" }'
    entries = ", ".join(
        f"{{ file = {in_toml(as_named(rows.file))}{origin if k == odd else ''} }}" for k, rows in enumerate(files)
    )
    return Decision(
        Topic.ORIGIN,
        say("frame.one origin"),
        evidence,
        say("frame.an origin each"),
        f"placements = [{entries}]",
        open=True,
        place=Place(files[odd].file),
    )
