"""The files of a board, each read by itself: placements, bill of materials, outline."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.intake.folder import Sources
from capcheck.intake.placements import Known, PlacementColumns, read_placement_table
from capcheck.intake.tables import Columns, Recognised, Table, expand_references, sides_by_pair
from capcheck.model import Floats, Manifest, Note, PlacementSource, Said, SetAside, Side, say
from capcheck.values import InputError, Problems, reading

if TYPE_CHECKING:
    from capcheck.intake.bom import BomReading
    from capcheck.intake.outline import OutlineReading

_LEAST_SCORE: Final = 0.4
_AS_GOOD: Final = 0.15
"""Sheets of a workbook whose score is this close to the best one's hold placements too."""


class PlacementFiles(Struct):
    """The placements of all files, one entry a table, with what was noted and set apart on the way."""

    tables: list[PlacementColumns] = field(default_factory=list)
    set_aside: list[SetAside] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)

    def leave_out(self, table: Table) -> None:
        """Set the rows of a table apart that does not look like placements."""
        key = "find.sheet without placements" if table.sheet else "find.table without placements"
        self.notes.append(Note(say(key, sheet=table.sheet), table.place()))
        self.set_aside += table.left_out(say("find.not in the table"))


def read_placement_files(sources: Sources) -> PlacementFiles:
    """Return the placements of all files; the problems of all files are raised together."""
    problems = Problems()
    read = PlacementFiles()
    paired = sides_by_pair([source.file for source in sources.placements])
    for source in sources.placements:
        try:
            sheets = sources.opened.tables(source.file)
            good = _with_placements(sheets, source, sources.manifest)
        except InputError as error:
            problems.found += error.problems
            continue
        known = _known(source, sources.manifest, paired.get(source.file))
        # The sheets of a workbook that is the bill of materials too are accounted for there.
        shared = source.file == sources.bom and len(good) < len(sheets)
        for sheet in sheets:
            table = sheet.table
            columns = next((columns for other, columns in good if other is table), None)
            if columns is None and shared:
                continue
            read.set_aside += table.set_aside
            if columns is None:
                read.leave_out(table)
                continue
            with reading(source.file):
                read.tables.append(read_placement_table(table, columns, known, problems))
            read.notes += read.tables[-1].notes
    problems.raise_if_any()
    return read


def read_repeats(sources: Sources, files: Iterable[str]) -> list[PlacementColumns]:
    """Return the tables of *files* that repeat the placements; what of them cannot be read says nothing."""
    read: list[PlacementColumns] = []
    for file in files:
        source = PlacementSource(file=file)
        try:
            tables = _with_placements(sources.opened.tables(file), source, sources.manifest)
            known = _known(source, sources.manifest, None)
            read += [read_placement_table(table, columns, known, Problems()) for table, columns in tables]
        except InputError:
            continue
    return read


def _known(source: PlacementSource, manifest: Manifest, paired: tuple[Side, Said] | None) -> Known:
    side = source.side or manifest.side
    return Known(
        units=source.units or manifest.units,
        decimal=source.decimal or manifest.decimal,
        side=Side[side.upper()] if side else None,
        kinds=manifest.kinds,
        variant=manifest.variant,
        paired=paired,
    )


def _with_placements(
    sheets: list[Recognised], source: PlacementSource, manifest: Manifest
) -> list[tuple[Table, Columns]]:
    """Return the tables of a file that hold placements: the sheet that is named, or those that look so."""
    good = sheets
    if source.sheet is not None:
        good = [s for s in sheets if s.table.sheet == source.sheet][:1]
        if not good:
            names = ", ".join(f'"{s.table.sheet}"' for s in sheets)
            raise InputError.at(
                source.file, f'has no sheet "{source.sheet}"', f"its sheets: {names}", "correct the name"
            )
    elif len(sheets) > 1:
        scores = [sheet.score("placements") for sheet in sheets]
        best = max(scores)
        good = [s for s, score in zip(sheets, scores, strict=True) if score >= max(_LEAST_SCORE, best - _AS_GOOD)]
        good = good or [sheets[scores.index(best)]]
    return [(sheet.table, sheet.columns("placements", manifest.columns.placements)) for sheet in good]


class _References:
    """The references of all files; they are gathered when a list of the BOM is not plain, and else not at all."""

    def __init__(self, files: Sequence[PlacementColumns]) -> None:
        self._files = files
        self._known: frozenset[str] | None = None

    def __contains__(self, ref: object) -> bool:
        if self._known is None:
            self._known = frozenset(ref for file in self._files for ref in file.ref)
        return ref in self._known


def read_bom_file(sources: Sources, files: Sequence[PlacementColumns]) -> BomReading | None:
    """Return the lines of the bill of materials, without sheets that are placements; None where there is no file."""
    if sources.bom is None:
        return None
    from capcheck.intake.bom import mark_not_fitted, read_bom_tables

    manifest = sources.manifest
    known = _References(files)
    sheets = [
        *sources.opened.tables(sources.bom),
        *(t for file in sources.further_boms for t in sources.opened.tables(file)),
    ]
    placed = [file.table for file in files]
    with reading(sources.bom):
        read = read_bom_tables(
            [sheet for sheet in sheets if not any(sheet.table is table for table in placed)] or sheets,
            named=manifest.columns.bom,
            decimal=manifest.decimal,
            variant=manifest.variant,
            known=known,
            sheet=manifest.bom_sheet,
        )
    if not manifest.not_fitted:
        return read
    off = frozenset(expand_references(", ".join(manifest.not_fitted), known)[0])
    return replace(read, lines=mark_not_fitted(read.lines, off))


def read_outline_file(sources: Sources, files: Sequence[PlacementColumns]) -> OutlineReading | None:
    """Return the outline; the coordinates of the placements settle what the drawing leaves open."""
    if sources.outline is None:
        return None
    from capcheck.intake.outline import OutlineOptions, read_outline

    stated = sources.manifest.outline
    options = OutlineOptions(stated.layer, stated.unit, stated.tolerance) if stated else OutlineOptions()
    options = replace(options, panel_stated=sources.manifest.panel is not None)
    points = unscaled = None
    if files and not any(f.stated for f in files):
        unscaled = np.vstack([np.column_stack([f.x, f.y]) for f in files])
    if files and all(f.stated for f in files):
        points = likely_points(files)
    with reading(sources.outline):
        return read_outline(
            Path(sources.outline), options, points, unscaled_points=unscaled, likely_points=likely_points(files)
        )


def likely_points(files: Sequence[PlacementColumns]) -> Floats | None:
    """Return all coordinates in mm, n × 2, where their units are stated or plain without an outline; None elsewhere."""
    if not files:
        return None
    from capcheck.intake.frame import decide_units

    factors, decisions = decide_units(files, None)
    if any(decision.open for decision in decisions):
        return None
    return np.vstack([np.column_stack([f.x, f.y]) * k for f, k in zip(files, factors, strict=True)])
