"""Parts whose side or angle is another one in the placements than in the bill of materials."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from capcheck.intake.tables import Role, read_numbers, read_title
from capcheck.model import BomLine, Discrepancy, Placements, Said, Severity, Side, Topic, say
from capcheck.values import Place

_SAME_DEG: Final = 0.1


def different_sides(placed: Placements, lines: Sequence[BomLine]) -> list[Discrepancy]:
    """Return one record of all fitted parts of whose side their BOM line says another thing."""
    if not any(line.side is not None for line in lines):
        return []
    refs: dict[int, list[str]] = {}
    for i in np.flatnonzero(placed.is_part & placed.fitted & (placed.bom_line >= 0)).tolist():
        told = lines[int(placed.bom_line[i])].side
        if told is not None and placed.side[i] != Side.UNKNOWN and told != placed.side[i]:
            refs.setdefault(int(placed.bom_line[i]), []).append(placed.ref[i])
    if not refs:
        return []
    shown: list[Said] = []
    for number, same in refs.items():
        listed = lines[number].side or Side.TOP
        other = Side.BOTTOM if listed == Side.TOP else Side.TOP
        place = Place(lines[number].file, lines[number].row)
        sides = {"placed": str(other), "listed": str(listed)}
        shown.append(say("compare.one against another", refs=same, place=place, **sides))
    every = tuple(ref for same in refs.values() for ref in same)
    first = lines[next(iter(refs))].place
    return [Discrepancy(Topic.TWO_VALUES, say("compare.two sides", shown=shown), every, first, Severity.STOP)]


def different_angles(placed: Placements, lines: Sequence[BomLine]) -> list[Discrepancy]:
    """Return one record of all fitted parts of which a line of their own states another angle.

    A column in which no cell but 0 stands states nothing.
    """
    titles = {title for line in lines for title in line.cells if read_title(title).strongest is Role.ROTATION}
    refs: dict[str, None] = {}
    shown: list[Said] = []
    first: Place | None = None
    for title in sorted(titles):
        angles, units = read_numbers([line.cells.get(title, "") for line in lines], decimal=None, thousands=False)
        if "rad" in {*units, read_title(title).unit}:
            angles = np.degrees(angles)
        if not np.any(angles[np.isfinite(angles)]):
            continue
        for i in np.flatnonzero(placed.is_part & placed.fitted & (placed.bom_line >= 0)).tolist():
            number = int(placed.bom_line[i])
            line = lines[number]
            gap = abs((float(angles[number]) - float(placed.rotation_deg[i]) + 180.0) % 360.0 - 180.0)
            if len(line.refs) == 1 and gap > _SAME_DEG and placed.ref[i] not in refs:
                refs[placed.ref[i]] = None
                said = {"placed": f"{placed.rotation_deg[i]:g}°", "listed": line.cells[title]}
                shown.append(say("compare.one against another", refs=[placed.ref[i]], place=line.place, **said))
                first = first or line.place
    if first is None:
        return []
    return [Discrepancy(Topic.TWO_VALUES, say("compare.two angles", shown=shown), tuple(refs), first, Severity.STOP)]
