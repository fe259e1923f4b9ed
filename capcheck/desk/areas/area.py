"""What an area of a board's page is: what a worker makes of a check, and what the server shows of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, Literal

from msgspec import Struct

from capcheck.checking import Libraries, Report
from capcheck.desk.answers_kept import Answered
from capcheck.model import Board
from capcheck.report import questions_asked
from capcheck.store import Quote, QuoteBoard, Store
from capcheck.survey import LineResult

After = Literal["read", "checked", "planned"]
"""When a worker writes an area: the files are read, the rules are answered, the cycle is planned."""
_BEST_FIRST: Final = ("pass", "warn", "fail", "unanswered")


class Found(Struct, frozen=True):
    """What a worker knows of a board by now; without lines in the shop there is one report and no result."""

    board: Board
    reports: tuple[Report, ...] = ()
    lines: tuple[str, ...] = ()
    results: tuple[LineResult, ...] = ()
    libraries: Libraries | None = None
    """What the shop knows of parts, where it was asked."""

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

    *line* is the number of the line that is looked at; None where the reader has chosen none.
    """

    quote: Quote
    board: QuoteBoard
    folder: Path | None
    store: Store
    line: int | None = None
    answered: Answered | None = None
    """The answers that were just given, where the reader comes from giving them."""
    letters: Path | None = None
    """The folder with the mails that somebody edited."""
    language: str = ""
    """Of the mail, as the reader chose it; empty where he did not."""


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
