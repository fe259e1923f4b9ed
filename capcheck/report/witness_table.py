"""The witnesses of a part as a table of text: a column a witness, a row a fact, and what would settle the rest."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from capcheck.packages import Witnesses

_T = TypeVar("_T")

_WIDTH: Final = 80
_LABEL: Final = 10
_GAP: Final = 2
_MOST_ABREAST: Final = 4
"""With more witnesses the columns would be too narrow: the table is then continued below."""
_MARKS: Final = {"taken": "*", "agrees": "=", "contradicts": "!", "other": " "}
_MEASURED: Final = ("size", "height", "pitch")
_NOT_KNOWN: Final = ("?", "-")
_LEGEND: Final = "* counts    = agrees    ! contradicts    ? unknown"


def witness_lines(found: Witnesses) -> list[str]:
    """Return the table of the witnesses in lines of at most 80 characters, a legend, and what would settle the rest."""
    columns = [
        (
            [witness.name],
            {fact: f"{_MARKS[cell.mark]} {cell.text}" for fact, cell in witness.says.items()},
        )
        for witness in found.witnesses
    ]
    counts = (["what counts"], dict(found.counts))
    lines: list[str] = []
    bounded = any(found.counts[fact] not in _NOT_KNOWN for fact in _MEASURED)
    for abreast in _in_turns(columns) if columns else [()] if bounded else ():
        lines += ["", *_table([*abreast, counts], list(found.counts))]
    none = "no source names the body: its sort bounds it" if bounded else "no source says anything of the body"
    lines += ["", _LEGEND if columns else none]
    if found.silent:
        lines.append(f"says nothing of the body: {', '.join(found.silent)}")
    for witness in found.witnesses:
        lines += [f"narrowed: {witness.name} by {origin}" for origin in witness.narrowed_by]
    if found.settle:
        lines += ["", "what would settle it:"]
        for settling in found.settle:
            file = "board.toml" if settling.file == "board.toml" else "the shop's library"
            lines.append(f"  in {file}, {settling.when}:")
            lines += [f"    {line}" for line in settling.lines]
    return [*lines, ""]


def _in_turns(columns: Sequence[_T]) -> Iterator[Sequence[_T]]:
    """Yield the columns so many at a time as stand abreast, evenly: five are three and two."""
    turns = -(-len(columns) // _MOST_ABREAST)
    size = -(-len(columns) // turns) if turns else 1
    for start in range(0, len(columns), size):
        yield columns[start : start + size]


def _table(columns: Sequence[tuple[list[str], dict[str, str]]], facts: Sequence[str]) -> Iterator[str]:
    widths = _widths([max(map(len, [*title, *says.values()])) for title, says in columns])
    titles = [title for title, _ in columns]
    yield from _row("", titles, widths)
    yield from _row("", [["-" * width] for width in widths], widths)
    for fact in facts:
        cells = [_folded(says.get(fact, ""), width) for (_, says), width in zip(columns, widths, strict=True)]
        yield from _row(fact, cells, widths)


def _widths(wanted: Sequence[int]) -> list[int]:
    """Return the widths of columns that fill no more than a line: those that need less leave the rest to the others."""
    room = _WIDTH - _LABEL - _GAP * (len(wanted) - 1)
    widths = [0] * len(wanted)
    for rank, index in enumerate(sorted(range(len(wanted)), key=lambda i: wanted[i])):
        widths[index] = min(wanted[index], room // (len(wanted) - rank))
        room -= widths[index]
    return widths


def _folded(text: str, width: int) -> list[str]:
    mark = text[:2] if text[1:2] == " " else ""
    inner = textwrap.wrap(text[len(mark) :], max(4, width - len(mark)), break_on_hyphens=False) or [""]
    return [f"{mark if not number else ' ' * len(mark)}{line}" for number, line in enumerate(inner)]


def _row(label: str, cells: Sequence[Sequence[str]], widths: Sequence[int]) -> Iterator[str]:
    for number in range(max(map(len, cells))):
        texts = [
            (cell[number] if number < len(cell) else "").ljust(width) for cell, width in zip(cells, widths, strict=True)
        ]
        yield f"{'' if number else label:{_LABEL}}{(' ' * _GAP).join(texts)}".rstrip()
