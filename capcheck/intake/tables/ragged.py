"""Rows that have more or fewer cells than the header: what they show and how they are told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import zip_longest
from typing import Final

from capcheck.intake.tables.content import is_number, is_reference
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.values import InputError, Place

_MARKS: Final = {"comma": ",", "semicolon": ";", "tab": " ", "pipe": "|"}
_NEARLY_ALL: Final = 0.9
_LEAST_NUMERIC: Final = 2
"""Columns of numbers that a row must meet: one may be met by chance."""
_MOST_TORN: Final = 4
_LEAST_ROWS: Final = 4
_SAMPLE: Final = 200
_AGAIN: Final = 0.2
"""The share of rows from which a word stands in its column again and again."""
_OTHERS: Final = 3
"""Other cells that such a column may hold."""
_NUMBERS: Final = frozenset(
    {Role.X, Role.Y, Role.ROTATION, Role.LENGTH, Role.WIDTH, Role.HEIGHT, Role.MASS, Role.PITCH}
)
_WORDS: Final = frozenset({Role.REF, Role.SIDE, Role.MOUNTING, Role.MANUFACTURER, Role.DESCRIPTION})
_COUNTS: Final = frozenset({Role.QUANTITY, Role.PINS})


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


def decimal_commas(place: Place, found: int, width: int) -> InputError:
    """Return the error of a file in which commas part cells and numbers alike."""
    return InputError.at(
        place,
        f"this row and most others have {found} cells where the header has {width}",
        "commas part the cells and seem to be the decimal mark too, so numbers fall apart",
        "export it again with semicolons or tabs between the cells, or with decimal points",
    )


def stand_elsewhere(header: Sequence[str], rows: Sequence[Sequence[str]]) -> bool:
    """Whether cells of *rows*, all shorter than the *header*, are not what the titles above them say.

    Where no row has the header's width, its titles alone tell whether cells lack at the end or stand too far left:
    then a column of sizes holds words, one of words holds numbers, or one of counts holds parts of one.
    """
    for title, column in zip(header, zip_longest(*rows, fillvalue=""), strict=False):
        role, cells = read_title(title).strongest, [cell.strip() for cell in column if cell.strip()]
        numbers = sum(map(is_number, cells))
        if role in _NUMBERS and numbers < _NEARLY_ALL * len(cells):
            return True
        if role in _WORDS and numbers > len(cells) - _NEARLY_ALL * len(cells):
            return True
        if role in _COUNTS and any(is_number(cell) and not cell.isdigit() for cell in cells):
            return True
    return False


def rows_standing_aside(body: Sequence[Sequence[str]], width: int) -> list[int]:
    """Return the rows of the header's *width* whose cells stand in other columns than those of the other rows.

    They have one cell too many, and one left out: a column of a few words, which come again and again, holds a number
    there, and one of its words stands in another column.
    """
    whole = [i for i, row in enumerate(body) if len(row) == width]
    few: dict[int, frozenset[str]] = {}
    for k in range(width) if len(whole) > _LEAST_ROWS else ():
        # Two hundred rows show what such a column holds.
        sample = Counter(body[i][k].strip() for i in whole[:_SAMPLE])
        least = max(_LEAST_ROWS, len(whole[:_SAMPLE]) * _AGAIN)
        words = frozenset(word for word, count in sample.items() if count >= least and word[:1].isalpha())
        if words and len(sample) <= len(words) + _OTHERS:
            few[k] = words
    found = []
    for k, words in few.items():
        numbers = {cell for cell in {body[i][k] for i in whole} if cell not in words and is_number(cell.strip())}
        for i in whole if numbers else ():
            row = body[i]
            if row[k] in numbers and any(
                cell.strip() in words and cell.strip() not in few.get(at, ()) for at, cell in enumerate(row)
            ):
                found.append(i)
    return sorted(set(found))


class TornCells:
    """What the columns of a table's usual rows hold, by which a row torn at a delimiter in a cell is put together."""

    def __init__(self, usual: Sequence[Sequence[str]], width: int, delimiter: str) -> None:
        columns = [[row[k].strip() for row in usual] for k in range(width)]
        self._width = width
        self._mark = _MARKS.get(delimiter)
        self._seen = [frozenset(column) for column in columns]
        self._has_usual = len(usual) > 0
        filled_cells = [[cell for cell in column if cell] for column in columns]
        self._numeric = [bool(f) and sum(map(is_number, f)) >= _NEARLY_ALL * len(f) for f in filled_cells]
        self._texts = [bool(f) and not any(map(is_number, f)) for f in filled_cells]
        self._tests = [
            (k, test)
            for k, column in enumerate(columns)
            for test in (is_number, is_reference)
            if (filled := [c for c in column if c]) and sum(map(test, filled)) >= _NEARLY_ALL * len(filled)
        ]

    def mended(self, row: list[str]) -> tuple[list[str] | None, bool]:
        """Return *row* with one cell put together so that numbers and references stand where they do; None if none is.

        Of several cells that would do, that one is taken with which most other cells hold what their columns do. With
        it comes whether that is sure: no other cell would do as well, or make other numbers, and no piece is a number.
        """
        surplus = len(row) - self._width
        numeric = sum(test is is_number for _, test in self._tests)
        if self._mark is None or numeric < _LEAST_NUMERIC or surplus > _MOST_TORN or self._fits(row):
            return None, False
        found = [
            [*row[:k], self._mark.join(row[k : k + surplus + 1]), *row[k + surplus + 1 :]] for k in range(self._width)
        ]
        fitting = sorted(filter(self._fits, found), key=self._known, reverse=True)
        if not fitting:
            return None, False
        numbers = {tuple(cell for cell, numeric in zip(one, self._numeric, strict=True) if numeric) for one in fitting}
        alike = len(fitting) > 1 and self._known(fitting[0]) == self._known(fitting[1])
        pieces = (cell for cell in row if cell not in fitting[0])
        # A piece that is a number may be one of a column beside it, and the others stand too far right or left.
        return fitting[0], len(numbers) == 1 and not alike and not any(is_number(cell.strip()) for cell in pieces)

    def may_have_shifted(self, row: Sequence[str]) -> bool:
        """Whether a row that lacks cells may lack one in the middle, so that the others stand too far left.

        A program that leaves out empty cells at the end does no harm: then what is there is of its column's kind, and
        what lacks is no number. Where no row has the header's width there is nothing to tell a shift by.
        """
        if not self._has_usual:
            return False
        if any(self._numeric[len(row) :]) or not self._fits(row):
            return True
        return any(is_number(cell.strip()) for cell, text in zip(row, self._texts, strict=False) if text)

    def _fits(self, row: Sequence[str]) -> bool:
        return all(not row[k].strip() or test(row[k].strip()) for k, test in self._tests if k < len(row))

    def _known(self, row: Sequence[str]) -> int:
        return sum(cell.strip() in seen for cell, seen in zip(row, self._seen, strict=False))
