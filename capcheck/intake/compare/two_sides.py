"""Parts that the placements have on the one side of the board and the bill of materials on the other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from capcheck.model import BomLine, Discrepancy, Placements, Said, Severity, Side, Topic, say
from capcheck.values import Place


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
