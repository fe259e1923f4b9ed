"""A customer's package to a board: files read, bodies looked up, the board's own size and mass bounded."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from fnmatch import fnmatchcase
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from capcheck.geometry import bare_mass, board_area, orient_by_fit
from capcheck.intake import Package, expand_references, read_package
from capcheck.lexicon import sentence
from capcheck.model import (
    UNKNOWN_MEASURE,
    Basis,
    Board,
    BoardSize,
    Body,
    Measure,
    Note,
    Outline,
    PartName,
    Placements,
    Side,
    stepping,
)
from capcheck.packages import resolve
from capcheck.values import UNKNOWN_SIZE, Interval, Place

if TYPE_CHECKING:
    from capcheck.model import PanelSource
    from capcheck.packages import Library

FR4_DENSITY: Final = Interval(1.7e-3, 2.1e-3)
"""Density of glass-epoxy board in g/mm³ (1.85 nominal; handbook value, from memory), with copper on it."""


def read_board(
    path: str | Path | None = None,
    *,
    placements: Sequence[str | Path] = (),
    bom: str | Path | None = None,
    outline: str | Path | None = None,
    libraries: Sequence[str | Path] = (),
    outline_alone: bool = False,
) -> Board:
    """Return the board that a folder, a board.toml or single files describe.

    *path* is a folder or the board.toml in it; *placements*, *bom* and *outline* name files instead, or override it.
    *libraries* are package libraries of the shop, the first that knows a part wins. With
    *outline_alone* a board without placements is read too: there is something to see, though nothing to check. Raises
    :class:`~capcheck.values.InputError` with every fault found.
    """
    package = read_package(
        None if path is None else Path(path),
        placements=[Path(p) for p in placements],
        bom=None if bom is None else Path(bom),
        outline=None if outline is None else Path(outline),
        outline_alone=outline_alone,
    )
    library = library_of(libraries)
    stated = package.manifest
    bodies: Sequence[Body] = resolve(package.types, size_codes=stated.size_codes, library=library, prefer=stated.prefer)
    placed, types, bodies = _mounted_as_stated(package, bodies)
    decisions = list(package.decisions)
    if package.unit_settled:
        one_circuit = None if package.panel is None else package.panel.circuit <= 1
        bodies, found = orient_by_fit(placed, bodies, [name.footprint for name in types], one_circuit)
        decisions += found
    board = Board(
        name=package.name,
        placements=placed,
        types=types,
        bodies=bodies,
        bom=package.bom,
        outline=package.outline,
        size=board_size(package, bodies),
        manifest=package.manifest,
        inputs=package.inputs,
        notes=package.notes,
        decisions=decisions,
        set_aside=package.set_aside,
        discrepancies=package.discrepancies,
        tables=package.tables,
        unit_settled=package.unit_settled,
        sides_settled=package.sides_settled,
    )
    notes = [*_size_notes(board.size), *_without_effect(board), *board.notes, *_first_side(board)]
    return replace(board, notes=notes)


def _without_effect(board: Board) -> list[Note]:
    """Return a note on entries of board.toml that name no reference of the data: a slip there would go unseen."""
    stated = board.manifest
    if not (stated.not_fitted or stated.kinds or stated.mounting):
        return []
    refs = {ref.partition("/")[0] for ref in board.placements.ref}
    refs |= {ref for line in board.bom or () for ref in line.refs}
    idle = {
        "not_fitted": [t for t in stated.not_fitted if not refs.intersection(expand_references(t, refs)[0])],
        "kinds": [t for t in stated.kinds if not _names_any(t, refs)],
        "mounting": [t for t in stated.mounting if not _names_any(t, refs)],
    }
    return [
        Note(
            f"{key}: {', '.join(names)} {'names' if len(names) == 1 else 'name'} no reference of the data",
            Place("board.toml"),
        )
        for key, names in idle.items()
        if names
    ]


def _names_any(name: str, refs: Collection[str]) -> bool:
    return name in refs or any(fnmatchcase(ref, name) for ref in refs)


def _first_side(board: Board) -> list[Note]:
    """Return a note on which side to solder first, for a board with surface-mount parts on both."""
    if not (board.placements.is_part & (board.placements.side == Side.BOTTOM)).any():
        return []
    from capcheck.facts import FACTS, Session, both_sides, first_side

    session = Session(FACTS, {"board": board, "line": None})
    if not session.shared(both_sides):
        return []
    first = session.shared(first_side)
    because = "; ".join(map(sentence, first.reasons))
    return [Note(f"second side: the proposal is to solder the {first.side} first ({because})")]


def library_of(paths: Sequence[str | Path]) -> Library | None:
    """Return the shop's package libraries as one, the first that knows a part wins; None where there is none."""
    if not paths:
        return None
    from capcheck.packages import build_library, load_library

    loaded = [load_library(path) for path in paths]
    if len(loaded) == 1:
        return loaded[0]
    return build_library(", ".join(lib.path for lib in loaded), [entry for lib in loaded for entry in lib.entries])


def _mounted_as_stated(
    package: Package, bodies: Sequence[Body]
) -> tuple[Placements, Sequence[PartName], Sequence[Body]]:
    """Return placements, types and bodies with the mounting that board.toml states for some references.

    A type of which only some references are named is split.
    """
    placements, stated = package.placements, package.manifest.mounting
    if not stated:
        return placements, package.types, bodies
    types, made = list(package.types), list(bodies)
    part_type = placements.part_type.copy()
    split: dict[tuple[int, str], int] = {}
    for row, ref in enumerate(placements.ref):
        mounting = next((m for pattern, m in stated.items() if fnmatchcase(ref, pattern)), None)
        index = int(part_type[row])
        if mounting is None or index < 0:
            continue
        if (index, mounting) not in split:
            split[index, mounting] = len(types)
            types.append(types[index])
            made.append(replace(made[index], mounting=mounting))
        part_type[row] = split[index, mounting]
    return replace(placements, part_type=part_type), types, made


def board_size(package: Package, bodies: Sequence[Body]) -> BoardSize:
    """Return the board's box, thickness and mass: as stated, else from the outline, else as far as bounded.

    Without an outline the placements bound the board from below only.
    """
    manifest = package.manifest
    outline = package.outline
    length, width = _box(outline) if outline is not None else _spread(package)
    drawn = outline is not None and manifest.panel is None
    if manifest.length is not None:
        length = _stated("length", manifest.length, length if drawn else None)
    if manifest.width is not None:
        width = _stated("width", manifest.width, width if drawn else None)
    if manifest.panel is not None:
        # What is stated is one circuit; the machines carry the panel.
        length, width = _panel(outline, length, width, manifest.panel)
    thickness = UNKNOWN_MEASURE
    if manifest.thickness is not None:
        thickness = Measure(Interval.exactly(manifest.thickness), Basis.STATED, "board.toml thickness")
    return BoardSize(length, width, thickness, _mass(package, bodies, length, width, thickness))


_SAME_SIZE_MM: Final = 0.5
"""A stated size and a drawn one that differ by no more are one: a contour may follow the middle of a wide line."""


def _stated(side: str, value_mm: float, drawn: Measure | None) -> Measure:
    """Return a size that board.toml states; where the outline says otherwise, all from the one to the other."""
    stated = Interval.exactly(value_mm)
    if drawn is None or abs(drawn.value.middle - value_mm) <= _SAME_SIZE_MM:
        return Measure(stated, Basis.STATED, f"board.toml {side}")
    told = f"board.toml {side} says {value_mm:g} mm, the outline {drawn.value.middle:g} mm"
    return Measure(stated.hull(drawn.value), Basis.STATED, told)


def _size_notes(size: BoardSize) -> list[Note]:
    return [
        Note(f"{m.source}: either counts, until board.toml or the outline is put right", Place("board.toml"))
        for m in (size.length, size.width)
        if not m.value.is_exact and m.source.startswith("board.toml")
    ]


def _panel(outline: Outline | None, length: Measure, width: Measure, panel: PanelSource) -> tuple[Measure, Measure]:
    """Return the size of the whole panel: of its outline, else stepped from the circuit's stated size."""
    if outline is not None:
        return _box(outline)
    if not (length.value.is_exact and width.value.is_exact):
        return _at_least(length.value.low), _at_least(width.value.low)
    left, low, right, high = stepping((0.0, 0.0, length.value.low, width.value.low), panel).box
    return (
        Measure(Interval.exactly(round(right - left, 3)), Basis.STATED, f"{length.source} and panel"),
        Measure(Interval.exactly(round(high - low, 3)), Basis.STATED, f"{width.source} and panel"),
    )


def _spread(package: Package) -> tuple[Measure, Measure]:
    """Return the box around the placements' centres as the least size of the board, along x and y."""
    placements = package.placements
    places = np.column_stack([placements.x_mm, placements.y_mm])[placements.is_part]
    places = places[np.isfinite(places).all(axis=1)]
    if not package.unit_settled or not len(places):
        return UNKNOWN_MEASURE, UNKNOWN_MEASURE
    along_x, along_y = np.ptp(places, axis=0).tolist()
    return _at_least(along_x), _at_least(along_y)


def _at_least(side_mm: float) -> Measure:
    return Measure(Interval(round(side_mm, 3), math.inf), Basis.BOUND, "at least the spread of the placements")


def _box(outline: Outline) -> tuple[Measure, Measure]:
    left, low, right, high = outline.polygon.bounds
    return (
        Measure(Interval.exactly(round(right - left, 3)), Basis.STATED, sentence(outline.source)),
        Measure(Interval.exactly(round(high - low, 3)), Basis.STATED, sentence(outline.source)),
    )


def _mass(package: Package, bodies: Sequence[Body], length: Measure, width: Measure, thickness: Measure) -> Measure:
    manifest = package.manifest
    if manifest.mass is not None:
        return Measure(Interval.exactly(manifest.mass), Basis.STATED, "board.toml mass")
    density = FR4_DENSITY if manifest.density is None else Interval.exactly(manifest.density)
    polygon = None if package.outline is None else package.outline.polygon
    bare = bare_mass(board_area(polygon, length.value, width.value), thickness.value, density)
    parts = _mass_of_parts(package, bodies)
    total = Interval(bare.low + parts.low, bare.high + parts.high)
    if total == UNKNOWN_SIZE:
        return UNKNOWN_MEASURE
    return Measure(total, Basis.BOUND, "area × thickness × density, and the masses of the parts as far as known")


def _mass_of_parts(package: Package, bodies: Sequence[Body]) -> Interval:
    placements = package.placements
    types = placements.part_type[placements.is_part]
    known = [(b.mass.low, b.mass.high) for b in bodies]
    low = sum(known[t][0] for t in types.tolist() if t >= 0)
    high = sum(known[t][1] for t in types.tolist() if t >= 0)
    return Interval(low, high)


def unknown_types(board: Board) -> list[tuple[PartName, Body]]:
    """Return the types of part whose length, width or height is not bounded, for a library to be filled in."""
    used = set(board.placements.part_type[board.placements.is_part].tolist())
    return [
        (name, body)
        for index, (name, body) in enumerate(zip(board.types, board.bodies, strict=True))
        if index in used and not all(m.value.is_known for m in (body.length, body.width, body.height))
    ]
