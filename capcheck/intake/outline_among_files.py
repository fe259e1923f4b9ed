"""Which of the drawings found by content is the outline: one that can be read, and that can hold the parts.

A file that the user names is taken at its word: what is wrong with it refuses the board. One that was only found does
not: without a drawing that can be used the outline is unknown.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cmp_to_key
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from capcheck.intake.files import as_named
from capcheck.intake.folder import Sources
from capcheck.intake.input_files import likely_points, read_outline_file
from capcheck.intake.tables import newer, without_revision
from capcheck.model import NOTHING, Decision, Floats, Note, Said, Topic, say
from capcheck.values import InputError, Place, UnreadableError, in_toml

if TYPE_CHECKING:
    from capcheck.intake.outline import OutlineReading
    from capcheck.intake.placements import PlacementColumns

_MOST_TRIED: Final = 5
_MOST_COMPARED: Final = 8
_FEWEST: Final = 2
_LARGER: Final = 1.1
"""Centres of connectors may lie beside the board, but not farther than a tenth of it."""


def settle_outline(sources: Sources, files: Sequence[PlacementColumns]) -> tuple[Sources, OutlineReading | None]:
    """Return the outline as read, and the sources with the file that it is read from.

    Raises :class:`InputError` where a file that the user named cannot be used.
    """
    candidates = _newest_first(sources.drawings)[:_MOST_TRIED]
    if not candidates:
        return sources, read_outline_file(sources, files)
    points = likely_points(files)
    read: list[tuple[Path, OutlineReading]] = []
    notes: list[Note] = []
    for file in candidates:
        try:
            drawn = read_outline_file(replace(sources, outline=str(file)), files)
        except UnreadableError:
            raise
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
    told = [_decision(chosen, first, sources.drawings[0], unusable=bool(notes))]
    if chosen is None:
        return _with_decisions(sources, None, told, notes), None
    # One that holds no contour may show what is cut out of the board's.
    others = [file for file in sources.drawings if file != chosen[0]]
    drawn, asked = _compared(chosen, others, points)
    told = [d for d in told if d is not None and (d.open or not asked)]
    asked = [d for d in asked if not told or d.place != Place(str(first))]
    return _with_decisions(sources, chosen[0], [*told, *asked], notes), drawn


def _with_decisions(
    sources: Sources, chosen: Path | None, told: Sequence[Decision | None], notes: Sequence[Note]
) -> Sources:
    """Return the sources with the outline chosen, and what is decided of it in place of what was found first."""
    decided = [decision for decision in told if decision is not None]
    kept = [d for d in sources.found.decisions if d.topic is not Topic.OUTLINE or not decided]
    found = replace(sources.found, decisions=(*kept, *decided), notes=(*sources.found.notes, *notes))
    return replace(sources, outline=None if chosen is None else str(chosen), found=found)


def _newest_first(drawings: Sequence[Path]) -> list[Path]:
    """Return the drawings in their order, of those with one name but for its revision the newest first."""
    alike: dict[str, list[Path]] = {}
    for file in drawings:
        alike.setdefault(without_revision(file.name), []).append(file)
    for same in alike.values():
        same.sort(key=cmp_to_key(_newer_first))
    return [alike[without_revision(file.name)].pop(0) for file in drawings]


def _newer_first(one: Path, two: Path) -> int:
    return newer(two.name, one.name)


def _compared(
    chosen: tuple[Path, OutlineReading], others: Sequence[Path], points: Floats | None
) -> tuple[OutlineReading, list[Decision]]:
    """Return the outline with what only other drawings state in doubt, and the questions which drawing counts."""
    if not others:
        return chosen[1], []
    from capcheck.intake.outline import Compared, read_beside

    file, drawn = chosen
    outline = drawn.outline
    known = Compared(
        tuple(np.asarray(ring.coords)[:, :2] for ring in (outline.polygon.exterior, *outline.polygon.interiors)),
        np.array(outline.holes, dtype=np.float64),
        np.array(outline.marks, dtype=np.float64),
        drawn.unit,
        points,
    )
    doubts, notes, rival = [*outline.doubts], [*drawn.notes], outline.rival
    asked: list[Decision] = []
    for other in others[:_MOST_COMPARED]:
        try:
            beside = read_beside(other, known)
        except UnreadableError:
            asked.append(_which_drawing(file, other, say("find.drawing not looked at")))
            continue
        except InputError as error:
            problem = error.problems[0]
            said = say("find.drawing not compared", what=problem.what)
            notes.append(Note(said, Place(str(other), column=problem.where.column)))
            continue
        if beside.edge is not None:
            asked.append(_which_edge(file, other, beside.edge))
            rival = rival or beside.rival
        elif beside.doubts:
            doubts += beside.doubts
            asked.append(_which_drawing(file, other, beside.drawn or NOTHING))
    asked += [_which_drawing(file, other, say("find.drawing not looked at")) for other in others[_MOST_COMPARED:]]
    return replace(drawn, outline=replace(outline, doubts=tuple(doubts), rival=rival), notes=tuple(notes)), asked


def _which_drawing(chosen: Path, other: Path, drawn: Said) -> Decision:
    return Decision(
        topic=Topic.OUTLINE,
        choice=say("find.files", names=[chosen.name]),
        evidence=say("find.another drawing", file=other.name, drawn=drawn),
        runner_up=say("find.files", names=[other.name]),
        settle=f"outline = {in_toml(as_named(chosen))}",
        open=True,
        place=Place(str(other)),
    )


def _which_edge(chosen: Path, other: Path, edge: Said) -> Decision:
    return replace(
        _which_drawing(chosen, other, NOTHING),
        topic=Topic.OUTLINE_CONTOUR,
        evidence=say("find.another edge", file=other.name, edge=edge),
    )


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


def _decision(
    chosen: tuple[Path, OutlineReading] | None, tried: Path, first: Path, *, unusable: bool
) -> Decision | None:
    """Return the decision for another drawing than the *first* one found: a later revision, or one that can be used."""
    if chosen is None:
        return _nothing_usable(tried)
    file = chosen[0]
    if file == first:
        return None
    failed = "find.other outline unusable" if unusable else "find.other outline too small"
    key = "find.latest outline" if file == tried else failed
    return Decision(
        topic=Topic.OUTLINE,
        choice=say("find.files", names=[file.name]),
        evidence=say(key, file=tried.name),
        runner_up=say("find.files", names=[first.name if file == tried else tried.name]),
        settle=f"outline = {in_toml(as_named(file))}",
        open=file != tried and not unusable,
    )


def _nothing_usable(first: Path) -> Decision:
    return Decision(
        topic=Topic.OUTLINE,
        choice=say("find.no outline"),
        evidence=say("find.other outline unusable", file=first.name),
        settle='outline = "…"',
        open=True,
    )
