"""Facts about the stencil, as the layers of paste draw it: unknown without such layers."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers, Texts
from capcheck.facts.lands import lands_of_parts, source_of_lands
from capcheck.facts.place import SIDES
from capcheck.model import Board
from capcheck.values import LENGTH, NUMBER, Interval

if TYPE_CHECKING:
    from capcheck.lands import Pasted, Stencil

facts = Catalogue()

_USUAL: Final = Interval(0.1, 0.13)
"""Foils of 0.10, 0.12, 0.125 and 0.127 mm (5 mil) print most boards: common practice, no source."""
_NAMED: Final = 3


def stencil(board: Board) -> Stencil | None:
    """Return what the layers of paste show; None without any that lies on the board's parts."""
    if board.lands is None:
        return None
    from capcheck.lands import stencil_of

    return stencil_of(board.lands, board.placements)


@facts.number(
    "board.stencil_thickness", LENGTH, "thickness of the shop's stencil; a usual one is assumed where none is stated"
)
def _thickness(session: Session) -> Numbers:
    stated = session.stencil_thickness
    if stated is not None:
        return Numbers.of([Interval.exactly(stated)], lambda _row: "configuration stencil_thickness")
    return Numbers.of([_USUAL], lambda _row: "assumed: the configuration states no stencil_thickness")


def _pasted(session: Session) -> list[Pasted | None]:
    shown: Stencil | None = session.shared(stencil)
    own = session.shared(lands_of_parts)
    return [None if shown is None or one is None else shown.of.get(id(one)) for one in own]


def _of_parts(session: Session, board: Board, of: Callable[[Pasted], float | None]) -> Numbers:
    told = [None if one is None else of(one) for one in session.shared(_pasted)]
    values = np.array([math.nan if value is None else value for value in told], dtype=np.float64)
    return Numbers.exactly(values, source_of_lands(session, board))


@facts.number("part.paste_share", NUMBER, "area of the paste in its lands, as a share of theirs")
def _share(session: Session, board: Board) -> Numbers:
    return _of_parts(session, board, lambda pasted: pasted.share)


@facts.number("part.lands_without_paste", NUMBER, "how many of its lands the stencil leaves without paste")
def _bare(session: Session, board: Board) -> Numbers:
    return _of_parts(session, board, lambda pasted: float(pasted.bare))


@facts.number("part.area_ratio", NUMBER, "least area ratio of the stencil's openings on its lands, by IPC-7525")
def _area_ratio(session: Session, board: Board, board_stencil_thickness: Numbers) -> Numbers:
    return _over(_of_parts(session, board, lambda pasted: pasted.release_mm), board_stencil_thickness)


def _over(release_mm: Numbers, thickness: Numbers) -> Numbers:
    low, high = float(thickness.low[0]), float(thickness.high[0])
    return Numbers(release_mm.low / high, release_mm.high / low, release_mm.source).rounded()


@facts.number("side.area_ratio", NUMBER, "least area ratio of the stencil's openings that lie on no known part's lands")
def _others(session: Session, board_stencil_thickness: Numbers) -> Numbers:
    shown: Stencil | None = session.shared(stencil)
    least = []
    for side in SIDES:
        release = None if shown is None or str(side) not in shown.others else shown.others[str(side)][1]
        least.append(math.nan if release is None or not len(release) else float(release.min()))
    return _over(Numbers.exactly(np.array(least)), board_stencil_thickness)


@facts.text(
    "side.tightest_openings",
    "where the stencil's openings of the least area ratio lie that are on no known part's lands",
)
def _tightest(session: Session) -> Texts:
    shown: Stencil | None = session.shared(stencil)
    told: list[str | None] = []
    for side in SIDES:
        at, release = (None, None) if shown is None else shown.others.get(str(side), (None, None))
        first = [] if at is None or release is None else np.argsort(release, kind="stable")[:_NAMED].tolist()
        told.append(None if at is None else "; ".join(f"{at[k][0]:.2f}, {at[k][1]:.2f} mm" for k in first))
    return Texts.of(told)


@facts.number("side.paste_alone", NUMBER, "the stencil's openings far from everything that is placed on this side")
def _alone(session: Session) -> Numbers:
    shown: Stencil | None = session.shared(stencil)
    return Numbers.exactly(
        np.array(
            [
                math.nan if shown is None or str(side) not in shown.alone else float(shown.alone[str(side)].sum())
                for side in SIDES
            ]
        )
    )
