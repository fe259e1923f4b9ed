"""Lines side by side as a page shows them: a row a line, each figure as a bar on one scale for all lines."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from capcheck.planning import Comparison, Row
from capcheck.report.papers.bars import Bar, Scale
from capcheck.report.papers.plan_view import why_view
from capcheck.report.plan import (
    carried,
    cost_of_board,
    count,
    left_over,
    verdict_sentence,
    within,
)
from capcheck.values import Interval


class LineView(Struct, frozen=True):
    """One line of a comparison: verdict, ranges as bars, slots left, and what stands against it."""

    line: str
    machines: tuple[str, ...]
    verdict: str
    sentence: str
    cycle: Bar
    boards: Bar
    output: Bar
    slots: str
    free: str
    not_placed: str
    partial: bool
    """Whether the figures are without parts that no place was found for."""
    not_proved: int
    floor: str
    cost: str
    """What a board costs; empty where no shop states costs."""
    changeover: str
    why: tuple[tuple[str, Sequence[str]], ...]
    """What stands against it; warnings by kind, the first with the others of its kind."""
    standing: str
    """Whether it is the best by the criterion, or one of those that nothing tells apart."""


def line_views(comparison: Comparison) -> list[LineView]:
    """Return a view of each line, in the order in which they were named."""
    rows = comparison.rows
    cycles = _bars([(r.cycle, r.cycle_within, 2) for r in rows], [f" s{carried(r)}" for r in rows])
    boards = _bars([(r.boards_per_hour, r.boards_within, 1) for r in rows])
    outputs = _bars([(r.per_hour_and_m2, r.output_within, 0) for r in rows])
    rivals = comparison.rivals
    best = f"best by {comparison.criterion}"
    if comparison.criterion == "cycle":
        best = f"least cycle{' for each board' if any(map(carried, rows)) else ''}"
    met = "ranges overlap" if comparison.ranges_meet else "not proved apart"
    views = []
    for k, row in enumerate(rows):
        apart = "" if k not in {comparison.best, *rivals} else met if rivals else best
        there = "not stated" if row.slots is None else str(row.slots)
        needed = Interval(*row.slots_needed)
        free = "not known" if row.slots is None else count(Interval(row.slots - needed.high, row.slots - needed.low))
        views.append(
            LineView(
                row.line,
                row.machines,
                row.verdict,
                verdict_sentence(row.plan),
                cycles[k],
                boards[k],
                outputs[k],
                f"{count(needed)} of {there}" if row.plan.set_ups or not row.plan.job.passes else "no plan",
                free if row.plan.set_ups else "not known",
                left_over(row),
                row.left_over > 0,
                row.not_proved,
                _floor(row),
                cost_of_board(row) if row.plan.costs else "",
                f"{row.changeover_out} off, {row.changeover_in} on" if row.plan.changeovers else "none",
                tuple(why_view(row.plan)),
                apart,
            )
        )
    return views


def _bars(
    figures: Sequence[tuple[float | None, Interval | None, int]], units: Sequence[str] | None = None
) -> list[Bar]:
    """Return a bar for each (planned, what is known, digits), all on one scale, each with its unit."""
    ends = [end for _, known, _ in figures if known is not None for end in (known.low, known.high)]
    scale = Scale.of([*ends, *(planned for planned, *_ in figures if planned is not None)])
    out = []
    for (planned, known, digits), unit in zip(figures, units or [""] * len(figures), strict=True):
        if planned is None or known is None or not math.isfinite(planned):
            out.append(Bar("", "not known", 0.0, 0.0, 0.0))
        else:
            out.append(scale.bar("", within(known, digits) + unit, planned, known))
    return out


def _floor(row: Row) -> str:
    length = "length not known" if row.length is None else f"{row.length / 1000:,.1f} m"
    area = "area not known" if row.area is None else f"{row.area:,.2f} m² of machines"
    return f"{length}, {area}"
