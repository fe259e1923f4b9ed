"""Rows that go on where the row above ends: a size, a package or a height below the part that it belongs to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from capcheck.intake.tables.fitted import is_not_fitted_title
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.intake.tables.references import is_plain_list
from capcheck.intake.tables.size_cell import states_size
from capcheck.lexicon import height_in_words

_OF_A_BODY: Final = frozenset({Role.LENGTH, Role.WIDTH, Role.HEIGHT, Role.SIZE, Role.PITCH, Role.MASS, Role.PINS})
_OF_TEXT: Final = frozenset({Role.VALUE, Role.DESCRIPTION, Role.COMMENT})
_MOST_CELLS: Final = 3
_FEWEST_ABOVE: Final = 3


def states_more_of(above: Sequence[str], row: Sequence[str], header: Sequence[str]) -> bool:
    """Whether *row* names no part and states something of the body of the part in the row *above* it.

    Its first cell is blank, where a title would stand; a package or a size stands under its own title.
    """
    if (
        not above
        or not row
        or not above[0].strip()
        or row[0].strip()
        or sum(map(bool, map(str.strip, above))) < _FEWEST_ABOVE
    ):
        return False
    filled = [(i, cell.strip()) for i, cell in enumerate(row) if cell.strip()]
    if not 0 < len(filled) <= _MOST_CELLS:
        return False
    return all(i < len(header) and _is_of_a_body(header[i], cell) for i, cell in filled)


def is_below_a_size(row: Sequence[str], header: Sequence[str]) -> bool:
    """Whether a row of one cell holds a number below the title of a size: no title of other rows."""
    at = next((i for i, cell in enumerate(row) if cell.strip()), len(header))
    return at < len(header) and any(map(str.isdigit, row[at])) and read_title(header[at]).strongest in _OF_A_BODY


def _is_of_a_body(title: str, cell: str) -> bool:
    role = read_title(title).strongest
    if role is Role.FOOTPRINT:
        return any(map(str.isdigit, cell)) and not is_plain_list(cell)
    if role in _OF_A_BODY:
        return any(map(str.isdigit, cell))
    return states_size(cell) or height_in_words(cell) is not None or (role in _OF_TEXT and is_not_fitted_title(cell))
