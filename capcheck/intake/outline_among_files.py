"""Which of the drawings found by content is the outline: one that can be read, and that can hold the parts.

A file that the user names is taken at its word: what is wrong with it refuses the board. One that was only found does
not: without a drawing that can be used the outline is unknown.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from capcheck.intake.input_files import likely_points, read_outline_file
from capcheck.intake.sources import Sources
from capcheck.model import Decision, Floats, Note, Topic, say
from capcheck.values import InputError, Place

if TYPE_CHECKING:
    from capcheck.intake.outline import OutlineReading
    from capcheck.intake.placements import PlacementColumns

_MOST_TRIED: Final = 5
_FEWEST: Final = 2
_LARGER: Final = 1.1
"""Centres of connectors may lie beside the board, but not farther than a tenth of it."""


def settle_outline(sources: Sources, files: Sequence[PlacementColumns]) -> tuple[Sources, OutlineReading | None]:
    """Return the outline as read, and the sources with the file that it is read from.

    Raises :class:`InputError` where a file that the user named cannot be used.
    """
    candidates = sources.drawings[:_MOST_TRIED]
    if not candidates:
        return sources, read_outline_file(sources, files)
    points = likely_points(files)
    read: list[tuple[Path, OutlineReading]] = []
    notes: list[Note] = []
    for file in candidates:
        try:
            drawn = read_outline_file(replace(sources, outline=str(file)), files)
        except InputError as error:
            problem = error.problems[0]
            said = say("find.outline not usable", what=problem.what, why=problem.why)
            notes.append(Note(said, Place(str(file), column=problem.where.column)))
            continue
        if drawn is None:
            continue
        read.append((file, drawn))
        if _can_hold(drawn, points):
            break
    first = candidates[0]
    chosen = read[-1] if read and _can_hold(read[-1][1], points) else read[0] if read else None
    if chosen is not None and chosen[0] == first:
        return sources, chosen[1]
    decision = _nothing_usable(first) if chosen is None else _another(chosen[0], first, unusable=bool(notes))
    decisions = [decision if d.topic is Topic.OUTLINE else d for d in sources.found.decisions]
    found = replace(sources.found, decisions=tuple(decisions), notes=(*sources.found.notes, *notes))
    if chosen is None:
        return replace(sources, outline=None, found=found), None
    return replace(sources, outline=str(chosen[0]), found=found), chosen[1]


def _can_hold(drawn: OutlineReading, points: Floats | None) -> bool:
    """Whether the parts may lie in the contour's box, whichever way it is turned; yes where nothing is known of them.

    A contour that holds them only in another unit than its file states does not.
    """
    if not drawn.as_stated:
        return False
    if points is None or len(points) < _FEWEST:
        return True
    west, south, east, north = drawn.outline.polygon.bounds
    sides = sorted((east - west, north - south))
    spans = sorted(np.ptp(points, axis=0).tolist())
    return bool(spans[0] <= _LARGER * sides[0] and spans[1] <= _LARGER * sides[1])


def _another(chosen: Path, first: Path, *, unusable: bool) -> Decision:
    return Decision(
        topic=Topic.OUTLINE,
        choice=say("find.files", names=[chosen.name]),
        evidence=say("find.other outline unusable" if unusable else "find.other outline too small", file=first.name),
        runner_up=say("find.files", names=[first.name]),
        settle=f'outline = "{chosen.name}"',
        open=not unusable,
    )


def _nothing_usable(first: Path) -> Decision:
    return Decision(
        topic=Topic.OUTLINE,
        choice=say("find.no outline"),
        evidence=say("find.other outline unusable", file=first.name),
        settle='outline = "…"',
        open=True,
    )
