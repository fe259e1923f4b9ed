"""References that stand several times, in one file or in two: what that means is said, and no row is dropped."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from capcheck.intake.placements import with_starts
from capcheck.model import Codes, Discrepancy, Floats, Kind, Severity, Topic, say
from capcheck.values import Place, Problems, pattern

if TYPE_CHECKING:
    from capcheck.intake.placements import PlacementColumns

_SAME_MM: Final = 0.01
_DESIGNATOR: Final = pattern(
    r"[^\W\d]{1,6}\d{1,6}[^\W\d]?(?:[_.-]?\w{1,4})?|[^\W\d]{1,6}-?\d{1,6}|[^\W\d_]{1,4}\?.{0,8}"
)
_MOST_DESIGNATORS: Final = 0.6
_ROWS_NAMED: Final = 10
_MOST_SLIPS: Final = 0.2
"""The share of a file's rows up to which references at two places are slips."""


def repeated_references(
    files: Sequence[PlacementColumns], x: Floats, y: Floats, kind: Codes
) -> tuple[list[Discrepancy], list[int]]:
    """Return the references that stand twice, and the rows of which the place is open because of it.

    *x*, *y* in mm and *kind* are those of the rows of all files. Raises :class:`InputError` where many references name
    two places in one file: then it is no slip, and the file lists something else.
    """
    problems = Problems()
    found: list[Discrepancy] = []
    open_rows: list[int] = []
    start = 0
    seen: dict[str, str] = {}
    for file in files:
        rows: dict[str, list[int]] = defaultdict(list)
        for i, name in enumerate(file.ref):
            rows[name].append(i)
        own: list[Discrepancy] = []
        apart: dict[str, list[int]] = {}
        designators = len(rows) < len(file.ref) and _are_designators(rows)
        for name, at in rows.items():
            here = np.array(at) + start
            if len(at) > 1 and not np.all(kind[here] != Kind.PART):
                places = np.column_stack([x[here], y[here]])
                own += _within_file(file, name, at, places, apart, designators=designators)
        slips = sum(map(len, apart.values())) <= _MOST_SLIPS * len(file.ref)
        for name, at in apart.items():
            if slips:
                open_rows += [i + start for i in at]
            else:
                _refuse(file, name, at, problems)
        found += [d for d in own if slips or d.refs[0] not in apart]
        placed = {r for r, k in zip(file.ref, file.kind.tolist(), strict=True) if k == Kind.PART and r}
        parts = sorted(placed & seen.keys())
        if parts:
            said = say("frame.in two files", first=Path(seen[parts[0]]).name, second=Path(file.table.file).name)
            place = Place(file.table.file)
            found.append(Discrepancy(Topic.ONE_REFERENCE_TWICE, said, tuple(parts), place, Severity.STOP))
        seen.update(dict.fromkeys(placed, file.table.file))
        start += len(file)
    problems.raise_if_any()
    return found, open_rows


def written_two_ways(files: Sequence[PlacementColumns], kind: Codes) -> list[Discrepancy]:
    """Return the parts whose references differ by capitals alone: R1 and r1 may be one part, or two."""
    spelt: dict[str, dict[str, tuple[PlacementColumns, int]]] = {}
    parts = (kind == Kind.PART).tolist()
    for file, start in with_starts(files):
        for i, name in enumerate(file.ref):
            if name and parts[start + i]:
                spelt.setdefault(name.casefold(), {}).setdefault(name, (file, i))
    found = (list(ways.items()) for ways in spelt.values() if len(ways) > 1)
    return [
        Discrepancy(
            Topic.ONE_REFERENCE_TWICE,
            say("frame.capitals apart"),
            tuple(name for name, _ in ways),
            ways[1][1][0].place(ways[1][1][1]),
            Severity.STOP,
        )
        for ways in found
    ]


def _are_designators(names: Iterable[str]) -> bool:
    """Whether a file's references are such: letters and a number. Else values or part names stand in their place."""
    found = [_DESIGNATOR.fullmatch(name) is not None for name in names]
    return sum(found) > _MOST_DESIGNATORS * len(found)


def _within_file(
    file: PlacementColumns, name: str, at: list[int], places: Floats, apart: dict[str, list[int]], *, designators: bool
) -> list[Discrepancy]:
    """Return what is said of a reference in several rows; those of a designator at two places go to *apart*."""
    numbers = [int(file.row[i]) for i in at]
    first, second = Place(file.table.file, numbers[0]), Place(file.table.file, numbers[1])
    shown = [str(number) for number in numbers[:_ROWS_NAMED]]
    more = len(at) - len(shown)
    rows = say("frame.rows and more", rows=shown, more=more) if more else say("frame.rows", rows=shown)
    if not name or name.endswith("?"):
        said = say("frame.unnumbered parts", count=len(at), rows=rows)
        return [Discrepancy(Topic.NOT_ANNOTATED, said, (name,), first, Severity.STOP)]
    if np.ptp(np.nan_to_num(places, nan=-1e9), axis=0).max() < _SAME_MM and len(set(file.side[at])) == 1:
        said = say("frame.twice at one place", count=len(at), rows=rows)
        return [Discrepancy(Topic.ONE_REFERENCE_TWICE, said, (name,), second, Severity.ASSUMED)]
    if not designators:
        said = say("frame.name for a reference", count=len(at), rows=rows)
        return [Discrepancy(Topic.NOT_ANNOTATED, said, (name,), first, Severity.STOP)]
    apart[name] = at
    said = say("frame.at several places", count=len(at), rows=rows)
    return [Discrepancy(Topic.ONE_REFERENCE_TWICE, said, (name,), second, Severity.STOP)]


def _refuse(file: PlacementColumns, name: str, at: list[int], problems: Problems) -> None:
    numbers = [int(file.row[i]) for i in at]
    more = len(numbers) - _ROWS_NAMED
    listed = ", ".join(map(str, numbers[:_ROWS_NAMED])) + (f" and {more} more" if more > 0 else "")
    problems.add(
        Place(file.table.file, numbers[1], "reference", file.table.sheet),
        f'"{name}" stands {len(at)} times, at different places (rows {listed})',
        "it is unknown which place is meant, and no panel explains it",
        "give each part its own reference",
    )
