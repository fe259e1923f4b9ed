"""A bill of materials that lists its parts twice: one by one, and then grouped by type, or the other way round."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.intake.bom.bom_table import BomReading
from capcheck.model import BomLine, Note, SetAside
from capcheck.values import Place

_MOST: Final = 0.9
"""A second list repeats nearly all references of the first, and names hardly any others."""
_FEWEST: Final = 4
"""References that must stand twice: fewer are slips, each to be asked about."""


def without_repeated_list(reading: BomReading) -> BomReading:
    """Return *reading* without the second list of the same parts, where there is one, with a note.

    Of the two lists the one with more part numbers stays. A line that disagrees with the other list about fitting,
    value or part number stays too: it is a question to the customer and no repetition.
    """
    lines = reading.lines
    at = _second_list(lines)
    if at is None:
        return reading
    first, second = lines[:at], lines[at:]
    keep, spare = (second, first) if _numbered(second) > _numbered(first) else (first, second)
    of = {ref: line for line in keep for ref in line.refs}
    dropped = [line for line in spare if line.refs and all(ref in of and _agree(line, of[ref]) for ref in line.refs)]
    if sum(len(line.refs) for line in dropped) < _MOST * sum(len(line.refs) for line in spare):
        return reading
    rows = {(line.file, line.sheet, line.row) for line in dropped}
    reason = "a further list of the same parts"
    note = Note(
        f"the parts are listed twice, singly and in groups; {len(dropped)} lines say the same again and are set apart",
        Place(dropped[0].file, dropped[0].row),
    )
    return replace(
        reading,
        lines=tuple(line for line in lines if (line.file, line.sheet, line.row) not in rows),
        set_aside=(*reading.set_aside, *(SetAside(Place(d.file, d.row), reason, ", ".join(d.refs)) for d in dropped)),
        notes=(*reading.notes, note),
    )


def _second_list(lines: Sequence[BomLine]) -> int | None:
    """Return the index of the line where a second list of the same references begins, or None."""
    later = Counter(ref for line in lines for ref in line.refs)
    left = later.total()
    seen: set[str] = set()
    common: set[str] = set()  # the references that stood above and stand here or below too
    for at, line in enumerate(lines):
        # A slip, one part on two lines, looks like a beginning too: the next such line is tried then.
        if line.refs and seen.issuperset(line.refs) and len(common) >= max(_FEWEST, _MOST * len(seen), _MOST * left):
            return at
        for ref in line.refs:
            later[ref] -= 1
            (common.add if later[ref] else common.discard)(ref)
        left -= len(line.refs)
        seen.update(line.refs)
    return None


def _numbered(lines: Sequence[BomLine]) -> int:
    return sum(len(line.refs) for line in lines if line.part_number)


def _agree(one: BomLine, two: BomLine) -> bool:
    texts = ((one.part_number, two.part_number), (one.value, two.value))
    same = all(not a or not b or a.casefold() == b.casefold() for a, b in texts)
    return same and one.fitted == two.fitted
