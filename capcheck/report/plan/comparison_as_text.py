"""Lines side by side as a table of text, with the reasons below it; and what a search for a line came upon."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from capcheck.lexicon import cautions, sentence
from capcheck.planning import Comparison, Composed, Row
from capcheck.report.plan.plan_as_text import plan_text
from capcheck.report.plan.spans import count, numbered
from capcheck.report.styled_lines import WIDTH_WHEN_PIPED, wrapped
from capcheck.values import Interval

_HEAD = (
    "line",
    "verdict",
    "not placed",
    "not proved",
    "slots needed/available",
    "cycle s",
    "boards/h",
    "length mm",
    "area m²",
    "placements/h/m²",
    "feeders out/in",
)
_REASONS = 4

_LEGEND = (
    "not placed: part numbers that no place was found for; not proved: part numbers that stand where it is not proved "
    "that they can. cycle: of one pass, slowest station, mean of the passes by quantity; * without what is not placed; "
    "≥ at least, ≤ at most, as something is not stated. boards/h: finished boards, all sides here, while it runs."
)


def _cell(value: float | None, digits: int) -> str:
    return "unknown" if value is None else f"{value:,.{digits}f}"


def _left_over(row: Row) -> str:
    if not row.plan.set_ups and row.plan.shortage is None:
        return "no plan"
    if row.plan.shortage is None:
        return "none"
    return f"{row.left_over}" if row.plan.shortage.proved else f"{row.left_over} at most"


def _row(row: Row) -> tuple[str, ...]:
    there = "unknown" if row.slots is None else str(row.slots)
    mark = ("≥ " if row.at_least else "") if row.cycle is not None else ""
    most = "≤ " if mark else ""
    star = " *" if row.left_over and row.cycle is not None else ""
    return (
        row.line,
        row.verdict,
        _left_over(row),
        str(row.not_proved) if row.not_proved else "none",
        f"{count(Interval(*row.slots_needed))}/{there}",
        f"{mark}{_cell(row.cycle, 2)}{star}",
        f"{most}{_cell(row.boards_per_hour, 1)}",
        _cell(row.length, 0),
        _cell(row.area, 3),
        _cell(row.per_hour_and_m2, 0),
        f"{row.changeover_out}/{row.changeover_in}",
    )


def _reasons(rows: tuple[Row, ...]) -> Iterator[str]:
    for row in rows:
        for said in row.plan.why[:_REASONS]:
            yield f"{row.line}: {sentence(said)}"
        if len(row.plan.why) > _REASONS:
            yield f"{row.line}: and {len(row.plan.why) - _REASONS} more, see capcheck plan"


def comparison_text(comparison: Comparison, width: int = WIDTH_WHEN_PIPED) -> str:
    """Return a comparison of lines as text at most *width* wide where its names allow; the last line names the best.

    A line is a row, or a column where rows would be too long.
    """
    best = comparison.best
    name = "none places everything and passes the boards" if best is None else comparison.rows[best].line
    reasons = list(_reasons(comparison.rows))
    lines = _table([_HEAD, *map(_row, comparison.rows)], width)
    lines += wrapped(_LEGEND, width)
    if reasons:
        lines += ["Why it does not pass:", *(t for text in reasons for t in wrapped(text, width, "  ", "      "))]
    lines += wrapped(cautions(), width)
    return "\n".join([*lines, f"Best by {comparison.criterion}: {name}"]) + "\n"


def _table(rows: list[tuple[str, ...]], width: int) -> list[str]:
    by_row, by_column = _aligned(rows), _aligned(list(zip(*rows, strict=True)))
    return by_row if max(map(len, by_row)) <= max(width, max(map(len, by_column)) - 1) else by_column


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows]


def composed_text(found: Composed, criterion: str, width: int = WIDTH_WHEN_PIPED) -> str:
    """Return the best line composed of a stock: what was searched, and its plan."""
    if found.row is None:
        told = "".join(f"{text}\n" for text in wrapped(cautions(), width))
        ended = "" if found.complete else ", as far as the time limit let them be looked at"
        return f"none of {numbered(found.candidates, 'line')} takes every part{ended}\n{told}"
    value = {
        "cycle": f"mean cycle {_cell(found.row.cycle, 2)} s",
        "length": f"{_cell(found.row.length, 0)} mm",
        "output per area": f"{_cell(found.row.per_hour_and_m2, 0)} placements/h/m²",
    }.get(criterion, numbered(len(found.row.machines), "machine"))
    head = f"best of {numbered(found.candidates, 'line')} by {criterion}: {' → '.join(found.row.machines)}: {value}"
    if not found.complete:
        beats = "" if found.bound is None else f"; proved is that none is better than {found.bound:,.2f}"
        head += f"\n  the time limit ended the search after {numbered(found.planned, 'line')}{beats}"
    head = "\n".join(text for line in head.splitlines() for text in wrapped(line, width, "", "    "))
    return f"{head}\n\n{plan_text(found.row.plan, width=width)}"
