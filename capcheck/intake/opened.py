"""The files opened so far: each is read once, and the columns of each of its tables are recognised once."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from msgspec import Struct, field

from capcheck.intake.files import Grid
from capcheck.intake.tables import Recognised, read_tables
from capcheck.values import reading

_HEAD_BYTES: Final = 64 * 1024


class OpenedFiles(Struct):
    """The tables of the files that were opened, by path as it was given."""

    known: dict[str, list[Recognised]] = field(default_factory=dict)

    def tables(self, file: str | Path) -> list[Recognised]:
        """Return the tables of a file, read at the first call. Raises :class:`~capcheck.values.InputError`."""
        name = str(file)
        if name not in self.known:
            with reading(name):
                self.known[name] = [Recognised(table) for table in read_tables(name, _own_lists(name))]
        return self.known[name]

    def holds(self, file: str) -> bool:
        """Whether the tables of a file have been read."""
        return file in self.known


def _own_lists(file: str) -> list[Grid] | None:
    """Return the lists of a file of fabrication that places parts itself, as sheets; None of any other file."""
    if not lists_itself(file):
        return None
    from capcheck.intake.exchange import lists_of_parts

    return [Grid(file, one.rows, one.lines, ",", sheet=one.name, encoding="text") for one in lists_of_parts(Path(file))]


def lists_itself(file: str) -> bool:
    """Whether a file is one of fabrication whose standard says how the parts that it places are seen."""
    from capcheck.intake.exchange import LISTING, form_of

    try:
        with Path(file).open("rb") as stream:
            return form_of(stream.read(_HEAD_BYTES)) in LISTING
    except OSError:
        return False  # said when it is opened
