"""What every reader of a file form hands on: rows of text cells with the row of the file each comes from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from msgspec import Struct, field

from capcheck.model import Note, Said, SetAside, say
from capcheck.values import Place


class Grid(Struct):
    """Rows of cells as they stand in a file, before anything is known of header or data.

    *numbers* holds the row in the file, from 1, at which each row starts. *set_aside* are rows that the reader of the
    form itself could not hand on, each counted once.
    """

    file: str
    rows: list[list[str]]
    numbers: Sequence[int]
    delimiter: str
    sheet: str | None = None
    encoding: str = ""
    """The encoding of a text by a readable name, or the form of a workbook: ``XLSX``, ``XLS``, ``ODS``."""
    notes: list[Note] = field(default_factory=list)
    set_aside: list[SetAside] = field(default_factory=list)
    doubtful: set[int] = field(default_factory=set)
    continued: set[int] = field(default_factory=set)
    """Rows below which a row states more of the same part."""
    """The rows whose cells may stand in other columns than their own, as numbered in the file."""
    asked: dict[int, Said] = field(default_factory=dict)
    """The rows of which it is open whether they count, as numbered in the file: struck through, hidden."""
    comments: dict[int, list[str]] = field(default_factory=dict)
    """The comments on the cells of each row that has some, as numbered in the file."""
    hidden_columns: set[int] = field(default_factory=set)
    """The columns that the sheet does not show, from 0."""


BLANK_RUN: Final = 100
"""A longer run of blank rows counts as one row: a sheet may hold a million of them below its table."""


def without_blank_runs(rows: Iterable[list[str]], numbers: Iterable[int], delimiter: str, file: str) -> Grid:
    """Return a grid in which each very long run of blank rows is set aside as one."""
    kept: list[list[str]] = []
    kept_numbers: list[int] = []
    grid = Grid(file, kept, kept_numbers, delimiter)
    run: list[int] = []

    def close_run() -> None:
        if len(run) > BLANK_RUN:
            grid.set_aside.append(SetAside(Place(file, run[0]), say("files.blank rows", first=run[0], last=run[-1])))
        else:
            kept.extend([] for _ in run)
            kept_numbers.extend(run)
        run.clear()

    for row, number in zip(rows, numbers, strict=False):
        if not any(row):
            run.append(number)
            continue
        if run:
            close_run()
        kept.append(row)
        kept_numbers.append(number)
    close_run()
    return grid
