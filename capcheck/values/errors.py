"""What is wrong with an input: where, what, why it matters and what to do.

A finding is data and never an exception. An exception of this module means "could not check" and ends a command
with exit code 2.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Final, Self

from msgspec import Struct, field

from capcheck.values.control_characters import cut, visible

TRACEBACK: Final = "CAPCHECK_TRACEBACK"
"""The environment variable that asks for the traceback of what was not foreseen."""
_MOST_CHARACTERS: Final = 200


class Place(Struct, frozen=True):
    """A place in an input: a file and, as far as known, its sheet, row (counted from 1) and column or key."""

    file: str
    row: int | None = None
    column: str | None = None
    sheet: str | None = None

    def __str__(self) -> str:
        """Return ``bom.csv:14 height``; a sheet is named after the file in square brackets."""
        text = self.file if self.sheet is None else f"{self.file}[{self.sheet}]"
        if self.row is not None:
            text += f":{self.row}"
        return text if self.column is None else f"{text} {self.column}"


class Problem(Struct, frozen=True):
    """One thing that is wrong with an input."""

    where: Place
    what: str
    why: str = ""
    remedy: str = ""

    def __str__(self) -> str:
        """Return the problem as one line, safe to print: where, what, why; then what to do."""
        text = f"{self.where}: {self.what}"
        if self.why:
            text += f" ({self.why})"
        return visible(f"{text}; {self.remedy}" if self.remedy else text)


class InputError(Exception):
    """An input cannot be used. It carries every problem found, so that a user mends a file once."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(map(str, self.problems)))

    def __reduce__(self) -> tuple[object, ...]:
        """Return how to make it anew in another process: of its problems, not of their text."""
        return type(self), (self.problems,), vars(self)

    @classmethod
    def at(cls, place: Place | str, what: str, why: str = "", remedy: str = "") -> Self:
        """Return the error of one problem at a *place*, or in the file or option that a text names."""
        return cls(Problem(Place(place) if isinstance(place, str) else place, what, why, remedy))


class UnreadableError(InputError):
    """A file that may say what the answer hangs on cannot be looked into: damaged, closed to us, or beyond a limit."""


def unforeseen(error: BaseException, where: Place | str) -> Problem:
    """Return the problem that an error makes which nobody foresaw, at the *where* that was in work."""
    named = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
    what = f"cannot be used, for an error that was not foreseen: {cut(' '.join(named.split()), _MOST_CHARACTERS)}"
    if isinstance(error, MemoryError):
        what = "takes more memory than there is"
    elif isinstance(error, RecursionError):
        what = "is nested too deeply"
    elif isinstance(error, RuntimeError) and str(error).startswith("Symlink loop"):
        where, what = str(error).partition("'")[2].strip("'") or where, "is a link that leads to itself"
    elif isinstance(error, OSError) and error.filename:
        where, what = str(error.filename), f"cannot be read: {error.strerror}"
    return Problem(
        Place(where) if isinstance(where, str) else where,
        what,
        "nothing was proved",
        f"look whether the file is damaged, or save it anew; {TRACEBACK}=1 shows where in the program it was",
    )


@contextmanager
def reading(file: object) -> Iterator[None]:
    """Raise :class:`InputError` at *file* for whatever a reader raises: a damaged file may break any library."""
    try:
        yield
    except InputError:
        raise
    except Exception as error:
        raise InputError(unforeseen(error, str(file))) from error


class Problems(Struct):
    """Gathers the problems of an input, to be raised together."""

    found: list[Problem] = field(default_factory=list)

    def add(self, where: Place, what: str, why: str = "", remedy: str = "") -> None:
        """Note one problem and go on reading."""
        self.found.append(Problem(where, what, why, remedy))

    def raise_if_any(self) -> None:
        """Raise :class:`InputError` with all problems noted so far; do nothing if there are none."""
        if self.found:
            raise InputError(self.found)


def nearest(name: str, known: Iterable[str]) -> str:
    """Return ``did you mean "…"?`` for the known name most like *name*, or an empty string."""
    import difflib  # only a name that is not known needs it

    close = difflib.get_close_matches(name, list(known), n=1, cutoff=0.6)
    return f'did you mean "{close[0]}"?' if close else ""
