"""Facts about the board's size on the whole line: machines that do not take it, panels that all take."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck import geometry
from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts
from capcheck.facts.panel import steps_of
from capcheck.facts.place import size_of
from capcheck.facts.transport import lane_modes, travels
from capcheck.lexicon import sentence
from capcheck.machines import Line
from capcheck.model import NOTHING, Board, OrderedPanel, PanelSource, Rails, Said, say
from capcheck.values import LENGTH, NUMBER, show, show_number

if TYPE_CHECKING:
    from capcheck.geometry import Layout, PanelProposal, Proposals


facts = Catalogue()

GAP_MM: Final = 2.0
"""Gap between circuits of a proposed panel: the width of a routing cutter (guideline 18 of rules/guidelines.csv)."""
RAIL_MM: Final = 5.0
"""Rails of a proposed panel: the least width of guideline 18 of rules/guidelines.csv."""


def _circuit(session: Session, board: Board) -> tuple[float, float] | None:
    """Return the sides of one circuit in mm, None where they are not certain."""
    steps = session.shared(steps_of)
    if steps is not None:
        left, bottom, right, top = steps.circuit
        return right - left, top - bottom
    length, width = (side.value for side in size_of(board))
    return (length.low, width.low) if length.is_exact and width.is_exact else None


def _layout(session: Session, board: Board) -> Layout:
    """Return gaps and rails: of the panel that board.toml describes, else those it names for a proposal."""
    stated, panel, steps = board.manifest.panel_proposal, board.manifest.panel, session.shared(steps_of)
    gap = GAP_MM if stated.gap is None else stated.gap
    gap_x = gap_y = gap
    rails, ends = 2 * (RAIL_MM if stated.rail is None else stated.rail), 0.0
    if panel is not None and steps is not None:
        gap_x, gap_y = (own if math.isfinite(own) and stated.gap is None else gap for own in (steps.gap_x, steps.gap_y))
        own = sorted((panel.rails.left + panel.rails.right, panel.rails.bottom + panel.rails.top))
        if stated.rail is None and own[1] > 0:
            ends, rails = own
    return geometry.Layout(gap_x, gap_y, rails=rails, ends=ends)


@facts.number("line.machines_refusing_board", NUMBER, "machines proved not to take the board's size", needs="outline")
def _refusing(session: Session) -> Numbers:
    return Numbers.exactly(np.array([float(sum(t.fits is False for t in session.shared(travels)))]))


@facts.text("line.refusing_board", "machines that do not take the board's size", needs="outline")
def _names(session: Session, line: Line) -> Texts:
    refusing = [m.name for m, t in zip(line.machines, session.shared(travels), strict=True) if t.fits is False]
    return Texts.of([", ".join(refusing) or "none"])


def _greatest(board: Board) -> tuple[float, float]:
    """Return the longer and the shorter side in mm that a panel may have at most."""
    stated = board.manifest.panel_proposal
    given = [math.inf if side is None else side for side in (stated.max_length, stated.max_width)]
    return max(given), min(given)


def _proposals(session: Session, board: Board, line: Line) -> Proposals | None:
    """Return the panels of the circuit that every machine takes; None where there is none, or none is proved."""
    circuit: tuple[float, float] | None = session.shared(_circuit)
    modes = [lane_modes(m.board) for m in line.machines]
    if circuit is None or not all(map(geometry.states_its_largest, modes)):
        return None
    return geometry.propose_panels(*circuit, modes, session.shared(_layout), _greatest(board))


def panel_to_order(session: Session, board: Board) -> OrderedPanel | None:
    """Return the panel that would be ordered of a single board; None where every machine is not proved to take one.

    It fills the greatest size that is stated; where none is, it is the smallest that the line takes.
    """
    wanted = board.manifest.panel is None and board.manifest.panel_proposal.order
    found: Proposals | None = session.shared(_proposals) if wanted else None
    circuit: tuple[float, float] | None = session.shared(_circuit)
    if found is None or circuit is None:
        return None
    layout: Layout = session.shared(_layout)
    chosen = found.largest if any(map(math.isfinite, _greatest(board))) else found.smallest
    rail = layout.rails / 2
    # Made of numbers in mm: only what a file states is validated with its unit.
    across, along = (rail, 0.0) if chosen.turned else (0.0, rail)
    source = PanelSource.model_construct(
        columns=chosen.columns,
        rows=chosen.rows,
        pitch_x=circuit[0] + layout.gap_x,
        pitch_y=circuit[1] + layout.gap_y,
        rails=Rails.model_construct(left=across, right=across, bottom=along, top=along),
    )
    return OrderedPanel(source, chosen.x_mm, chosen.y_mm, rail_mm=rail, gap_mm=max(layout.gap_x, layout.gap_y))


@facts.text("line.panel_proposal", "panels of this board that every machine of the line takes", needs="outline")
def _proposal(session: Session, board: Board, line: Line) -> Texts:
    circuit: tuple[float, float] | None = session.shared(_circuit)
    if circuit is None:
        return _told(say("facts.no panel for an open size"))
    modes = {m.name: lane_modes(m.board) for m in line.machines}
    silent = [name for name, own in modes.items() if not geometry.states_its_largest(own)]
    if silent:
        return _told(say("facts.no panel for silent machines", machines=silent))
    layout: Layout = session.shared(_layout)
    found: Proposals | None = session.shared(_proposals)
    if found is not None:
        refused = any(travel.fits is False for travel in session.shared(travels))
        return _told(_in_words(found, layout, cure=refused))
    greatest = _greatest(board)
    taken = {name: geometry.propose_panels(*circuit, [own], layout, greatest) for name, own in modes.items()}
    alone = [name for name, proposed in taken.items() if proposed is None]
    reason = say("facts.panel that some take none of", machines=alone) if alone else say("facts.panel that none share")
    within = NOTHING
    if math.isfinite(greatest[1]):
        within = say("facts.panel within", length=_mm(greatest[0]), width=_mm(greatest[1]))
    return _told(say("facts.no panel", within=within, reason=reason))


def _told(said: Said) -> Texts:
    return Texts.of([sentence(said)])


def _in_words(found: Proposals, layout: Layout, *, cure: bool) -> Said:
    """Return the largest panel, and the smallest one where the board alone is too small."""
    smaller = NOTHING
    if cure and found.smallest.circuits == 1 < found.largest.circuits:
        smaller = say("facts.panel of one circuit", size=_size(found.smallest))
    elif cure and found.smallest.circuits < found.largest.circuits:
        smaller = say("facts.panel of the fewest", panel=_described(found.smallest))
    return say(
        "facts.panel of the most",
        panel=_described(found.largest),
        gap=_mm(max(layout.gap_x, layout.gap_y)),
        rail=_mm(layout.rails / 2),
        smaller=smaller,
    )


def _mm(value: float) -> str:
    return show(value, value, LENGTH)


def _size(panel: PanelProposal) -> str:
    return f"{show_number(panel.x_mm)} × {_mm(panel.y_mm)}"


def _described(panel: PanelProposal) -> Said:
    return say("facts.panel in short", columns=panel.columns, rows=panel.rows, size=_size(panel))
