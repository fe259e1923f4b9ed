"""Which row of the later revision is which of the earlier: by reference, else by place where it was renumbered."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence

from msgspec import Struct

from capcheck.revisions.frame import SAME_MM, Motion
from capcheck.revisions.rows import Row


class Pair(Struct, frozen=True):
    """A row and what became of it: *old* is None where it was added, *new* where it was removed."""

    old: Row | None
    new: Row | None


def paired(before: Sequence[Row], after: Sequence[Row], motion: Motion) -> list[Pair]:
    """Return every row of both revisions in a pair, in the order of the later files, what was removed at the end."""
    by_ref = list(_by_reference(before, after, motion))
    # What lies elsewhere than before, or has no partner, may be another part under its name.
    loose = [
        pair for pair in by_ref if pair.old is None or pair.new is None or is_elsewhere(pair.old, pair.new, motion)
    ]
    renumbered = _renumbered(loose, motion)
    gone = {id(old) for old, _ in renumbered}
    taken = {id(new): old for old, new in renumbered}
    pairs: list[Pair] = []
    for pair in by_ref:
        old, new = pair.old, pair.new
        if new is not None and id(new) in taken:
            pairs.append(Pair(taken[id(new)], new))
            old = None if old is not None and id(old) in gone else old
            new = None
        elif old is not None and id(old) in gone:
            old = None
        if old is not None or new is not None:
            pairs.append(Pair(old, new))
    return pairs


def is_elsewhere(old: Row, new: Row, motion: Motion) -> bool:
    """Whether both have places, and these are not one."""
    if not (old.is_placed and new.is_placed):
        return False
    x, y = motion.place(old)
    return math.hypot(new.x_mm - x, new.y_mm - y) > SAME_MM


def _by_reference(before: Sequence[Row], after: Sequence[Row], motion: Motion) -> Iterator[Pair]:
    """Yield pairs of one reference; of a reference that stands several times the nearest go together."""
    was: dict[str, list[Row]] = defaultdict(list)
    for row in before:
        was[row.ref].append(row)
    for row in after:
        same = was.get(row.ref)
        if not same:
            yield Pair(None, row)
            continue
        nearest = min(same, key=lambda old: _distance(old, row, motion)) if len(same) > 1 else same[0]
        same.remove(nearest)
        yield Pair(nearest, row)
    for left in was.values():
        for row in left:
            yield Pair(row, None)


def _distance(old: Row, new: Row, motion: Motion) -> float:
    if not (old.is_placed and new.is_placed):
        return math.inf
    x, y = motion.place(old)
    return math.hypot(new.x_mm - x, new.y_mm - y)


def _renumbered(loose: Sequence[Pair], motion: Motion) -> list[tuple[Row, Row]]:
    """Return which row lies where another reference lay, and is the same part, or was drawn alike where both are alone.

    Two parts that changed places keep their names; two of one type that did are the same board with other names.
    """
    cells: dict[tuple[int, int, int], list[Row]] = defaultdict(list)
    for pair in loose:
        if pair.new is not None and pair.new.is_placed:
            cells[_cell(pair.new.x_mm, pair.new.y_mm, pair.new)].append(pair.new)
    lost = {id(pair.old) for pair in loose if pair.new is None}
    fresh = {id(pair.new) for pair in loose if pair.old is None}
    found: list[tuple[Row, Row]] = []
    taken: set[int] = set()
    for pair in loose:
        old = pair.old
        if old is None or not old.is_placed:
            continue
        x, y = motion.place(old)
        here = [
            new
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
            for new in cells.get(_cell(x + dx * SAME_MM, y + dy * SAME_MM, old), ())
            if id(new) not in taken
            and new.ref != old.ref
            and new.kind == old.kind
            and math.hypot(new.x_mm - x, new.y_mm - y) <= SAME_MM
        ]
        same = [new for new in here if new.key == old.key]
        alike = [new for new in here if id(old) in lost and id(new) in fresh and new.key[2] == old.key[2]]
        if same or alike:
            new = (same or alike)[0]
            taken.add(id(new))
            found.append((old, new))
    return found


def _cell(x: float, y: float, row: Row) -> tuple[int, int, int]:
    return round(x / SAME_MM), round(y / SAME_MM), int(row.side)
