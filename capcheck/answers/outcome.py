"""What became of one row of the list: what it changes, or why nothing is written."""

from __future__ import annotations

import enum
from collections.abc import Mapping

from msgspec import Struct

from capcheck.answers.figures import Doubt, Words
from capcheck.packages import Statement
from capcheck.values import Place


class State(enum.StrEnum):
    """What became of an answer; the value is the heading under which it is told."""

    WRITTEN = "to be written"
    HOLDS = "confirmed: it stays as it was read"
    NOTED = "noted, for a person to act on"
    WAITS = "the customer sends something; stays open"
    WORDS = "in words where a figure or a choice was asked; for a person to read, stays open"
    DOUBTED = "doubtful, not written"
    CHANGED = "refused: what is asked has changed since"
    UNKNOWN = "refused: not asked of this board"
    BEFORE = "answered before"
    NO_MORE = "no longer asked in these words, with nothing ticked or written behind its code"


class Edit(Struct, frozen=True):
    """One entry of board.toml: a key with its tables, and a text, or designators to add to a list."""

    path: tuple[str, ...]
    value: str | tuple[str, ...]


class Acceptance(Struct, frozen=True):
    """Findings of one rule on one part that a customer accepts, no farther beyond their limit than now."""

    rule: str
    part: str
    margin: str | None
    reason: str


class Settled(Struct, frozen=True):
    """One answered row: its question, the words of the answer, and what it does."""

    key: str
    asked: str
    about: str
    """What the row is about, for people: the question's type, and the part."""
    answer: str
    state: State
    place: Place
    statements: tuple[Statement, ...] = ()
    edits: tuple[Edit, ...] = ()
    acceptances: tuple[Acceptance, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    in_words: tuple[Words, ...] = ()
    """What stands in words where a figure was asked for: nothing is written of it."""
    closes: bool = False
    """Whether the customer need not be asked again."""
    closes_rows: tuple[tuple[str, str], ...] = ()
    """The parts of the question, by key and version, that it answers too."""
    told: Mapping[str, str] = {}
    """What else is to be said of it, such as who answered before."""
