"""The boards of a plan, a row each: what a planner of production compares, and the set-ups that they run on."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence

from msgspec import Struct

from capcheck.model import Said
from capcheck.planning import Pass, PassFigures, Plan
from capcheck.report.plan.costs_and_work import money
from capcheck.report.plan.spans import ends
from capcheck.values import Interval, total

COLUMNS = (
    "board",
    "verdict",
    "placed",
    "boards a panel",
    "s a board",
    "boards/h",
    "h a year",
    "takt",
    "set by",
    "set-up",
    "cost of a board",
)


class BoardRow(Struct, frozen=True):
    """A board: *verdict* is what stands against it alone; None is not known.

    *placements* and *set_by* are by side, of what the conveyor carries; *per_year* are boards and *hours* running hours
    of a year; *set_ups* count from 1 in the order of the plan.
    """

    board: str
    verdict: str
    sides: tuple[str, ...]
    placements: tuple[int, ...]
    pieces: int
    seconds: Interval | None
    per_hour: Interval | None
    planned_per_hour: float | None
    per_year: float | None
    hours: Interval | None
    takt: bool | None
    has_takt: bool
    set_by: tuple[str, ...]
    set_ups: tuple[int, ...]
    cost: Interval | None
    currency: str

    @property
    def takt_in_words(self) -> str:
        """Whether the board keeps the takt; empty where there is none."""
        return {True: "kept", False: "not kept", None: "undecided"}[self.takt] if self.has_takt else ""

    @property
    def cells(self) -> tuple[str, ...]:
        """The row in words, in the order of :data:`COLUMNS`; empty where there is nothing to say."""
        return (
            self.board,
            self.verdict,
            " + ".join(map(str, self.placements)) or "none",
            str(self.pieces),
            "not known" if self.seconds is None else ends(self.seconds),
            "not known" if self.per_hour is None else ends(self.per_hour, 1),
            "" if self.hours is None else ends(self.hours, 1),
            self.takt_in_words,
            ", ".join(dict.fromkeys(self.set_by)),
            ", ".join(map(str, self.set_ups)) or "none",
            "" if self.cost is None else money(self.cost, self.currency),
        )


def board_rows(plan: Plan) -> list[BoardRow]:
    """Return a row for each board of the plan, in the order in which they were given."""
    made = {one.board: one for one in plan.board_figures()}
    costs = {one.board: one for one in plan.costs}
    figures = {p: (k, f) for k, s in enumerate(plan.set_ups, 1) for p, f in zip(s.passes, s.figures, strict=True)}
    by_count = {k for k, s in enumerate(plan.set_ups, 1) if s.by_count}
    rows = []
    for name in dict.fromkeys([*(p.board for p in plan.job.passes), *plan.job.without_pass]):
        passes = [(k, p) for k, p in enumerate(plan.job.passes) if p.board == name]
        planned = [figures[k] for k, _ in passes if k in figures]
        known = made.get(name)
        cost = costs.get(name)
        takts = [f.keeps_takt for _, f in planned]
        rows.append(
            BoardRow(
                board=name,
                verdict=_verdict(plan, name, [p.name for _, p in passes]),
                sides=tuple(p.side for _, p in passes),
                placements=tuple(f.placements for _, f in planned),
                pieces=passes[0][1].boards if passes else 1,
                seconds=None if known is None else known.seconds_a_board,
                per_hour=None if known is None else known.per_hour,
                planned_per_hour=_planned(planned, passes) if known is not None else None,
                per_year=_per_year(plan, name, [p for _, p in passes]),
                hours=_hours(passes, figures) if known is not None else None,
                takt=False if False in takts else None if None in takts else True,
                has_takt=any(f.takt is not None for _, f in planned),
                set_by=tuple(f.bottleneck for k, f in planned if k not in by_count),
                set_ups=tuple(dict.fromkeys(k for k, _ in planned)),
                cost=None if cost is None else cost.total,
                currency="" if cost is None else cost.currency,
            )
        )
    return rows


def _planned(figures: Sequence[tuple[int, PassFigures]], passes: Sequence[tuple[int, Pass]]) -> float | None:
    """Return the finished boards of an hour by the times planned."""
    seconds = sum(f.planned for _, f in figures)
    return passes[0][1].boards * 3600 / seconds if seconds > 0 else None


def _verdict(plan: Plan, name: str, passes: Sequence[str]) -> str:
    """Return the gravest of what is said of a board; what is said of line or set-ups is of no board alone."""
    for grade, every in (("unanswered", plan.unanswered), ("fail", plan.failed), ("warn", plan.warned)):
        if any(_is_about(said, {name, *passes}) for said in every):
            return grade
    return "pass"


def _is_about(said: Said, names: Collection[str]) -> bool:
    """Return whether a statement is about a board or pass of these, itself or by the reason that stands in it."""
    why = said.values.get("why")
    return said.values.get("board") in names or (isinstance(why, Said) and _is_about(why, names))


def _per_year(plan: Plan, name: str, passes: Sequence[Pass]) -> float | None:
    panels = plan.job.yearly(name)
    return None if panels is None else panels * (passes[0].boards if passes else 1)


def _hours(passes: Sequence[tuple[int, Pass]], figures: dict[int, tuple[int, PassFigures]]) -> Interval | None:
    """Return the running hours that a year's boards take, all sides; None where their number is not given."""
    if any(p.per_year is None for _, p in passes):
        return None
    return total(figures[k][1].cycle.scaled((p.per_year or 0.0) / 3600) for k, p in passes)


def table_of(rows: Sequence[Sequence[str]], columns: Sequence[str] = COLUMNS) -> Iterator[tuple[str, ...]]:
    """Yield the heads and rows of a table without the columns that say nothing; one board a panel is nothing."""
    blank = {"boards a panel": {"1", ""}}
    kept = [k for k, name in enumerate(columns) if not {row[k] for row in rows} <= blank.get(name, {""})]
    yield tuple(columns[k] for k in kept)
    yield from (tuple(row[k] for k in kept) for row in rows)


def finite(value: float) -> float | None:
    """Return a number, None where nothing bounds it."""
    return value if math.isfinite(value) else None
