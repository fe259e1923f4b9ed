"""What was understood: each file with its role, and each reading with its evidence and the second-best one."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Area, Found, Seen
from capcheck.lexicon import sentence
from capcheck.report import without_folders


class FileRead(Struct, frozen=True):
    """A file and what it was taken for."""

    name: str
    role: str


class Reading(Struct, frozen=True):
    """A reading of the files: what was taken, why, what else it could have been, the line that would state it."""

    words: str
    topic: str
    evidence: str
    otherwise: str
    settle: str


class Understood(Struct, frozen=True):
    """What was understood of a board's files."""

    name: str
    size: str
    parts: int
    files: tuple[FileRead, ...]
    readings: tuple[Reading, ...]
    notes: tuple[str, ...]


def made(found: Found) -> Understood:
    """Return what was understood, in words."""
    board = found.board
    paths = [file.path for file in board.inputs]

    def told(text: str) -> str:
        return without_folders(text, paths)

    size = board.size
    sides = [f"{m.value.low:.4g}" for m in (size.length, size.width) if m.value.is_known]
    readings = tuple(
        Reading(
            told(sentence(one.choice)),
            str(one.topic),
            told(sentence(one.evidence)),
            told(sentence(one.runner_up)),
            told(sentence(one.settle)),
        )
        for one in board.decisions
    )
    return Understood(
        board.name,
        f"{' × '.join(sides)} mm" if len(sides) == 2 else "size not known",
        int(board.placements.is_part.sum()),
        tuple(FileRead(told(file.path), file.role) for file in board.inputs),
        readings,
        tuple(told(sentence(note.said)) for note in board.notes),
    )


def shown(_: Seen, data: Understood | None) -> Understood | None:
    """Return it as it is."""
    return data


AREA: Final = Area("understood", "What was understood", shown, Understood, made, ("read",))
