"""Facts about the lands of parts, as layers and drills show them: unknown where it is not sure which are whose."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Final

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Source, Texts, Truths
from capcheck.facts.part import part_rows
from capcheck.model import Board, HoleUse, How, Mark, PartLands
from capcheck.values import LENGTH, NUMBER, Place

facts = Catalogue()

_HANG_ON_LANDS: Final = frozenset({"part", "pair", "placing", "passing", "passage", "fiducial", "side"})
"""Scopes whose facts lands may decide: bodies are narrowed and turned by them."""

_OF_BOARD: Final = frozenset({"board.tooling_holes"})
_OF_MARKS: Final = ("fiducial.", "side.fiducial", "side.half_turn_miss", "part.local_marks")


def asks_for_lands(names: Iterable[str]) -> bool:
    """Whether any of the facts named may be decided by Gerber layers, which are to be read then."""
    return any(name.partition(".")[0] in _HANG_ON_LANDS or name in _OF_BOARD for name in names)


def asks_for_marks(names: Iterable[str]) -> bool:
    """Whether any of the facts named is decided by fiducials, for which copper is to be read."""
    return any(name.startswith(_OF_MARKS) for name in names)


def lands_of_parts(session: Session, board: Board) -> list[PartLands | None]:
    """Return the lands of each part to place; of a panel's further circuits those of the first, which they repeat."""
    rows = session.shared(part_rows).tolist()
    if board.lands is None:
        return [None] * len(rows)
    of = board.lands.of
    if board.manifest.panel is None:
        return [of.get(row) for row in rows]
    refs = board.placements.ref
    first = {refs[row]: lands for row, lands in of.items()}
    return [of.get(row) or first.get(refs[row].partition("/")[0]) for row in rows]


def source_of_lands(session: Session, board: Board) -> Source:
    """Return where the lands of each part to place are shown."""
    lands = session.shared(lands_of_parts)
    names = {} if board.lands is None else board.lands.file_of

    def of(part: int) -> Place | str:
        own = lands[part]
        return "" if own is None else Place(names.get(own.side, ""))

    return of


def _numbers(name: str, text: str, of: Callable[[PartLands], tuple[float, float] | None], *, length: bool) -> None:
    @facts.number(f"part.{name}", LENGTH if length else NUMBER, text)
    def provide(session: Session, board: Board) -> Numbers:
        told = [None if own is None else of(own) for own in session.shared(lands_of_parts)]
        low = [-math.inf if one is None else one[0] for one in told]
        high = [math.inf if one is None else one[1] for one in told]
        return Numbers.of_ends(low, high, source_of_lands(session, board))


def _flags(name: str, text: str, of: Callable[[PartLands], bool | None]) -> None:
    @facts.flag(f"part.{name}", text)
    def provide(session: Session, board: Board) -> Truths:
        told = [None if own is None else of(own) for own in session.shared(lands_of_parts)]
        return Truths.of(told, source_of_lands(session, board))


def _exact(value: float | None) -> tuple[float, float] | None:
    return None if value is None else (value, value)


_numbers(
    "land_pitch",
    "least distance of the centres of neighbouring lands, where they are equally spaced",
    lambda own: own.pitch,
    length=True,
)
_numbers("land_count", "how many lands the part has", lambda own: _exact(len(own.lands)), length=False)
_numbers("land_gap", "distance between the inner edges of its two lands", lambda own: _exact(own.gap_mm), length=True)
_numbers(
    "land_extent", "distance between the outer edges of its two lands", lambda own: _exact(own.extent_mm), length=True
)
_numbers(
    "centre_offset",
    "distance from the place that the file states to the middle of its two lands",
    lambda own: _exact(math.hypot(*own.offset)) if own.how in {How.PAIR, How.OFF_CENTRE} else None,
    length=True,
)


_numbers(
    "vias_in_lands",
    "how many holes that are no lead's lie in its lands, one in the middle of the part apart",
    lambda own: _exact(own.vias),
    length=False,
)


@facts.number(
    "board.tooling_holes", NUMBER, "holes without metal near an edge, or for tooling, that may serve to hold the board"
)
def _tooling(board: Board) -> Numbers:
    if board.manifest.panel is not None:  # the rails of the panel are in no drawing
        return Numbers.of_ends([0.0], [math.inf])
    found = _tooling_holes(board)
    certain = sum(hole.certain for hole in found)
    return Numbers.of_ends([float(certain)], [float(len(found)) if _shows_tooling(board) else math.inf])


def _tooling_holes(board: Board) -> tuple[Mark, ...]:
    if board.lands is not None:
        return board.lands.tooling
    if board.outline is None:
        return ()
    from capcheck.lands import tooling_holes  # with all that reads layers

    return tooling_holes(None, board.placements, board.outline)


@facts.number("board.mounting_holes", NUMBER, "holes that the outline's file says are for mounting the board")
def _mounting(board: Board) -> Numbers:
    stated = () if board.outline is None else board.outline.stated_holes
    known = sum(hole.use is HoleUse.MOUNTING for hole in stated)
    return Numbers.of_ends([float(known)], [math.inf])


def _shows_tooling(board: Board) -> bool:
    """Whether holes without metal were sent, each with its diameter, and it is known where the board ends.

    They come in a file of their own: one that is plated throughout says nothing of them.
    """
    if board.lands is None or board.outline is None or board.outline.polygon is None:
        return False
    layers = board.lands.layers
    holes = layers.holes(next(iter(layers.registered)))
    diameters = holes.diameter[holes.plated != 1.0]
    return bool(len(diameters) and (diameters > 0).all())


_flags("all_joints_in_holes", "whether each of its lands has a hole for a lead", lambda own: own.in_holes)
_flags("thermal_land", "whether a large land with paste lies in the middle of its lands", lambda own: own.thermal)


@facts.text("part.land_axis", "the part's own axis at 0 degrees along which its two lands lie", choices=("x", "y"))
def _axis(session: Session, board: Board) -> Texts:
    told = [None if own is None or own.along_y is None else own.along_y for own in session.shared(lands_of_parts)]
    return Texts.of(
        [None if along is None else "y" if along else "x" for along in told], source_of_lands(session, board)
    )


@facts.flag("part.lands_turned", "whether its two lands lie across the own axis along which its footprint's others lie")
def _turned(session: Session, board: Board) -> Truths:
    rows, lands = session.shared(part_rows).tolist(), session.shared(lands_of_parts)
    turned = frozenset[int]() if board.lands is None else board.lands.turned
    told = [None if own is None or own.along_y is None else row in turned for row, own in zip(rows, lands, strict=True)]
    return Truths.of(told, source_of_lands(session, board))


@facts.text("part.way_off", "the way from the stated place to the middle of its two lands, along its own x and y")
def _way_off(session: Session, board: Board) -> Texts:
    told = [
        None if own is None or own.how is not How.OFF_CENTRE else f"{own.offset[0]:.2f}, {own.offset[1]:.2f} mm"
        for own in session.shared(lands_of_parts)
    ]
    return Texts.of(told, source_of_lands(session, board))
