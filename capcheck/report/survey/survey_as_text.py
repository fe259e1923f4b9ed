"""The survey as text: a row for each board and line, then what stands in the way on each line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from capcheck.lexicon import cautions
from capcheck.report.plan import count, ends
from capcheck.report.styled_lines import wrapped
from capcheck.report.survey.obstacles_in_words import ObstacleView, obstacle_views, why_unread
from capcheck.survey import LineResult, Survey
from capcheck.values import counted, cut, shortened, visible

COLUMNS: Final = (
    "board",
    "a year",
    "questions",
    "line",
    "verdict",
    "parts",
    "undecided",
    "by hand",
    "slots",
    "cycle s",
    "boards/h",
)
_NUMBERS: Final = frozenset(COLUMNS) - {"board", "line", "verdict"}
_WIDEST_NAME: Final = 28
_MOST_NAMES: Final = 8
_MOST_UNDECIDED: Final = 8
_LEGEND: Final = (
    "undecided: parts with a check that lacks data. cycle: line time for each board, all its passes together, "
    "as planned; boards/h while the line runs. Ranges are what is known."
)


def headline(survey: Survey) -> str:
    """Return what came out in one sentence: how many boards build on which line."""
    lines = []
    for number, line in enumerate(survey.lines):
        builds = sum(not board.on[number].stops for board in survey.boards)
        lines.append(f"{line}: {builds} of {len(survey.boards)} not stopped")
    unread = f"; {counted(len(survey.unread), 'board')} not read" if survey.unread else ""
    return f"{counted(len(survey.boards), 'board')}{unread}. {'; '.join(lines)}"


def brief_survey(survey: Survey, width: int) -> str:
    """Return how a survey ended: each board and line that fails or is unanswered, what was not read, the headline."""
    lines = [
        f"{result.verdict}  {board.name} on {line}"
        for board in survey.boards
        for line, result in zip(survey.lines, board.on, strict=True)
        if result.verdict in {"fail", "unanswered"}
    ]
    lines += [text for one in survey.unread for text in wrapped(f"not read: {why_unread(one)}", width, "", "    ")]
    lines += [*wrapped(cautions(), width), *wrapped(headline(survey), width)]
    return "".join(f"{visible(line)}\n" for line in lines)


def survey_text(survey: Survey, width: int, *, full: bool = False) -> str:
    """Return the survey as text for a width; with *full* no list is cut short."""
    lines = [*wrapped(headline(survey), width), ""]
    if survey.boards:
        lines += [*_table(survey, width), *wrapped(_LEGEND, width)]
    for number, line in enumerate(survey.lines if survey.boards else ()):
        views = obstacle_views(survey.obstacles[number])
        lines += ["", f"What stands in the way on {line}" if views else f"Nothing stands in the way on {line}"]
        lines += _obstacles(views, width, full=full)
    if survey.unread:
        lines += ["", "Not read"]
        for one in survey.unread:
            lines += wrapped(why_unread(one), width, "  ", "      ")
    if survey.without_quantity:
        names = ", ".join(survey.without_quantity)
        lines += ["", *wrapped(f"in the list of quantities, not among the boards: {names}", width)]
    lines += ["", *wrapped(cautions(), width)]
    return "".join(f"{visible(line)}\n" for line in lines)


def cells_of(result: LineResult) -> tuple[str, ...]:
    """Return the cells of a board on a line: verdict, parts, undecided, by hand, slots, cycle, boards an hour."""
    return (
        f"{result.verdict}, in a panel" if result.panel else result.verdict,
        str(result.parts),
        str(result.undecided),
        str(result.by_hand),
        f"{count(result.slots_needed)} of {count(result.slots)}",
        "" if result.cycle is None else ends(result.cycle, 1),
        "" if result.per_hour is None else ends(result.per_hour, 0),
    )


def _table(survey: Survey, width: int) -> Iterator[str]:
    """Yield a row for each board and line, where it is too wide with the names on lines of their own above it.

    Where that is too wide too, each is a sentence of its titles and cells.
    """
    rows: list[tuple[str, ...]] = [COLUMNS]
    for board in survey.boards:
        year = "" if board.per_year is None else f"{board.per_year:,.0f}"
        own: tuple[str, ...] = (cut(board.name, _WIDEST_NAME), year, str(board.questions))
        for line, result in zip(survey.lines, board.on, strict=True):
            rows.append((*own, cut(line, _WIDEST_NAME), *cells_of(result)))
            own = ("", "", "")
    kept = [n for n, title in enumerate(COLUMNS) if title != "a year" or any(row[n] for row in rows[1:])]
    rows = [tuple(row[n] for n in kept) for row in rows]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    whole = sum(widths) + 2 * len(widths) - 2
    if whole <= width:
        yield from (_in_columns(row, rows[0], widths) for row in rows)
    elif whole - widths[0] <= width:
        yield f"  {_in_columns(rows[0][1:], rows[0][1:], widths[1:])}"
        for row in rows[1:]:
            yield from filter(None, row[:1])
            yield f"  {_in_columns(row[1:], rows[0][1:], widths[1:])}".rstrip()
    else:
        for row in rows[1:]:
            yield from wrapped(row[0], width) if row[0] else ()
            told = [f"{title} {cell}" for title, cell in zip(rows[0][1:], row[1:], strict=True) if cell]
            yield from wrapped(", ".join(told), width, "  ", "    ")


def _in_columns(row: Sequence[str], titles: Sequence[str], widths: Sequence[int]) -> str:
    cells = (
        cell.rjust(w) if title in _NUMBERS else cell.ljust(w)
        for cell, w, title in zip(row, widths, titles, strict=True)
    )
    return "  ".join(cells).rstrip()


def _obstacles(views: Sequence[ObstacleView], width: int, *, full: bool) -> Iterator[str]:
    undecided = 0
    for view in views:
        undecided += view.kind == "undecided"
        if undecided > _MOST_UNDECIDED and not full:
            left = sum(v.kind == "undecided" for v in views) - _MOST_UNDECIDED
            yield f"  and {counted(left, 'more datum', 'more data')} that some boards lack: --full"
            return
        yield from wrapped(f"{view.kind}, {view.how_many}: {view.what}", width, "  ", "      ")
        for change in view.changes:
            yield from wrapped(change, width, "      → ", "        ")
        yield from wrapped(shortened(view.boards, 10_000 if full else _MOST_NAMES), width, "      ", "      ")
