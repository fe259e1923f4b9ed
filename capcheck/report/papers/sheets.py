"""Plan, comparison, quote sheet and lists as HTML files: no script, no network, made for the screen and for print."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from statistics import fmean
from typing import Final

from msgspec import Struct

from capcheck.lexicon import cautions, customers_catalogue, sentence
from capcheck.planning import Change, Comparison, Composed, Plan, feeders_to_own, on_bottleneck
from capcheck.report.page import environment_of, template_text
from capcheck.report.papers.comparison_view import line_views
from capcheck.report.papers.cost_view import cost_views
from capcheck.report.papers.plan_view import (
    boards_view,
    change_views,
    figures_of,
    machine_views,
    pass_views,
    refills,
    why_view,
)
from capcheck.report.papers.quote import Quote
from capcheck.report.plan import (
    HAND_COLUMNS,
    bench_lines,
    best_line,
    break_even_lines,
    change_lines,
    count,
    ends,
    hand_rows,
    kind_of_feeder,
    order_lines,
    refill_lines,
    search_lines,
    set_up_rows,
    sum_lines,
    two_lane_lines,
    two_line_lines,
    verdict_sentence,
)
from capcheck.values import shortened
from capcheck.version import __version__

_PACKAGE = "capcheck.report.papers"
_ALL: Final = 10_000
_SHORT: Final = 16
"""Letters below which a cell is not broken."""
_LONG: Final = 60
_PADDING: Final = 2
"""What stands beside a cell's text, in letters."""
_ByHand = Mapping[tuple[str, str], Sequence[str]]


class _Table(Struct, frozen=True):
    """A part of a list: its heading, the names of its columns, and its rows."""

    title: str
    columns: Sequence[object]
    rows: Sequence[Sequence[object]]


def _in_runs(refs: Iterable[str]) -> str:
    """Return every reference, with runs of them as a person reads them."""
    return shortened(list(refs), _ALL)


def shares_of(columns: Sequence[object], rows: Sequence[Sequence[object]]) -> list[float]:
    """Return the width of each column in percent of the table's, by how much there is to read in it."""
    wanted = []
    for k, name in enumerate(columns):
        texts = ["" if row[k] is None else str(row[k]) for row in rows]
        word = max((len(word) for text in (*texts, str(name)) for word in text.split()), default=1)
        short = max((len(text) for text in texts if len(text) < _SHORT), default=0)
        wanted.append(max(min(word, _SHORT), short, min(fmean(map(len, texts or [""])), _LONG)) + _PADDING)
    return [round(100 * want / sum(wanted), 2) for want in wanted]


def page_of(template: str, **values: object) -> str:
    """Return a paper; all of them share frame and look. Raises :class:`~capcheck.values.InputError`."""
    environment = environment_of(_PACKAGE)
    environment.filters.update(shortened=_in_runs, sentence=sentence, ends=ends, shares=shares_of)
    style = template_text("report.css") + template_text("paper.css", _PACKAGE)
    return environment.get_template(template).render(cautions=cautions(), version=__version__, style=style, **values)


def plan_page(
    plan: Plan,
    changes: tuple[Change, ...] | None = None,
    *,
    by_hand: _ByHand | None = None,
    hand_seconds: float | None = None,
    lead: Sequence[str] = (),
) -> str:
    """Return the page of a plan.

    *changes* are what would change it, None if nobody asked; *by_hand* the references, by board and part number, that
    no placement head is asked about; *lead* stands before all else. Raises :class:`~capcheck.values.InputError`.
    """
    hand = hand_rows(plan, by_hand, hand_seconds)
    each = [row.each for row in hand]
    seconds = sum((row.each or 0.0) * row.count for row in hand)
    return page_of(
        "plan.html",
        plan=plan,
        lead=lead,
        said=verdict_sentence(plan),
        figures=figures_of(plan),
        why=why_view(plan),
        boards=boards_view(plan),
        two_lanes=two_lane_lines(plan),
        passes=pass_views(plan),
        machines=machine_views(plan),
        per=sentence(plan.job.per),
        hand=hand,
        benches=bench_lines(plan),
        hand_total="seconds not known" if None in each else f"{seconds:g} s",
        changeovers=change_views(plan),
        order=[*order_lines(plan), *(line.strip(" :") for line in break_even_lines(plan))],
        refills=refills(plan),
        refills_an_hour=list(refill_lines(plan)),
        costs=cost_views(plan),
        owned=[(kind_of_feeder(o), count(o.at_once), count(o.beside)) for o in feeders_to_own(plan)],
        bottlenecks=on_bottleneck(plan),
        changes=None if changes is None else [line.strip() for line in change_lines(plan, changes)],
        sums=list(sum_lines(plan)),
    )


def comparison_page(comparison: Comparison) -> str:
    """Return the page of a comparison. Raises :class:`~capcheck.values.InputError`."""
    names = dict.fromkeys(row.plan.job.name for row in comparison.rows)
    return page_of(
        "comparison.html",
        comparison=comparison,
        name=", ".join(names),
        said=best_line(comparison),
        lines=line_views(comparison),
        two_lines=two_line_lines([row.plan for row in comparison.rows]),
    )


def composed_page(found: Composed, criterion: str) -> str:
    """Return the page of the best line composed of a stock, or of there being none.

    Raises :class:`~capcheck.values.InputError`.
    """
    lead = [line.strip() for line in search_lines(found, criterion)]
    return page_of("none.html", lead=lead) if found.row is None else plan_page(found.row.plan, lead=lead)


def quote_page(found: Sequence[Quote]) -> str:
    """Return the quote sheets of the boards, each on a page of its own. Raises :class:`~capcheck.values.InputError`."""
    return page_of("quote.html", quotes=found, language=customers_catalogue().paper["language"])


def set_up_page(plan: Plan) -> str:
    """Return the set-up list, a table a machine. Raises :class:`~capcheck.values.InputError`."""
    head, *rows = set_up_rows(plan, _in_runs)
    order = {machine: k for k, machine in enumerate(plan.machines)}
    set_ups = [sentence(s.name) for s in plan.set_ups]
    rows.sort(key=lambda row: (set_ups.index(str(row[0])), order[str(row[1])]))
    tables = [
        _table(f"{machine}: {set_up}", head[2:], [row[2:] for row in same])
        for (set_up, machine), same in groupby(rows, key=lambda row: (row[0], row[1]))
    ]
    return page_of("list.html", title="Set-up list", plan=plan, tables=tables, empty="There is nothing to mount.")


def _table(title: str, columns: Sequence[object], rows: Sequence[Sequence[object]]) -> _Table:
    """Return a table without the columns in which no row says anything: on paper they take others' room."""
    kept = [k for k in range(len(columns)) if any(row[k] not in {"", None} for row in rows)]
    return _Table(title, [columns[k] for k in kept], [[row[k] for k in kept] for row in rows])


def hand_page(plan: Plan, by_hand: _ByHand | None = None, hand_seconds: float | None = None) -> str:
    """Return the list of what is placed by hand, a table a board. Raises :class:`~capcheck.values.InputError`."""
    listed = sorted(hand_rows(plan, by_hand, hand_seconds), key=lambda row: row.board)
    tables = [
        _table(board, HAND_COLUMNS[1:], [row.cells(_in_runs)[1:] for row in same])
        for board, same in groupby(listed, key=lambda row: row.board)
    ]
    return page_of("list.html", title="Hand list", plan=plan, tables=tables, empty="Nothing is placed by hand.")
