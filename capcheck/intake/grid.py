"""What every reader of a file form hands on: rows of text cells with the row of the file each comes from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from capcheck.model import Note, SetAside


@dataclass(slots=True)
class Grid:
    """Rows of cells as they stand in a file, before anything is known of header or data.

    *numbers* holds the row in the file, from 1, at which each row starts. *set_aside* are rows that the reader of the
    form itself could not hand on, each counted once.
    """

    rows: list[list[str]]
    numbers: Sequence[int]
    delimiter: str
    notes: list[Note] = field(default_factory=list)
    set_aside: list[SetAside] = field(default_factory=list)
