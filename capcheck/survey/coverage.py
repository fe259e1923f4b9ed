"""Which limits cover a share of the boards: the envelope of their needs, and a machine profile that covers so many.

Which boards are left is chosen one after another: always the one whose leaving lets the limits come down most, all
limits in proportion. That need not be the best choice of all, and is told as one that was found.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct

from capcheck.survey.needs import EDGES, LIMITS, BoardNeeds, Need, ProfileLimit


class Reached(Struct, frozen=True):
    """A value of a limit with the shares that it covers: of the boards, or of what is made of them in a year.

    *known* is of those of which something is known, and counts a board by what that is; *proved* is of all, and counts
    one only where everything is known.
    """

    value: float
    known: float
    proved: float


class Envelope(Struct, frozen=True):
    """A limit over all boards: what each value covers, the least demanding first.

    *open* are the boards of which nobody knows how far the limit would have to go, *never* those that none covers.
    """

    limit: ProfileLimit
    reached: tuple[Reached, ...]
    open: tuple[str, ...]
    never: tuple[str, ...] = ()

    def at(self, share: float) -> float | None:
        """Return the least demanding value that covers a share, as far as is known; None where none is known."""
        return next((reached.value for reached in self.reached if reached.known >= share - 1e-9), None)


class Beyond(Struct, frozen=True):
    """A limit that is not far enough, with what is asked of it: *surely*, or perhaps, as far as is known."""

    limit: ProfileLimit
    need: Need
    surely: bool


class Left(Struct, frozen=True):
    """A board that is not covered, with the limits that it would take further.

    *balls* is whether it has ball grids that are not recognised; None where it may have some.
    """

    name: str
    because: tuple[Beyond, ...]
    balls: bool | None = False


class Cover(Struct, frozen=True):
    """The limits that cover a share of the boards as far as their needs are known.

    How wide the conveyor may grip is what the covered board with the least free edge leaves; no board is left for its
    edges, and one that leaves none is carried on rails. Where nobody knows what a board leaves, its edge is open.
    *share* is what they cover, *proved* what they cover without anything being open; *open* are the covered ones of
    which something is, with the limits of which nobody knows how far they would have to go.
    """

    values: Mapping[str, float]
    balls: bool
    share: float
    proved: float
    covered: tuple[str, ...]
    left: tuple[Left, ...]
    open: tuple[tuple[str, tuple[ProfileLimit, ...]], ...]


def envelopes(boards: Sequence[BoardNeeds]) -> tuple[Envelope, ...]:
    """Return the envelope of each limit that some board asks for.

    Shares are of quantities where those of all boards are known, else of boards.
    """
    weights = _weights(boards)
    return tuple(
        _envelope(limit, boards, weights)
        for limit in (*LIMITS, *EDGES)
        if any(limit.key in board.needs for board in boards)
    )


def by_quantity(boards: Sequence[BoardNeeds]) -> bool:
    """Whether shares are of quantities: those of all boards are known, and some are made."""
    return all(board.per_year is not None for board in boards) and any(board.per_year for board in boards)


def _weights(boards: Sequence[BoardNeeds]) -> dict[str, float]:
    """Return the share of each board in all."""
    own = {b.name: (b.per_year or 0.0) if by_quantity(boards) else 1.0 for b in boards}
    total = sum(own.values())
    return {name: weight / total for name, weight in own.items()}


def at_share(boards: Sequence[BoardNeeds], value: Callable[[BoardNeeds], float], share: float) -> float:
    """Return the least value that a share of the boards, or of their quantities, does not exceed; infinite if open."""
    weights, covered = _weights(boards), 0.0
    for board in sorted(boards, key=value):
        covered += weights[board.name]
        if covered >= share - 1e-9:
            return value(board)
    return math.inf


def _envelope(limit: ProfileLimit, boards: Sequence[BoardNeeds], weights: Mapping[str, float]) -> Envelope:
    needs = {board.name: need for board in boards if (need := board.needs.get(limit.key)) is not None}
    silent = sum(weights[name] for name, need in needs.items() if need.known == (0.0 if limit.upper else math.inf))
    without = sum(weight for name, weight in weights.items() if name not in needs)

    def covered(value: float, of: Callable[[Need], float]) -> float:
        return without + sum(weights[name] for name, need in needs.items() if _meets(value, of(need), limit))

    known = sorted({need.known for need in needs.values() if _is_end(need.known)}, reverse=not limit.upper)
    # A board of which nothing is known at all says nothing of how far others go.
    spoken, counted = (1 - silent) or 1.0, silent if limit.upper else 0.0
    return Envelope(
        limit,
        tuple(Reached(v, (covered(v, _known) - counted) / spoken, covered(v, _at_most)) for v in known),
        tuple(name for name, need in needs.items() if need.is_open),
        tuple(name for name, need in needs.items() if need.is_never),
    )


def _known(need: Need) -> float:
    return need.known


def _at_most(need: Need) -> float:
    return need.at_most


def _is_end(value: float) -> bool:
    return math.isfinite(value) and value > 0


def _meets(value: float, need: float, limit: ProfileLimit) -> bool:
    return value >= need if limit.upper else value <= need and 0 < need < math.inf


def cover(boards: Sequence[BoardNeeds], share: float) -> Cover:
    """Return limits that cover at least *share* (above 0, at most 1) of the boards, or of their quantities."""
    weights = _weights(boards)
    kept = list(boards)
    while len(kept) > 1:
        spare = sum(weights[b.name] for b in kept) - share
        relief = {b.name: _relief(b, kept) for b in kept if weights[b.name] <= spare + 1e-9}
        if not any(relief.values()):
            break
        worst = max(relief, key=lambda name: (relief[name], name))
        kept = [b for b in kept if b.name != worst]
    values = _limits_of(kept)
    names = {b.name for b in kept}
    balls = any(b.balls is not False for b in kept)
    left = [
        Left(b.name, beyond, balls=b.balls if not balls else False)
        for b in boards
        if b.name not in names
        for beyond in [_beyond(b, values)]
        if beyond or (b.balls is not False and not balls)
    ]
    out = {one.name for one in left}
    open_ = [(b.name, limits) for b in boards if b.name not in out and (limits := _open_limits(b))]
    covered = sum(weight for name, weight in weights.items() if name not in out)
    covering = [b for b in boards if b.name not in out]
    return Cover(
        values=values | _limits_of(covering, EDGES),
        balls=balls,
        share=covered,
        proved=covered - sum(weights[name] for name, _ in open_),
        covered=tuple(b.name for b in covering),
        left=tuple(left),
        open=tuple(open_),
    )


def _limits_of(boards: Sequence[BoardNeeds], limits: Sequence[ProfileLimit] = LIMITS) -> dict[str, float]:
    """Return the value of each limit that covers all of *boards*, as far as it is known."""
    values: dict[str, float] = {}
    for limit in limits:
        known = [b.needs[limit.key].known for b in boards if limit.key in b.needs]
        ends = [value for value in known if _is_end(value)]
        if ends:
            values[limit.key] = max(ends) if limit.upper else min(ends)
    return values


def _relief(board: BoardNeeds, kept: Sequence[BoardNeeds]) -> float:
    """Return how far the limits come down without *board*, each in proportion, as a sum of logarithms."""
    own, others = _limits_of(kept), _limits_of([b for b in kept if b is not board])
    return sum(abs(math.log(value / others[key])) for key, value in own.items() if key in others)


def _beyond(board: BoardNeeds, values: Mapping[str, float]) -> tuple[Beyond, ...]:
    """Return the limits that a board would take further than *values*."""
    return tuple(
        Beyond(limit, need, surely=not _lets_pass(values.get(limit.key), need.surely, limit))
        for limit in LIMITS
        if (need := board.needs.get(limit.key)) is not None and _is_end(need.known)
        if not _lets_pass(values.get(limit.key), need.known, limit)
    )


def _lets_pass(value: float | None, need: float, limit: ProfileLimit) -> bool:
    """Whether a limit lets pass what is asked; one that no profile states lets nothing pass that is asked."""
    return need in {0.0, math.inf} or (value is not None and _meets(value, need, limit))


def _open_limits(board: BoardNeeds) -> tuple[ProfileLimit, ...]:
    return tuple(
        limit for limit in (*LIMITS, *EDGES) if (need := board.needs.get(limit.key)) is not None and need.is_open
    )
