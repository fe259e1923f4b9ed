"""Drill files as the reading process reads them: drill programs, and Gerber layers that say that they are drills."""

from __future__ import annotations

import contextlib
from functools import lru_cache
from pathlib import Path
from typing import Final

from capcheck.intake.confined import Reader
from capcheck.intake.drills.program import MOST_HOLES, Drilled, Program, is_program, plating_by_name, read_program
from capcheck.intake.files import layer_has_ended, program_has_ended
from capcheck.values import InputError, pattern

_REMEDY: Final = "export the holes again, as one drill file of plated and one of non-plated holes"
_KEPT: Final = 8
"""Files that are kept as they were read last: the outline and the lands ask for the same ones."""
_LARGEST: Final = 16 * 1024 * 1024
_GERBER: Final = pattern(rb"TF\.FileFunction,\s*(NonPlated|Plated)\b")


def is_drill_file(head: bytes) -> bool:
    """Whether a file, by its beginning, lists holes to drill."""
    return is_program(head) or _GERBER.search(head) is not None


def read_drill_file(file: Path) -> Program:
    """Return what a drill file says, read in the reading process.

    Raises :class:`~capcheck.values.InputError`, also where the file breaks its reader.
    """
    stat = file.stat()
    return _read(file, stat.st_size, stat.st_mtime_ns)


@lru_cache(maxsize=_KEPT)
def _read(file: Path, _size: int, _changed: int) -> Program:
    return _reader(file).read(str(file), Program)


def expect_drill_file(file: Path) -> None:
    """Have a drill file read while other work is done."""
    with contextlib.suppress(OSError):  # said when it is read
        _reader(file).expect(str(file))


def _reader(file: Path) -> Reader:
    with file.open("rb") as stream:
        libraries = () if _plating_of_layer(stream.read(4096)) is None else ("gerbonara",)
    return Reader(f"{__name__}:{read_here.__name__}", _REMEDY, libraries)


def read_here(file: str, _argument: bytes) -> Program:
    """Read a drill file in this process."""
    path = Path(file)
    data = path.read_bytes()
    if len(data) > _LARGEST:
        raise InputError.at(file, f"it has {len(data) / 1e6:,.0f} MB", "no board has so many holes", _REMEDY)
    plated = _plating_of_layer(data)
    if not (program_has_ended if plated is None else layer_has_ended)(data):
        what, why = "it breaks off: the command that ends it is missing", "which holes stood behind is not known"
        raise InputError.at(file, what, why, _REMEDY)
    if data.count(b"\nX") + data.count(b"\nY") > MOST_HOLES:
        raise InputError.at(file, f"it has more than {MOST_HOLES:,} holes", "no board has so many", _REMEDY)
    if plated is None:
        return read_program(data.decode("utf-8", "replace"), plating_by_name(path.name))
    return _layer(path, plated=plated)


def _plating_of_layer(data: bytes) -> bool | None:
    """Return whether a Gerber layer has plated holes; None for a drill program, which may say the same in comments."""
    found = None if is_program(data) else _GERBER.search(data)
    return None if found is None else found[1] == b"Plated"


def _layer(path: Path, *, plated: bool) -> Program:
    """Return the holes of a Gerber layer, whose flashes and lines are the holes and slots."""
    from capcheck.intake.outline import MM_PER, read_drawing

    drawing = read_drawing(path)
    factor = MM_PER[drawing.unit or "mm"]
    found = [Drilled((_point(c.x * factor, c.y * factor),), c.diameter * factor, plated, "mm") for c in drawing.circles]
    found += [
        Drilled(tuple(_point(x, y) for x, y in line.tolist()), stroke.width * factor, plated, "mm")
        for stroke, line in zip(drawing.strokes, drawing.lines(factor), strict=True)
    ]
    return Program(found, unit="mm", unread=[other.name for other in drawing.others])


def _point(x: float, y: float) -> tuple[str, str]:
    return f"{x:.6f}", f"{y:.6f}"
