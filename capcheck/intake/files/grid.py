"""What every reader of a file form hands on: rows of text cells with the row of the file each comes from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from msgspec import Struct, field

from capcheck.intake.files.packed import PackedColumn
from capcheck.model import Note, SetAside


class Middle(Struct):
    """The long even part of a large file, by column: rows of data without doubt, looked at as a whole.

    Its rows stand before ``Grid.rows[at]`` and start at row *first* of the file.
    """

    at: int
    first: int
    columns: list[PackedColumn]
    starts: bytes
    """The first byte of each row in UTF-8, each kind once."""

    def __len__(self) -> int:
        return len(self.columns[0])


class Grid(Struct):
    """Rows of cells as they stand in a file, before anything is known of header or data.

    *numbers* holds the row in the file, from 1, at which each row starts. *set_aside* are rows that the reader of the
    form itself could not hand on, each counted once.
    """

    rows: list[list[str]]
    numbers: Sequence[int]
    delimiter: str
    notes: list[Note] = field(default_factory=list)
    set_aside: list[SetAside] = field(default_factory=list)
    padded: bool = True
    """Whether cells may have blanks around them, which are then taken off."""
    middle: Middle | None = None

    def unfold(self) -> None:
        """Put the middle back among the rows, where it cannot be taken on trust."""
        if self.middle is None:
            return
        at, first, count = self.middle.at, self.middle.first, len(self.middle)
        self.rows[at:at] = map(list, zip(*self.middle.columns, strict=True))
        self.numbers = [*self.numbers[:at], *range(first, first + count), *self.numbers[at:]]
        self.middle = None


BLANK_RUN: Final = 100
"""A longer run of blank rows counts as one row: a sheet may hold a million of them below its table."""


def without_blank_runs(rows: Iterable[list[str]], numbers: Iterable[int], delimiter: str, file: str) -> Grid:
    """Return a grid in which each very long run of blank rows is set aside as one."""
    grid = Grid([], [], delimiter)
    kept: list[list[str]] = grid.rows
    kept_numbers: list[int] = []
    run: list[int] = []

    def close_run() -> None:
        if len(run) > BLANK_RUN:
            grid.set_aside.append(SetAside(file, run[0], f"blank rows {run[0]} to {run[-1]}"))
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
    grid.numbers = kept_numbers
    return grid
