"""Which row of a table is its header: the one with the most known titles, or one of words over numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from capcheck.intake.tables.content import is_number, is_reference
from capcheck.intake.tables.header_words import count_roles

_SEARCHED: Final = 120
"""Rows looked at for a header: a preamble has a dozen lines, a cover sheet a few dozen."""
_WIDEST: Final = 1000
"""Cells of a row looked at."""


def _strip_mark(cell: str) -> str:
    return cell.strip().lstrip("#;*!/ \t").strip() if cell[:1] in "#;*!/ \t" else cell.strip()


def header_cells(row: Sequence[str]) -> list[str]:
    """Return a row's cells as titles: stripped, line breaks as spaces, a comment mark before the first taken off."""
    cells = [" ".join(cell.split()) for cell in row[:_WIDEST]]
    if cells and len(cells[0]) > 1:
        cells[0] = _strip_mark(cells[0])
    return cells


def header_score(row: Sequence[str]) -> int:
    """Return how many roles a row's titles claim; 0 for a row that holds numbers."""
    filled = [c for c in header_cells(row) if c]
    if len(filled) < 2 or sum(map(is_number, filled)) > len(filled) / 4:
        return 0
    return count_roles(filled)


def find_header(rows: Sequence[Sequence[str]]) -> tuple[int, int] | None:
    """Return the index of the header among the first rows and its score, or None if no row has two known titles.

    Of two such rows the one with more known titles wins; of equal ones with no data between them the lower.
    """
    best: tuple[int, int] | None = None
    data_since = False
    for i, row in enumerate(rows[:_SEARCHED]):
        score = header_score(row)
        if score >= 2 and (best is None or score > best[1] or (score == best[1] and not data_since)):
            best, data_since = (i, score), False
        elif sum(map(is_number, (c.strip() for c in row[:_WIDEST] if c))) >= 1 and len(row) > 1:
            data_since = True
    return best


def find_unknown_header(rows: Sequence[Sequence[str]]) -> tuple[int, bool] | None:
    """Return the first row of the table proper and whether it is a header, judged by the cells below it.

    Used where no title is known. A row is a header if it holds text over columns of numbers; a row that starts like
    those below it is data.
    """
    shapes = [
        (i, len(row)) for i, row in enumerate(rows[:_SEARCHED]) if sum(bool(c.strip()) for c in row[:_WIDEST]) > 1
    ]
    if not shapes:
        return None
    usual = Counter(width for _, width in shapes).most_common(1)[0][0]
    usual_rows = [i for i, width in shapes if width == usual]
    first = usual_rows[0]
    below = [[c.strip() for c in rows[i][:_WIDEST]] for i in usual_rows[1:40]]
    top = [c.strip() for c in rows[first][:_WIDEST]]
    if not below:
        return first, not any(map(is_number, top))
    for k, cell in enumerate(top):
        filled = [row[k] for row in below if row[k]]
        if len(filled) < 0.3 * len(below):
            continue
        numeric = sum(map(is_number, filled)) >= 0.8 * len(filled)
        if numeric:
            return first, bool(cell) and not is_number(cell)
    likes = [k for k, cell in enumerate(top) if is_reference(cell) and is_reference(below[0][k])]
    return first, not likes
