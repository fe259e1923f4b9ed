"""Folders and archives of one place that hold the same files under the same names: one of them is enough."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Hashable, Sequence
from pathlib import Path

from capcheck.values import InputError


def without_copies(
    paths: Sequence[Path], told_of: Callable[[Path], Hashable]
) -> tuple[list[Path], dict[Path, list[Path]]]:
    """Return the first of each content, in their order, and the copies of those that have some.

    What cannot be read or settled is a copy of nothing, nor is that of which the shop is *told* something else.
    """
    firsts: dict[object, Path] = {}
    kept: list[Path] = []
    copies: dict[Path, list[Path]] = {}
    for path in paths:
        try:
            first = firsts.setdefault((_content(path), told_of(path)), path)
        except (OSError, InputError):  # the check of it says what is wrong
            first = path
        if first is path:
            kept.append(path)
        else:
            copies.setdefault(first, []).append(path)
    return kept, copies


def same_below(paths: Sequence[Path]) -> dict[Path, list[Path]]:
    """Return the copies of each content; only where names and sizes agree, and there is something, is it read."""
    alike: dict[object, list[Path]] = {}
    for path in paths:
        try:
            sizes = tuple((file.relative_to(path).as_posix(), file.stat().st_size) for file in _files(path))
        except OSError:  # what cannot be read is a copy of nothing
            continue
        if sizes:
            alike.setdefault(sizes, []).append(path)
    return {
        first: others
        for several in alike.values()
        if len(several) > 1
        for first, others in without_copies(several, lambda _: None)[1].items()
    }


def _files(path: Path) -> list[Path]:
    return [path] if path.is_file() else sorted(file for file in path.rglob("*") if file.is_file())


def _content(path: Path) -> str:
    """Return a hash of the names and bytes of all files of a folder, or of an archive."""
    files = _files(path)
    whole = hashlib.sha256()
    for file in files:
        name = file.suffix if file is path else file.relative_to(path).as_posix()
        whole.update(f"{len(name)}:{name}".encode(errors="surrogateescape"))
        whole.update(hashlib.sha256(file.read_bytes()).digest())
    return whole.hexdigest()
