"""Rows that have more or fewer cells than the header: what they show and how they are told."""

from __future__ import annotations

from collections.abc import Sequence

from capcheck.errors import InputError, Problem, Where
from capcheck.intake.content import is_number
from capcheck.model import Note


def parts_numbers(body: list[list[str]], suspects: Sequence[int], long: list[int], width: int) -> bool:
    """Whether the commas that part the cells part numbers too.

    Then most rows have two or more cells too many, and no cell holds a decimal point.
    """
    if len(long) <= 0.5 * len(suspects) or len(long) <= 0.5 * len(body):
        return False
    sample = [[c.strip() for c in body[i]] for i in long[:200]]
    surplus = sum(len(row) >= width + 2 for row in sample)
    points = any(is_number(cell) and "." in cell for row in sample for cell in row)
    return surplus > 0.5 * len(sample) and not points


def decimal_commas(file: str, row: int, found: int, width: int) -> InputError:
    """Return the error of a file in which commas part cells and numbers alike."""
    return InputError(
        Problem(
            Where(file, row),
            f"this row and most others have {found} cells where the header has {width}",
            "commas part the cells and seem to be the decimal mark too, so numbers fall apart",
            "export it again with semicolons or tabs between the cells, or with decimal points",
        )
    )


def _some(rows: list[int]) -> str:
    shown = ", ".join(map(str, rows[:10]))
    return shown if len(rows) <= 10 else f"{shown} and {len(rows) - 10} more"  # noqa: PLR2004


def long_rows(rows: list[int], width: int, file: str) -> Note:
    """Return the note on rows with more, or fewer, cells than the header's *width*."""
    many = len(rows) > 1
    return Note(
        f"row{'s' * many} {_some(rows)} {'have' if many else 'has'} more cells than the {width} of the header: "
        "a delimiter inside a cell without quotes may have shifted its columns",
        file,
        rows[0],
    )


def short_rows(rows: list[int], width: int, file: str) -> Note:
    """Return the note on rows with more, or fewer, cells than the header's *width*."""
    many = len(rows) > 1
    return Note(
        f"row{'s' * many} {_some(rows)} {'have' if many else 'has'} fewer cells than the {width} of the header; "
        "the missing ones are taken as empty",
        file,
        rows[0],
    )
