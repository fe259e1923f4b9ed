"""What was chosen among the files of a folder, with why."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from capcheck.model import Decision, Note


class Found(Struct, frozen=True):
    """The files chosen, with why; nothing where the files were named."""

    placements: tuple[Path, ...] = ()
    bom: Path | None = None
    outline: Path | None = None
    decisions: tuple[Decision, ...] = ()
    notes: tuple[Note, ...] = ()
