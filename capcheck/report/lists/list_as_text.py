"""A list as text: a table with the references last; the rule of each line is a number, told below."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

from capcheck.lexicon import cautions, sentence
from capcheck.lists import Cell, PartList
from capcheck.report.lists.list_as_data import NOT_KNOWN, shown
from capcheck.report.styled_lines import wrapped
from capcheck.values import number_of, shortened, visible

_LEAST_REFS: Final = 24
_MOST: Final = 34
"""Widths of the last column and of the others, before they wrap."""
_GAP: Final = "  "
_NO_NUMBER: Final = frozenset(("", NOT_KNOWN))
_DASH: Final = "–"


def list_text(listed: PartList, width: int) -> str:
    """Return the list as text, for a width; rows that differ in their own columns only stand in one line."""
    lines = [f"{listed.name}: {listed.board}"]
    for said in listed.totals:
        lines += wrapped(sentence(said), width, "  ", "    ")
    lines.append("")
    sources: dict[str, int] = {}
    titles, rows = _joined(listed, sources)
    lines += _table(titles, rows, width) if rows else ["  nothing stands in this list"]
    lines.append("")
    for source, number in sources.items():
        lines += wrapped(f"[{number}] {source}", width, "", "    ")
    for said in listed.notes:
        lines += wrapped(f"note: {sentence(said)}", width, "", "    ")
    lines += ["", *wrapped(cautions(), width)]
    return "".join(f"{visible(line)}\n" for line in lines)


def _joined(listed: PartList, sources: dict[str, int]) -> tuple[list[str], list[list[str]]]:
    """Return titles and rows as texts; columns that are blank throughout are left out."""
    shared = [n for n, name in enumerate(listed.columns) if name not in listed.own | listed.unshown]
    own = [n for n, name in enumerate(listed.columns) if name in listed.own]
    together: dict[tuple[str, ...], list[str]] = {}
    for row in listed.rows:
        source = sources.setdefault(sentence(row.source), len(sources) + 1)
        key = (*(shown(row.cells[n]) for n in shared), f"[{source}]")
        place = _beside([row.cells[n] for n in own])
        together.setdefault(key, []).extend(f"{ref}{place}" for ref in row.refs)
    rows = []
    before: tuple[str, ...] = ()
    for key, refs in together.items():
        told = ", ".join(sorted(refs, key=number_of)) if own else shortened(refs, 10**9)
        same = 0
        while listed.own and before and same < 2 and key[same] == before[same]:
            same += 1
        rows.append([*("" for _ in key[:same]), *key[same:-1], str(len(refs)), key[-1], told])
        before = key
    titles = [*(listed.columns[n] for n in shared), "parts", "from", "references"]
    kept = [n for n in range(len(titles)) if any(row[n] for row in rows)]
    if "per board" in titles:
        kept.remove(titles.index("parts"))
    return [titles[n] for n in kept], [[row[n] for n in kept] for row in rows]


def _beside(cells: Sequence[Cell]) -> str:
    """Return what stands behind a reference for its own cells: ``(12.5, 30)``."""
    return f" ({', '.join(map(shown, cells))})" if cells and None not in cells else ""


def _table(titles: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> Iterator[str]:
    columns = list(zip(titles, *rows, strict=True))
    widths = [min(_MOST, max(map(len, column))) for column in columns]
    spare = [
        w - min(w, max(len(word) for cell in c for word in cell.split() or ("",)))
        for w, c in zip(widths, columns, strict=True)
    ][:-1]
    while sum(widths[:-1]) + len(_GAP) * (len(widths) - 1) > width - _LEAST_REFS and any(spare):
        n = max((n for n, left in enumerate(spare) if left), key=lambda n: (n > 0, widths[n]))
        widths[n] -= 1
        spare[n] -= 1
    widths[-1] = max(_LEAST_REFS, width - sum(widths[:-1]) - len(_GAP) * (len(widths) - 1))
    numbers = [
        all(row[n].replace(".", "").isdigit() or row[n] in _NO_NUMBER for row in rows) for n in range(len(titles))
    ]
    yield from _row(titles, widths, numbers)
    yield _GAP.join(_DASH * w for w in widths[:-1]) + _GAP + _DASH * _LEAST_REFS
    for row in rows:
        yield from _row(row, widths, numbers)


def _row(cells: Sequence[str], widths: Sequence[int], numbers: Sequence[bool]) -> Iterator[str]:
    columns = [textwrap.wrap(cell, w, break_on_hyphens=False) or [""] for cell, w in zip(cells, widths, strict=True)]
    for n in range(max(map(len, columns))):
        texts = [column[n] if n < len(column) else "" for column in columns]
        told = (t.rjust(w) if right else t.ljust(w) for t, w, right in zip(texts, widths, numbers, strict=True))
        yield _GAP.join(told).rstrip()
