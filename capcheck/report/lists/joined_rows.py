"""The rows of a list as a reader takes them: those that differ in their own columns only stand in one line."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from capcheck.lexicon import sentence
from capcheck.lists import Cell, PartList
from capcheck.report.lists.list_as_data import shown
from capcheck.report.styled_lines import ALL
from capcheck.values import number_of, shortened


class JoinedRow(Struct, frozen=True):
    """One line: its short cells, its references, and what is told below them by title."""

    cells: tuple[str, ...]
    refs: str
    below: tuple[tuple[str, str], ...]


def joined_rows(listed: PartList, sources: dict[str, int]) -> tuple[list[str], list[JoinedRow]]:
    """Return the titles of the table and its lines; columns that are blank throughout are left out.

    *sources* is filled with the table or rule of each line and the number that stands for it.
    """
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
        drawn.append(JoinedRow(cells, told, tuple((title, text) for title, text in below if text)))
        before = key
    titles = [*(listed.columns[n] for n in short), "parts", "from"]
    kept = [n for n, title in enumerate(titles) if any(line.cells[n] for line in drawn)]
    if "per board" in titles:
        kept.remove(titles.index("parts"))
    rows = [JoinedRow(tuple(line.cells[n] for n in kept), line.refs, line.below) for line in drawn]
    return [titles[n] for n in kept], rows


def _beside(cells: Sequence[Cell]) -> str:
    """Return what stands behind a reference for its own cells: ``(12.5, 30)``."""
    return f" ({', '.join(map(shown, cells))})" if cells else ""
