"""Two placement files of one board that disagree on a reference: neither is believed until somebody settles it.

A file that repeats the placements of another is a copy, or an older revision. Where it states another position, side,
rotation or value of a reference, that is unknown, and both files are named.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.compare.component_values import differ, magnitude
from capcheck.intake.tables import Role, prefix_of
from capcheck.model import Discrepancy, Flags, Severity, Side, Topic, say
from capcheck.values import Place

if TYPE_CHECKING:
    from capcheck.intake.placements import PlacementColumns

_SAME_TURN_DEG: Final = 0.5
_MOST: Final = 0.5
"""So many references may differ, in their angle or their footprint, before the two lists follow two conventions."""


class _Row(Struct, frozen=True):
    """What one list states of a reference."""

    file: PlacementColumns
    at: int

    @property
    def side(self) -> int:
        return int(self.file.side[self.at])

    @property
    def rotation_deg(self) -> float:
        return float(self.file.rotation_deg[self.at])

    def text(self, role: Role) -> str:
        return self.file.text(role, self.at).strip()


def settle_lists(
    files: Sequence[PlacementColumns], repeats: Sequence[PlacementColumns], moved: Mapping[str, Sequence[str]]
) -> tuple[list[PlacementColumns], list[Discrepancy]]:
    """Return *files* with what *repeats* contradict left unknown, and the disagreements.

    *moved* are the references that lie elsewhere, by the file that places them so.
    """
    unknown: dict[str, set[str]] = defaultdict(set)
    found: list[Discrepancy] = []
    mine = _rows(files)
    for other in repeats:
        theirs = _rows([other])
        common = [(ref, mine[ref], row) for ref, row in theirs.items() if ref in mine]
        apart = {
            "position": [ref for ref in moved.get(other.table.file, ()) if ref in mine],
            "side": [ref for ref, one, two in common if {one.side, two.side} == {Side.TOP, Side.BOTTOM}],
            "rotation": _turned_otherwise(common),
            "value": _valued_otherwise(common),
            "footprint": _named_otherwise(common, Role.FOOTPRINT),
        }
        for what, refs in apart.items():
            if refs:
                unknown[what].update(refs)
                first, second = Path(mine[refs[0]].file.table.file).name, Path(other.table.file).name
                said = say("compare.lists differ", what=what, first=first, second=second)
                place = Place(other.table.file)
                found.append(Discrepancy(Topic.ONE_REFERENCE_TWICE, said, tuple(refs), place, Severity.STOP))
    return [_without(file, unknown) if unknown else file for file in files], found


def _rows(files: Sequence[PlacementColumns]) -> dict[str, _Row]:
    """Return the row of each reference; one that stands twice is left out."""
    found: dict[str, _Row] = {}
    twice: set[str] = set()
    for file in files:
        for at, ref in enumerate(file.ref):
            if ref in found:
                twice.add(ref)
            found[ref] = _Row(file, at)
    return {ref: row for ref, row in found.items() if ref not in twice}


def _turned_otherwise(common: Sequence[tuple[str, _Row, _Row]]) -> list[str]:
    """Return the references turned by another angle than most of their side, which two conventions may differ by."""
    by_side: dict[int, list[tuple[str, float]]] = defaultdict(list)
    for ref, one, two in common:
        angle = (two.rotation_deg - one.rotation_deg) % 360
        if np.isfinite(angle):
            by_side[one.side].append((ref, angle))
    found: list[str] = []
    for turns in by_side.values():
        angles = np.array([angle for _, angle in turns])
        # Of all the angles that one after which most are turned alike.
        apart = np.abs((angles[:, None] - np.unique(angles)[None, :] + 180) % 360 - 180) > _SAME_TURN_DEG
        best = apart[:, int(np.argmin(apart.sum(axis=0)))]
        if best.mean() < _MOST:
            found += [ref for (ref, _), other in zip(turns, best.tolist(), strict=True) if other]
    return found


def _valued_otherwise(common: Sequence[tuple[str, _Row, _Row]]) -> list[str]:
    """Return the references with another value, or another name for one where most have the same on both lists."""
    named = {*_named_otherwise(common, Role.VALUE)}
    found = []
    for ref, one, two in common:
        texts, prefix = (one.text(Role.VALUE), two.text(Role.VALUE)), prefix_of(ref)
        # 4k7 and 4.7 kOhm are two names of one value.
        unread = any(magnitude(text, prefix) is None for text in texts)
        if differ(*texts, prefix) or (ref in named and unread):
            found.append(ref)
    return found


def _named_otherwise(common: Sequence[tuple[str, _Row, _Row]], role: Role) -> list[str]:
    """Return the references with another name in a column, where most have the same on both lists."""
    named = [(r, one.text(role), two.text(role)) for r, one, two in common]
    named = [(ref, one, two) for ref, one, two in named if one and two]
    other = [ref for ref, one, two in named if one.casefold() != two.casefold()]
    return other if len(other) < _MOST * len(named) else []


def _without(file: PlacementColumns, unknown: Mapping[str, set[str]]) -> PlacementColumns:
    """Return a file with what is contradicted left unknown."""

    def rows(what: str) -> Flags:
        refs = unknown.get(what, set())
        return np.fromiter((ref in refs for ref in file.ref), dtype=np.bool_, count=len(file))

    moved = rows("position")
    none = np.zeros(len(file), dtype=np.bool_)
    return replace(
        file,
        x=np.where(moved, np.nan, file.x),
        y=np.where(moved, np.nan, file.y),
        rotation_deg=np.where(rows("rotation"), np.nan, file.rotation_deg),
        side=np.where(rows("side"), np.int8(Side.UNKNOWN), file.side),
        place_open=moved | (none if file.place_open is None else file.place_open),
        body_open=rows("footprint") | (none if file.body_open is None else file.body_open),
    )
