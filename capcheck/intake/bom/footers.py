"""Lines below a bill of materials that are about the document: who approved it, its date, its revision."""

from __future__ import annotations

from collections.abc import Container, Sequence
from typing import Final

from capcheck.intake.tables import Table, expand_references
from capcheck.lexicon import fold, vocabulary
from capcheck.values import pattern

_ABOUT: Final = pattern(lambda: rf"\s*(?:{vocabulary().lines.footer}|{vocabulary().lines.revision})\s*(?:[:：].*|\W*)")
_DIGIT: Final = pattern(r"\d")


def footer_rows(
    table: Table, cells: Sequence[str], quantities: Sequence[float | None], known: Container[str]
) -> frozenset[int]:
    """Return the rows below the last line with a reference that are about the document, as indices into the columns.

    They begin with a word for such a thing, and they count no parts. *cells* hold the references, *known*
    are those of the placements.
    """
    found: set[int] = set()
    for row in range(len(table) - 1, -1, -1):
        if _is_reference(cells[row], known):
            break
        quantity = quantities[row]
        if quantity is not None and quantity.is_integer():
            continue
        filled = [text for column in table.columns if (text := column[row])]
        if any(_ABOUT.fullmatch(fold(text)) for text in filled[:_LABELS]):
            found.add(row)
    return frozenset(found)


_LABELS: Final = 3
"""A label stands in one of the first cells that hold anything."""


def _is_reference(cell: str, known: Container[str]) -> bool:
    """Whether a cell names a part: a reference of the placements, or a name with a number."""
    refs, _ = expand_references(cell, known)
    return any(ref in known or (_DIGIT.search(ref) and " " not in ref) for ref in refs)
