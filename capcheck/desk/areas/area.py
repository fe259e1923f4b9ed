"""What an area of a board's page is: what a worker makes of a check, and what the server shows of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, Literal, TypeVar

import msgspec
from msgspec import Struct

from capcheck.checking import Libraries, Report
from capcheck.desk.answers_kept import Answered
from capcheck.model import Board
from capcheck.report import questions_asked
from capcheck.revisions import Comparison
from capcheck.store import Quote, QuoteBoard, Store
from capcheck.survey import LineResult

_Form = TypeVar("_Form")
After = Literal["read", "checked", "compared", "planned"]
"""When a worker writes an area: files are read, rules answered, the earlier revision compared, the cycle planned."""
_BEST_FIRST: Final = ("pass", "warn", "fail", "unanswered")


class Found(Struct, frozen=True):
    """What a worker knows of a board by now; without lines in the shop there is one report and no result."""

    board: Board
    reports: tuple[Report, ...] = ()
    lines: tuple[str, ...] = ()
    results: tuple[LineResult, ...] = ()
    libraries: Libraries | None = None
    """What the shop knows of parts, where it was asked."""
    comparison: Comparison | None = None
    """With the board that this one is a later revision of, on the line that suits this one best."""
    folder: Path | None = None
    """The board's own, where it is one: areas name files by their place in it."""

    def inside(self, file: str) -> str:
        """Return where a file lies in the board's folder; its name alone where that is not known."""
        path = Path(file)
        inside = self.folder is not None and path.is_relative_to(self.folder)
        return path.relative_to(self.folder or "").as_posix() if inside else path.name

    @property
    def best(self) -> int:
        """The number of the report by which the board builds best, and asks least."""
        numbers = range(len(self.reports))
        return min(
            numbers,
            key=lambda n: (_BEST_FIRST.index(self.reports[n].verdict), questions_asked(self.reports[n]), n),
        )

    @property
    def asking(self) -> Report:
        """The report whose questions the customer is asked."""
        return self.reports[self.best]


class Seen(Struct, frozen=True):
    """What the server shows: the board, the folder of what its check came to (None before), the shop's store.

    *line* is the number of the line that is looked at; None where the reader has chosen none. *before* is the folder
    of the check before the one that is shown, *undoable* how many changes of readings can be undone; *part* is the
    designator that is looked at, *earlier* the folder of the last check of the board that this one revises.
    """

    quote: Quote
    board: QuoteBoard
    folder: Path | None
    store: Store
    line: int | None = None
    before: Path | None = None
    undoable: int = 0
    part: str = ""
    earlier: Path | None = None
    answered: Answered | None = None
    """The answers that were just given, where the reader comes from giving them."""
    letters: Path | None = None
    """The folder with the mails that somebody edited."""
    language: str = ""
    """Of the mail, as the reader chose it; empty where he did not."""


def data_in(folder: Path | None, area: str, form: type[_Form]) -> _Form | None:
    """Return the data of an area that a worker wrote into a folder; None where it has not, or not as such."""
    if folder is None:
        return None
    try:
        return msgspec.json.decode((folder / f"{area}.json").read_bytes(), type=form)
    except (OSError, msgspec.MsgspecError):
        return None


class Area(Struct, frozen=True):
    """An area: its name is that of its module, its template and its file.

    *made* makes its data of a check, in the worker, at each of *after*; *form* is the record that it is. *shown* makes
    of it what the template gets as ``data``; it is given None where no worker has written it, and may ask the store.
    An area without *made* is of the store alone.
    """

    name: str
    title: str
    shown: Callable[[Seen, Any], object]
    form: type[Struct] | None = None
    made: Callable[[Found], Struct] | None = None
    after: tuple[After, ...] = ()
