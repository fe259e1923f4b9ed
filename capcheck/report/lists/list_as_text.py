"""A list as text: a table, what is long below its line, and the rule of each line as a number, told at the end."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

from capcheck.lexicon import cautions, sentence
from capcheck.lists import PartList
from capcheck.report.lists.joined_rows import JoinedRow, joined_rows
from capcheck.report.lists.list_as_data import NOT_KNOWN
from capcheck.report.styled_lines import wrapped
from capcheck.values import visible

_LEAST_REFS: Final = 14
_MOST: Final = 32
"""Widths of the last column and of the others, before they wrap."""
_GAP: Final = "  "
_BELOW: Final = "      "
_NO_NUMBER: Final = frozenset(("", NOT_KNOWN))
_REFERENCES: Final = "references"


def list_text(listed: PartList, width: int) -> str:
    """Return the list as text, for a width; rows that differ in their own columns only stand in one line."""
    lines = [f"{listed.name}: {listed.board}"]
    for said in listed.totals:
        lines += wrapped(sentence(said), width, "  ", "    ")
    lines.append("")
    sources: dict[str, int] = {}
    titles, rows = joined_rows(listed, sources)
    lines += _table(titles, rows, width) if rows else ["  this list is empty"]
    lines.append("")
    for source, number in sources.items():
        lines += wrapped(f"[{number}] {source}", width, "", "    ")
    for said in listed.notes:
        lines += wrapped(f"note: {sentence(said)}", width, "", "    ")
    lines += ["", *wrapped(cautions(), width)]
    return "".join(f"{visible(line)}\n" for line in lines)


def _table(titles: Sequence[str], rows: Sequence[JoinedRow], width: int) -> Iterator[str]:
    columns = list(zip(titles, *(row.cells for row in rows), strict=True))
    widths = _widths(columns, width)
    left = width - sum(widths) - len(_GAP) * len(widths)
    numbers = [all(cell.replace(".", "").isdigit() or cell in _NO_NUMBER for cell in c[1:]) for c in columns]
    yield from _row([*titles, _REFERENCES], [*widths, left], [*numbers, False])
    yield _GAP.join("–" * w for w in (*widths, len(_REFERENCES)))
    for row in rows:
        fits = len(row.refs) <= left
        yield from _row([*row.cells, row.refs if fits else ""], [*widths, left], [*numbers, False])
        for title, text in row.below:
            yield from wrapped(f"{title}: {text}", width, _BELOW, f"{_BELOW}  ")
        if not fits:
            yield from wrapped(row.refs, width, _BELOW)


def _widths(columns: Sequence[Sequence[str]], width: int) -> list[int]:
    """Return the widths that leave room for references: the widest columns give way first, words stay whole."""
    widths = [min(_MOST, max(map(len, column))) for column in columns]
    words = [max(len(word) for cell in column for word in cell.split() or ("",)) for column in columns]
    spare = [max(0, w - word) for w, word in zip(widths, words, strict=True)]
    while sum(widths) + len(_GAP) * len(widths) > width - _LEAST_REFS and any(spare):
        n = max((n for n, more in enumerate(spare) if more), key=lambda n: widths[n])
        widths[n] -= 1
        spare[n] -= 1
    return widths


def _row(cells: Sequence[str], widths: Sequence[int], numbers: Sequence[bool]) -> Iterator[str]:
    columns = [textwrap.wrap(cell, max(w, 1)) or [""] for cell, w in zip(cells, widths, strict=True)]
    for n in range(max(map(len, columns))):
        texts = [column[n] if n < len(column) else "" for column in columns]
        told = (t.rjust(w) if right else t.ljust(w) for t, w, right in zip(texts, widths, numbers, strict=True))
        yield _GAP.join(told).rstrip()
