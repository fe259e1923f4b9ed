"""Facts about the fiducial marks that are certain: those of the placement data, of board.toml and of the layers.

Circles of the outline drawing, or of copper, that may be marks or not only widen a side's count.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.facts.panel import steps_of
from capcheck.facts.panel_proposal import RAIL_MM
from capcheck.facts.part import part_rows, type_of_part
from capcheck.facts.place import bodies_with_leads, box_of, frame_certain
from capcheck.geometry import (
    Arrangement,
    FoundFiducial,
    are_local,
    arrangement,
    clear_rings,
    collect_fiducials,
    diameter_spread,
    edge_distances,
    local_fiducials,
    ring_needed,
    shown_on,
)
from capcheck.lexicon import sentence
from capcheck.model import Board, Body, Fiducial, Flags, Kind, Side, Stepping
from capcheck.values import LENGTH, NUMBER, UNKNOWN, Interval, shortened

facts = Catalogue()

SIDES: Final = (Side.TOP, Side.BOTTOM)
_FINE_MM: Final = 0.5
"""A mark beside a part of at most this pitch may serve that part alone: common practice, no source."""
_PAIR: Final = 2


def marks_of(session: Session, board: Board) -> tuple[FoundFiducial, ...]:
    """Return all marks and circles that may be marks; marks that board.toml states for a circuit are stepped."""
    drawn = () if board.lands is None else board.lands.marks
    return collect_fiducials(board.placements, board.outline, stated_marks(board, session.shared(steps_of)), drawn)


def stated_marks(board: Board, steps: Stepping | None) -> list[Fiducial]:
    """Return the marks that board.toml states, those of a circuit in every circuit of the panel."""
    found: list[Fiducial] = []
    for mark in board.manifest.fiducials:
        if steps is None or mark.kind == "panel":
            found.append(mark)
            continue
        x, y = (places.ravel().tolist() for places in steps.points([mark.x], [mark.y]))
        found += [mark.model_copy(update={"x": px, "y": py}) for px, py in zip(x, y, strict=True)]
    return found


def certain_marks(session: Session) -> list[FoundFiducial]:
    """Return the marks that are certain, in the order of every fact of scope ``fiducial``."""
    return [mark for mark in session.shared(marks_of) if mark.certain]


def _fine(session: Session, board: Board) -> Flags:
    fine = np.array([b.pitch.high <= _FINE_MM for b in (*board.bodies, Body())])
    chosen: Flags = fine[session.shared(type_of_part)]
    return chosen


def _beside(board: Board, mark: FoundFiducial) -> bool:
    """Whether a mark certainly lies beside the board, where no camera looks for it."""
    if board.outline is None or not frame_certain(board, mark.side):
        return False
    from shapely import Point

    return not board.outline.polygon.intersects(Point(mark.x_mm, mark.y_mm))


def global_marks(session: Session, board: Board) -> list[tuple[list[FoundFiducial], list[FoundFiducial]]]:
    """Return for each side the marks that align the whole board: those sure to, and all that may."""
    bodies, fine = session.shared(bodies_with_leads), session.shared(_fine)
    found = []
    on_board = [mark for mark in session.shared(marks_of) if not _beside(board, mark)]
    for side in SIDES:
        sure, possible = shown_on(on_board, side)
        whole = [m for m in (*sure, *possible) if m.role != "local"]
        local = are_local(sure, bodies, fine)
        found.append(([mark for mark, is_local in zip(sure, local, strict=True) if not is_local], whole))
    return found


def marks_listed(board: Board) -> bool:
    """Whether the placement data or board.toml list any mark at all: then they list them all."""
    return bool((board.placements.kind == Kind.FIDUCIAL).any()) or bool(board.manifest.fiducials)


@facts.number(
    "side.fiducials",
    NUMBER,
    "fiducials for the whole board on this side; open upwards where the data list none at all, or not those of rails",
)
def _fiducials(session: Session, board: Board) -> Numbers:
    listed = marks_listed(board) and not _rails_may_carry(board)
    pairs = session.shared(global_marks)
    return Numbers.of(Interval(len(sure), len(whole) if listed else math.inf) for sure, whole in pairs)


def _rails_may_carry(board: Board) -> bool:
    """Whether a panel has rails of whose marks nothing is stated: files list those of a circuit."""
    panel = board.manifest.panel
    if panel is None or any(mark.kind == "panel" for mark in board.manifest.fiducials):
        return False
    return any(width > 0 for width in (panel.rails.left, panel.rails.right, panel.rails.bottom, panel.rails.top))


def _arrangements(session: Session, board: Board) -> list[Arrangement | None]:
    box, found = box_of(board), []
    for side, (sure, _) in zip(SIDES, session.shared(global_marks), strict=True):
        known = box is not None and frame_certain(board, side) and len(sure) >= _PAIR
        found.append(arrangement(sure, box) if known and box is not None else None)
    return found


def _of_arrangement(session: Session, field: str) -> Numbers:
    found: Sequence[Arrangement | None] = session.shared(_arrangements)
    return Numbers.exactly(np.array([math.nan if a is None else float(getattr(a, field)) for a in found]))


@facts.number("side.fiducial_share", NUMBER, "distance of the two fiducials farthest apart, as a share of the diagonal")
def _share(session: Session) -> Numbers:
    return _of_arrangement(session, "diagonal_share")


@facts.number("side.fiducial_across", NUMBER, "lesser share of length and width between these two fiducials")
def _across(session: Session) -> Numbers:
    return _of_arrangement(session, "across_both")


@facts.number(
    "side.half_turn_miss",
    LENGTH,
    "how far from their own places the fiducials land when the board is turned by 180 degrees",
)
def _half_turn(session: Session) -> Numbers:
    return _of_arrangement(session, "half_turn_offset_mm")


@facts.number("side.fiducial_spread", LENGTH, "difference between the largest and the smallest fiducial")
def _spread(session: Session) -> Numbers:
    return Numbers.of(
        diameter_spread(sure) if len(sure) >= _PAIR else UNKNOWN for sure, _ in session.shared(global_marks)
    ).rounded()


@facts.text("side.fiducial_names", "fiducials for the whole board on this side")
def _names(session: Session) -> Texts:
    return Texts.of([shortened([m.name for m in sure]) or "none" for sure, _ in session.shared(global_marks)])


@facts.number(
    "board.panel_fiducials", NUMBER, "fiducials on the panel's rails; open upwards where board.toml states none"
)
def _panel_marks(board: Board) -> Numbers:
    count = sum(mark.kind == "panel" for mark in board.manifest.fiducials)
    return Numbers.of([Interval(count, count or math.inf)])


@facts.text("fiducial.ref", "name of the fiducial")
def _ref(session: Session) -> Texts:
    marks: list[FoundFiducial] = session.shared(certain_marks)
    return Texts(np.arange(len(marks)), [m.name for m in marks], lambda row: marks[row].place or "")


@facts.number("fiducial.side_index", NUMBER, "0 on the top, 1 on the bottom, -1 where unknown")
def _side_index(session: Session) -> Numbers:
    return Numbers.exactly(np.array([float(m.side) for m in session.shared(certain_marks)]))


@facts.text("fiducial.role", "what the fiducial aligns", choices=("panel", "board", "local"))
def _role(session: Session) -> Texts:
    return Texts.of([m.role for m in session.shared(certain_marks)])


@facts.text(
    "fiducial.shape",
    "shape of the fiducial: as board.toml states it, else a circle where a diameter is known",
    choices=("circle", "square", "diamond", "triangle", "cross"),
)
def _shape(session: Session) -> Texts:
    marks: list[FoundFiducial] = session.shared(certain_marks)
    return Texts.of([m.shape or ("circle" if m.diameter.is_known else None) for m in marks])


@facts.number("fiducial.diameter", LENGTH, "diameter of the fiducial")
def _diameter(session: Session) -> Numbers:
    marks: list[FoundFiducial] = session.shared(certain_marks)
    return Numbers.of((m.diameter for m in marks), lambda row: sentence(marks[row].diameter_source))


@facts.number("fiducial.ring", LENGTH, "clear area around the fiducial's rim, to bodies and other fiducials")
def _ring(session: Session, board: Board) -> Numbers:
    marks = tuple(session.shared(certain_marks))
    if not board.unit_settled:
        return Numbers.of([UNKNOWN] * len(marks))
    return Numbers.of(clear_rings(marks, session.shared(bodies_with_leads))).rounded()


@facts.number(
    "fiducial.clear_ring",
    LENGTH,
    "clear area around the fiducial's rim, free of mask, other copper and print, by layers",
)
def _clear_ring(session: Session) -> Numbers:
    marks: list[FoundFiducial] = session.shared(certain_marks)
    return Numbers.of((m.bare_ring for m in marks), lambda row: sentence(marks[row].diameter_source)).rounded()


@facts.flag(
    "fiducial.on_board", "whether the fiducial lies on the board, in no cut-out and not beside it", needs="outline"
)
def _on_board(session: Session, board: Board) -> Truths:
    marks = session.shared(certain_marks)
    beside = np.array([_beside(board, mark) for mark in marks], dtype=np.bool_)
    known = np.array([board.outline is not None and frame_certain(board, mark.side) for mark in marks], dtype=np.bool_)
    return Truths(~beside & known, beside)


@facts.number("fiducial.ring_needed", LENGTH, "free ring that SMEMA 3.1 asks for at least: the fiducial's radius")
def _ring_needed(session: Session) -> Numbers:
    return Numbers.of(ring_needed(m.diameter) for m in session.shared(certain_marks))


@facts.number("fiducial.edge_distance", LENGTH, "rim of the fiducial to the nearest edge of the board", needs="outline")
def _edge(session: Session, board: Board) -> Numbers:
    marks: list[FoundFiducial] = session.shared(certain_marks)
    if board.outline is None:
        return Numbers.of([UNKNOWN] * len(marks))
    free = zip(edge_distances(marks, board.outline.polygon), marks, strict=True)
    return Numbers.of(distance if frame_certain(board, m.side) else UNKNOWN for distance, m in free).rounded()


@facts.flag(
    "fiducial.on_usual_rail",
    "whether the fiducial lies on a panel rail no wider than those that the shop orders itself",
    needs="outline",
)
def _on_usual_rail(session: Session, board: Board) -> Truths:
    marks: list[FoundFiducial] = session.shared(certain_marks)
    panel, box = board.manifest.panel, box_of(board)
    if panel is None or box is None:
        return Truths.of([False] * len(marks))
    stated, rails = board.manifest.panel_proposal.rail, panel.rails
    usual = RAIL_MM if stated is None else stated

    def lies_on_one(mark: FoundFiducial) -> bool:
        inwards = (
            (mark.x_mm - box[0], rails.left),
            (box[2] - mark.x_mm, rails.right),
            (mark.y_mm - box[1], rails.bottom),
            (box[3] - mark.y_mm, rails.top),
        )
        return any(0 <= distance < width <= usual for distance, width in inwards)

    return Truths.of([lies_on_one(mark) for mark in marks])


@facts.number(
    "part.local_marks", NUMBER, "fiducials that serve this part alone; 0 for parts that are not of fine pitch"
)
def _local(session: Session, board: Board) -> Numbers:
    bodies, fine = session.shared(bodies_with_leads), session.shared(_maybe_fine)
    low, high = local_fiducials(session.shared(marks_of), bodies, fine)
    if not marks_listed(board) or not board.unit_settled:
        return Numbers(np.zeros(len(bodies)), np.full(len(session.shared(part_rows)), np.inf))
    return Numbers(low, high)


def _maybe_fine(session: Session, board: Board) -> Flags:
    """Return which parts may be of a pitch that calls for local marks."""
    fine = np.array([b.pitch.low <= _LOCAL_MM for b in (*board.bodies, Body())])
    chosen: Flags = fine[session.shared(type_of_part)]
    return chosen


_LOCAL_MM: Final = 1.0
"""Above this pitch nobody asks for local marks: common practice, no source; IPC-7351 asks below 0.625 mm."""
