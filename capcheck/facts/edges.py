"""Facts about bodies and the board's edges: transported edges for each machine, the contour, cut-outs and holes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from capcheck import geometry
from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Source, Truths
from capcheck.facts.part import part_rows
from capcheck.facts.place import bodies_with_leads, box_of, in_frame, on_the_surface, surface_mounted
from capcheck.facts.second_side import soldered_first
from capcheck.facts.transport import travels
from capcheck.lexicon import sentence
from capcheck.machines import Line
from capcheck.model import Board, Doubt, Flags, Floats, Said
from capcheck.values import LENGTH

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry as Geometry

    from capcheck.geometry import Bodies, Bounds

facts = Catalogue()


@facts.flag("part.in_frame", "whether the part's place on the outline is certain")
def _in_frame(session: Session) -> Truths:
    return Truths.known(session.shared(in_frame))


def _only(known: Flags, bounds: Bounds) -> Numbers:
    low, high = bounds
    return Numbers(np.where(known, low, -np.inf), np.where(known, high, np.inf)).rounded()


def _to_edges(session: Session, board: Board) -> dict[bool, Bounds]:
    """Return the distance of every body to the nearer conveyor edge, for both ways of travel."""
    box, bodies = box_of(board), session.shared(bodies_with_leads)
    if box is None:
        unknown = np.full(len(bodies), -np.inf), np.full(len(bodies), np.inf)
        return {False: unknown, True: unknown}
    return {turned: geometry.transported_distance(bodies, box, turned=turned) for turned in (False, True)}


def _centres(session: Session, board: Board) -> dict[bool, Floats]:
    rows, box = session.shared(part_rows), box_of(board)
    if box is None:
        return dict.fromkeys((False, True), np.full(len(rows), np.nan))
    x, y = board.placements.x_mm[rows], board.placements.y_mm[rows]
    return {True: np.minimum(x - box[0], box[2] - x), False: np.minimum(y - box[1], box[3] - y)}


@facts.number("passing.edge_distance", LENGTH, "body to the nearer conveyor edge", needs="outline")
def _edge_distance(session: Session) -> list[Numbers]:
    known, both = session.shared(in_frame), session.shared(_to_edges)
    return [_only(known, both[travel.turned]) for travel in session.shared(travels)]


@facts.number("passing.leading_distance", LENGTH, "body to the nearer of leading and trailing edge", needs="outline")
def _leading_distance(session: Session) -> list[Numbers]:
    known, both = session.shared(in_frame), session.shared(_to_edges)
    return [_only(known, both[not travel.turned]) for travel in session.shared(travels)]


@facts.number("passing.centre_to_edge", LENGTH, "centre of the body to the nearer conveyor edge", needs="outline")
def _centre_to_edge(session: Session) -> list[Numbers]:
    known, both = session.shared(in_frame), session.shared(_centres)
    return [Numbers.exactly(np.where(known, both[t.turned], np.nan)) for t in session.shared(travels)]


def _strips(session: Session, line: Line) -> list[Numbers]:
    """Return the free strip that each part needs: a part that is soldered first also travels upside down."""
    below = session.shared(soldered_first)
    certain, possible = below.yes, ~below.no
    found = []
    for machine in line.machines:
        up, down = machine.board.edge_clearance_top, machine.board.edge_clearance_bottom
        low = np.full(len(below), -np.inf if up is None else up)
        high = np.full(len(below), np.inf if up is None else up)
        low[certain] = np.maximum(low[certain], -np.inf if down is None else down)
        high[possible] = np.maximum(high[possible], np.inf if down is None else down)
        found.append(Numbers(low, high, _from_profile(machine.name)))
    return found


def _from_profile(name: str) -> Source:
    return lambda _row: f"profile of {name}"


@facts.number("passing.edge_strip", LENGTH, "component keep-out along the conveyor edges, on the part's side")
def _edge_strip(session: Session) -> list[Numbers]:
    strips: list[Numbers] = session.shared(_strips)
    return strips


@facts.number("passing.rail_needed", LENGTH, "rails at both conveyor edges that would clear every part")
def _rail_needed(session: Session) -> list[Numbers]:
    possible = session.shared(in_frame) & session.shared(surface_mounted) & session.shared(bodies_with_leads).bounded
    certain = possible & session.shared(on_the_surface).yes
    both, found = session.shared(_to_edges), []
    for travel, strip in zip(session.shared(travels), session.shared(_strips), strict=True):
        distance = both[travel.turned]
        low = geometry.rail_width_needed(distance, np.nan_to_num(strip.low, neginf=0.0))[0][certain]
        high = geometry.rail_width_needed(distance, strip.high)[1][possible]
        ends = float(low.max(initial=0.0)), float(high.max(initial=0.0))
        found.append(Numbers(np.full(len(possible), ends[0]), np.full(len(possible), max(ends))))
    return found


def _nothing(parts: int) -> Numbers:
    """Return distances of which nothing is known: there is no contour to measure to."""
    return Numbers(np.full(parts, -np.inf), np.full(parts, np.inf))


@facts.number(
    "part.contour_distance", LENGTH, "body to the board's contour, negative where it reaches over", needs="outline"
)
def _contour(session: Session, board: Board) -> Numbers:
    known = session.shared(in_frame)
    if board.outline is None:
        return _nothing(len(known))
    return _only(known, geometry.contour_distance(session.shared(bodies_with_leads), board.outline.polygon))


@facts.number(
    "part.cutout_distance", LENGTH, "body to the nearest cut-out, negative where it reaches into it", needs="outline"
)
def _cutout(session: Session, board: Board) -> Numbers:
    known, bodies = session.shared(in_frame), session.shared(bodies_with_leads)
    if board.outline is None:
        return _nothing(len(known))
    low, high = geometry.cutout_distance(bodies, board.outline.polygon, board.outline.holes)
    return _with_doubts(board.outline.doubts, bodies, known, (low, high))


def _with_doubts(doubts: Sequence[Doubt], bodies: Bodies, known: Flags, bounds: Bounds) -> Numbers:
    """Return distances to openings, as low as those to what may be one; their source is what is drawn there."""
    low, high = bounds
    placed = [(doubt.area, doubt.drawn) for doubt in doubts if doubt.area is not None]
    doubtful = geometry.least_distance(bodies, [area for area, _ in placed])
    found = _only(known, (np.minimum(low, doubtful), high))
    return Numbers(found.low, found.high, _drawn_beneath(placed, bodies.x_mm, bodies.y_mm, known & (doubtful < low)))


def _drawn_beneath(placed: Sequence[tuple[Geometry, Said]], x_mm: Floats, y_mm: Floats, rows: Flags) -> Source:
    """Return the source of distances that hang on what may be an opening, for these *rows* of parts: what is drawn."""
    import shapely

    def source(row: int) -> str:
        if not rows[row]:
            return ""
        away = shapely.distance([area for area, _ in placed], shapely.Point(x_mm[row], y_mm[row]))
        return sentence(placed[int(np.argmin(away))][1])

    return source


@facts.flag("board.openings_placed", "whether all that may be an opening has a place in the outline", needs="outline")
def _openings_placed(board: Board) -> Truths:
    return Truths.of([board.outline is not None and all(doubt.area is not None for doubt in board.outline.doubts)])


@facts.number(
    "part.hole_distance",
    LENGTH,
    "body to the nearest round hole up to that for a screw of 6 mm, negative where it reaches over it",
    needs="outline",
)
def _hole(session: Session, board: Board) -> Numbers:
    known = session.shared(in_frame)
    if board.outline is None:
        return _nothing(len(known))
    bodies = session.shared(bodies_with_leads)
    low, high = geometry.hole_distance(bodies, board.outline.holes)
    doubts = [doubt for doubt in board.outline.doubts if doubt.round_hole]
    return _with_doubts(doubts, bodies, known, (low, high))


@facts.flag("part.off_board", "whether the part lies beside the board altogether", needs="outline")
def _off_board(session: Session, board: Board) -> Truths:
    import shapely

    rows, known = session.shared(part_rows), session.shared(in_frame)
    no = np.zeros(len(rows), dtype=np.bool_)
    yes = no.copy()
    if board.outline is not None:
        shape = shapely.Polygon(board.outline.polygon.exterior)
        shapely.prepare(shape)
        no = known & geometry.Covering(shape).contains_xy(board.placements.x_mm[rows], board.placements.y_mm[rows])
        bodies = session.shared(bodies_with_leads)
        doubtful = np.flatnonzero(known & ~no & bodies.bounded)
        yes[doubtful] = ~shapely.intersects(shape, shapely.polygons(bodies.take(doubtful).outer_corners()))
        least = bodies.inner[doubtful].min(axis=1) > 0
        reaching = doubtful[least]
        no[reaching] = shapely.intersects(shape, shapely.polygons(bodies.take(reaching).inner_corners()))
    return Truths(yes, no)
