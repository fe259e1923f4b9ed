"""The files opened so far: each is read once, and the columns of each of its tables are recognised once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field

from capcheck.intake.files import Grid
from capcheck.intake.tables import Recognised, read_tables
from capcheck.values import reading

if TYPE_CHECKING:
    from capcheck.intake.exchange import Form

_HEAD_BYTES: Final = 64 * 1024


class OpenedFiles(Struct):
    """The tables of the files that were opened, by path as it was given."""

    known: dict[str, list[Recognised]] = field(default_factory=dict)
    beside: dict[str, list[Path]] = field(default_factory=dict)
    """The files of each form of fabrication that are read together: IDF and its libraries, layers of both sides."""

    def tables(self, file: str | Path) -> list[Recognised]:
        """Return the tables of a file, read at the first call. Raises :class:`~capcheck.values.InputError`."""
        name = str(file)
        if name not in self.known:
            with reading(name):
                lists = _own_lists(name, self.beside)
                self.known[name] = [] if lists == [] else [Recognised(table) for table in read_tables(name, lists)]
        return self.known[name]

    def read_beside(self, fabrication: Iterable[tuple[Path, Form]]) -> None:
        """Take the files of one form among those of *fabrication* for what is read with each of them."""
        self.beside = {}
        for file, form in fabrication:
            self.beside.setdefault(form.name, []).append(file)

    def holds(self, file: str) -> bool:
        """Whether the tables of a file have been read."""
        return file in self.known


def _own_lists(file: str, beside: Mapping[str, Sequence[Path]]) -> list[Grid] | None:
    """Return the lists of a file of fabrication that places parts itself, as sheets; None of any other file."""
    form = lists_itself(file)
    if form is None:
        return None
    from capcheck.intake.exchange import lists_of_parts

    lists = lists_of_parts(Path(file), beside.get(form.name, ()))
    return [Grid(file, one.rows, one.lines, ",", sheet=one.name, encoding="text") for one in lists]


def lists_itself(file: str) -> Form | None:
    """Return the form of a file of fabrication whose standard says how the parts that it places are seen; else None."""
    from capcheck.intake.exchange import LISTING, NAMING, form_of

    try:
        with Path(file).open("rb") as stream:
            form = form_of(stream.read(_HEAD_BYTES))
    except OSError:
        return None  # said when it is opened
    return form if form in LISTING | NAMING else None
