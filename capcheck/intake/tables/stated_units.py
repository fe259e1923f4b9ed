"""The unit of a file's coordinates where the file states it: in a title, or in a line above the table."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.intake.tables.columns import Columns
from capcheck.intake.tables.header_words import Role, read_title
from capcheck.lexicon import Concept, fold, mm_per, unit_in_title, unit_words, units, vocabulary
from capcheck.model import Floats, Note, Said, say
from capcheck.values import Place, pattern

if TYPE_CHECKING:
    from capcheck.intake.tables.table import Table

_UNIT_WORD: Final = pattern(lambda: rf"(?<![\w.])({unit_words('length', alone=True)})(?!\w)")
_STATEMENT: Final = pattern(
    lambda: (
        rf"{vocabulary().lines.unit}[^\w\"]+(?:used[^\w\"]+|are\W+|is\W+)?"
        rf"((?:in\b|\")(?!\s*[(\[{{<:=]?\s*{unit_words('length', alone=True)})(?=\s*(?:[^\w\s]|$)"
        r"|(?<=[:=] in) (?:deg|angle|rot)))?"
    )
)
"""Before a word, as in ``units in mm``, the "in" is no inch: it is one where the statement ends, or names an angle."""
_LONGEST: Final = 500
"""Characters of a line in which its unit is looked for; what goes on is a row, or a page of prose."""
_UNIT_TITLE: Final = pattern(lambda: rf"(?<![^\W\d_]){vocabulary().lines.unit}")
_LENGTHS: Final = frozenset({Concept.SIZE, Concept.LENGTH, Concept.WIDTH, Concept.HEIGHT, Concept.POSITION})
_REMARKS: Final = frozenset(
    ("tables.before the header", "tables.comment", "tables.title", "tables.total or end mark", "bom.about the document")
)
_IN_METRES: Final = pattern(r"[(\[{<（［]\s*m\s*[)\]}>）］]")
_LARGEST_BOARD_M: Final = 1.2
_FARTHEST_PART_M: Final = 0.3
"""A part alone that is no farther from the origin is given in metres: in mm it would all but lie on the origin."""


class StatedUnit(Struct, frozen=True):
    """The unit of a file's coordinates and where it is stated."""

    unit: str
    evidence: Said

    @property
    def factor(self) -> float:
        """Millimetres per unit."""
        return mm_per()[self.unit]


def stated_unit(table: Table, columns: Columns, settled: str | None) -> StatedUnit | None:
    """Return the unit that board.toml settles, or else the title of x or y, or a line near the top; None where none."""
    if settled:
        return StatedUnit(settled, say("units.board.toml"))
    header = columns.units.get(Role.X) or columns.units.get(Role.Y)
    if header is not None and header in mm_per():
        return StatedUnit(header, say("units.header"))
    early = [(row, text) for row, text in table.preamble]
    first = table.row_numbers[0] if len(table) else 0
    early += [(s.place.row, s.text) for s in table.set_aside if s.place.row is not None and s.place.row <= first]
    mentioned = []
    for row, text in sorted(early):
        if found := _in_line(row, text):
            return found
        if unit := _only_unit(fold(text)):
            mentioned.append(StatedUnit(unit, _line(row, text)))
    return mentioned[0] if len({found.unit for found in mentioned}) == 1 else None


def other_unit(table: Table, columns: Columns, unit: str) -> StatedUnit | None:
    """Return what states another unit of lengths than *unit*: a line, a column of units, a row of them below titles."""
    for aside in table.set_aside:
        if isinstance(aside.reason, Said) and aside.reason.key in _REMARKS:
            found = _in_line(aside.place.row or 0, aside.text) or _of_all_lengths(aside.place.row or 0, aside.text)
            if found and found.factor != mm_per()[unit]:
                return found
    for role, at in columns.index.items():
        named = read_title(table.title(at)).units if columns.units.get(role) == unit else ()
        for other in named:
            if other in mm_per() and mm_per()[other] != mm_per()[unit]:
                return StatedUnit(other, say("units.two in a title", title=table.title(at)))
    taken = set(columns.index.values())
    for at in (i for i, title in enumerate(table.header) if i not in taken and _UNIT_TITLE.search(fold(title))):
        for cell in dict.fromkeys(table.columns[at]):
            name = unit_in_title(fold(cell)) if cell.isalpha() else None
            if name is not None and name in mm_per() and name != "m" and mm_per()[name] != mm_per()[unit]:
                return StatedUnit(name, say("units.column", title=table.title(at), text=cell))
    return None


def _line(row: int, text: str) -> Said:
    return say("units.line", row=row, text=text.strip()[:60])


def unit_in_line(text: str) -> StatedUnit | None:
    """Return the unit of lengths that a line gives to all it stands beside, or None."""
    return _in_line(0, text) or _of_all_lengths(0, text)


def _in_line(row: int, text: str) -> StatedUnit | None:
    """Return the unit that a line states in so many words: ``Units: mil``."""
    folded = fold(text[:_LONGEST])
    statement = _STATEMENT.search(folded)
    if statement is None:
        return None
    unit = "inch" if statement[1] else _only_unit(folded[statement.end() :])
    return StatedUnit(unit, _line(row, text)) if unit else None


def _of_all_lengths(row: int, text: str) -> StatedUnit | None:
    """Return the unit that a line gives to sizes or coordinates: ``All dimensions in inches``."""
    unit = _only_unit(fold(text)) if read_title(text).concepts & _LENGTHS else None
    return StatedUnit(unit, _line(row, text)) if unit else None


def _only_unit(folded: str) -> str | None:
    """Return the one length unit that a folded text names apart from a number, or None."""
    found = {
        unit_in_title(match[1]) or ""
        for match in _UNIT_WORD.finditer(folded)
        if not re.search(r"\d\s*$", folded[: match.start()])
    }
    name = found.pop() if len(found) == 1 else ""
    return (units().unit[name].shown or name) if name else None


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
        return StatedUnit("m", say("units.header in metres", span=span * 1000))
    notes.append(Note(say("units.no metres", title=titles[0], span=span), Place(table.file, table.header_row)))
    return None


def _one_place_in_metres(title: str, table: Table, farthest: float, notes: list[Note]) -> StatedUnit | None:
    """Return metres where parts in one place would in mm all but lie on the origin; None where that is open."""
    near = 0 < farthest <= _FARTHEST_PART_M
    said = say("units.one place in metres" if near else "units.one place", title=title, farthest=farthest * 1000)
    notes.append(Note(said, Place(table.file, table.header_row)))
    return StatedUnit("m", say("units.header")) if near else None
