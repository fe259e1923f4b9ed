"""Facts about a panel: how circuits are stepped, where it is parted, and how near to that the bodies lie."""

from __future__ import annotations

import math

import numpy as np

from capcheck import geometry
from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.facts.part import part_rows
from capcheck.facts.place import bodies_with_leads, box_of, in_frame
from capcheck.model import Board, Floats, Stepping, stepping
from capcheck.values import LENGTH, NUMBER

facts = Catalogue()


def steps_of(board: Board) -> Stepping | None:
    """Return how the board's circuits are stepped; None for a single circuit without rails, or without a contour.

    The outline of a board with a panel is the panel's, so that the circuit's box is worked out from it.
    """
    panel, box = board.manifest.panel, box_of(board)
    if panel is None or box is None:
        return None
    rails = panel.rails
    length = box[2] - rails.right - box[0] - rails.left
    width = box[3] - rails.top - box[1] - rails.bottom
    length = length - (panel.columns - 1) * panel.pitch_x if panel.pitch_x else length / panel.columns
    width = width - (panel.rows - 1) * panel.pitch_y if panel.pitch_y else width / panel.rows
    if not length > 0 or not width > 0:
        return None
    left, bottom = box[0] + rails.left, box[1] + rails.bottom
    return stepping((left, bottom, left + length, bottom + width), panel)


def parting_lines(board: Board) -> Floats:
    """Return the lines along which circuits and rails are parted, rows of x1, y1, x2, y2 in mm."""
    steps = steps_of(board)
    return np.zeros((0, 4)) if steps is None else geometry.depanelling_lines(steps)


def _one(value: float) -> Numbers:
    return Numbers.exactly(np.array([value]))


@facts.number("board.circuits", NUMBER, "boards in the panel, 1 for a single board")
def _circuits(board: Board) -> Numbers:
    panel = board.manifest.panel
    return _one(1.0 if panel is None else float(panel.columns * panel.rows))


@facts.flag("board.is_panel", "whether board.toml describes a panel")
def _is_panel(board: Board) -> Truths:
    return Truths.of([board.manifest.panel is not None])


@facts.number(
    "board.circuit_gap", LENGTH, "least free width between the boards in the panel; negative where they overlap"
)
def _gap(session: Session) -> Numbers:
    steps = session.shared(steps_of)
    if steps is None:
        return _one(math.nan)
    gap = min(steps.gap_x, steps.gap_y)
    return _one(gap if math.isfinite(gap) else math.nan)


@facts.number("board.narrowest_rail", LENGTH, "width of the narrowest panel rail, unknown where there is none")
def _rail(board: Board) -> Numbers:
    panel = board.manifest.panel
    rails = () if panel is None else (panel.rails.left, panel.rails.right, panel.rails.bottom, panel.rails.top)
    return _one(min((width for width in rails if width > 0), default=math.nan))


@facts.number("part.parting_distance", LENGTH, "body to the nearest depanelling line", needs="outline")
def _distance(session: Session) -> Numbers:
    low, high = geometry.line_distance(session.shared(bodies_with_leads), session.shared(parting_lines))
    known = session.shared(in_frame)
    return Numbers(np.where(known, low, -np.inf), np.where(known, high, np.inf)).rounded()


@facts.text("board.parting", "how the boards are depanelled", choices=("score", "tabs", "routed", "not stated"))
def _parting(board: Board) -> Texts:
    panel = board.manifest.panel
    return Texts.of([(None if panel is None else panel.parting) or "not stated"])


@facts.number("part.tab_distance", LENGTH, "body to the middle of the nearest break-off tab", needs="outline")
def _tab_distance(session: Session, board: Board) -> Numbers:
    """Return the distances to stated tabs; of others is known only that they lie on the depanelling lines."""
    bodies, known = session.shared(bodies_with_leads), session.shared(in_frame)
    steps, panel = session.shared(steps_of), board.manifest.panel
    low, high = geometry.line_distance(bodies, session.shared(parting_lines))[0], np.full(len(bodies), np.inf)
    if steps is not None and panel is not None and panel.tabs:
        low = high.copy()
        xs, ys = steps.points([t.x for t in panel.tabs], [t.y for t in panel.tabs])
        for x, y in zip(xs.ravel().tolist(), ys.ravel().tolist(), strict=True):
            least, most = geometry.point_distance(bodies, x, y)
            low, high = np.minimum(low, least), np.minimum(high, most)
    return Numbers(np.where(known, low, -np.inf), np.where(known, high, np.inf)).rounded()


@facts.number(
    "part.across_parting_distance",
    LENGTH,
    "body to the nearest depanelling line that its longer side lies across, infinite where it lies along all",
    needs="outline",
)
def _across(session: Session) -> Numbers:
    low, high = geometry.across_distance(session.shared(bodies_with_leads), session.shared(parting_lines))
    known = session.shared(in_frame)
    return Numbers(np.where(known, low, -np.inf), np.where(known, high, np.inf)).rounded()


@facts.flag("part.near_parting", "whether the body, or its centre, lies near a depanelling line", needs="outline")
def _near(session: Session, board: Board) -> Truths:
    lines, bodies = session.shared(parting_lines), session.shared(bodies_with_leads)
    rows = session.shared(part_rows)
    reach = _NEAR_MM + session.reach
    x, y = board.placements.x_mm[rows], board.placements.y_mm[rows]
    near = geometry.line_distance(bodies, lines)[0] <= reach if len(lines) else np.zeros(len(rows), dtype=np.bool_)
    near &= bodies.bounded
    for x1, y1, x2, y2 in lines:
        length = math.hypot(x2 - x1, y2 - y1)
        near |= np.abs((x - x1) * (y1 - y2) + (y - y1) * (x2 - x1)) / length <= reach
    return Truths.known(near & session.shared(in_frame))


_NEAR_MM = 15.0
"""Parts farther from a line than this and the largest limit of the rules in use are not looked at."""
