"""Parts that a file of fabrication turns otherwise, or says another part number of, than the placements and the BOM.

How an angle counts is each program's own, and each footprint's zero: so those of one footprint are compared with each
other, and a footprint with few parts with all the others where nearly all agree.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import numpy as np

from capcheck.intake.exchange.lands import PartLands
from capcheck.model import PartName, Placements, Side

_SAME_DEG: Final = 2.0
_ALIKE: Final = 3
_MOST: Final = 0.66
_NEARLY_ALL: Final = 0.8
_FEWEST: Final = 5
"""Shares and counts from which on the others of a footprint, or of a side, decide; common practice, no source."""
_HALF_TURN: Final = frozenset({"C", "F", "FB", "L", "R"})
"""Letters of parts that lie the same when they are turned by half (by ASME Y14.44, and as people write them)."""


def turned_otherwise(
    placed: Placements, types: Sequence[PartName], rows: Mapping[int, PartLands], *, by_lands: bool
) -> list[int]:
    """Return the rows whose angle differs from that of the file by another amount than that of their like.

    *by_lands* are angles that the file does not state: then only parts of one footprint are alike.
    """
    found: list[int] = []
    for side in np.unique(placed.side[list(rows)]).tolist() if rows else ():
        here = {
            row: float(part.turned_deg)
            for row, part in rows.items()
            if placed.side[row] == side and part.turned_deg is not None and np.isfinite(placed.rotation_deg[row])
        }
        # Of the underside some count as seen from above and some from below: what agrees best holds.
        both = [
            {
                row: _cell(placed.rotation_deg[row] - sense * turn, _period(placed.ref[row]))
                for row, turn in here.items()
            }
            for sense in ((1,) if side == Side.TOP else (1, -1))
        ]
        steps = max(both, key=lambda each: max(Counter(each.values()).values(), default=0))
        footprints = {row: types[int(placed.part_type[row])].footprint for row in steps}
        found += dict.fromkeys(_unlike(steps, footprints, placed.ref, alone=by_lands))
    return found


def _unlike(
    steps: Mapping[int, int], footprints: Mapping[int, str], refs: Sequence[str], *, alone: bool
) -> Iterator[int]:
    # A chip tells of the others' angle no more than up to half a turn.
    halves = {row: step % 180 for row, step in steps.items()}
    whole = {row: step for row, step in steps.items() if _period(refs[row]) > 180}
    groups: dict[str, list[int]] = {}
    for row in steps:
        groups.setdefault(footprints[row], []).append(row)
    for group in groups.values():
        own, alike = Counter(steps[row] for row in group).most_common(1)[0]
        if len(group) >= _ALIKE and alike >= _MOST * len(group):
            yield from (row for row in group if _differ(steps[row], own, _period(refs[row])))
        elif not alone:
            for cells, period in ((halves, 180), (whole, 360)):
                common = _common(cells)
                if common is not None:
                    yield from (row for row in group if row in cells and _differ(cells[row], common, period))


def _common(steps: Mapping[int, int]) -> int | None:
    """Return the step of nearly all; None where there is none."""
    common, count = Counter(steps.values()).most_common(1)[0] if steps else (0, 0)
    return common if len(steps) >= _FEWEST and count >= _NEARLY_ALL * len(steps) else None


def _period(ref: str) -> int:
    return 180 if ref.partition("/")[0].rstrip("0123456789").upper() in _HALF_TURN else 360


def _cell(angle: float, period: int) -> int:
    return round(float(angle) % period) % period


def _differ(one: int, other: int, period: int) -> bool:
    off = abs(one - other) % period
    return min(off, period - off) > _SAME_DEG


def numbered_otherwise(
    placed: Placements, types: Sequence[PartName], rows: Mapping[int, PartLands], *, lists_placements: bool
) -> list[int]:
    """Return the rows of which the file states another part number or value, where nearly all others are the same.

    The part numbers of a file that *lists_placements* are set against the BOM where lists are: here none of a BOM line.
    """
    named = {row: types[int(placed.part_type[row])] for row in rows if placed.part_type[row] >= 0}
    numbers = {
        row: (rows[row].number, name.part_number)
        for row, name in named.items()
        if not (lists_placements and placed.bom_line[row] >= 0)
    }
    values = {row: (rows[row].value, name.value) for row, name in named.items()}
    return sorted({*_apart(numbers), *_apart(values)})


def _apart(texts: Mapping[int, tuple[str, str]]) -> list[int]:
    both = {row: (_plain(one), _plain(other)) for row, (one, other) in texts.items()}
    same = {row: one == other for row, (one, other) in both.items() if one and other}
    if len(same) < _FEWEST or sum(same.values()) < _NEARLY_ALL * len(same):
        return []
    return [row for row, is_same in same.items() if not is_same]


def _plain(text: str) -> str:
    return "".join(c for c in text.casefold() if c.isalnum())
