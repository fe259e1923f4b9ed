"""Lines side by side as a table of text, with the reasons below it; and what a search for a line came upon."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from capcheck.lexicon import cautions, sentence
from capcheck.planning import Comparison, Composed, Nowhere, Row
from capcheck.report.plan.costs_and_work import money
from capcheck.report.plan.plan_as_text import brief_plan, plan_text
from capcheck.report.plan.spans import count, ends, numbered, reasons, some, two_line_lines
from capcheck.report.styled_lines import WIDTH_WHEN_PIPED, wrapped
from capcheck.values import Interval

_COST = "cost of a board"
"""A column that is left out where nobody states costs."""
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
    _COST,
    "feeders out/in",
)
_REASONS = 4

_LEGEND = (
    "not placed: part numbers that no place was found for; not proved: part numbers that stand where it is not proved "
    "that they can. cycle: of one pass, slowest station, mean of the passes by quantity, of a panel where it says so; "
    "* without what is not placed. "
    "Ranges are what is known; where something is not stated, one end alone is. boards/h: finished boards, all sides "
    "here, while it runs."
)


def _cell(value: float | None, digits: int) -> str:
    return "unknown" if value is None else f"{value:,.{digits}f}"


def within(value: Interval | None, digits: int) -> str:
    """Return what is known of a figure, both ends, or that nothing is."""
    return "unknown" if value is None else ends(value, digits)


def left_over(row: Row) -> str:
    """Return how many part numbers a line does not place, at most where the fewest are not proved."""
    if row.plan.job.passes and not row.plan.set_ups and row.plan.shortage is None:
        return "no plan"
    if row.plan.shortage is None:
        return "none"
    return f"{row.left_over}" if row.plan.shortage.proved else f"{row.left_over} at most"


def cost_of_board(row: Row) -> str:
    """Return what a board costs on a line, as far as rates are stated."""
    return "not known" if row.cost is None else money(row.cost, row.plan.costs[0].currency)


def carried(row: Row) -> str:
    """Return what the cycle is for where that is no single board: `` per panel of 6``."""
    single = all(board.boards == 1 for board in row.plan.job.passes)
    return "" if single or row.cycle is None else f" {sentence(row.plan.job.per)}"


def _row(row: Row) -> tuple[str, ...]:
    there = "unknown" if row.slots is None else str(row.slots)
    star = " *" if row.left_over and row.cycle is not None else ""
    return (
        row.line,
        row.verdict,
        left_over(row),
        str(row.not_proved) if row.not_proved else "none",
        f"{count(Interval(*row.slots_needed))}/{there}",
        f"{within(row.cycle_within, 2)}{carried(row)}{star}",
        within(row.boards_within, 1),
        _cell(row.length, 0),
        _cell(row.area, 3),
        within(row.output_within, 0),
        cost_of_board(row),
        f"{row.changeover_out}/{row.changeover_in}",
    )


def _reasons(rows: tuple[Row, ...]) -> Iterator[str]:
    for row in rows:
        for said in row.plan.why[:_REASONS]:
            yield f"{row.line}: {sentence(said)}"
        if len(row.plan.why) > _REASONS:
            yield f"{row.line}: and {len(row.plan.why) - _REASONS} more, see capcheck plan"
        yield from (f"{row.line}: {text}" for text in _nowhere(row))


def _nowhere(row: Row) -> Iterator[str]:
    """Yield the parts that no machine of a line takes, each with what the first head that says why lacks."""
    yield from nowhere_lines(() if row.plan.shortage is None else row.plan.shortage.nowhere)


def nowhere_lines(nowhere: Sequence[Nowhere]) -> Iterator[str]:
    """Yield the first parts that no machine takes, each with what the first head that says why lacks."""
    for one in nowhere[:_REASONS]:
        why = next((f": {head}, {'; '.join(reasons(takes))}" for head, takes in one.reasons if takes), "")
        yield f"no machine can place {one.part} ({numbered(one.placements, 'placement')}){why}"
    if len(nowhere) > _REASONS:
        yield f"nor {numbered(len(nowhere) - _REASONS, 'part number')} more, see capcheck plan"


def comparison_text(comparison: Comparison, width: int = WIDTH_WHEN_PIPED) -> str:
    """Return a comparison of lines as text at most *width* wide where its names allow; the last line names the best.

    A line is a row, or a column where rows would be too long.
    """
    reasons = list(_reasons(comparison.rows))
    rows = [_HEAD, *map(_row, comparison.rows)]
    if not any(row.plan.costs for row in comparison.rows):
        rows = [tuple(cell for cell, head in zip(row, _HEAD, strict=True) if head != _COST) for row in rows]
    lines = _table(rows, width)
    lines += wrapped(_LEGEND, width)
    if reasons:
        lines += ["Why it does not pass:", *(t for text in reasons for t in wrapped(text, width, "  ", "      "))]
    for text in two_line_lines([row.plan for row in comparison.rows]):
        lines += wrapped(text, width, "", "    ")
    lines += wrapped(cautions(), width)
    return "\n".join([*lines, *wrapped(best_line(comparison), width)]) + "\n"


def brief_comparison(comparison: Comparison, width: int) -> str:
    """Return how a comparison ended: each line's verdict, why it does not pass, and which line is best."""
    lines = [text for row in comparison.rows for text in wrapped(f"{row.verdict}  {row.line}", width, "", "    ")]
    lines += [text for reason in _reasons(comparison.rows) for text in wrapped(reason, width, "  ", "      ")]
    lines += [*wrapped(cautions(), width), *wrapped(best_line(comparison), width)]
    return "".join(f"{text}\n" for text in lines)


def best_line(comparison: Comparison) -> str:
    """Return which line is best, where what is known tells; ranges that meet tell of no best."""
    by = in_full(comparison.criterion)
    by += " for each board" if comparison.criterion == "cycle" and any(map(carried, comparison.rows)) else ""
    if comparison.best is None:
        name = "none places everything and passes the boards"
    else:
        name = comparison.rows[comparison.best].line
        others = [comparison.rows[k].line for k in comparison.rivals]
        if others:
            return f"No clear best by {by}: {', '.join([name, *others])}: {_not_told(comparison)}"
    return f"Best by {by}: {name}"


def _not_told(comparison: Comparison) -> str:
    """Return why lines are not told apart."""
    if comparison.ranges_meet:
        return "their ranges overlap"
    return (
        "they cannot be told apart yet, the search ended before one was proved better (a longer --time-limit may tell)"
    )


def line_so_far(row: Row) -> str:
    """Return how a line does, in one line, while others are still planned."""
    cycle = f", cycle {within(row.cycle_within, 2)} s{carried(row)}" if row.cycle is not None else ""
    why = f": {sentence(row.plan.why[0])}" if row.plan.why else ""
    return f"{row.line}: {row.verdict}{cycle}{why}"


def composed_so_far(machines: Sequence[str], cycle: float) -> str:
    """Return the best line so far, in one line, while others are still looked at."""
    return f"best so far: {' → '.join(machines)}: mean cycle {cycle:.2f} s"


def in_full(criterion: str) -> str:
    """Return a criterion of the command line as a reader calls it."""
    return "cycle time" if criterion == "cycle" else criterion


def _table(rows: list[tuple[str, ...]], width: int) -> list[str]:
    by_row, by_column = _aligned(rows), _aligned(list(zip(*rows, strict=True)))
    return by_row if max(map(len, by_row)) <= max(width, max(map(len, by_column)) - 1) else by_column


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows]


def composed_text(found: Composed, criterion: str, width: int = WIDTH_WHEN_PIPED) -> str:
    """Return the best line composed of a stock: what was searched, and its plan."""
    head = search_lines(found, criterion)
    if found.row is None:
        return "".join(f"{text}\n" for line in (*head, cautions()) for text in wrapped(line, width))
    told = "\n".join(text for line in head for text in wrapped(line, width, "", "    "))
    return f"{told}\n\n{plan_text(found.row.plan, width=width)}"


def brief_composed(found: Composed, criterion: str, width: int) -> str:
    """Return how a composition ended: what was found, and why that does not pass."""
    head = [text for line in search_lines(found, criterion) for text in wrapped(line, width, "", "    ")]
    head += wrapped(cautions(), width) if found.row is None else ()
    told = "".join(f"{text}\n" for text in head)
    return told if found.row is None else told + brief_plan(found.row.plan, width)


def search_lines(found: Composed, criterion: str) -> list[str]:
    """Return what was searched of a stock, and how the best line found does."""
    if found.row is None:
        ended = "" if found.complete else ", as far as the time limit let them be looked at"
        return [
            f"none of {numbered(found.candidates, 'line')} places every part{ended}",
            *nowhere_lines(found.nowhere),
        ]
    value = {
        "cycle": f"mean cycle {within(found.row.cycle_within, 2)} s",
        "length": f"{_cell(found.row.length, 0)} mm",
        "output per area": f"{within(found.row.output_within, 0)} placements/h/m²",
    }.get(criterion, numbered(len(found.row.machines), "machine"))
    by, order = in_full(criterion), " → ".join(found.row.machines)
    head = [f"best of {numbered(found.candidates, 'line')} by {by}: {order}: {value}"]
    if not found.complete:
        beats = "" if found.bound is None else f"; proved is that none is better than {found.bound:,.2f}"
        head.append(f"  the time limit ended the search after {numbered(found.planned, 'line')}{beats}")
    devices = found.row.plan.devices
    with_some = [m.name for m in devices.machines if m.option] if devices is not None else []
    if with_some:
        head.append(f"  counted without any head or camera options: {some(with_some)}")
    return head
