"""What changed between two revisions of a board: rows, outline, thickness, panel, feeders; what is inferred says so."""

from __future__ import annotations

import enum
import math
from collections.abc import Iterator, Sequence
from itertools import compress
from typing import Final, Literal

from msgspec import Struct

from capcheck.model import Board, Decision, Kind, Measure, Topic
from capcheck.revisions.frame import Motion, find_motion
from capcheck.revisions.matching import Pair, is_elsewhere, paired
from capcheck.revisions.mirrored import Mirrored, mirrored_sides
from capcheck.revisions.rows import Row, circuits_of, folded, rows_of, together

_SAME_DEG: Final = 0.05
_SAME_SIZE_MM: Final = 0.01
_EDGE_MM: Final = 0.05
"""Two contours within this of one another are one: curves are drawn as short lines."""


class Change(enum.StrEnum):
    """What changed of a part, in the order in which it is told."""

    ADDED = "added"
    REMOVED = "removed"
    RENUMBERED = "renumbered"
    SIDE = "side"
    MOVED = "moved"
    TURNED = "turned"
    PLACE = "place"
    """It has a place now, or has none any more."""
    PART_NUMBER = "part number"
    VALUE = "value"
    FOOTPRINT = "footprint"
    FITTED = "fitted"
    KIND = "kind"
    """A part that is a fiducial now, or the like."""


class PartChange(Struct, frozen=True):
    """What changed of one row; *dx_mm* and *dy_mm* are its move on the board, *turned_deg* lies in (−180, 180]."""

    changes: frozenset[Change]
    old: Row | None
    new: Row | None
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    turned_deg: float = 0.0

    @property
    def moved_mm(self) -> float:
        """How far it moved."""
        return math.hypot(self.dx_mm, self.dy_mm)

    @property
    def row(self) -> Row:
        """The row as it is now, as it was where it is gone."""
        return self.new or self.old or Row("")


What = Literal["length", "width", "contour", "cut-outs", "holes", "thickness", "panel", "circuits"]


class BoardChange(Struct, frozen=True):
    """What changed of the board itself: bounds in mm, areas in mm², counts or texts; None where nothing is known."""

    what: What
    old: tuple[float, float] | str | int | None
    new: tuple[float, float] | str | int | None


class Feeder(Struct, frozen=True):
    """A part number that needs a slot in one revision alone, with the parts; *certain* if a head is to place some."""

    label: str
    refs: tuple[str, ...]
    certain: bool
    numbered: bool
    """Whether it has a part number; else value and footprint stand for it."""


class Uncertain(Struct, frozen=True):
    """An inference on which changes stand: open, or not the same in both revisions."""

    topic: Topic
    old: Decision | None
    new: Decision | None
    touches: frozenset[Change]


class DataChanges(Struct, frozen=True):
    """All that changed in the data of a board."""

    motion: Motion
    has_outlines: bool
    parts: tuple[PartChange, ...]
    board: tuple[BoardChange, ...]
    feeders_in: tuple[Feeder, ...]
    feeders_out: tuple[Feeder, ...]
    uncertain: tuple[Uncertain, ...]
    compared: int
    """How many rows were found again."""
    one_sided: frozenset[Change] = frozenset()
    """What one revision states of no part: part numbers, values or footprints."""
    mirrored: tuple[Mirrored, ...] = ()
    """The sides that one revision shows from the other face, as far as the parts tell; their moves are listed too."""

    @property
    def is_empty(self) -> bool:
        """Whether nothing changed but perhaps the origin."""
        return not (self.parts or self.board or self.feeders_in or self.feeders_out)

    @property
    def renumbered(self) -> dict[str, str]:
        """The reference that each renumbered part bears now, by the one that it bore."""
        return {p.old.ref: p.new.ref for p in self.parts if p.old and p.new and p.old.ref != p.new.ref}

    def doubts(self, change: PartChange) -> list[Topic]:
        """Return the inferences on which one change stands."""
        return [doubt.topic for doubt in self.uncertain if doubt.touches & change.changes]


_PLACES: Final = frozenset({Change.MOVED, Change.RENUMBERED})
_EVERY: Final = frozenset(Change)
_TOUCHES: Final = {
    Topic.UNIT: _PLACES,
    Topic.ORIGIN: _PLACES,
    Topic.Y_AXIS: _PLACES | {Change.TURNED},
    Topic.BOTTOM_SIDE: _PLACES | {Change.TURNED},
    Topic.SIDE: frozenset({Change.SIDE}),
    Topic.ROTATION: frozenset({Change.TURNED}),
    Topic.PANEL: frozenset({Change.ADDED, Change.REMOVED}),
    Topic.VARIANT: frozenset({Change.FITTED}),
    Topic.PLACEMENTS: _EVERY,
    Topic.BOM: frozenset({Change.PART_NUMBER, Change.VALUE, Change.FITTED}),
}


def data_changes(old: Board, new: Board, *, told_panels: bool = True) -> DataChanges:
    """Return what changed from one revision of a board to another.

    *told_panels* says that both can tell how the board is stepped; a report counts the circuits only.
    """
    whole = circuits_of(old) == circuits_of(new)
    before, after = rows_of(old, circuits=whole), rows_of(new, circuits=whole)
    motion = find_motion(old, new, before, after)
    pairs = paired(before, after, motion)
    one_sided = frozenset(_one_sided(before, after))
    parts = tuple(change for pair in pairs if (change := _part_change(pair, motion)) is not None)
    changed = frozenset().union(*(change.changes for change in parts)) | (
        frozenset() if motion.is_still else frozenset({Change.MOVED})
    )
    return DataChanges(
        motion=motion,
        has_outlines=old.outline is not None and new.outline is not None,
        parts=parts,
        board=tuple(_board_changes(old, new, motion, told_panels=told_panels)),
        feeders_in=tuple(_more(before, after, one_sided)),
        feeders_out=tuple(_more(after, before, one_sided)),
        uncertain=tuple(doubt for doubt in _uncertain(old, new) if doubt.touches & changed),
        compared=sum(pair.old is not None and pair.new is not None for pair in pairs),
        one_sided=one_sided,
        mirrored=tuple(mirrored_sides(pairs, motion)),
    )


def _one_sided(before: Sequence[Row], after: Sequence[Row]) -> Iterator[Change]:
    names = zip(*(row.key for row in before), strict=True), zip(*(row.key for row in after), strict=True)
    for change, was, now in zip((Change.PART_NUMBER, Change.VALUE, Change.FOOTPRINT), *names, strict=False):
        if any(was) != any(now):
            yield change


def _part_change(pair: Pair, motion: Motion) -> PartChange | None:
    old, new = pair.old, pair.new
    if old is None or new is None:
        return PartChange(frozenset({Change.ADDED if old is None else Change.REMOVED}), old, new)
    found = {
        change
        for change, differs in (
            (Change.RENUMBERED, old.ref != new.ref),
            (Change.SIDE, old.is_placed and new.is_placed and old.side != new.side),
            (Change.PLACE, old.is_placed != new.is_placed),
            (Change.PART_NUMBER, folded(old.part_number) != folded(new.part_number)),
            (Change.VALUE, together(old.value) != together(new.value)),
            # What the BOM alone lists was drawn nowhere.
            (Change.FOOTPRINT, min(old.index, new.index) >= 0 and folded(old.footprint) != folded(new.footprint)),
            (Change.FITTED, old.fitted != new.fitted),
            (Change.KIND, old.kind != new.kind),
        )
        if differs
    }
    dx = dy = turned = 0.0
    if is_elsewhere(old, new, motion):
        found.add(Change.MOVED)
        x, y = motion.place(old)
        dx, dy = new.x_mm - x, new.y_mm - y
    if old.side == new.side and new.kind is Kind.PART and old.is_placed and new.is_placed:
        turned = _turn(motion.angle(old), new.rotation_deg)
        if abs(turned) > _SAME_DEG or math.isfinite(old.rotation_deg) != math.isfinite(new.rotation_deg):
            found.add(Change.TURNED)
    return PartChange(frozenset(found), old, new, dx, dy, turned) if found else None


def _turn(old: float, new: float) -> float:
    """Return how far counter-clockwise, in (−180, 180]; 0 where either angle is not known."""
    if not math.isfinite(old + new):
        return 0.0
    turned = (new - old) % 360.0
    return turned - 360.0 if turned > 180.0 + _SAME_DEG else turned


def _board_changes(old: Board, new: Board, motion: Motion, *, told_panels: bool) -> Iterator[BoardChange]:
    was, now = (old.size.length, old.size.width), (new.size.length, new.size.width)
    if motion.quarter_turns % 2:
        was = was[::-1]
    sizes: tuple[tuple[What, Measure, Measure], ...] = (
        ("length", was[0], now[0]),
        ("width", was[1], now[1]),
        ("thickness", old.size.thickness, new.size.thickness),
    )
    resized = False
    for what, before, after in sizes:
        # Without an outline the parts bound the board from below: that is no size.
        if (before.value.is_known or after.value.is_known) and not _is_same(before, after):
            resized = resized or what != "thickness"
            yield BoardChange(what, _ends(before), _ends(after))
    yield from _contour(old, new, motion, resized=resized)
    panels = old.manifest.panel, new.manifest.panel
    if told_panels and panels[0] != panels[1]:
        told = [None if p is None else f"{p.columns} × {p.rows}" for p in panels]
        if told[0] == told[1]:
            told = [None if p is None else _in_full(p.model_dump(exclude_defaults=True)) for p in panels]
        yield BoardChange("panel", told[0], told[1])
    elif (before_count := circuits_of(old)) != (after_count := circuits_of(new)):
        yield BoardChange("circuits", before_count, after_count)


def _in_full(values: dict[str, object]) -> str:
    return ", ".join(f"{name} {value}" for name, value in values.items())


def _ends(measure: Measure) -> tuple[float, float] | None:
    return (measure.low, measure.high) if measure.value.is_known else None


def _is_same(old: Measure, new: Measure) -> bool:
    return all(a == b or abs(a - b) <= _SAME_SIZE_MM for a, b in ((old.low, new.low), (old.high, new.high)))


def _contour(old: Board, new: Board, motion: Motion, *, resized: bool) -> Iterator[BoardChange]:
    if old.outline is None or new.outline is None:
        return
    from shapely import transform

    was = transform(old.outline.polygon, motion.points)
    now = new.outline.polygon
    counts = len(was.interiors), len(now.interiors)
    differs = was.symmetric_difference(now).area
    if counts[0] != counts[1]:
        yield BoardChange("cut-outs", *counts)
    elif differs > _EDGE_MM * now.length and not resized:
        yield BoardChange("contour", (was.area, was.area), (now.area, now.area))
    holes = len(old.outline.holes), len(new.outline.holes)
    if holes[0] != holes[1]:
        yield BoardChange("holes", *holes)


def _more(before: Sequence[Row], after: Sequence[Row], one_sided: frozenset[Change]) -> Iterator[Feeder]:
    """Yield the part numbers that need a slot in *after* and none in *before*.

    A type without a part number is known by value and footprint, as far as both revisions state them, so that a BOM
    that comes later changes no feeder.
    """
    shared = [change not in one_sided for change in (Change.VALUE, Change.FOOTPRINT)]

    def drawn_as(row: Row) -> tuple[str, ...]:
        return tuple(compress(row.key[1:], shared))

    fed = [row for row in before if _is_fed(row)]
    numbers, drawn = {row.key[0] for row in fed} - {""}, {drawn_as(row) for row in fed}
    nameless = {drawn_as(row) for row in fed if not row.part_number}
    found: dict[tuple[str, ...], list[Row]] = {}
    for row in after:
        if _is_fed(row) and any(row.key):
            number = row.key[0]
            if number not in numbers and drawn_as(row) not in (nameless if number else drawn):
                found.setdefault((number,) if number else ("", *drawn_as(row)), []).append(row)
    for rows in found.values():
        certain = any(row.on_the_surface for row in rows)
        yield Feeder(rows[0].label, tuple(row.ref for row in rows), certain, bool(rows[0].part_number))


def _is_fed(row: Row) -> bool:
    return row.kind is Kind.PART and row.fitted and row.is_placed and row.on_the_surface is not False


def _uncertain(old: Board, new: Board) -> Iterator[Uncertain]:
    """Yield the inferences that are open, or that the two revisions do not share."""
    for topic, touches in _TOUCHES.items():
        was, now = (next((d for d in board.decisions if d.topic is topic), None) for board in (old, new))
        if was is None and now is None:
            continue
        is_open = any(d is not None and d.open for d in (was, now))
        if is_open or was is None or now is None or (type(was.choice) is type(now.choice) and was.choice != now.choice):
            yield Uncertain(topic, was, now, touches)
