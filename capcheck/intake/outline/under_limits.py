"""Outlines are read in the process that reads foreign files: from the bytes to the contour, all of it under limits.

A drawing of a few kilobytes may have arcs of a kilometre, or lines that cross each other a billion times.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field

from capcheck.intake.confined import Reader, decoded
from capcheck.intake.outline.form import OutlineForm
from capcheck.intake.outline.forms import HEAD_BYTES, likeliest_form, load_drawing
from capcheck.model import Floats

if TYPE_CHECKING:
    from capcheck.intake.outline.beside import Beside, Compared
    from capcheck.intake.outline.outline_file import OutlineOptions, OutlineReading

_REMEDY: Final = "export the board's outline alone, as DXF"
_SECONDS_A_MEGABYTE: Final = 1.0


class _Unit(Struct):
    """What a drawing is loaded with: the unit that the user states."""

    unit: str | None


class _Question(Struct):
    """What an outline is read with: the user's options, and the placements by what they are evidence for."""

    layer: str | None
    unit: str | None
    tolerance_mm: float | None
    expected: Floats | None
    others: dict[str, Floats | None] = field(default_factory=dict)


def read_outline(
    path: Path, options: OutlineOptions, expected_points: Floats | None = None, **points: Floats | None
) -> OutlineReading:
    """Return the board's outline as :func:`~.outline_file.read_outline` reads it, read in the reading process.

    Raises :class:`~capcheck.values.InputError`, also where the file breaks its reader.
    """
    from capcheck.intake.outline.outline_file import OutlineReading

    question = _Question(options.layer, options.unit, options.tolerance_mm, expected_points, points)
    _loader(path).read(str(path), type(None), _Unit(options.unit))
    return _reader(path).read(str(path), OutlineReading, question)


def read_beside(path: Path, known: Compared) -> Beside:
    """Return what a second drawing says of the board, as :func:`~.beside.read_beside` reads it, in the reading process.

    Raises :class:`~capcheck.values.InputError`, also where the file breaks its reader.
    """
    from capcheck.intake.outline.beside import Beside

    libraries = (*_libraries(path), "capcheck.intake.outline.beside")
    reader = Reader(f"{__name__}:{read_beside_here.__name__}", _REMEDY, libraries, _SECONDS_A_MEGABYTE)
    _loader(path).read(str(path), type(None), _Unit(None))
    return reader.read(str(path), Beside, known)


def read_beside_here(file: str, argument: bytes) -> Beside:
    """Compare a second drawing in this process; it may have been loaded already."""
    from capcheck.intake.outline.beside import Compared, read_beside

    return read_beside(Path(file), decoded(argument, Compared))


def expect_outline(path: Path, unit: str | None) -> None:
    """Have a drawing loaded while the caller does other work; *unit* is the user's, as it will be asked for."""
    if path.is_file():
        _loader(path).expect(str(path), _Unit(unit))


def start_reading(form: OutlineForm) -> None:
    """Have the process start that reads drawings of this form."""
    Reader(f"{__name__}:{load_here.__name__}", _REMEDY, form.libraries).start()


def _loader(path: Path) -> Reader:
    return Reader(f"{__name__}:{load_here.__name__}", _REMEDY, _libraries(path), _SECONDS_A_MEGABYTE)


def _reader(path: Path) -> Reader:
    libraries = (*_libraries(path), "capcheck.intake.outline.outline_file")
    return Reader(f"{__name__}:{read_here.__name__}", _REMEDY, libraries, _SECONDS_A_MEGABYTE)


def _libraries(path: Path) -> tuple[str, ...]:
    try:
        with path.open("rb") as stream:
            return likeliest_form(stream.read(HEAD_BYTES))[0].libraries
    except OSError:
        return ()  # said when it is read


def load_here(file: str, argument: bytes) -> None:
    """Load a drawing in this process, for :func:`read_here`."""
    load_drawing(Path(file), decoded(argument, _Unit).unit)


def read_here(file: str, argument: bytes) -> OutlineReading:
    """Read an outline in this process; its drawing may have been loaded already."""
    from capcheck.intake.outline.outline_file import OutlineOptions, read_outline

    question = decoded(argument, _Question)
    options = OutlineOptions(question.layer, question.unit, question.tolerance_mm)
    return read_outline(Path(file), options, question.expected, **question.others)
