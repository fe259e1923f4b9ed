"""What many boards ask of a line, for spreadsheets and programs: CSV, workbook, Parquet, and JSON by its schema."""

from __future__ import annotations

import math
from typing import Final

from capcheck.lexicon import cautions
from capcheck.report.spreadsheet_cells import csv_text, with_cautions
from capcheck.report.survey.needs_in_words import (
    SHARES,
    Needs,
    because,
    cover_in_words,
    feeding_rows,
    open_by_limit,
    shares_of,
)
from capcheck.report.survey.parquet_table import parquet_table
from capcheck.survey import ProfileLimit
from capcheck.values import Interval

SCHEMA: Final = "capcheck-needs/1"
_TEXTS: Final = ("board", "limit", "key", "unit", "parts")
_COLUMNS: Final = ("board", "per_year", "limit", "key", "unit", "surely", "known", "at_most", "parts")


def _rows(needs: Needs) -> list[dict[str, object]]:
    """Return a row for each board and limit: what it surely asks, what is known, what at most, and by which parts."""
    return [
        {
            "board": board.name,
            "per_year": board.per_year,
            "limit": one.limit.words,
            "key": _key(one.limit),
            "unit": str(one.limit.dimension.unit),
            "surely": _end(need.surely),
            "known": _end(need.known),
            "at_most": _end(need.at_most),
            "parts": " ".join(need.refs),
        }
        for board in needs.boards
        for one in needs.envelopes
        if (need := board.needs.get(one.limit.key)) is not None
    ]


def _key(limit: ProfileLimit) -> str:
    return f"{limit.section}.{limit.key}"


def _table(needs: Needs) -> list[tuple[object, ...]]:
    return [_COLUMNS, *(tuple(row[name] for name in _COLUMNS) for row in _rows(needs))]


def needs_csv(needs: Needs) -> str:
    """Return a row for each board and limit."""
    return csv_text(with_cautions(_table(needs)))


def needs_parquet(needs: Needs) -> bytes:
    """Return the rows of the CSV as Parquet. Raises :class:`~capcheck.values.InputError` where no library writes it."""
    return parquet_table(_rows(needs), _COLUMNS, SCHEMA, texts=_TEXTS)


def needs_xlsx(needs: Needs) -> bytes:
    """Return a workbook: the rows of the CSV, what each value of a limit covers, feeders, who is left, what is open."""
    from capcheck.report.workbook import Workbook

    found = needs.cover
    reached = [
        (one.limit.words, _key(one.limit), str(one.limit.dimension.unit), r.value, r.known, r.proved)
        for one in needs.envelopes
        for r in one.reached
    ]
    left = [(one.name, "; ".join(because(one))) for one in found.left]
    with Workbook() as book:
        book.sheet("needs", list(with_cautions(_table(needs))), {"board": 28, "limit": 28, "key": 28, "note": 60})
        of = shares_of(needs)
        head = ("limit", "key", "unit", "value", f"share of the {of}, as far as known", "share proved")
        book.sheet("covered", [head, *reached], {"limit": 28, "key": 28})
        shares = tuple(f"{share:.0%}" for share in SHARES)
        feeding = [("a board has at most", *shares), *((row.words, *row.values) for row in feeding_rows(needs))]
        book.sheet("feeders and parts", feeding, {"a board has at most": 40})
        title = cover_in_words(found, needs.share, of=of)
        book.sheet("left", [("board", "why"), *left, ("", title)], {"board": 28, "why": 90}, wrap=True)
        open_ = [("what is not known", "boards"), *((words, "; ".join(names)) for words, names in open_by_limit(found))]
        book.sheet("open", open_, {"what is not known": 30, "boards": 90}, wrap=True)
        unread = [("board", "why"), *((one.name, str(one.error.problems[0])) for one in needs.unread)]
        book.sheet("not read", unread, {"board": 40, "why": 90}, wrap=True)
    return book.content


def _end(value: float) -> float | None:
    return value if math.isfinite(value) and value > 0 else None


def _ends(value: Interval) -> list[float | None]:
    return [value.low, value.high if math.isfinite(value.high) else None]


def needs_json(needs: Needs) -> dict[str, object]:
    """Return what the boards ask as data; null is not known."""
    found = needs.cover
    return {
        "schema": SCHEMA,
        "shares_of": shares_of(needs),
        "boards": [
            {
                "board": board.name,
                "per_year": board.per_year,
                "placements": _ends(board.placements),
                "balls": board.balls,
                "part_numbers_by_tape_mm": {str(tape): _ends(of) for tape, of in board.tapes.items()},
                "part_numbers_of_unknown_supply": board.unfed,
                "part_numbers_in_trays": _ends(board.trays),
                "asks": {
                    key: {
                        "surely": _end(need.surely),
                        "known": _end(need.known),
                        "at_most": _end(need.at_most),
                        "refs": need.refs,
                    }
                    for key, need in board.needs.items()
                },
            }
            for board in needs.boards
        ],
        "limits": [
            {
                "key": _key(one.limit),
                "words": one.limit.words,
                "unit": one.limit.dimension.unit,
                "upper": one.limit.upper,
                "reached": [{"value": r.value, "known": r.known, "proved": r.proved} for r in one.reached],
                "open": one.open,
                "never": one.never,
            }
            for one in needs.envelopes
        ],
        "cover": {
            "asked": needs.share,
            "share": found.share,
            "proved": found.proved,
            "values": found.values,
            "balls": found.balls,
            "left": [{"board": one.name, "because": list(because(one))} for one in found.left],
            "open": [{"what": words, "boards": names} for words, names in open_by_limit(found)],
        },
        "not_read": [{"board": one.name, "why": str(one.error.problems[0])} for one in needs.unread],
        "cautions": cautions(),
    }
