"""What the rows of quotes say: a quote with its boards and files, the work that is asked for, who did what."""

from __future__ import annotations

from typing import Final, Literal

from msgspec import Struct

WorkKind = Literal["sort", "check"]
"""To tell the boards of what came apart; to check one of them."""
WorkOutcome = Literal["", "done", "refused", "failed"]
"""``refused`` is of files that cannot be read, ``failed`` of a worker that ended in the middle."""
State = Literal[
    "nothing to check",
    "reading",
    "not read",
    "questions open",
    "waiting for the customer",
    "decided",
    "no questions open",
]
STATES: Final[tuple[State, ...]] = (
    "reading",
    "questions open",
    "no questions open",
    "waiting for the customer",
    "decided",
    "not read",
    "nothing to check",
)


class QuoteFile(Struct, frozen=True):
    """A file that came: *shown* is its name as it came, *path* where it lies below the quote's folder."""

    id: int
    board: int | None
    shown: str
    path: str
    size: int


class Work(Struct, frozen=True):
    """Something that is asked for, with what came of it: *told* for people, *result* as JSON.

    *board* is the one to check; of boards to be told apart the one that they are later revisions of, if any.
    """

    id: int
    quote: int
    board: int | None
    kind: WorkKind
    about: str
    """The folder of what came, below the quote's, where boards are to be told apart."""
    asked_at: str
    tries: int
    ended_at: str
    outcome: WorkOutcome
    told: str
    result: str

    @property
    def is_open(self) -> bool:
        """Whether it is still to be done."""
        return not self.ended_at


class QuoteBoard(Struct, frozen=True):
    """A board of a quote, with the work that was asked for, the oldest first."""

    id: int
    quote: int
    name: str
    folder: str
    works: tuple[Work, ...] = ()
    revises: int | None = None
    """The board of the quote that it is a later revision of."""

    @property
    def is_open(self) -> bool:
        """Whether a check of it is still to be done."""
        return any(work.is_open for work in self.works)

    @property
    def last_done(self) -> Work | None:
        """The last check that came to a result."""
        return next((work for work in reversed(self.works) if work.outcome == "done"), None)

    @property
    def last(self) -> Work | None:
        """The last check that was asked for."""
        return self.works[-1] if self.works else None


class Quote(Struct, frozen=True):
    """A quote with its boards; times are texts in UTC, *due* is a day; both are empty where there is none."""

    id: int
    folder: str
    customer: str
    name: str
    quantity: int | None
    due: str
    received_at: str
    waiting_since: str = ""
    decided_at: str = ""
    decision: str = ""
    boards: tuple[QuoteBoard, ...] = ()
    works: tuple[Work, ...] = ()
    """What was asked for of the whole of it."""

    def state(self, questions: int) -> State:
        """Return what it is at; *questions* are those open on all its boards."""
        if self.decided_at:
            return "decided"
        if any(work.is_open for work in self.works) or any(board.is_open for board in self.boards):
            return "reading"
        last = [work for work in (*self.works[-1:], *(board.last for board in self.boards)) if work is not None]
        if any(work.outcome != "done" for work in last):
            return "not read"
        if not self.boards:
            return "nothing to check"
        if self.waiting_since:
            return "waiting for the customer"
        return "questions open" if questions else "no questions open"


class Logged(Struct, frozen=True):
    """Who did what to a quote, and when."""

    who: str
    at: str
    what: str
    about: str
