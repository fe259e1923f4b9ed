"""What the program is at, told to whoever shows it: the phase, and how far it is."""

from __future__ import annotations

import enum
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final, TypeAlias


class Phase(enum.StrEnum):
    """A stretch of work on a board that may take long; the value is its name for people."""

    READING = "reading files"
    BODIES = "looking up kinds of parts"
    RULES = "answering rules"


Hears: TypeAlias = Callable[[Phase, int, int], None]
_HEARS: Final[list[Hears]] = []


def at_phase(phase: Phase, done: int = 0, of: int = 0) -> None:
    """Tell that the work is at *phase*, with so many *done* *of* so many; 0 of 0 where nothing is counted."""
    if _HEARS:
        _HEARS[-1](phase, done, of)


@contextmanager
def phases_heard_by(hears: Hears) -> Iterator[None]:
    """Let *hears* be told in the block."""
    _HEARS.append(hears)
    try:
        yield
    finally:
        _HEARS.pop()
