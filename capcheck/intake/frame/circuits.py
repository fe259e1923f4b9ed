"""Panels: several circuits in one file, or one circuit that board.toml steps.

The rows of a file stay rows: a panel in the data is recognised and numbered, not cut down, because the machine places
all of it. Stepping adds rows: circuit 1 keeps its references, the others carry ``/2``, ``/3`` … behind theirs.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import Codes, Decision, Floats, Ints, Outline, Topic
from capcheck.values import pattern

if TYPE_CHECKING:
    from capcheck.model import PanelSource

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
    steps: tuple[tuple[float, float], ...]
    turned: bool
    evidence: str

    def decision(self) -> Decision:
        """Return the panel as a decision to be confirmed."""
        shown = ", ".join(f"{dx:.2f} × {dy:.2f}" for dx, dy in self.steps[:4])
        turned = ", some turned by 180°" if self.turned else ""
        return Decision(
            Topic.PANEL, f"the file holds {self.circuits} circuits{turned}", f"{self.evidence}; offsets {shown} mm"
        )


def find_panel(ref: Sequence[str], x: Floats, y: Floats, side: Codes, *, unique: bool) -> Panel | None:
    """Return the panel that repeated references or circuit suffixes show, or None.

    Repeated references are a panel only where every reference is repeated by the same translations, or by half
    turns; *unique* says that none is. Coordinates in mm.
    """
    if not unique:
        return _of_repeats(ref, x, y, side)
    return _of_suffixes(ref, x, y, side)


def _of_repeats(ref: Sequence[str], x: Floats, y: Floats, side: Codes) -> Panel | None:
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
    table, steps, turned = found
    circuit = np.zeros(len(ref), dtype=np.int64)
    for k in range(n):
        circuit[table[:, k]] = k + 1
    evidence = f"{len(full)} references stand {n} times each, by the same {'half turns' if turned else 'translations'}"
    return Panel(n, circuit, ref, steps, turned, evidence)


def _sorted_rows(table: Ints, x: Floats, y: Floats) -> Ints:
    """Return the rows of each reference ordered by place, so that translated circuits come in the same order."""
    key = np.round(y[table], 1) * 1e6 + x[table]
    return np.take_along_axis(table, np.argsort(key, axis=1, kind="stable"), axis=1)


def _circuits(
    table: Ints, x: Floats, y: Floats, side: Codes
) -> tuple[Ints, tuple[tuple[float, float], ...], bool] | None:
    """Return the table of rows, a column a circuit, with the steps, if each is the first one moved or turned."""
    if np.any(side[table] != side[table[:, :1]]):
        return None
    steps: list[tuple[float, float]] = []
    turned = False
    first_x, first_y = x[table[:, 0]], y[table[:, 0]]
    for k in range(1, table.shape[1]):
        at_x, at_y = x[table[:, k]], y[table[:, k]]
        moved = (at_x - first_x, at_y - first_y)
        # A half turn about any point sends p to c − p, so the sums agree instead of the differences.
        half = (at_x + first_x, at_y + first_y)
        if _agree(moved):
            step = (float(np.median(moved[0])), float(np.median(moved[1])))
        elif len(table) >= _LEAST_REFS and _agree(half):
            step = (float(np.median(at_x) - np.median(first_x)), float(np.median(at_y) - np.median(first_y)))
            turned = True
        else:
            return None
        if abs(step[0]) < _SAME_MM and abs(step[1]) < _SAME_MM and not turned:
            return None
        if _overlap((first_x, first_y), (at_x, at_y)) > 0.5:
            return None
        steps.append(step)
    return (table, tuple(steps), turned) if len(table) >= 2 else None


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


def _of_suffixes(ref: Sequence[str], x: Floats, y: Floats, side: Codes) -> Panel | None:
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
    _, steps, turned = found
    circuit = np.zeros(len(ref), dtype=np.int64)
    base = list(ref)
    for k, suffix in enumerate(names, 1):
        for name, i in groups[suffix].items():
            circuit[i], base[i] = k, name
    shown = ", ".join(names[:4])
    return Panel(len(names), circuit, base, steps, turned, f"{len(common)} references carry the suffixes {shown}")


class Stepped(Struct, frozen=True):
    """One circuit stepped to a panel: for each new row the row it copies, its place, angle and circuit."""

    source: Ints
    x: Floats
    y: Floats
    rotation_deg: Floats
    circuit: Ints


def step(
    x: Floats, y: Floats, rotation_deg: Floats, box: tuple[float, float, float, float], panel: PanelSource
) -> Stepped:
    """Return the placements of all circuits of *panel*, circuit by circuit from the lower left, along x first.

    *box* is the circuit's box (left, lower, right, upper; mm). A half turn turns a circuit about the middle of its box.
    """
    pitch = _pitch(box, panel)
    xs, ys, angles = [], [], []
    for row in range(panel.rows):
        for column in range(panel.columns):
            cx, cy, angle = x, y, rotation_deg
            if _is_turned(panel, column, row):
                cx, cy, angle = box[0] + box[2] - x, box[1] + box[3] - y, np.mod(rotation_deg + 180.0, 360.0)
            xs.append(cx + column * pitch[0])
            ys.append(cy + row * pitch[1])
            angles.append(angle)
    n = panel.columns * panel.rows
    return Stepped(
        np.tile(np.arange(len(x)), n),
        np.concatenate(xs),
        np.concatenate(ys),
        np.concatenate(angles),
        np.repeat(np.arange(1, n + 1), len(x)),
    )


def step_outline(outline: Outline, panel: PanelSource) -> Outline:
    """Return the panel's outline: the box of all circuits with the rails, with every circuit's cut-outs and circles.

    An outline that already holds all circuits is the panel's own and is returned as it is, like that of a single
    circuit without rails.
    """
    import shapely

    left, low, right, high = box = outline.polygon.bounds
    width, height = right - left, high - low
    if not is_stepped(panel) or _is_panel_outline(width, height, panel):
        return outline
    pitch = _pitch(box, panel)
    rails = panel.rails

    def stepped(x: Floats, y: Floats) -> Iterator[tuple[Floats, Floats]]:
        for row in range(panel.rows):
            for column in range(panel.columns):
                turned = _is_turned(panel, column, row)
                px, py = (left + right - x, low + high - y) if turned else (x, y)
                yield px + column * pitch[0], py + row * pitch[1]

    def circles(found: tuple[tuple[float, float, float], ...]) -> tuple[tuple[float, float, float], ...]:
        x, y, diameter = np.array(found, dtype=np.float64).reshape(-1, 3).T
        return tuple(
            c for px, py in stepped(x, y) for c in zip(px.tolist(), py.tolist(), diameter.tolist(), strict=True)
        )

    rings = [np.asarray(ring.coords)[:, :2] for ring in outline.polygon.interiors]
    polygon = shapely.Polygon(
        shapely.box(
            left - rails.left,
            low - rails.bottom,
            right + (panel.columns - 1) * pitch[0] + rails.right,
            high + (panel.rows - 1) * pitch[1] + rails.top,
        ).exterior,
        [np.column_stack(places) for ring in rings for places in stepped(ring[:, 0], ring[:, 1])],
    )
    if not polygon.is_valid:
        # Circuits that overlap by a wrong pitch are a finding of their own; their cut-outs make no contour.
        polygon = shapely.Polygon(polygon.exterior)
    kind = f"stepped {panel.columns} × {panel.rows}" if panel.columns * panel.rows > 1 else "with its rails"
    return replace(
        outline,
        polygon=polygon,
        holes=circles(outline.holes),
        marks=circles(outline.marks),
        source=f"{outline.source}, {kind}",
    )


def is_stepped(panel: PanelSource) -> bool:
    """Whether the panel is more than the circuit as the files describe it: several circuits, or rails around one."""
    rails = panel.rails
    return panel.columns * panel.rows > 1 or max(rails.left, rails.right, rails.bottom, rails.top) > 0


def circuit_box(outline: Outline | None, x: Floats, y: Floats, panel: PanelSource) -> tuple[float, float, float, float]:
    """Return the box of one circuit: the outline's, unless it already is the panel's; else that of the placements."""
    if outline is not None:
        left, low, right, high = outline.polygon.bounds
        if not _is_panel_outline(right - left, high - low, panel):
            return left, low, right, high
    if not (np.isfinite(x).any() and np.isfinite(y).any()):
        return 0.0, 0.0, 0.0, 0.0
    return float(np.nanmin(x)), float(np.nanmin(y)), float(np.nanmax(x)), float(np.nanmax(y))


def _is_panel_outline(width: float, height: float, panel: PanelSource) -> bool:
    """Whether an outline of this size holds all circuits: only pitches that are stated can tell."""
    if panel.columns == panel.rows == 1:
        return False
    wide = panel.columns == 1 or (panel.pitch_x is not None and width > panel.pitch_x * (panel.columns - 0.5))
    tall = panel.rows == 1 or (panel.pitch_y is not None and height > panel.pitch_y * (panel.rows - 0.5))
    return wide and tall


def _pitch(box: tuple[float, float, float, float], panel: PanelSource) -> tuple[float, float]:
    return panel.pitch_x or box[2] - box[0], panel.pitch_y or box[3] - box[1]


def _is_turned(panel: PanelSource, column: int, row: int) -> bool:
    counted = {"none": 0, "columns": column, "rows": row, "alternate": column + row}[panel.half_turns]
    return counted % 2 == 1
