"""A customer's package becomes placements, BOM lines and an outline in one frame, with every inference on record."""

from __future__ import annotations

import gc
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from capcheck.intake.bom import BomReading, mark_not_fitted, read_bom_tables, without_repeated_list
from capcheck.intake.compare import (
    FittedByBoth,
    Joined,
    compare_types,
    dates_apart,
    different_revisions,
    different_values,
    fitted_by_both,
    fitted_or_not,
    join,
    missing_places,
    open_questions,
    reconcile,
    same_spot,
)
from capcheck.intake.find import Found
from capcheck.intake.frame import Located, Panel, locate, step, step_outline
from capcheck.intake.package import Package, ReadTable
from capcheck.intake.placements import (
    Known,
    PlacementColumns,
    group_types,
    parts_by_bom,
    read_placement_table,
    rotation_notes,
    set_apart_by_kind,
)
from capcheck.intake.sources import Sources, choose_sources, input_files
from capcheck.intake.tables import Columns, Table, expand_references, read_tables, recognise, score, sides_by_pair
from capcheck.model import (
    BomLine,
    Decision,
    Flags,
    Kind,
    Manifest,
    Note,
    Outline,
    Placements,
    PlacementSource,
    SetAside,
    Side,
)
from capcheck.values import InputError, Place, Problems

if TYPE_CHECKING:
    from capcheck.intake.outline import OutlineReading

_LEAST_SCORE: Final = 0.4


def read_package(
    path: Path | None,
    *,
    placements: Sequence[Path] = (),
    bom: Path | None = None,
    outline: Path | None = None,
    outline_alone: bool = False,
) -> Package:
    """Return what the files of a board say, reconciled.

    *path* is a folder or the board.toml in it; files named here win over those of board.toml, and those over what is
    found by content. With *outline_alone* an outline suffices, and there are no placements. Raises
    :class:`InputError` with every problem of a file at once.
    """
    if outline_alone and outline is not None and path is None and not placements and bom is None:
        return _only_the_outline(outline)
    sources = choose_sources(path, placements, bom, outline)
    with _collector_at_rest():
        return _read(sources)


def _only_the_outline(file: Path) -> Package:
    sources = Sources([], None, str(file), Manifest(), None, Found(), file.stem)
    drawn = _read_outline(sources, [])
    none, nothing = np.zeros(0), np.zeros(0, dtype=np.int64)
    flags, codes = np.zeros(0, dtype=np.bool_), np.zeros(0, dtype=np.int8)
    placed = Placements([], none, none, none, codes, codes, flags, nothing, nothing, nothing, nothing, [])
    return Package(
        sources.name,
        placed,
        [],
        None,
        drawn.outline if drawn else None,
        sources.manifest,
        input_files(sources),
        drawn.notes if drawn else (),
        drawn.decisions if drawn else (),
        (),
        (),
        (),
        flags,
        flags,
        None,
        unit_settled=True,
        sides_settled=True,
    )


@contextmanager
def _collector_at_rest() -> Iterator[None]:
    """Hold the garbage collector back: it would walk hundreds of thousands of rows again and again, none in a cycle."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            if not gc.get_freeze_count():
                # What was made meanwhile counts as old from here on: else all of it is walked at once.
                gc.freeze()
                gc.unfreeze()
            gc.enable()


def _read(sources: Sources) -> Package:
    manifest = sources.manifest
    files, tables, set_aside, notes = _read_placements(sources)
    reading = _read_bom(sources, files)
    if reading is not None:
        files, bought = parts_by_bom(files, reading.lines)
        notes += bought
    drawn = _read_outline(sources, files)
    origins = {s.file: (s.origin.x, s.origin.y) for s in sources.placements if s.origin is not None}
    guessed = drawn is not None and any(d.open and d.topic == "outline unit" for d in drawn.decisions)
    located = locate(files, drawn.outline if drawn else None, manifest, origins, outline_unit_open=guessed)
    lines = () if reading is None else reading.lines
    base = located.panel.base if located.panel else located.ref
    joined = join(base, lines, unique=located.unique) if reading is not None else None
    if reading is not None and joined is not None and joined.twice:
        reading = without_repeated_list(reading)
        lines = reading.lines
        joined = join(base, lines, unique=located.unique)
    both = _fitted(files, base, joined, lines, manifest)
    placed = _table(files, located, joined, both.fitted)
    part_type, types = group_types(files, placed.bom_line, lines)
    placed = replace(placed, part_type=part_type)
    decisions = _decisions(sources, files, reading, drawn, located)
    unit_settled = not any(d.open and d.topic == "unit" for d in decisions)
    sides_settled = not np.any((placed.side == Side.UNKNOWN) & (placed.kind == Kind.PART))
    named = [f for f in (*(s.file for s in sources.placements), sources.bom, sources.outline) if f is not None]
    read = [t for t, _ in (*tables, *(reading.columns if reading else ()))]
    problems = [
        *open_questions(decisions),
        *missing_places(placed),
        *located.discrepancies,
        *fitted_or_not(placed, both),
        *(reconcile(placed, base, joined, lines, located.panel.circuits if located.panel else 1) if joined else []),
        *(same_spot(placed) if unit_settled else []),
        *different_values(files, placed.bom_line, placed.fitted, lines),
        *different_revisions(named, read),
        *compare_types(types, sorted(set(placed.part_type[placed.fitted].tolist())), _refs_of_types(placed)),
    ]
    in_bom = placed.bom_line >= 0
    shape = drawn.outline if drawn else None
    if manifest.panel is not None:
        placed, in_bom, located, shape = _stepped(placed, in_bom, located, shape, manifest)
    roles = [
        *((t, c, "placements") for t, c in tables),
        *((t, c, "bom") for t, c in (reading.columns if reading else ())),
    ]
    return Package(
        manifest.name or sources.name,
        placed,
        types,
        None if reading is None else lines,
        shape,
        manifest,
        input_files(sources),
        [
            *sources.found.notes,
            *notes,
            *(reading.notes if reading else ()),
            *(drawn.notes if drawn else ()),
            *located.notes,
            *set_apart_by_kind(files),
            *rotation_notes(files, mirrored=located.mirrored),
            *dates_apart(named, read),
        ],
        decisions,
        [*set_aside, *(reading.set_aside if reading else ())],
        [ReadTable(t, c, "bom" if r == "bom" else "placements") for t, c, r in roles],
        sorted(problems, key=lambda d: _GRAVITY[d.severity]),
        in_bom,
        _repeated(placed, joined, unique=located.unique),
        located.panel,
        unit_settled,
        bool(sides_settled),
    )


_GRAVITY: Final = {"stop": 0, "assumed": 1, "advice": 2}


def _tables_of(file: str, found: Found) -> list[Table]:
    return found.tables.get(Path(file)) or read_tables(file)


def _read_placements(
    sources: Sources,
) -> tuple[list[PlacementColumns], list[tuple[Table, Columns]], list[SetAside], list[Note]]:
    """Return the placements of all files, one entry a table; the problems of all files are raised together."""
    manifest = sources.manifest
    problems = Problems()
    files: list[PlacementColumns] = []
    chosen: list[tuple[Table, Columns]] = []
    set_aside: list[SetAside] = []
    notes: list[Note] = []
    paired = sides_by_pair([source.file for source in sources.placements])
    for source in sources.placements:
        try:
            tables = _tables_of(source.file, sources.found)
            good = _placement_tables(tables, source, manifest)
        except InputError as error:
            problems.found += error.problems
            continue
        side = source.side or manifest.side
        known = Known(
            source.units or manifest.units,
            source.decimal or manifest.decimal,
            Side[side.upper()] if side else None,
            manifest.kinds,
            manifest.variant,
            paired.get(source.file),
        )
        # The sheets of a workbook that is the bill of materials too are accounted for there.
        shared = source.file == sources.bom and len(good) < len(tables)
        for table in tables:
            columns = next((c for t, c in good if t is table), None)
            if columns is None and shared:
                continue
            set_aside += table.set_aside
            if columns is None:
                what = f'sheet "{table.sheet}"' if table.sheet else "a table"
                notes.append(Note(f"{what} is not read: it does not look like placements", Place(table.file)))
                set_aside += [SetAside(table.file, row, "not in the table of placements") for row in table.row_numbers]
                continue
            read = read_placement_table(table, columns, known, problems)
            files.append(read)
            chosen.append((table, columns))
            notes += read.notes
    problems.raise_if_any()
    return files, chosen, set_aside, notes


def _placement_tables(tables: list[Table], source: PlacementSource, manifest: Manifest) -> list[tuple[Table, Columns]]:
    named = manifest.columns.placements
    if source.sheet is not None:
        wanted = [t for t in tables if t.sheet == source.sheet]
        if not wanted:
            sheets = ", ".join(f'"{t.sheet}"' for t in tables)
            raise InputError.at(
                source.file, f'has no sheet "{source.sheet}"', f"its sheets: {sheets}", "correct the name"
            )
        return [(wanted[0], recognise(wanted[0], "placements", named))]
    if len(tables) == 1:
        return [(tables[0], recognise(tables[0], "placements", named))]
    scores = [score(t, "placements") for t in tables]
    best = max(scores)
    good = [t for t, s in zip(tables, scores, strict=True) if s >= max(_LEAST_SCORE, best - 0.15)] or [
        tables[scores.index(best)]
    ]
    return [(t, recognise(t, "placements", named)) for t in good]


class _References:
    """The references of all files; they are gathered when a list of the BOM is not plain, and else not at all."""

    def __init__(self, files: Sequence[PlacementColumns]) -> None:
        self._files = files
        self._known: frozenset[str] | None = None

    def __contains__(self, ref: object) -> bool:
        if self._known is None:
            self._known = frozenset(ref for file in self._files for ref in file.ref)
        return ref in self._known


def _read_bom(sources: Sources, files: Sequence[PlacementColumns]) -> BomReading | None:
    if sources.bom is None:
        return None
    manifest = sources.manifest
    known = _References(files)
    tables = _tables_of(sources.bom, sources.found)
    placed = {(f.table.sheet, f.table.header_row) for f in files if f.table.file == sources.bom}
    reading = read_bom_tables(
        [t for t in tables if (t.sheet, t.header_row) not in placed] or tables,
        named=manifest.columns.bom,
        decimal=manifest.decimal,
        variant=manifest.variant,
        known=known,
    )
    if not manifest.not_fitted:
        return reading
    off = frozenset(expand_references(", ".join(manifest.not_fitted), known)[0])
    return replace(reading, lines=mark_not_fitted(reading.lines, off))


def _read_outline(sources: Sources, files: Sequence[PlacementColumns]) -> OutlineReading | None:
    if sources.outline is None:
        return None
    from capcheck.intake.outline import OutlineOptions, read_outline

    stated = sources.manifest.outline
    options = OutlineOptions(stated.layer, stated.unit, stated.tolerance) if stated else OutlineOptions()
    points = unscaled = None
    if files and not any(f.stated for f in files):
        unscaled = np.vstack([np.column_stack([f.x, f.y]) for f in files])
    if files and all(f.stated for f in files):
        points = np.vstack([np.column_stack([f.x, f.y]) * (f.stated.factor if f.stated else 1.0) for f in files])
    return read_outline(Path(sources.outline), options, points, unscaled_points=unscaled)


def _fitted(
    files: Sequence[PlacementColumns],
    base: Sequence[str],
    joined: Joined | None,
    lines: Sequence[BomLine],
    manifest: Manifest,
) -> FittedByBoth:
    both = fitted_by_both([f.fitted for f in files], joined, lines)
    if not manifest.not_fitted:
        return both
    off = set(expand_references(", ".join(manifest.not_fitted), set(base))[0])
    return both.without(np.fromiter((ref in off for ref in base), dtype=np.bool_, count=len(base)))


def _table(files: Sequence[PlacementColumns], located: Located, joined: Joined | None, fitted: Flags) -> Placements:
    names = list(dict.fromkeys(f.table.file for f in files))
    return Placements(
        located.ref,
        located.x,
        located.y,
        np.concatenate([f.rotation_deg for f in files]),
        located.side,
        located.kind,
        fitted,
        np.concatenate([np.full(len(f), names.index(f.table.file), dtype=np.int64) for f in files]),
        np.concatenate([f.row for f in files]),
        joined.line if joined is not None else np.full(len(located.ref), -1, dtype=np.int64),
        np.full(len(located.ref), -1, dtype=np.int64),
        names,
    )


def _repeated(placed: Placements, joined: Joined | None, *, unique: bool) -> Flags:
    """Return the placements whose reference stands twice in the placements or on two lines of the BOM."""
    repeated = np.zeros(len(placed), dtype=np.bool_)
    if not unique:
        seen: dict[str, int] = defaultdict(int)
        for ref in placed.ref:
            seen[ref] += 1
        repeated = np.fromiter((seen[ref] > 1 for ref in placed.ref), dtype=np.bool_, count=len(placed))
    if joined is not None and len(joined.duplicate_line) and len(placed) % len(joined.duplicate_line) == 0:
        repeated |= np.tile(joined.duplicate_line, len(placed) // len(joined.duplicate_line))
    return repeated


def _refs_of_types(placed: Placements) -> Callable[[Iterable[int]], list[str]]:
    """Return a way to list the fitted references of some types: few types are ever asked for."""
    codes = np.where(placed.fitted, placed.part_type, -1)

    def refs(types: Iterable[int]) -> list[str]:
        return [placed.ref[i] for i in np.flatnonzero(np.isin(codes, list(types))).tolist()]

    return refs


def _decisions(
    sources: Sources,
    files: Sequence[PlacementColumns],
    reading: BomReading | None,
    drawn: OutlineReading | None,
    located: Located,
) -> list[Decision]:
    """Return all decisions, the unit's and the side's first."""
    found = [
        *sources.found.decisions,
        *(d for f in files for d in f.decisions),
        *located.decisions,
        *(drawn.decisions if drawn else ()),
        *(reading.decisions if reading else ()),
    ]
    first = ("unit", "side", "bottom side", "origin", "y axis", "rotation", "panel")
    return sorted(found, key=lambda d: first.index(d.topic) if d.topic in first else len(first))


def _stepped(
    placed: Placements, in_bom: Flags, located: Located, outline: Outline | None, manifest: Manifest
) -> tuple[Placements, Flags, Located, Outline | None]:
    """Return the placements and the outline of the whole panel that board.toml describes."""
    panel = manifest.panel
    if panel is None:
        return placed, in_bom, located, outline
    if panel.columns * panel.rows == 1:
        return placed, in_bom, located, None if outline is None else step_outline(outline, panel)
    copies = step(placed.x_mm, placed.y_mm, placed.rotation_deg, outline, panel)
    s = copies.source
    refs = [
        placed.ref[i] if c == 1 else f"{placed.ref[i]}/{c}"
        for i, c in zip(s.tolist(), copies.circuit.tolist(), strict=True)
    ]
    stepped = replace(
        placed,
        ref=refs,
        x_mm=copies.x,
        y_mm=copies.y,
        rotation_deg=copies.rotation_deg,
        side=placed.side[s],
        kind=placed.kind[s],
        fitted=placed.fitted[s],
        file=placed.file[s],
        row=placed.row[s],
        bom_line=placed.bom_line[s],
        part_type=placed.part_type[s],
    )
    found = Panel(panel.columns * panel.rows, copies.circuit, [placed.ref[i] for i in s])
    shape = step_outline(outline, panel) if outline is not None else None
    return stepped, in_bom[s], replace(located, panel=found), shape
