"""What the texts of a drawing state of the board, against what its lines show: dimensions written over, a thickness."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from capcheck.intake.outline.drawing import MM_PER, Drawing
from capcheck.intake.tables import is_about_data, speaks_of_panel, unit_in_line
from capcheck.lexicon import fold, vocabulary
from capcheck.model import Discrepancy, Severity, StatedHole, Topic, say
from capcheck.values import Place, pattern

_NUMBER: Final = pattern(r"(?<![\d.,])(\d{1,6}(?:[.,]\d{1,6})?)(?![\d.,]*\d)")
_UNITS: Final = ("mm", "cm", "inch", "mil")
_WRITTEN: Final = {"in": "inch", '"': "inch", "mm": "mm"}
_THINNEST_MM: Final = 0.05
_THICKEST_MM: Final = 20.0
"""No board is thinner or thicker: such a thickness is that of its copper, or of what holds it."""
_SHARE: Final = 0.005
_SHOWN: Final = 80
_ROUNDED_MM: Final = 0.06
_THICKNESS: Final = pattern(
    lambda: (
        rf"{vocabulary().layers.thickness}[^\d\n]{{0,20}}(\d{{1,3}}(?:[.,]\d{{1,4}})?)\s{{0,5}}(mm|inch|in|mil|\")?"
        rf"|(\d{{1,3}}(?:[.,]\d{{1,4}})?)\s{{0,5}}(mm|inch|in|mil|\")?\s{{0,5}}{vocabulary().layers.thickness}"
    )
)


def dimensions_contradicted(drawing: Drawing, factor: float) -> Iterator[Discrepancy]:
    """Yield a question for each dimension whose text is another number than it measures."""
    for text, measured in drawing.dimensions:
        numbers = [float(n.replace(",", ".")) for n in _NUMBER.findall(text)]
        if not numbers:
            continue
        same = any(
            math.isclose(number * unit, measured * factor, rel_tol=_SHARE, abs_tol=_ROUNDED_MM)
            for number in numbers
            for unit in (factor, *map(MM_PER.__getitem__, _UNITS))
        )
        if not same:
            said = say("outline.dimension contradicted", text=" ".join(text.split()), measured=measured * factor)
            yield Discrepancy(Topic.STATED_IN_DRAWING, said, place=Place(drawing.file), severity=Severity.ASSUMED)


def texts_contradicted(drawing: Drawing, factor: float) -> Iterator[Discrepancy]:
    """Yield a question for texts by which a drawing means something else than is read: *bottom view*, *in inches*.

    *factor* is the mm of the unit in which the drawing is read.
    """
    found = [
        " ".join(text.split())[:_SHOWN]
        for text in dict.fromkeys(drawing.texts_written)
        if is_about_data(text)
        or speaks_of_panel(text)
        or ((unit := unit_in_line(text)) is not None and not math.isclose(unit.factor, factor, rel_tol=_SHARE))
    ]
    if found:
        said = say("outline.text contradicted", texts=found)
        yield Discrepancy(Topic.STATED_IN_DRAWING, said, place=Place(drawing.file), severity=Severity.ASSUMED)


def thickness_stated(drawing: Drawing, factor: float) -> tuple[float | None, str]:
    """Return the board's thickness in mm, *factor* mm a unit, and where it stands; None where no board has it."""
    value, line = drawing.thickness or (0.0, 0)
    if not _THINNEST_MM < value * factor < _THICKEST_MM:
        return None, ""
    return round(value * factor, 6), f"{Path(drawing.file).name}:{line}"


def holes_stated(drawing: Drawing, factor: float) -> tuple[StatedHole, ...]:
    """Return the holes of which the form says whether they are plated, *factor* mm a unit."""
    return tuple(
        StatedHole(hole.circle.x * factor, hole.circle.y * factor, hole.circle.diameter * factor, hole.plated, hole.use)
        for hole in drawing.holes
    )


def thicknesses(drawing: Drawing) -> tuple[float, ...]:
    """Return the thicknesses in mm that texts of the drawing state of the board."""
    found = []
    for text in drawing.texts_written:
        for match in _THICKNESS.finditer(fold(text)):
            number, unit = (match[1], match[2]) if match[1] else (match[3], match[4])
            value = float(number.replace(",", ".")) * MM_PER[_WRITTEN.get(unit or "mm", unit)]
            if _THINNEST_MM < value < _THICKEST_MM:
                found.append(value)
    return tuple(found)
