"""A panel in the placements: several circuits in the files, told by repeated references or by suffixes.

The rows of a file stay rows: the panel is recognised and its circuits numbered, not cut down, because the machine
places all of it.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from capcheck.model import Codes, Decision, Floats, Ints, Said, Topic, say
from capcheck.values import pattern

_SAME_MM: Final = 0.06
_SUFFIX_MARKS: Final = "_.#@:/-"
_SUFFIX: Final = pattern(r"(.*[^\W_])[_.#@:/-](\d{1,3}|[A-Z])")
_ANY_SUFFIX: Final = pattern(r"[_.#@:/-](?:\d{1,3}|[A-Z])$", re.MULTILINE)
_LEAST_REFS: Final = 3
_MOST: Final = 0.9
_MOST_ROWS: Final = 0.75
"""Rows of a panel that are no circuit's: its own marks, holes and test strips."""


class Panel(Struct, frozen=True):
    """The circuits found in the placements, or stepped from one.

    *circuit* is the number of each row's circuit from 1, 0 for rows that belong to the panel itself. *base* is the
    reference within the circuit, by which the BOM knows it.
    """

    circuits: int
    circuit: Ints
    base: Sequence[str]


class _Steps(Struct, frozen=True):
    """Where the circuits lie: their rows, one column a circuit, and the offset of each from the first in mm."""

    rows: Ints
    offsets: tuple[tuple[float, float], ...]
    turned: bool

    def decision(self, evidence: Said) -> Decision:
        """Return the panel as a decision to be confirmed."""
        circuits = len(self.offsets) + 1
        offsets = [say("frame.offset", dx=dx, dy=dy) for dx, dy in self.offsets[:4]]
        return Decision(
            Topic.PANEL,
            say("frame.panel with turned circuits" if self.turned else "frame.panel", circuits=circuits),
            say("frame.panel told by", evidence=evidence, offsets=offsets),
        )


def find_panel(ref: Sequence[str], x: Floats, y: Floats, side: Codes, *, unique: bool) -> tuple[Panel, Decision] | None:
    """Return the panel that repeated references or circuit suffixes show with the decision, or None.

    Repeated references are a panel only where every reference is repeated by the same translations, or by half
    or quarter turns; *unique* says that none is. Coordinates in mm.
    """
    if not unique:
        return _of_repeats(ref, x, y, side)
    return _of_suffixes(ref, x, y, side)


def _of_repeats(ref: Sequence[str], x: Floats, y: Floats, side: Codes) -> tuple[Panel, Decision] | None:
    rows: dict[str, list[int]] = defaultdict(list)
    for i, name in enumerate(ref):
        rows[name].append(i)
    repeats = Counter(len(r) for r in rows.values() if len(r) > 1)
    n = repeats.most_common(1)[0][0]
    full = {name: r for name, r in rows.items() if len(r) == n}
    partly = sum(len(r) for r in rows.values() if len(r) not in {1, n})
    covered = sum(len(r) for r in full.values())
    if partly or covered < _MOST_ROWS * len(ref):
        return None
    table = np.array(list(full.values()))
    found = _circuits(table, x, y, side) or _circuits(_sorted_rows(table, x, y), x, y, side)
    if found is None:
        return None
    circuit = np.zeros(len(ref), dtype=np.int64)
    circuit[found.rows] = np.arange(1, n + 1)
    evidence = say("frame.repeated references", refs=len(full), times=n, turned=found.turned)
    return Panel(n, circuit, ref), found.decision(evidence)


def _sorted_rows(table: Ints, x: Floats, y: Floats) -> Ints:
    """Return the rows of each reference ordered by place, so that translated circuits come in the same order."""
    key = np.round(y[table], 1) * 1e6 + x[table]
    return np.take_along_axis(table, np.argsort(key, axis=1, kind="stable"), axis=1)


def _circuits(table: Ints, x: Floats, y: Floats, side: Codes) -> _Steps | None:
    """Return the steps of a table of rows, a column a circuit, if each is the first one moved or turned."""
    if np.any(side[table] != side[table[:, :1]]):
        return None
    steps: list[tuple[float, float]] = []
    turned = False
    first_x, first_y = x[table[:, 0]], y[table[:, 0]]
    for k in range(1, table.shape[1]):
        at_x, at_y = x[table[:, k]], y[table[:, k]]
        moved = (at_x - first_x, at_y - first_y)
        # A half turn about any point sends p to c − p, so the sums agree instead of the differences; a quarter x to y.
        half = (at_x + first_x, at_y + first_y)
        quarters = (at_x + first_y, at_y - first_x), (at_x - first_y, at_y + first_x)
        if _agree(moved):
            step = (float(np.median(moved[0])), float(np.median(moved[1])))
        elif len(table) >= _LEAST_REFS and any(map(_agree, (half, *quarters))):
            step = (float(np.median(at_x) - np.median(first_x)), float(np.median(at_y) - np.median(first_y)))
            turned = True
        else:
            return None
        if abs(step[0]) < _SAME_MM and abs(step[1]) < _SAME_MM and not turned:
            return None
        if _overlap((first_x, first_y), (at_x, at_y)) > 0.5:
            return None
        steps.append(step)
    return _Steps(table, tuple(steps), turned) if len(table) >= 2 else None


def _overlap(one: tuple[Floats, Floats], two: tuple[Floats, Floats]) -> float:
    """Return the share of the first circuit's box that the second one's covers."""
    share = 1.0
    for a, b in zip(one, two, strict=True):
        # Half a mm around the centres: a circuit whose parts stand in a row has a box too.
        common = min(a.max(), b.max()) - max(a.min(), b.min()) + 1.0
        share *= max(0.0, common) / (np.ptp(a) + 1.0)
    return float(share)


def _agree(vectors: tuple[Floats, Floats]) -> bool:
    off = np.maximum(np.abs(vectors[0] - np.median(vectors[0])), np.abs(vectors[1] - np.median(vectors[1])))
    return bool((off < _SAME_MM).mean() >= _MOST)


def _of_suffixes(ref: Sequence[str], x: Floats, y: Floats, side: Codes) -> tuple[Panel, Decision] | None:
    joined = "\n".join(ref)
    if not any(mark in joined for mark in _SUFFIX_MARKS) or not _ANY_SUFFIX.search(joined):
        return None
    groups: dict[str, dict[str, int]] = defaultdict(dict)
    for i, name in enumerate(ref):
        match = _SUFFIX.fullmatch(name) if name[-1:].isalnum() else None
        if match:
            groups[match[2]][match[1]] = i
    if len(groups) < 2:
        return None
    names = sorted(groups, key=lambda s: (not s.isdigit(), int(s) if s.isdigit() else 0, s))
    common = set.intersection(*(set(g) for g in groups.values()))
    covered = sum(len(g) for g in groups.values())
    if len(common) < _LEAST_REFS or len(common) * len(groups) < _MOST * covered or covered < len(ref) / 2:
        return None
    bases = sorted(common)
    table = np.array([[groups[s][b] for s in names] for b in bases])
    found = _circuits(table, x, y, side)
    if found is None:
        return None
    circuit = np.zeros(len(ref), dtype=np.int64)
    base = list(ref)
    for k, suffix in enumerate(names, 1):
        for name, i in groups[suffix].items():
            circuit[i], base[i] = k, name
    evidence = say("frame.suffixes", refs=len(common), suffixes=names[:4])
    return Panel(len(names), circuit, base), found.decision(evidence)
