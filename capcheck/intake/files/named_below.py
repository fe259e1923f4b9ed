"""How board.toml names a file: by its place below the folder of the board that is being read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import Final

_FOLDER: Final[ContextVar[Path | None]] = ContextVar("_FOLDER", default=None)


@contextmanager
def files_below(board: Path | None) -> Iterator[None]:
    """Let :func:`as_named` in the block name files below the folder of *board*, which is that or a file in it."""
    token = _FOLDER.set(board if board is None or board.is_dir() else board.parent)
    try:
        yield
    finally:
        _FOLDER.reset(token)


def as_named(file: str | Path) -> str:
    """Return a file as board.toml names it; one out of an archive, which is to be unpacked first, by its name alone."""
    folder, path = _FOLDER.get(), Path(file)
    return path.relative_to(folder).as_posix() if folder is not None and path.is_relative_to(folder) else path.name
