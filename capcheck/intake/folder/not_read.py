"""What lies beside a board's lists and cannot be read, each place named: it may list parts."""

from __future__ import annotations

import os
from collections.abc import Container, Iterator
from pathlib import Path
from typing import Final

from capcheck.intake.archives import is_archive, links_in, unpacked_from
from capcheck.intake.files import leads_inside, open_file
from capcheck.model import Discrepancy, Severity, Topic, say
from capcheck.values import InputError, Place

DEEPEST: Final = 2
"""So many levels below a board's folder are looked at."""
NO_CONTENT: Final = frozenset({"__MACOSX", "__pycache__"})
"""Folders that systems leave behind."""
TABLES: Final = frozenset({".csv", ".tsv", ".txt", ".xls", ".xlsx", ".ods", ".pos", ".xy", ".mnt", ".mnb"})
"""Ends of names of lists: what cannot be read of others was none most likely."""
_MOST: Final = 4000
"""Entries of a folder, and of those below it, that are looked at."""
_MOST_OPENED: Final = 200
_MOST_BYTES: Final = 20_000_000
"""Lists beside the named files that are opened, and their size together: opening them takes about a second then."""


def not_read(place: Path, what: str, name: str | None = None) -> Discrepancy:
    """Return the question whether what cannot be read is of the board: *what* says why, *name* which it is."""
    said = say("find.may list parts", file=name or place.name, what=what)
    return Discrepancy(Topic.LEFT_OUT, said, place=Place(str(place)), severity=Severity.ASSUMED)


def damage_of_list(file: Path) -> str:
    """Return why a file that is a list by its name cannot be opened; "" of others, and of a text that lists nothing."""
    if file.suffix.lower() not in TABLES:
        return ""
    try:
        open_file(str(file))
    except InputError as error:
        return error.problems[0].what
    return ""


def left_out_of_archive(archive: str) -> Iterator[Discrepancy]:
    """Yield that links of an archive were not unpacked; one with too large a file is not unpacked at all."""
    if links := links_in(archive):
        held = f"{links} links, which are" if links > 1 else "a link, which is"
        yield not_read(Path(archive), f"it holds {held} not followed")


def places_not_read(folder: Path) -> Iterator[Discrepancy]:
    """Yield each place below a board's folder that is not looked into: closed, too deep, a link out of it, a device."""
    if archive := unpacked_from().get(str(folder)):
        yield from left_out_of_archive(archive)
    seen = [0]
    yield from _below(folder, folder, DEEPEST, seen)
    if seen[0] > _MOST:
        yield not_read(folder, f"it holds more than {_MOST:,} files, and not all were looked at")


def unreadable_beside(folder: Path, named: Container[Path]) -> Iterator[Discrepancy]:
    """Yield each place of a folder, but for its *named* files, that cannot be read, damaged lists among them."""
    try:
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError:  # a file that is named says so
        return
    opened = size = 0
    for entry in entries[:_MOST]:
        path = Path(entry.path)
        if entry.name.startswith(".") or entry.name in NO_CONTENT or path in named:
            continue
        why = _why(path, entry, folder, 1)
        try:
            if not why and entry.is_dir():
                os.scandir(path).close()
            elif not why and path.suffix.lower() in TABLES:
                opened, size = opened + 1, size + entry.stat().st_size
                why = damage_of_list(path) if opened <= _MOST_OPENED and size <= _MOST_BYTES else ""
        except OSError as error:
            why = f"it cannot be read: {error.strerror}"
        if why:
            yield not_read(path, why)
    if len(entries) > _MOST or opened > _MOST_OPENED or size > _MOST_BYTES:
        yield not_read(folder, "it holds more lists beside those named than are opened")


def _below(folder: Path, top: Path, depth: int, seen: list[int]) -> Iterator[Discrepancy]:
    try:
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError as error:
        yield not_read(folder, f"the folder cannot be read: {error.strerror}", _named(folder, top))
        return
    for entry in entries:
        seen[0] += 1
        if seen[0] > _MOST:
            return
        if entry.name.startswith(".") or entry.name in NO_CONTENT:
            continue
        path = Path(entry.path)
        why = _why(path, entry, top, depth)
        if why:
            yield not_read(path, why, _named(path, top))
        elif entry.is_dir():
            yield from _below(path, top, depth - 1, seen)


def _why(path: Path, entry: os.DirEntry[str], top: Path, depth: int) -> str:
    """Return why nothing of an entry is read; "" where it is a file that is opened, or a folder that is looked into."""
    try:
        if entry.is_symlink() and not leads_inside(path, top):
            return "it is a link that leaves the folder, and is not followed"
        if entry.is_symlink() and not path.exists():
            return "it is a link that leads nowhere"
        if entry.is_dir():
            return "" if depth or not any(path.iterdir()) else f"it lies more than {DEEPEST} folders deep"
        if not entry.is_file():
            return "it is a device or a pipe"
    except OSError as error:
        return f"it cannot be read: {error.strerror}"
    packed = is_archive(path) and path.parent != top
    return "an archive in a folder below the board's is not opened" if packed else ""


def _named(path: Path, top: Path) -> str:
    return path.relative_to(top).as_posix() if path != top else path.name
