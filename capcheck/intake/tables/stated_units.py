"""The unit of a file's coordinates where the file states it: in a title, or in a line above the table."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.header_words import Role
from capcheck.model import Floats, Note
from capcheck.values import Place, pattern

if TYPE_CHECKING:
    from capcheck.intake.tables.table import Table

MM_PER: Final[Mapping[str, float]] = {
    "mm": 1.0,
    "mil": 0.0254,
    "mils": 0.0254,
    "thou": 0.0254,
    "in": 25.4,
    "inch": 25.4,
    "inches": 25.4,
    "cm": 10.0,
    "m": 1000.0,
    "um": 0.001,
    "µm": 0.001,
    "μm": 0.001,
    '"': 25.4,
    "millimetre": 1.0,
    "millimeter": 1.0,
}
"""Exact factors of the length units that placement files use: 25.4 mm per inch by definition (ISO 31-1)."""

_UNIT_WORD: Final = pattern(
    r"(?i)(?<![\w.])(?:(mm|millimet(?:er|re)s?)|(mils?|thou)|(inch(?:es)?)|(cm|centimet(?:er|re)s?)|(µm|μm|um|microns?))(?![\w])"
)
_UNIT_STATEMENT: Final = pattern(
    r"(?i)(?:(?<![^\W\d_])unit|einheit|unité|単位|单位)\w*[^\w\"]+(?:used[^\w\"]+|are\W+|is\W+)?"
    r"((?:in\b|\")(?!\s*[(\[{<:=]?\s*(?:mm|mil|thou|cm|centi|[uµμ]m|micr))(?=\s*(?:[^\w\s]|$)"
    r"|(?<=[:=] in) (?:deg|angle|rot)))?"
)
"""Before a word, as in ``units in mm``, the "in" is no inch: it is one where the statement ends, or names an angle."""
_WORD_UNITS: Final = ("mm", "mil", "inch", "cm", "µm")
_IN_METRES: Final = pattern(r"[(\[{<（［]\s*m\s*[)\]}>）］]")
_LARGEST_BOARD_M: Final = 1.2
_FARTHEST_PART_M: Final = 0.3
"""A part alone that is no farther from the origin is given in metres: in mm it would all but lie on the origin."""


class StatedUnit(Struct, frozen=True):
    """The unit of a file's coordinates and where it is stated."""

    unit: str
    evidence: str

    @property
    def factor(self) -> float:
        """Millimetres per unit."""
        return MM_PER[self.unit]


def stated_unit(table: Table, columns: Columns, settled: str | None) -> StatedUnit | None:
    """Return the unit that board.toml settles, or else the title of x or y, or a line near the top; None where none."""
    if settled:
        return StatedUnit(settled, "board.toml")
    header = columns.units.get(Role.X) or columns.units.get(Role.Y)
    if header is not None and header in MM_PER:
        return StatedUnit(header, "named in the header")
    early = [(row, text) for row, text in table.preamble]
    first = table.row_numbers[0] if len(table) else 0
    early += [(s.place.row, s.text) for s in table.set_aside if s.place.row is not None and s.place.row <= first]
    for row, text in sorted(early):
        statement = _UNIT_STATEMENT.search(text)
        if statement and statement[1]:
            return StatedUnit("inch", f'line {row} says "{text.strip()[:60]}"')
        unit = _only_unit(text[statement.end() :] if statement else "")
        if unit:
            return StatedUnit(unit, f'line {row} says "{text.strip()[:60]}"')
    mentioned = [(row, text, unit) for row, text in early if (unit := _only_unit(text))]
    if mentioned and len({unit for _, _, unit in mentioned}) == 1:
        row, text, unit = mentioned[0]
        return StatedUnit(unit, f'line {row} says "{text.strip()[:60]}"')
    return None


def _only_unit(text: str) -> str | None:
    """Return the one length unit that *text* names apart from a number, or None."""
    found = {
        _WORD_UNITS[next(i for i, g in enumerate(m.groups()) if g)]
        for m in _UNIT_WORD.finditer(text)
        if not re.search(r"\d\s*$", text[: m.start()])
    }
    return found.pop() if len(found) == 1 else None


def in_metres(table: Table, columns: Columns, pair: tuple[Floats, Floats], notes: list[Note]) -> StatedUnit | None:
    """Return metres where the titles of x and y say ``[m]`` and the parts then lie on a board; else the m is a remark.

    A remark such as ``[M]`` for the middle is common; a board of more than a metre is not.
    """
    titles = [table.header[c] for c in (columns.index[Role.X], columns.index[Role.Y]) if c < len(table.header)]
    if len(titles) < 2 or not all(_IN_METRES.search(title) for title in titles):
        return None
    known = [v[np.isfinite(v)] for v in pair if np.isfinite(v).any()]
    span = max((float(np.ptp(v)) for v in known), default=0.0)
    if span == 0:
        return _one_place_in_metres(titles[0], table, max((float(np.abs(v).max()) for v in known), default=0.0), notes)
    if span <= _LARGEST_BOARD_M:
        return StatedUnit("m", f"named in the header; the parts then span {span * 1000:.4g} mm")
    notes.append(
        Note(
            f'"{titles[0]}" is not read as metres: the parts would span {span:.4g} m',
            Place(table.file, table.header_row),
        )
    )
    return None


def _one_place_in_metres(title: str, table: Table, farthest: float, notes: list[Note]) -> StatedUnit | None:
    """Return metres where parts in one place would in mm all but lie on the origin; None where that is open."""
    if 0 < farthest <= _FARTHEST_PART_M:
        says = f"is read as metres: the one place of all parts is then {farthest * 1000:.4g} mm from the origin"
    else:
        says = "is not read as metres: parts in one place do not tell"
    notes.append(Note(f'"{title}" {says}', Place(table.file, table.header_row)))
    return StatedUnit("m", "named in the header") if 0 < farthest <= _FARTHEST_PART_M else None
