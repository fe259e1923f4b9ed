"""The survey for spreadsheets and programs: CSV, workbook, Parquet, and JSON by the schema ``capcheck-survey/1``."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from capcheck.lexicon import cautions, sentence
from capcheck.report.spreadsheet_cells import csv_text, with_cautions
from capcheck.report.survey.obstacles_in_words import obstacle_views, title_of
from capcheck.report.survey.parquet_table import parquet_table
from capcheck.report.survey.survey_as_text import headline
from capcheck.survey import LineResult, Obstacle, Step, Survey
from capcheck.values import Interval

SCHEMA: Final = "capcheck-survey/1"
_OWN: Final = ("board", "per_year", "questions", "line")
_TEXTS: Final = frozenset({"board", "line", "verdict", "panel", "stops"})
_COUNTS: Final = frozenset({"questions", "parts", "proved", "not_placeable", "undecided", "by_hand"})


def _cells(result: LineResult) -> dict[str, object]:
    """Return the columns of a board on a line; an end that is not known is None."""
    return {
        "verdict": result.verdict,
        "panel": "" if result.panel is None else sentence(result.panel),
        "parts": result.parts,
        "proved": result.proved,
        "not_placeable": result.stopped,
        "undecided": result.undecided,
        "by_hand": result.by_hand,
        **_ends("slots_needed", result.slots_needed),
        **_ends("slots", result.slots),
        **_ends("cycle_s", result.cycle),
        **_ends("boards_per_hour", result.per_hour),
        "stops": "; ".join(dict.fromkeys(title_of(case.cause) for case in result.stops)),
    }


def _ends(name: str, value: Interval | None) -> dict[str, float | None]:
    low, high = (None, None) if value is None else (value.low, value.high)
    return {f"{name}_min": _finite(low), f"{name}_max": _finite(high)}


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else value


def _rows(survey: Survey) -> list[dict[str, object]]:
    return [
        {"board": board.name, "per_year": board.per_year, "questions": board.questions, "line": line, **_cells(result)}
        for board in survey.boards
        for line, result in zip(survey.lines, board.on, strict=True)
    ]


def _in_the_way(survey: Survey) -> list[dict[str, object]]:
    """Return a row for each obstacle on each line."""
    return [
        {
            "line": line,
            "kind": str(one.cause.kind),
            "rule_or_fact": one.cause.about,
            "what": view.what,
            "boards": len(one.boards),
            "per_year": one.per_year,
            "alone": len(one.alone),
            "cure": "; ".join(view.changes),
            "names": "; ".join(one.boards),
        }
        for line, obstacles in zip(survey.lines, survey.obstacles, strict=True)
        for one, view in zip(obstacles, obstacle_views(obstacles), strict=True)
    ]


def survey_csv(survey: Survey) -> str:
    """Return the table of boards and lines as CSV, a row for each board on each line."""
    return csv_text(with_cautions(_as_table(_rows(survey), (*_OWN, *_columns()))))


def survey_xlsx(survey: Survey) -> bytes:
    """Return the survey as a workbook: boards, what stands in the way, what was not read."""
    from capcheck.report.workbook import Workbook

    way = _in_the_way(survey)
    names = ("line", "kind", "rule_or_fact", "what", "boards", "per_year", "alone", "cure", "names")
    with Workbook() as book:
        boards = list(with_cautions(_as_table(_rows(survey), (*_OWN, *_columns()))))
        book.sheet("boards", boards, {"board": 28, "line": 24, "panel": 36, "stops": 50, "note": 60}, marked="verdict")
        book.sheet("in the way", _as_table(way, names), {"what": 60, "cure": 60, "names": 40, "line": 24}, wrap=True)
        unread = [("board", "why"), *((one.name, str(one.error.problems[0])) for one in survey.unread)]
        book.sheet("not read", unread, {"board": 40, "why": 90}, wrap=True)
    return book.content


def survey_parquet(survey: Survey) -> bytes:
    """Return the table of boards and lines as Parquet, with the columns of the CSV.

    Raises :class:`~capcheck.values.InputError` where the library that writes it is not installed.
    """
    return parquet_table(_rows(survey), (*_OWN, *_columns()), SCHEMA, texts=_TEXTS, counts=_COUNTS)


def survey_json(survey: Survey) -> dict[str, object]:
    """Return the survey as data; an end of a range that is not known is null."""
    return {
        "schema": SCHEMA,
        "headline": headline(survey),
        "lines": survey.lines,
        "boards": _rows(survey),
        "in_the_way": [
            {**row, "names": one.boards, "alone": one.alone, "limit": _limit(one)}
            for row, one in zip(
                _in_the_way(survey), (one for obstacles in survey.obstacles for one in obstacles), strict=True
            )
        ],
        "not_read": [{"board": one.name, "why": str(one.error.problems[0])} for one in survey.unread],
        "not_among_the_boards": survey.without_quantity,
        "cautions": cautions(),
    }


def _limit(one: Obstacle) -> dict[str, object] | None:
    """Return the limit that stands in the way, what it is, and what each value of it would cure."""
    limit = one.cause.limit
    if limit is None:
        return None
    return {
        "fact": limit.fact,
        "machine": limit.machine,
        "head": limit.head,
        "where": [{"machine": limit.machine, "head": limit.head} for limit in one.limits],
        "unit": None if limit.dimension is None else limit.dimension.unit,
        "now": None if one.needed is None else one.needed.now,
        "changes": _as_rows(one.steps),
        "on_one_head": [
            {"machine": own.limit.machine, "head": own.limit.head, "changes": _as_rows(own.steps)}
            for own in one.one_head
        ],
    }


def _as_rows(steps: Sequence[Step]) -> list[dict[str, object]]:
    return [{"to": step.to, "cures": step.cures, "builds": step.builds} for step in steps]


def _columns() -> tuple[str, ...]:
    empty = Interval.exactly(0.0)
    blank = LineResult("pass", 0, 0, 0, 0, 0, empty, empty, ())
    return tuple(_cells(blank))


def _as_table(rows: Sequence[dict[str, object]], names: Sequence[str]) -> list[tuple[object, ...]]:
    return [tuple(names), *(tuple(row[name] for name in names) for row in rows)]
