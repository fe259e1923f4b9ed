"""Rows that are read and may not count, and parts with coordinates that a text says are fitted by hand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from capcheck.intake.placements import PlacementColumns, with_starts
from capcheck.intake.tables import references_in
from capcheck.model import BomLine, Discrepancy, Kind, Placements, Said, Severity, Topic, say
from capcheck.values import Place

_OF_DATA: Final = {
    "tables.columns differ": "compare.columns in question",
    "tables.offset": "compare.offset in question",
}
"""Reasons for which not the row is open but what it says of its part."""


def doubts_about_rows(
    files: Sequence[PlacementColumns], placed: Placements, lines: Sequence[BomLine]
) -> list[Discrepancy]:
    """Return what is open of rows that are listed: whether they count, and whether a machine places their parts."""
    return [*_in_question(files, placed, lines), *_by_machine_or_hand(files, placed, lines)]


def _in_question(files: Sequence[PlacementColumns], placed: Placements, lines: Sequence[BomLine]) -> list[Discrepancy]:
    """Return a record for each reason for which rows of the placements, or of the BOM, may not count."""
    found: dict[tuple[Said | str, str], tuple[Place, dict[str, None]]] = {}
    for file, start in with_starts(files):
        for i, why in file.asked.items():
            _, refs = found.setdefault((why, file.table.file), (file.place(i), {}))
            refs[placed.ref[start + i]] = None
    for line in lines:
        if line.asked and line.refs:
            _, refs = found.setdefault((line.asked, line.file), (line.place, {}))
            refs |= dict.fromkeys(line.refs)
    known = frozenset(placed.ref)
    for (reason, _), (_, about) in found.items():
        named = references_in(str(reason.values.get("text", "")), known) if isinstance(reason, Said) else ()
        if len(named) > 1 or about.keys() & set(named):
            about.update(dict.fromkeys(named))  # it speaks of those that it lists, on whichever row it stands
    return [
        Discrepancy(Topic.ROW_IN_QUESTION, say(_asking(why), why=why), tuple(refs), place, Severity.STOP)
        for (why, _), (place, refs) in found.items()
    ]


def _asking(why: Said | str) -> str:
    """Return the sentence that asks what is open for this reason: mostly whether the row counts."""
    return _OF_DATA.get(why.key if isinstance(why, Said) else "", "compare.row in question")


def _by_machine_or_hand(
    files: Sequence[PlacementColumns], placed: Placements, lines: Sequence[BomLine]
) -> list[Discrepancy]:
    """Return a record for each text that says that parts with coordinates are fitted by hand."""
    found: dict[str, tuple[Place, dict[str, None]]] = {}
    part = placed.fitted & (placed.kind == Kind.PART)
    for file, start in with_starts(files):
        for i, text in file.by_hand.items():
            if part[start + i]:
                _, refs = found.setdefault(text, (file.place(i), {}))
                refs[placed.ref[start + i]] = None
    told = np.array([*(bool(line.by_hand) for line in lines), False], dtype=np.bool_)
    for row in np.flatnonzero(part & told[placed.bom_line]).tolist():
        line = lines[int(placed.bom_line[row])]
        _, refs = found.setdefault(line.by_hand, (line.place, {}))
        refs[placed.ref[row]] = None
    return [
        Discrepancy(Topic.BY_HAND, say("compare.by hand", text=text), tuple(refs), place, Severity.STOP)
        for text, (place, refs) in found.items()
    ]
