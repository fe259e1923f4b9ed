"""A plan of several boards on two screens: a row a board, a line a set-up, what stands against it by kind, the sums."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from capcheck.planning import Occupied, Plan, SetUp
from capcheck.report.plan.rows_of_boards import board_rows, table_of
from capcheck.report.plan.spans import numbered, why_by_kind
from capcheck.report.plan.summary import left_over_line, slots, verdict_word

_LEAST_NAME: Final = 20
"""Letters of a board's name that a table keeps."""
_DISPENSABLE: Final = ("set by", "boards a panel", "set-up", "takt", "placed")
"""Columns of the boards' table that give way on a narrow screen, the first first."""
_SET_UPS: Final = 20
"""Set-ups that have a line; others are counted."""
_LEGEND: Final = (
    "placed: by machine, each side, of what the conveyor carries; s a board: of the line, all sides; boards/h: "
    "finished, while the line runs; h a year: running hours."
)


def overview(plan: Plan, width: int) -> Iterator[str]:
    """Yield verdict, a table of the boards at most *width* wide, what stands against a pass, and the set-ups."""
    yield f"{verdict_word(plan)}  Plan of {numbered(len(board_rows(plan)), 'board')} on {plan.line}"
    yield f"      machines: {', '.join(plan.machines)}"
    yield f"      not placed: {left_over_line(plan)}"
    yield ""
    yield from board_table(plan, width)
    yield _LEGEND
    if plan.why:
        yield ""
    for first, others in why_by_kind(plan):
        yield f"  {first}{f' (and {len(others)} more of this kind)' if others else ''}"
    yield ""
    yield from set_up_lines(plan)


def set_up_lines(plan: Plan) -> Iterator[str]:
    """Yield a line for each set-up: its number, boards, feeders, the fullest place, and how near it is to the bound."""
    yield "Set-ups, in the order in which fewest feeders move:" if len(plan.set_ups) > 1 else "Set-up:"
    for number, set_up in enumerate(plan.set_ups[:_SET_UPS], 1):
        boards = "; ".join(plan.job.passes[p].name for p in set_up.passes)
        trays = sum(f.supply == "tray" for f in set_up.feeders)
        feeders = numbered(len(set_up.feeders) - trays, "feeder") + (f", {numbered(trays, 'tray')}" if trays else "")
        gap = f"; slowest machine within {100 * set_up.gap:.1f} % of the bound" if set_up.gap > 0.001 else ""
        yield f"  {number}  {boards}: {feeders}{_fullest(set_up)}{gap}"

    if len(plan.set_ups) > _SET_UPS:
        yield f"  {len(plan.set_ups) - _SET_UPS} more: --full"


def _fullest(set_up: SetUp) -> str:
    """Return the machine or bank with the least room left, where the slots of some are stated."""

    def room(at: Occupied) -> float:
        return 1 - at.slots_needed.high / at.slots if at.slots else 1.0

    stated = [at for at in set_up.occupied if at.slots]
    if not stated:
        return ""
    at = min(stated, key=room)
    return f"; fullest, {at.where}: {slots(at)} slots"


def board_table(plan: Plan, width: int) -> list[str]:
    """Return the boards as the lines of a table; where a row would be wider than *width*, columns are left out."""
    rows = list(table_of([row.cells for row in board_rows(plan)]))
    for dispensable in ("", *_DISPENSABLE):
        if dispensable in rows[0]:
            at = rows[0].index(dispensable)
            rows = [(*row[:at], *row[at + 1 :]) for row in rows]
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        room = width - sum(widths[1:]) - 2 * (len(widths) - 1)
        if room >= min(widths[0], _LEAST_NAME):
            break
    widths[0] = min(widths[0], max(room, _LEAST_NAME))
    short = [(name if len(name) <= widths[0] else f"{name[: widths[0] - 1]}…", *rest) for name, *rest in rows]
    return ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in short]
