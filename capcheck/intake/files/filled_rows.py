"""Every table that a file can be read as, without knowing what it holds: for lists that come back filled in."""

from __future__ import annotations

from pathlib import Path

from capcheck.intake.files.delimited import DELIMITERS, read_delimited
from capcheck.intake.files.encoding import Decoded
from capcheck.intake.files.form import open_file
from capcheck.intake.files.grid import Grid


def tables_of_file(path: Path) -> list[Grid]:
    """Return the sheets of a workbook; of a text its cells by each delimiter, which the caller chooses from.

    Foreign forms are read in the reading process, under limits. Raises :class:`~capcheck.values.InputError`.
    """
    opened = open_file(str(path))
    return _by_each_delimiter(str(path), opened) if isinstance(opened, Decoded) else opened


def text_of_file(path: Path) -> str:
    """Return a text file's text, whatever it is encoded in; of a workbook none. Raises as :func:`tables_of_file`."""
    opened = open_file(str(path))
    return opened.text if isinstance(opened, Decoded) else ""


def _by_each_delimiter(file: str, decoded: Decoded) -> list[Grid]:
    found = []
    for mark in DELIMITERS.values():
        read = read_delimited(decoded.text, mark)
        found.append(Grid(file, read.rows, read.numbers, mark, encoding=decoded.encoding))
    return found
