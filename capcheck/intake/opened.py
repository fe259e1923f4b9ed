"""The files opened so far: each is read once, and the columns of each of its tables are recognised once."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct, field

from capcheck.intake.tables import Recognised, read_tables
from capcheck.values import reading


class OpenedFiles(Struct):
    """The tables of the files that were opened, by path as it was given."""

    known: dict[str, list[Recognised]] = field(default_factory=dict)

    def tables(self, file: str | Path) -> list[Recognised]:
        """Return the tables of a file, read at the first call. Raises :class:`~capcheck.values.InputError`."""
        name = str(file)
        if name not in self.known:
            with reading(name):
                self.known[name] = [Recognised(table) for table in read_tables(name)]
        return self.known[name]

    def holds(self, file: str) -> bool:
        """Whether the tables of a file have been read."""
        return file in self.known
