"""Mails to customers as somebody edited them, kept one a board and language in the quote's folder."""

from __future__ import annotations

from pathlib import Path

import msgspec
from msgspec import Struct

LONGEST = 60_000
"""Characters of a mail that is kept."""


class Edited(Struct, frozen=True):
    """A mail as it was edited: by whom, when (UTC), and of which version of what the program made."""

    text: str
    version: str
    who: str
    when: str


def _path(folder: Path, board: int, language: str) -> Path:
    return folder / f"{board}-{language}.json"


def edited_letter(folder: Path | None, board: int, language: str) -> Edited | None:
    """Return what was kept; None where nothing was."""
    try:
        return None if folder is None else msgspec.json.decode(_path(folder, board, language).read_bytes(), type=Edited)
    except (OSError, msgspec.MsgspecError):
        return None


def keep_letter(folder: Path, board: int, language: str, edited: Edited | None) -> None:
    """Keep a mail as it was edited; None goes back to what the program makes."""
    path = _path(folder, board, language)
    if edited is None:
        path.unlink(missing_ok=True)
        return
    folder.mkdir(exist_ok=True)
    beside = path.with_suffix(".new")
    beside.write_bytes(msgspec.json.encode(edited))
    beside.replace(path)
