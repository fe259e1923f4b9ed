"""What the server orders of a worker and what it finds afterwards, as it is written and read."""

from __future__ import annotations

from pathlib import Path
from typing import Final, Literal, TypeVar

import msgspec
from msgspec import Struct

from capcheck.values import InputError, Problem

_Form = TypeVar("_Form")

PHASE: Final = "phase.json"
"""How far a worker is, rewritten as it goes."""
CHECKED: Final = "checked"
"""An empty file that says that the rules are answered: what is written from then on is shown."""
NURSERY: Final = "capcheck.desk.workers.nursery"
"""The module that workers are forked from; it is run, and imported by nobody."""
RESULT: Final = "result.json"
"""What came of it; the last file that a worker writes."""


class Shop(Struct, frozen=True):
    """What a worker knows of the shop: configuration file, store (a file), lines by path; all absolute."""

    configuration: str | None = None
    is_named: bool = True
    """Whether the user named that file: Python that it names runs only then, or where it is trusted."""
    store: str | None = None
    lines: tuple[str, ...] = ()
    plan_seconds: float = 1.0


class Order(Struct, frozen=True):
    """One piece of work. *source* is read, *into* is the folder below which alone is written.

    To tell boards apart, *source* holds what came, and each board gets a folder in *into*.
    """

    work: int
    kind: Literal["sort", "check", "answer"]
    source: str
    into: str
    shop: Shop
    customer: str = ""
    name: str = ""
    earlier: str = ""
    """The folder of the board that this one is a later revision of; it is read too."""
    answers: str = ""
    """The list that was filled in, of which is to be said what it changes."""
    by: str = ""
    """Who answered."""
    line: int = 0
    """The number of the line whose questions were answered."""
    taken: tuple[str, ...] = ()
    """The keys of answers that are taken although they are doubted."""


class Phase(Struct, frozen=True):
    """What a worker is at, in words, and how far it is: so many of so many; 0 of 0 where nothing is counted."""

    words: str
    done: int = 0
    of: int = 0


class Told(Struct, frozen=True):
    """What the server is told: the process of a piece of work, and once it has ended how it did."""

    work: int
    pid: int
    code: int | None = None


class FoundFile(Struct, frozen=True):
    """A file of a board: as it is shown to people, where it lies in the board's folder, how many bytes it has."""

    shown: str
    path: str
    size: int


class FoundBoard(Struct, frozen=True):
    """A board that was told apart: *folder* lies in the folder of the order."""

    name: str
    folder: str
    files: tuple[FoundFile, ...]


class OnLine(Struct, frozen=True):
    """The verdict for a board on a line, for a list."""

    line: str
    verdict: str
    in_panel: bool = False


class Result(Struct, frozen=True):
    """What came of an order. *told* is why nothing did, for people: what, where, what to do."""

    outcome: Literal["done", "refused"]
    told: tuple[str, ...] = ()
    boards: tuple[FoundBoard, ...] = ()
    board: str = ""
    questions: int = 0
    lines: tuple[OnLine, ...] = ()


class Summary(Struct, frozen=True):
    """What a list of quotes shows of the last check of a board."""

    questions: int = 0
    lines: tuple[OnLine, ...] = ()


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that nobody sees half of it."""
    beside = path.with_name(f".{path.name}")
    beside.write_bytes(data)
    beside.replace(path)


def write_form(path: Path, form: object) -> None:
    """Write a record as JSON."""
    write_whole(path, msgspec.json.encode(form))


def read_form(path: Path, form: type[_Form]) -> _Form | None:
    """Return a record that a worker has written; None where it has not, or not as one."""
    try:
        return msgspec.json.decode(path.read_bytes(), type=form)
    except (OSError, msgspec.MsgspecError):
        return None


def told_of(error: InputError, source: str = "") -> tuple[str, ...]:
    """Return what an error says, one text a problem; files of the folder *source* by their place in it."""

    def one(problem: Problem) -> str:
        return str(problem).replace(f"{source}/", "") if source else str(problem)

    return tuple(map(one, error.problems[:20]))
