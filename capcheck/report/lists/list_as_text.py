"""A list as text: a table, what is long below its line, and the rule of each line as a number, told at the end."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct

from capcheck.lexicon import cautions, sentence
from capcheck.lists import Cell, PartList
from capcheck.report.lists.list_as_data import NOT_KNOWN, shown
from capcheck.report.styled_lines import ALL, wrapped
from capcheck.values import number_of, shortened, visible

_LEAST_REFS: Final = 14
_MOST: Final = 32
"""Widths of the last column and of the others, before they wrap."""
_GAP: Final = "  "
_BELOW: Final = "      "
_NO_NUMBER: Final = frozenset(("", NOT_KNOWN))
_REFERENCES: Final = "references"


class _Drawn(Struct, frozen=True):
    """One line: its short cells, its references, and what is told below them by title."""

    cells: tuple[str, ...]
    refs: str
    below: tuple[tuple[str, str], ...]


def list_text(listed: PartList, width: int) -> str:
    """Return the list as text, for a width; rows that differ in their own columns only stand in one line."""
    lines = [f"{listed.name}: {listed.board}"]
    for said in listed.totals:
        lines += wrapped(sentence(said), width, "  ", "    ")
    lines.append("")
    sources: dict[str, int] = {}
    titles, rows = _joined(listed, sources)
    lines += _table(titles, rows, width) if rows else ["  this list is empty"]
    lines.append("")
    for source, number in sources.items():
        lines += wrapped(f"[{number}] {source}", width, "", "    ")
    for said in listed.notes:
        lines += wrapped(f"note: {sentence(said)}", width, "", "    ")
    lines += ["", *wrapped(cautions(), width)]
    return "".join(f"{visible(line)}\n" for line in lines)


def _joined(listed: PartList, sources: dict[str, int]) -> tuple[list[str], list[_Drawn]]:
    """Return the titles of the table and its lines; columns that are blank throughout are left out."""
    apart = listed.own | listed.unshown
    long = {n for n, name in enumerate(listed.columns) if any(isinstance(row.cells[n], tuple) for row in listed.rows)}
    short = [n for n, name in enumerate(listed.columns) if name not in apart and n not in long]
    own = [n for n, name in enumerate(listed.columns) if name in listed.own]
    together: dict[tuple[tuple[str, ...], tuple[tuple[str, str], ...]], list[str]] = {}
    for row in listed.rows:
        source = sources.setdefault(sentence(row.source), len(sources) + 1)
        key = (*(shown(row.cells[n]) for n in short), f"[{source}]")
        below = tuple((listed.columns[n], shown(row.cells[n])) for n in sorted(long))
        place = _beside([row.cells[n] for n in own])
        together.setdefault((key, below), []).extend(f"{ref}{place}" for ref in row.refs)
    drawn = []
    before: tuple[str, ...] = ()
    for (key, below), refs in together.items():
        told = ", ".join(sorted(refs, key=number_of)) if own else shortened(refs, ALL)
        same = 0
        while own and before and same < min(2, len(short)) and key[same] == before[same]:
            same += 1
        cells = (*("" for _ in key[:same]), *key[same:-1], str(len(refs)), key[-1])
        drawn.append(_Drawn(cells, told, tuple((title, text) for title, text in below if text)))
        before = key
    titles = [*(listed.columns[n] for n in short), "parts", "from"]
    kept = [n for n, title in enumerate(titles) if any(line.cells[n] for line in drawn)]
    if "per board" in titles:
        kept.remove(titles.index("parts"))
    rows = [_Drawn(tuple(line.cells[n] for n in kept), line.refs, line.below) for line in drawn]
    return [titles[n] for n in kept], rows


def _beside(cells: Sequence[Cell]) -> str:
    """Return what stands behind a reference for its own cells: ``(12.5, 30)``."""
    return f" ({', '.join(map(shown, cells))})" if cells else ""


def _table(titles: Sequence[str], rows: Sequence[_Drawn], width: int) -> Iterator[str]:
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
