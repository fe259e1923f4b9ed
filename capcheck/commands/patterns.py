"""Patterns of names that the shell has left as they are, because they were quoted or because it knows none."""

from __future__ import annotations

import glob
import os
from collections.abc import Sequence
from pathlib import Path

from capcheck.intake import is_archive
from capcheck.values import InputError


def matching(paths: Sequence[str]) -> list[str]:
    """Return the paths with each pattern replaced by what it names: folders, archives, files board.toml.

    Raises :class:`InputError` for a pattern that names nothing.
    """
    return [each for path in paths for each in _matching(path)]


def _matching(path: str) -> list[str]:
    if not any(sign in path for sign in "*?[") or os.path.lexists(path):
        return [path]
    found = sorted(glob.glob(_pattern(path), recursive=True))  # noqa: PTH207 - the text is the user's, with a root or not
    fitting = [
        each for each in found if Path(each).is_dir() or Path(each).name == "board.toml" or is_archive(Path(each))
    ]
    if not fitting:
        raise InputError.at(path, "no folder and no archive has such a name", remedy="correct the pattern")
    return fitting


def _pattern(path: str) -> str:
    """Return a pattern in which the folders that are there by these very names stand for themselves."""
    start, rest = "", path
    while "/" in rest:
        name, below = rest.split("/", 1)
        if not os.path.isdir(f"{start}{name}/"):  # noqa: PTH112 - a name too long for a path may be asked about
            break
        start, rest = f"{start}{name}/", below
    return glob.escape(start) + rest
