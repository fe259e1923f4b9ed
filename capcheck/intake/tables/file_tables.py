"""The tables of a file: one for each sheet, HTML table or titled section that holds rows."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from capcheck.intake.files import Decoded, Grid, open_file
from capcheck.intake.tables.layout_choice import choose_layout
from capcheck.intake.tables.sections import lay_out
from capcheck.intake.tables.table import Table
from capcheck.values import InputError


def read_tables(path: str | Path, sheets: Sequence[Grid] | None = None) -> list[Table]:
    """Return the tables of a file; its form is told by content, never by its name. *sheets* are those already read.

    Raises :class:`InputError` if the file is missing, empty, too large or no table.
    """
    file = os.fspath(path)
    opened = open_file(file) if sheets is None else list(sheets)
    grids = [choose_layout(opened, file)] if isinstance(opened, Decoded) else opened
    tables = [table for grid in grids for table in lay_out(grid)]
    if not any(map(len, tables)):
        seen = sum(table.total_rows for table in tables)
        raise InputError.at(
            file,
            f"no rows of data were found in {seen} row{'s' * (seen != 1)}",
            "a table without data would pass every rule",
            "check that the right file was sent and that it is a table with one part a row",
        )
    return [table for table in tables if table.total_rows]
