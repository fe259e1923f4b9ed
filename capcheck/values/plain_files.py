"""Plain files alone are read: a device never ends, and a pipe may wait for ever."""

from __future__ import annotations

from pathlib import Path

from capcheck.values.errors import InputError


def refuse_special(path: Path) -> None:
    """Raise :class:`InputError` for a device, a pipe or a socket; what is missing is told where it is read."""
    if path.exists() and not (path.is_file() or path.is_dir()):
        raise InputError.at(str(path), "is a device or a pipe, not a file", remedy="save it as a file, and name that")
