"""What answers change, as a worker writes it down for the server, which keeps it beside the list it came in."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import msgspec
from msgspec import Struct

from capcheck.packages import Statement
from capcheck.shop import GivenAnswer
from capcheck.store import Question

ANSWERED: Final = "answered.msgpack"
BOARD_FILE: Final = "board.toml"


class ToldAnswer(Struct, frozen=True):
    """What becomes of one answer: *state* as a word of the program, *heading* for people, what it changes, doubts."""

    key: str
    about: str
    answer: str
    state: str
    heading: str
    changes: tuple[str, ...]
    doubts: tuple[tuple[str, str, str], ...]
    """Figure, text, and why it is doubted."""
    where: str = ""


class ChangedFile(Struct, frozen=True):
    """A file as it is to be written, and as it was when that was worked out; None where it was not there."""

    after: bytes
    before: bytes | None


class Answered(Struct, frozen=True):
    """All that a list changes, for the server to write."""

    board: str
    told: tuple[ToldAnswer, ...]
    without_key: tuple[str, ...]
    lacking: tuple[str, ...]
    board_file: ChangedFile | None
    configuration: ChangedFile | None
    statements: tuple[Statement, ...]
    answers: tuple[GivenAnswer, ...]
    questions: tuple[Question, ...]
    before: tuple[str, ...]
    """The keys that were answered when this was worked out."""


def answered_in(folder: Path) -> Answered | None:
    """Return what a worker found answers to change; None where it has not."""
    try:
        return msgspec.msgpack.decode((folder / ANSWERED).read_bytes(), type=Answered)
    except (OSError, msgspec.MsgspecError):
        return None
