"""A plan and a comparison as workbooks: what their pages show, each range as two numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from capcheck.lexicon import sentence
from capcheck.planning import Change, Comparison, Composed, Plan, feeders_to_own, on_bottleneck
from capcheck.report.papers.plan_view import change_views, refills
from capcheck.report.plan import (
    HAND_COLUMNS,
    NAMES,
    bench_lines,
    best_line,
    board_rows,
    change_lines,
    cost_head,
    finite,
    hand_rows,
    kind_of_feeder,
    nowhere_lines,
    order_lines,
    search_lines,
    set_up_rows,
    sum_of_term,
    two_lane_lines,
    two_line_lines,
    verdict_sentence,
    why_lines,
)
from capcheck.report.spreadsheet_cells import with_cautions
from capcheck.report.workbook import Workbook
from capcheck.values import Interval

_ByHand = Mapping[tuple[str, str], Sequence[str]]
_Rows = Sequence[Sequence[object]]

_WIDTHS: Final = {
    "board": 26,
    "line": 22,
    "machines": 40,
    "machine": 20,
    "station": 20,
    "set-up": 26,
    "part number": 22,
    "value": 16,
    "package": 18,
    "references": 50,
    "how it is worked out": 50,
    "what": 90,
    "why": 40,
    "note": 60,
    "from": 26,
    "to": 26,
    "feeder": 22,
}


def plan_xlsx(
    plan: Plan,
    changes: tuple[Change, ...] | None = None,
    *,
    by_hand: _ByHand | None = None,
    hand_seconds: float | None = None,
    lead: Sequence[str] = (),
) -> bytes:
    """Return the workbook of a plan, its arguments those of its page.

    Raises :class:`~capcheck.values.InputError` where no library writes it.
    """
    with Workbook() as book:
        _sheet(book, "boards", list(with_cautions([_BOARDS, *_boards(plan)])), marked="verdict")
        said = [*lead, verdict_sentence(plan), *_why(plan), *order_lines(plan), *bench_lines(plan)]
        said += two_lane_lines(plan)
        said += [] if changes is None else [line.strip() for line in change_lines(plan, changes)]
        notes = [f"not computed: {sentence(one)}" for one in plan.not_computed] + [sentence(n) for n in plan.notes]
        _sheet(book, "what is said", [("what",), *((line.strip(" :"),) for line in (*said, *notes))], wrap=True)
        _sheet(book, "load", [_LOAD, *_load(plan)])
        _sheet(book, "slots", [_SLOTS, *_slots(plan)])
        _sheet(book, "set-up list", _in_machines_order(plan))
        hand = [HAND_COLUMNS, *(row.cells() for row in hand_rows(plan, by_hand, hand_seconds))]
        _sheet(book, "by hand", hand)
        _sheet(book, "changeovers", [("set-ups", "what", "machine", "slot", "part number"), *_changeovers(plan)])
        lasting = [(r.machine, r.slot, r.part, r.board, r.sum, r.after, r.minutes) for r in refills(plan)]
        _sheet(book, "refills", [("machine", "slot", "part number", "board", "sum", "lasts for", "minutes"), *lasting])
        _sheet(book, "cost", [("board", "cost", "how it is worked out", "least", "most", "currency"), *_costs(plan)])
        owned = [(kind_of_feeder(o), *_pair(o.at_once), *_pair(o.beside)) for o in feeders_to_own(plan)]
        _sheet(
            book,
            "feeders to own",
            [("feeder", "at once", "at once at most", "with the next", "with the next at most"), *owned],
        )
        _sheet(book, "slowest machine", [_SLOWEST, *_slowest(plan)])
    return book.content


def comparison_xlsx(comparison: Comparison) -> bytes:
    """Return the workbook of a comparison. Raises :class:`~capcheck.values.InputError` where no library writes it."""
    rows = comparison.rows
    with Workbook() as book:
        lines = [
            (
                row.line,
                ", ".join(row.machines),
                row.verdict,
                row.left_over,
                row.not_proved,
                *row.slots_needed,
                row.slots,
                *_pair(row.cycle_within),
                *_pair(row.boards_within),
                row.length,
                row.area,
                *_pair(row.output_within),
                *_pair(row.cost),
                row.changeover_out,
                row.changeover_in,
            )
            for row in rows
        ]
        _sheet(book, "lines", list(with_cautions([_LINES, *map(_bounded, lines)])), marked="verdict")
        said = [("", best_line(comparison)), *((row.line, text) for row in rows for text in _why(row.plan))]
        said += [("", line) for line in two_line_lines([row.plan for row in rows])]
        _sheet(book, "what is said", [("line", "what"), *said], wrap=True)
        boards = [(row.line, *cells) for row in rows for cells in _boards(row.plan)]
        _sheet(book, "boards", [("line", *_BOARDS), *boards], marked="verdict")
        _sheet(book, "load", [("line", *_LOAD), *((row.line, *cells) for row in rows for cells in _load(row.plan))])
    return book.content


def composed_xlsx(found: Composed, criterion: str) -> bytes:
    """Return the workbook of the best line composed of a stock, or of there being none."""
    lead = [line.strip() for line in search_lines(found, criterion)]
    if found.row is not None:
        return plan_xlsx(found.row.plan, lead=lead)
    with Workbook() as book:
        _sheet(book, "what is said", list(with_cautions([("what",), *((line,) for line in lead)])), wrap=True)
    return book.content


def _why(plan: Plan) -> list[str]:
    """Return what stands against a pass, with the parts that no machine takes and the limits that keep them off."""
    return [*why_lines(plan), *nowhere_lines(plan.shortage.nowhere if plan.shortage else ())]


def _sheet(book: Workbook, title: str, table: _Rows, *, marked: str = "", wrap: bool = False) -> None:
    """Add a sheet; of what has no rows, too, as that there are none is an answer."""
    book.sheet(title, table, _WIDTHS, marked=marked, wrap=wrap)


def _pair(value: Interval | None) -> tuple[float | None, float | None]:
    """Return both ends; nothing for what is not known or without bound."""
    return (None, None) if value is None else (finite(value.low), finite(value.high))


def _bounded(cells: tuple[object, ...]) -> tuple[object, ...]:
    return tuple(None if isinstance(cell, float) and not math.isfinite(cell) else cell for cell in cells)


_LINES: Final = (
    "line",
    "machines",
    "verdict",
    "part numbers not placed",
    "not proved",
    "slots needed",
    "slots at most",
    "slots available",
    "cycle s",
    "cycle at most s",
    "boards/h",
    "boards/h at most",
    "length mm",
    "area m²",
    "placements/h/m²",
    "placements/h/m² at most",
    "cost of a board",
    "cost at most",
    "feeders out",
    "feeders in",
)
_BOARDS: Final = (
    "board",
    "verdict",
    "placed on top",
    "placed on bottom",
    "boards a panel",
    "s a board",
    "s a board at most",
    "boards/h",
    "boards/h at most",
    "boards a year",
    "h a year",
    "h a year at most",
    "takt",
    "set by",
    "set-up",
    "cost of a board",
    "cost at most",
    "currency",
)
_LOAD: Final = ("board", "station", "planned s", "least s", "most s", "placements", "sets the cycle")
_SLOTS: Final = ("set-up", "machine", "needed", "needed at most", "available", "trays", "trays at most", "tray places")
_SLOWEST: Final = ("board", "machine", "sets the cycle", "part number", "placements", "least s", "most s")


def _boards(plan: Plan) -> Iterator[tuple[object, ...]]:
    for row in board_rows(plan):
        placed = dict(zip(row.sides, row.placements, strict=False))
        yield (
            row.board,
            row.verdict,
            placed.get("top"),
            placed.get("bottom"),
            row.pieces,
            *_pair(row.seconds),
            *_pair(row.per_hour),
            row.per_year,
            *_pair(row.hours),
            row.takt_in_words,
            ", ".join(dict.fromkeys(row.set_by)),
            ", ".join(map(str, row.set_ups)),
            *_pair(row.cost),
            row.currency,
        )


def _load(plan: Plan) -> Iterator[tuple[object, ...]]:
    for set_up in plan.set_ups:
        for figures, times in zip(set_up.figures, set_up.times, strict=True):
            placed = {time.machine: time.placements for time in times}
            for s in figures.stations:
                sets = "yes" if s.name == figures.bottleneck and not set_up.by_count else ""
                yield figures.board, s.name, finite(s.planned), *_pair(s.seconds), placed.get(s.name), sets


def _slots(plan: Plan) -> Iterator[tuple[object, ...]]:
    for set_up in plan.set_ups:
        for o in set_up.occupied:
            needed, trays = _pair(o.slots_needed), _pair(o.trays_needed)
            yield sentence(set_up.name), o.where, *needed, o.slots, *trays, o.trays


def _in_machines_order(plan: Plan) -> _Rows:
    """Return the set-up list as it is kitted: by set-up, machine and slot as they stand along the line."""
    head, *rows = set_up_rows(plan)
    order = {machine: k for k, machine in enumerate(plan.machines)}
    set_ups = {sentence(s.name): k for k, s in enumerate(plan.set_ups)}
    return [head, *sorted(rows, key=lambda row: (set_ups[str(row[0])], order[str(row[1])]))]


def _changeovers(plan: Plan) -> Iterator[tuple[object, ...]]:
    for change in change_views(plan):
        for word, rows in (("take off", change.off), ("put on", change.on)):
            yield from ((change.title, word, *row) for row in rows)


def _costs(plan: Plan) -> Iterator[tuple[object, ...]]:
    for cost in plan.costs:
        yield from ((cost.board, NAMES[t.kind], sum_of_term(t), *_pair(t.amount), cost.currency) for t in cost.terms)
        yield cost.board, "a good board", cost_head(cost), *_pair(cost.total), cost.currency


def _slowest(plan: Plan) -> Iterator[tuple[object, ...]]:
    for one in on_bottleneck(plan):
        sets = "yes" if one.sets_cycle else ""
        yield from ((one.board, one.machine, sets, r.part, r.placements, *_pair(r.seconds)) for r in one.parts)
