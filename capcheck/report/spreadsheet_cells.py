"""Lists as CSV, with the cautions beside them; no cell is taken for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence

from capcheck.lexicon import cautions
from capcheck.values import harmless


def with_cautions(rows: Iterable[Sequence[object]], note: Sequence[str] | None = None) -> Iterator[Sequence[object]]:
    """Yield a list's rows with a last column ``note``, which holds the cautions in the first row below the headings.

    A row of their own would be taken for an item of the list. A list without a row has nothing to be careful about.
    *note* is the heading and the cautions in another language.
    """
    note = note or ("note", cautions())
    for number, row in enumerate(rows):
        yield (*row, note[number] if number < 2 else "")


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """Return rows of cells as CSV; no cell is taken for a formula."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([harmless(cell) for cell in row] for row in rows)
    return out.getvalue()
