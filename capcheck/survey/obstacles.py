"""What stands in the way of many boards on a line: causes ranked, the least change that cures each, what it brings."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import reduce

from msgspec.structs import replace

from capcheck.survey.results import BoardResult, Case, Cause, CauseKind, Demand, Limit, Obstacle, OneHead, Step

_RANK = {kind: rank for rank, kind in enumerate(CauseKind)}


def obstacles_of(boards: Sequence[BoardResult], line: int) -> tuple[Obstacle, ...]:
    """Return what stands in the way on the line of that number: what stops first, then by boards and quantity."""
    found: dict[Cause, list[tuple[BoardResult, Case]]] = {}
    limits: dict[Cause, dict[Limit, None]] = {}
    for board in boards:
        own: dict[Cause, list[Case]] = {}
        for case in board.on[line].cases:
            cause = _anywhere(case.cause)
            own.setdefault(cause, []).append(case)
            if case.cause.limit is not None:
                limits.setdefault(cause, {})[case.cause.limit] = None
        for cause, cases in own.items():
            found.setdefault(cause, []).append((board, _together(cause, cases)))
    every = [_obstacle(cause, of, line, tuple(limits.get(cause, ()))) for cause, of in found.items()]
    return tuple(
        sorted(
            every,
            key=lambda o: (_RANK[o.cause.kind], -len(o.boards), -o.per_year, o.cause.about, str(o.cause.limit)),
        )
    )


def _anywhere(cause: Cause) -> Cause:
    """Return a cause without whose limit it is: a board too long for six machines meets one thing, not six."""
    return cause if cause.limit is None else replace(cause, limit=replace(cause.limit, machine=None, head=None))


def _together(cause: Cause, cases: Sequence[Case]) -> Case:
    """Return the cases of one cause on a board as one, with what cures it wherever it stands in the way."""
    refs = tuple(dict.fromkeys(ref for case in cases for ref in case.refs))
    demands = [case.demand for case in cases if case.demand is not None]
    return Case(cause, refs, reduce(Demand.joined, demands) if len(demands) == len(cases) else None)


def _obstacle(cause: Cause, of: Sequence[tuple[BoardResult, Case]], line: int, limits: tuple[Limit, ...]) -> Obstacle:
    boards = [board for board, _ in of]
    alone = [board for board in boards if _is_alone(board, cause, line)]
    demands = {board.name: case.demand for board, case in of if case.demand is not None}
    return Obstacle(
        replace(cause, limit=limits[0]) if len(limits) == 1 else cause,
        boards=tuple(board.name for board in boards),
        alone=tuple(board.name for board in alone),
        per_year=_quantity(boards),
        per_year_alone=_quantity(alone),
        steps=tuple(_steps(demands, {board.name for board in alone})),
        needed=reduce(Demand.joined, demands.values()) if len(demands) == len(of) else None,
        limits=limits,
        one_head=_one_head(boards, cause, line, {board.name for board in alone}) if len(limits) > 1 else (),
    )


def _one_head(boards: Sequence[BoardResult], cause: Cause, line: int, alone: set[str]) -> tuple[OneHead, ...]:
    """Return what each head's own limit would cure by itself: of a board that meets one head's limit, that one's."""
    asked: dict[Limit, dict[str, Demand]] = {}
    for board in boards:
        own = [case for case in board.on[line].cases if _anywhere(case.cause) == cause]
        if len(own) == 1 and own[0].demand is not None and own[0].cause.limit is not None:
            asked.setdefault(own[0].cause.limit, {})[board.name] = own[0].demand
        for change in board.on[line].head_changes:
            if change.rule == cause.about and _anywhere(replace(cause, limit=change.limit)) == cause:
                asked.setdefault(change.limit, {})[board.name] = change.demand
    found = [OneHead(limit, tuple(_steps(of, alone))) for limit, of in asked.items() if limit.head is not None]
    told = [one for one in found if one.steps]
    return tuple(sorted(told, key=lambda one: (-len(one.steps[-1].builds), -len(one.steps[-1].cures))))


def _is_alone(board: BoardResult, cause: Cause, line: int) -> bool:
    """Whether a cause is all that stops a board; of what is undecided, whether nothing else is open."""
    result = board.on[line]
    if cause.kind in {CauseKind.STOPS, CauseKind.UNANSWERED}:
        return {_anywhere(case.cause) for case in result.stops} == {cause}
    if cause.kind is CauseKind.PANEL:
        return not result.stops
    open_ = [case for case in result.cases if case.cause.kind is CauseKind.UNDECIDED]
    return not result.stops and len(open_) == 1


def _steps(demands: Mapping[str, Demand], alone: set[str]) -> Iterator[Step]:
    """Yield what each value to which the limit might move is proved to cure, the nearest first."""
    upper = all(demand.upper for demand in demands.values())
    for value in sorted({d.proved for d in demands.values() if math.isfinite(d.proved)}, key=_farness(demands)):
        cures = tuple(name for name, demand in demands.items() if demand.met_by(value))
        yield Step(value, cures, tuple(name for name in cures if name in alone), upper)


def _farness(demands: Mapping[str, Demand]) -> Callable[[float], float]:
    now = reduce(Demand.joined, demands.values()).now if demands else 0.0
    return lambda value: abs(value - now)


def _quantity(boards: Sequence[BoardResult]) -> float:
    return sum(board.per_year or 0.0 for board in boards)
