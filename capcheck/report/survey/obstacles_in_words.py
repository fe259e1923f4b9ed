"""What stands in the way of many boards, in words: the cause, the limit, what each change of it would cure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct

from capcheck.lexicon import plain_fact, sentence
from capcheck.machines import LineFile, chip_of_length
from capcheck.model import Manifest
from capcheck.packages import STATED_IN_LIBRARY
from capcheck.survey import Case, Cause, CauseKind, Limit, Obstacle, Step, Unread
from capcheck.values import NUMBER, as_shown, counted, show

_MOST_STEPS: Final = 3
_MOST_HEADS: Final = 2
HEADINGS: Final = {
    CauseKind.UNANSWERED: "not answered",
    CauseKind.STOPS: "stops",
    CauseKind.PANEL: "needs a panel",
    CauseKind.UNDECIDED: "undecided",
}
_ABOUT: Final = {
    "board": " of the board",
    "transport": " of the board",
    "fiducial": " of fiducials",
    "head": " of the head",
    "machine": " of the machine",
    "line": " of the line",
    "pair": " of neighbours",
    "part": " of parts",
}
"""What a fact is about, by its scope."""


class ObstacleView(Struct, frozen=True):
    """An obstacle for a reader: *changes* are what would cure it, the least first."""

    kind: str
    boards: tuple[str, ...]
    alone: tuple[str, ...]
    how_many: str
    what: str
    changes: tuple[str, ...]


def obstacle_views(obstacles: Sequence[Obstacle]) -> tuple[ObstacleView, ...]:
    """Return the obstacles on a line in words."""
    return tuple(
        ObstacleView(
            HEADINGS[one.cause.kind],
            one.boards,
            one.alone,
            _how_many(one),
            _what(one),
            tuple(_changes(one)),
        )
        for one in obstacles
    )


def case_in_words(case: Case) -> str:
    """Return what stands in the way of one board: ``Part height is within the head's limit: max part height is …``."""
    cause = case.cause
    limits = () if cause.limit is None else (cause.limit,)
    return _what(Obstacle(cause, (), (), 0.0, 0.0, needed=case.demand, limits=limits))


def why_unread(one: Unread) -> str:
    """Return why a board was not read, with its name once."""
    why = str(one.error.problems[0])
    return why if why.startswith(one.name) else f"{one.name}: {why}"


def _how_many(one: Obstacle) -> str:
    boards = counted(len(one.boards), "board")
    return f"{boards}, {one.per_year:,.0f} a year" if one.per_year else boards


def _what(one: Obstacle) -> str:
    cause, needed = one.cause, one.needed
    if cause.kind is CauseKind.UNDECIDED:
        return f"{_datum(cause.about)} not known"
    if cause.limit is None:
        return title_of(cause)
    tightest = " at the tightest" if len(one.limits) > 1 else ""
    now = "" if needed is None else f" is {_value(needed.now, cause.limit)}{tightest}"
    return f"{cause.title}: {plain_fact(cause.limit.fact)}{now}{_of(one.limits)}"


def title_of(cause: Cause) -> str:
    """Return what a cause is called: the rule's title, or why the check is no answer."""
    return cause.title if cause.said is None else sentence(cause.said)


def _datum(fact: str) -> str:
    """Return a fact in words, with what it is about."""
    return f"{plain_fact(fact)}{_ABOUT.get(fact.split('.', maxsplit=1)[0], '')}"


def _where_stated(fact: str) -> str:
    """Return where people may state a fact; empty where it follows from others."""
    scope, _, name = fact.partition(".")
    if scope in {"head", "machine"}:
        return "in the machine's profile"
    if scope == "line":
        return "in the line file" if name in LineFile.model_fields else ""
    if scope == "board":
        return "in board.toml" if name in Manifest.model_fields else ""
    known = scope == "part" and name.replace("_", " ") in STATED_IN_LIBRARY
    return "in a package library" if known else ""


def _whose(limit: Limit) -> str:
    return " / ".join(name for name in (limit.machine, limit.head) if name)


def _of(limits: Sequence[Limit]) -> str:
    named = [*map(_whose, limits)]
    return f" ({', '.join(named)})" if any(named) else ""


def _value(value: float, limit: Limit) -> str:
    if limit.fact == "head.smallest_chip" and (code := chip_of_length(value)) is not None:
        return code
    return show(value, value, limit.dimension or NUMBER)


def _changes(one: Obstacle) -> Iterator[str]:
    """Yield what would cure the obstacle; of many values of a limit the nearest, and the one that cures most."""
    limit = one.cause.limit
    if limit is not None and (one.steps or one.needed is not None):
        for own in one.one_head[:_MOST_HEADS]:
            step = own.steps[-1]
            moved = f"{_value(as_shown(step.to, up=step.upper), limit)} on {_whose(own.limit)} alone"
            yield f"{moved} would cure {_cures(step, one)}"
        on_all = " on all of them" if one.one_head else ""
        steps = one.steps if len(one.steps) <= _MOST_STEPS else (*one.steps[: _MOST_STEPS - 1], one.steps[-1])
        for step in steps:
            yield f"{_value(as_shown(step.to, up=step.upper), limit)}{on_all} would cure {_cures(step, one)}"
        cured = len(one.steps[-1].cures) if one.steps else 0
        if left := len(one.boards) - cured:
            yield f"how far it would have to go for {counted(left, 'board')} is not known"
        return
    if one.cause.kind in {CauseKind.STOPS, CauseKind.PANEL} and one.cause.remedy:
        yield one.cause.remedy
    if one.cause.kind is CauseKind.UNDECIDED:
        if where := _where_stated(one.cause.about):
            yield f"state it {where}"
        if not one.alone:
            yield "by itself this decides no board"
    if one.alone and one.cause.kind is not CauseKind.PANEL:
        decides = "decides" if one.cause.kind is CauseKind.UNDECIDED else "builds"
        yield f"this alone {decides} {counted(len(one.alone), 'board')}"


def _cures(step: Step, one: Obstacle) -> str:
    return f"{len(step.cures)} of {counted(len(one.boards), 'board')}{_builds(len(step.builds))}"


def _builds(number: int) -> str:
    return f", and {number} of them then build" if number > 1 else ", and 1 of them then builds" if number else ""
