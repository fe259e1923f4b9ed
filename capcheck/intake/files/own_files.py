"""A customer's folder is data, and nothing in it leads out of it: no path, no link, no device."""

from __future__ import annotations

import re
from pathlib import Path

from capcheck.values import InputError, Place

_REMEDY = "put a copy of the file into the folder, and name it without a path"


def refuse_outside(folder: Path, name: str, where: Place) -> None:
    """Raise :class:`InputError` unless *name* leads to a regular file below *folder*, or to nothing at all.

    What does not exist is told where it is read.
    """
    parts = re.split(r"[\\\\/]", name)
    if not name.strip() or "\0" in name:
        raise InputError.at(where, "names no file", remedy="write the name of a file in this folder")
    if parts[0] in {"", "~"} or re.match(r"[A-Za-z]:", name):
        raise InputError.at(where, f'"{name}" is a path from the root', "files of a board lie in its folder", _REMEDY)
    if ".." in parts:
        raise InputError.at(where, f'"{name}" leads out of the folder', "files of a board lie in its folder", _REMEDY)
    if not leads_inside(folder / name, folder):
        raise InputError.at(
            where, f'"{name}" is a link that leaves the folder', "files of a board lie in its folder", _REMEDY
        )
    path = folder / name
    try:
        kind = "" if path.is_file() or not path.exists() else "a folder" if path.is_dir() else "a device or a pipe"
    except OSError as error:  # a name too long for any file
        raise InputError.at(where, f'"{name}" cannot be read: {error.strerror}', remedy="correct the name") from None
    if kind:
        raise InputError.at(where, f'"{name}" is {kind}, not a file', remedy="write the name of a file in this folder")


def leads_inside(path: Path, folder: Path) -> bool:
    """Whether a path lies below a folder once its links are followed; a link that leads in a circle does not."""
    try:
        return path.resolve(strict=False).is_relative_to(folder.resolve())
    except (OSError, RuntimeError):
        return False
