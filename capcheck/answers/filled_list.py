"""A list of questions as it comes back: sorted, cut, with further columns, from another program, as workbook or CSV.

Nothing is taken by its place: a column is known by its title in any language of the list, the key and the version by
what they hold too. What stands in a row without a key is told.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Final

from msgspec import Struct, field

from capcheck.intake import Grid, tables_of_file
from capcheck.lexicon import customers_catalogue, customers_language
from capcheck.report import DATA_SHEET, FIGURES, FILLED_IN, customers_languages
from capcheck.values import InputError, Place, as_written, pattern

_COLUMNS: Final = ("key", "asked", "boxes", "choice", "answer", DATA_SHEET, *FIGURES)
_FAR_DOWN: Final = 200
"""Rows above the titles that somebody may have put there."""
_LONGEST: Final = 2_000
"""Characters of an answer; a longer one is cut, since it is kept in every list from then on."""
_MOST: Final = 50_000
"""Rows of a list; no board has so many questions."""
_BRACKETS: Final = pattern(r"[\[(（［]([^\[(（［\])）］]*)[\])）］]")
_EMPTY_BOX: Final = "☐"
_TICK: Final = pattern(r"^\s*(?:[☑☒✓✔]|\[[xX]\]|[xX](?=\s+\S))\s*")
_TICKED_INSIDE: Final = pattern(r"[☑☒✓✔]")
_BLANKS: Final = pattern(r"\s+")


class FilledRow(Struct, frozen=True):
    """A row of the list with what was filled in, as written; *units* are by the name of a figure, from its title."""

    key: str
    asked: str
    place: Place
    cells: Mapping[str, str]
    units: Mapping[str, str]
    is_marked: bool = True
    """Whether the cells hold an answer for certain, and not only words of a list that nobody knows any more."""

    @property
    def is_filled(self) -> bool:
        """Whether anything was filled in."""
        return bool(self.cells)


class FilledList(Struct, frozen=True):
    """The rows with a key, and the places of rows that were filled in without one."""

    rows: tuple[FilledRow, ...]
    without_key: tuple[Place, ...] = ()


class _Header(Struct):
    """Where the titles stand, and the column of each; columns count from 0."""

    at: int
    columns: dict[str, int] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)


def read_filled_list(path: Path, keys: Collection[str] = (), versions: Collection[str] = ()) -> FilledList:
    """Return what a list that came back holds; *keys* and *versions* are those that are asked now.

    Raises :class:`~capcheck.values.InputError` where no table of the file has keys, or the file cannot be read.
    """
    found: list[tuple[Grid, _Header]] = []
    for grid in tables_of_file(path):
        header = _header(grid, frozenset(keys), frozenset(versions))
        if header is not None:
            found.append((grid, header))
    if not any("key" in header.columns for _, header in found):
        raise InputError.at(
            str(path),
            "is not a list of questions with answers: no table in it has a column of keys",
            "each row's key says which question it answers; a copy of the visible cells alone leaves it out",
            "take the file that was sent out, or copy its hidden columns too",
        )
    if not found[0][0].encoding.startswith(("XLS", "ODS")):
        # One text was parted at each delimiter: that one which gives most columns.
        found = [max(found, key=lambda one: ("key" in one[1].columns, len(one[1].columns)))]
    rows: list[FilledRow] = []
    lost: list[Place] = []
    for grid, header in found:
        every = list(_rows(grid, header))
        rows += [row for row in every if row.key]
        lost += [row.place for row in every if not row.key]
    if len(rows) > _MOST:
        raise InputError.at(str(path), f"has {len(rows):,} rows with a key", "no board has so many questions")
    return FilledList(tuple(rows), tuple(lost))


def _rows(grid: Grid, header: _Header) -> Iterator[FilledRow]:
    filled_in = {name: at for name, at in header.columns.items() if name in FILLED_IN}
    for cells, number in list(zip(grid.rows, grid.numbers, strict=False))[header.at + 1 :]:
        given = {name: text for name, at in filled_in.items() if (text := _text(cells, at))}
        if boxes := _ticked_boxes(_text(cells, header.columns.get("boxes"))):
            chosen = given.get("choice", "")
            same = _folded(chosen) == _folded(boxes)
            # Two choices are two lines, which nothing takes for one: a person reads them.
            given["choice"] = chosen if same else "\n".join(filter(None, (chosen, boxes)))
        key = _text(cells, header.columns.get("key"))
        if key or given:
            place = Place(grid.file, number, sheet=grid.sheet)
            yield FilledRow(key, _text(cells, header.columns.get("asked")), place, given, header.units)


def _ticked_boxes(text: str) -> str:
    """Return what somebody ticked, or wrote, where the boxes of a question stand; nothing where they are untouched."""
    lines = [line for line in text.splitlines() if line.strip()]
    if ticked := [_TICK.sub("", line).strip() for line in lines if _TICK.match(line)]:
        return "\n".join(ticked)
    written = len(lines) == 1 and _EMPTY_BOX not in text
    return text if written or _TICKED_INSIDE.search(text) else ""


def _text(cells: Sequence[str], at: int | None) -> str:
    if at is None or at >= len(cells):
        return ""
    return as_written(cells[at].strip())[:_LONGEST]


def _header(grid: Grid, keys: frozenset[str], versions: frozenset[str]) -> _Header | None:
    """Return the titles of a table; where the key's was taken out or renamed, it is found by the keys below.

    Where the whole column was taken out, the titles of what is filled in tell a table of questions.
    """
    best: _Header | None = None
    for at, cells in enumerate(grid.rows[:_FAR_DOWN]):
        header = _Header(at)
        for column, cell in enumerate(cells):
            name, unit = _named(cell)
            if name and name not in header.columns:
                header.columns[name] = column
                header.units |= {name: unit} if unit else {}
        if len(header.columns) > (len(best.columns) if best is not None else 0):
            best = header
    if best is None:
        return None
    for name, known in (("key", keys), ("asked", versions)):
        found = None if name in best.columns else _holding(grid.rows[best.at + 1 :], known)
        if found is not None:
            best.columns[name] = found
    is_list = len(best.columns) > 1 if "key" in best.columns else {"choice", "answer"} <= best.columns.keys()
    return best if is_list else None


def _holding(rows: Sequence[Sequence[str]], known: frozenset[str]) -> int | None:
    """Return the column that holds one of the texts *known*."""
    return next((at for row in rows for at, cell in enumerate(row) if cell.strip() in known), None)


def figure_named(title: str) -> str | None:
    """Return the figure that goes by this title in any language of the list; None where none does."""
    name = _titles().get(_folded(title))
    return name if name in FIGURES else None


def _named(cell: str) -> tuple[str, str]:
    """Return the name of the column with this title, and the unit that stands in it in brackets."""
    unit = _BRACKETS.search(cell)
    name = _titles().get(_folded(cell))
    return (name, unit[1].strip() if unit and name in FIGURES else "") if name else ("", "")


def _folded(title: str) -> str:
    return _BLANKS.sub(" ", _BRACKETS.sub(" ", title)).strip().casefold()


@cache
def _titles() -> dict[str, str]:
    """Return the name of each column by its title in every language, without what stands in brackets."""
    found: dict[str, str] = {}
    for language in customers_languages():
        with customers_language(language):
            paper = customers_catalogue().paper
        found |= {_folded(paper[f"column {name}"]): name for name in _COLUMNS}
    return found
