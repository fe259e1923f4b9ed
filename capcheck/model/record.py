"""What reading a customer's files left on record: files, choices inferred from evidence, rows set aside, notes."""

from __future__ import annotations

from msgspec import Struct


class InputFile(Struct, frozen=True):
    """A file that was read: its path as the user gave it, its role and the hash of its bytes."""

    path: str
    role: str
    sha256: str


class Note(Struct, frozen=True):
    """Something the reader of a report should know about the input; not a verdict."""

    message: str
    file: str | None = None
    row: int | None = None


class Decision(Struct, frozen=True):
    """A choice that was inferred from evidence, because no input states it.

    *topic* is a short stable name (``unit``, ``origin``, ``bottom side``); *settle* is what would settle it, as the
    line for board.toml. *open* means that two readings remain and the choice is a guess.
    """

    topic: str
    choice: str
    evidence: str
    runner_up: str = ""
    settle: str = ""
    open: bool = False
    file: str | None = None

    def note(self) -> Note:
        """Return the decision as one sentence for a report."""
        text = f"{self.topic}: {self.choice} ({self.evidence})"
        if self.runner_up:
            text += f"; next best: {self.runner_up}"
        if self.settle:
            text += f"; {'please confirm, or set' if self.open else 'to state it:'} {self.settle}"
        return Note(text, self.file)


class SetAside(Struct, frozen=True):
    """A row of a file that is not a placement or a BOM line, with the reason: nothing is dropped silently."""

    file: str
    row: int
    reason: str
    text: str = ""
