"""A customer's package becomes placements, BOM lines and an outline in one frame, with every inference on record."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from capcheck.intake.archives import as_given, named_by_archive
from capcheck.intake.compare import (
    FittedByBoth,
    Joined,
    choices_of_two,
    compare_types,
    dates_apart,
    different_angles,
    different_numbers,
    different_revisions,
    different_sides,
    different_values,
    doubts_about_rows,
    fitted_or_not,
    join,
    left_out,
    missing_places,
    numbered_by,
    open_questions,
    part_or_not,
    provisional,
    reconcile,
    same_spot,
    settle_lists,
    settled_as_fitted,
    spelled_as_placed,
    told_of_data,
    values_without_figure,
)
from capcheck.intake.files import files_below
from capcheck.intake.folder import Found, Sources, choose_sources, input_files
from capcheck.intake.frame import Located, locate
from capcheck.intake.input_files import read_bom_file, read_outline_file, read_placement_files, read_repeats
from capcheck.intake.opened import OpenedFiles
from capcheck.intake.other_places import begin_with, told_by_layers
from capcheck.intake.outline_among_files import settle_outline
from capcheck.intake.outline_with_parts import with_parts_inside
from capcheck.intake.package import Package, table_on_record
from capcheck.intake.placed_rows import placements_of
from capcheck.intake.placements import (
    NamesBody,
    PlacementColumns,
    blank_angle,
    group_types,
    parts_among,
    rotation_notes,
    set_apart_by_kind,
    with_starts,
)
from capcheck.intake.provided_parts import provided_parts
from capcheck.intake.stated_references import fitted_as_stated, refuse_both_ways
from capcheck.intake.stated_thickness import another_thickness
from capcheck.intake.tables import Table
from capcheck.intake.told_of_board import said_of_board
from capcheck.model import (
    BomLine,
    Decision,
    Discrepancy,
    Kind,
    Manifest,
    Note,
    PartName,
    Placements,
    Severity,
    Side,
    Topic,
    say,
)
from capcheck.values import Place, collector_at_rest

if TYPE_CHECKING:
    from capcheck.intake.bom import BomReading
    from capcheck.intake.exchange import Stated
    from capcheck.intake.outline import OutlineReading


def read_package(
    path: Path | None,
    *,
    placements: Sequence[Path] = (),
    bom: Path | None = None,
    outline: Path | None = None,
    outline_alone: bool = False,
    names_body: NamesBody = lambda _: False,
    layers: bool = False,
    stated: Path | None = None,
) -> Package:
    """Return what the files of a board say, reconciled.

    *path* is a folder or the board.toml in it; files named here win over those of board.toml, and those over what is
    found by content. *names_body* tells which texts name a body that is placed. With *outline_alone* an outline
    suffices, and there are no placements. With *layers* the package names its Gerber layers, which the reading process
    then begins with. *stated* is the shop's own board.toml, instead of that of the folder. Raises :class:`InputError`
    with every problem of a file at once.
    """
    if outline_alone and outline is not None and path is None and not placements and bom is None:
        return _only_the_outline(outline)
    with named_by_archive(), files_below(path), collector_at_rest():
        return as_given(_read(choose_sources(path, placements, bom, outline, stated), names_body, layers=layers))


def _only_the_outline(file: Path) -> Package:
    sources = Sources(
        placements=[],
        bom=None,
        outline=str(file),
        manifest=Manifest.model_construct(),
        manifest_file=None,
        found=Found(),
        name=file.stem,
        opened=OpenedFiles(),
    )
    drawn = read_outline_file(sources, [])
    none, nothing = np.zeros(0), np.zeros(0, dtype=np.int64)
    flags, codes = np.zeros(0, dtype=np.bool_), np.zeros(0, dtype=np.int8)
    return Package(
        name=sources.name,
        placements=Placements([], none, none, none, codes, codes, flags, nothing, nothing, nothing, nothing, []),
        types=[],
        bom=None,
        outline=drawn.outline if drawn else None,
        manifest=sources.manifest,
        inputs=input_files(sources),
        notes=drawn.notes if drawn else (),
        decisions=drawn.decisions if drawn else (),
        set_aside=(),
        tables=(),
        discrepancies=drawn.discrepancies if drawn else (),
        panel=None,
        unit_settled=True,
        sides_settled=True,
    )


def _read(sources: Sources, names_body: NamesBody, *, layers: bool) -> Package:
    begin_with(sources.layers if layers else (), sources.drills)
    placed = read_placement_files(sources)
    repeats = read_repeats(sources, sources.found.repeats)
    files, contradicted = settle_lists(placed.tables, repeats, sources.found.repeats)
    reading = read_bom_file(sources, files)
    files, bought = parts_among(files, () if reading is None else reading.lines, names_body)
    placed.notes += bought
    sources, drawn = settle_outline(sources, files)
    unplaced = [] if drawn is not None else sources.found.drills
    board = _reconcile(sources, files, reading, drawn)
    reading = board.reading
    if drawn is not None:
        # Not before the placements have their frame: among hundreds of holes some coincide with anything.
        drawn = with_parts_inside(drawn, sources.found.drills, board.placements)
    decisions = _decisions(sources, board, drawn)
    unit_settled = not any(d.open and d.topic is Topic.UNIT for d in decisions)
    tables = [t for t, _ in (*((f.table, f.columns) for f in files), *(reading.columns if reading else ()))]
    set_aside = [*placed.set_aside, *(reading.set_aside if reading else ())]
    spoken = [*set_aside, *sources.found.beside]
    provided = provided_parts(board.lines, sources.manifest, board.base)
    package = Package(
        name=sources.manifest.name or sources.name,
        placements=board.placements,
        types=board.types,
        bom=None if reading is None else reading.lines,
        outline=drawn.outline if drawn else None,
        manifest=sources.manifest,
        inputs=input_files(sources),
        notes=[
            *sources.found.notes,
            *placed.notes,
            *(reading.notes if reading else ()),
            *provided[1],
            *(drawn.notes if drawn else ()),
            *(Note(say("outline.drill file alone"), Place(str(file))) for file in unplaced),
            *board.located.notes,
            *(board.stated.notes if board.stated else ()),
            *set_apart_by_kind(files),
            *rotation_notes(files, mirrored=board.located.mirrored),
            *dates_apart(sources.files, tables),
        ],
        decisions=decisions,
        set_aside=set_aside,
        tables=[
            *(table_on_record(f.table, f.columns, "placements") for f in files),
            *(table_on_record(table, columns, "bom") for table, columns in (reading.columns if reading else ())),
        ],
        discrepancies=sorted(
            [
                *open_questions(decisions),
                *sources.found.discrepancies,
                *contradicted,
                *(reading.discrepancies if reading else ()),
                *left_out(spoken, board.base, board.lines, files),
                *told_of_data(spoken, files, panel_known=bool(sources.manifest.panel or board.located.panel)),
                *provisional(sources.files, tables, spoken),
                *(board.stated.discrepancies if board.stated and unit_settled else ()),
                *_disagreements(board, sources, tables, names_body, unit_settled=unit_settled),
                *(drawn.discrepancies if drawn else ()),
                *(another_thickness(drawn.thicknesses, sources) if drawn else ()),
            ],
            key=lambda d: _GRAVEST_FIRST.index(d.severity),
        ),
        panel=board.located.panel,
        unit_settled=unit_settled,
        placed=board.located.placed,
        layers=sources.layers if layers else (),
        drills=sources.drills,
        told=said_of_board(spoken),
        other_places=told_by_layers(sources, placed.tables, repeats, board.placements) if layers else (),
        provided=provided[0],
        sides_settled=not np.any((board.placements.side == Side.UNKNOWN) & (board.placements.kind == Kind.PART)),
    )
    if sources.manifest.panel is None:
        return package
    from capcheck.intake.whole_panel import stepped

    placements, outline, panel = stepped(package.placements, package.outline, sources.manifest.panel)
    return replace(package, placements=placements, outline=outline, panel=panel or package.panel)


_GRAVEST_FIRST: Final = (Severity.STOP, Severity.ASSUMED, Severity.ADVICE)


class _Reconciled(Struct, frozen=True):
    """The placements in one frame, with the line of the bill of materials, the fitting and the type of each."""

    files: Sequence[PlacementColumns]
    reading: BomReading | None
    located: Located
    base: Sequence[str]
    """The reference by which the BOM knows each placement: within its circuit."""
    joined: Joined | None
    both: FittedByBoth
    placements: Placements
    types: Sequence[PartName]
    stated: Stated | None = None
    """What files of fabrication state; None where there are none."""

    @property
    def lines(self) -> Sequence[BomLine]:
        return () if self.reading is None else self.reading.lines


def _reconcile(
    sources: Sources,
    files: Sequence[PlacementColumns],
    reading: BomReading | None,
    drawn: OutlineReading | None,
) -> _Reconciled:
    origins = {s.file: (s.origin.x, s.origin.y) for s in sources.placements if s.origin is not None}
    guessed = drawn is not None and any(d.open and d.topic is Topic.OUTLINE_UNIT for d in drawn.decisions)
    outline = drawn.outline if drawn else None
    located = locate(files, outline, sources.manifest, origins, outline_unit_open=guessed)
    base = located.panel.base if located.panel else located.ref
    joined = None
    if reading is not None:
        reading = replace(reading, lines=spelled_as_placed(reading.lines, base))
        joined = join(base, reading.lines, unique=located.unique)
        if joined.twice:
            from capcheck.intake.bom import without_repeated_list

            reading = without_repeated_list(reading)
            joined = join(base, reading.lines, unique=located.unique)
    lines = () if reading is None else reading.lines
    refuse_both_ways(sources.manifest, sources.manifest_file, {*base, *(ref for line in lines for ref in line.refs)})
    both = fitted_as_stated(files, base, joined, lines, sources.manifest)
    placed = placements_of(files, located, joined, both.fitted)
    others = {} if joined is None else joined.other_lines
    part_type, types = group_types(
        files, placed.bom_line, lines, [others.get(ref, ()) for ref in base] if others else ()
    )
    if sources.found.size_lists:
        from capcheck.intake.size_lists import with_listed_sizes

        types = with_listed_sizes(types, sources.found.size_lists, dict(zip(base, part_type.tolist(), strict=True)))
    placed = replace(placed, part_type=part_type)
    stated = None
    if sources.fabrication:
        from capcheck.intake.exchange import with_fabrication

        named = frozenset() if sources.manifest.fabrication is True else frozenset(f for f, _ in sources.fabrication)
        stated = with_fabrication(placed, base, types, sources.fabrication, named)
        types, numbered = numbered_by(stated.types, placed, stated.numbers, lines)
        stated = replace(stated, notes=(*stated.notes, *numbered))
    return _Reconciled(
        files=files,
        reading=reading,
        located=located,
        base=base,
        joined=joined,
        both=both,
        placements=placed,
        types=types,
        stated=stated,
    )


def _disagreements(
    board: _Reconciled, sources: Sources, tables: Sequence[Table], names_body: NamesBody, *, unit_settled: bool
) -> list[Discrepancy]:
    """Return where the files disagree."""
    placed, told = board.placements, board.stated.numbers if board.stated else {}
    used, refs_of = sorted(set(placed.part_type[placed.fitted].tolist()) - {-1}), _refs_of_types(placed)
    circuits = board.located.panel.circuits if board.located.panel else 1
    found = [
        *missing_places(board.files, placed),
        *part_or_not(board.files, placed),
        *doubts_about_rows(board.files, placed, board.lines),
        *board.located.discrepancies,
        *fitted_or_not(placed, board.both),
        *(reconcile(placed, board.base, board.joined, board.lines, circuits) if board.joined else []),
        *(same_spot(placed) if unit_settled else []),
        *different_values(board.files, placed.bom_line, placed.fitted, board.lines),
        *different_sides(placed, board.lines),
        *different_angles(placed, board.lines),
        *different_numbers(board.files, placed, board.lines, told),
        *different_revisions(sources.files, tables),
        *compare_types(board.types, used, refs_of),
        *choices_of_two(board.types, used, refs_of, names_body),
        *values_without_figure(board.files, placed, board.lines),
    ]
    return settled_as_fitted(found, sources.manifest.fitted) if sources.manifest.fitted else found


def _refs_of_types(placed: Placements) -> Callable[[Iterable[int]], list[str]]:
    """Return a way to list the fitted references of some types, in the order of the rows."""

    @cache
    def rows() -> Mapping[int, list[int]]:
        found: dict[int, list[int]] = defaultdict(list)
        for i in np.flatnonzero(placed.fitted).tolist():
            found[int(placed.part_type[i])].append(i)
        return found

    def refs(types: Iterable[int]) -> list[str]:
        return [placed.ref[i] for i in sorted(chain.from_iterable(rows().get(t, ()) for t in {*types}))]

    return refs


_FIRST: Final = (Topic.UNIT, Topic.SIDE, Topic.BOTTOM_SIDE, Topic.ORIGIN, Topic.Y_AXIS, Topic.ROTATION, Topic.PANEL)


def _decisions(sources: Sources, board: _Reconciled, drawn: OutlineReading | None) -> list[Decision]:
    """Return all decisions, the unit's and the side's first."""
    found = [
        *sources.found.decisions,
        *chain.from_iterable(f.decisions for f in board.files),
        *_blank_angles(board),
        *board.located.decisions,
        *(drawn.decisions if drawn else ()),
        *(board.reading.decisions if board.reading else ()),
    ]
    return sorted(found, key=lambda d: _FIRST.index(d.topic) if d.topic in _FIRST else len(_FIRST))


def _blank_angles(board: _Reconciled) -> Iterator[Decision]:
    """Yield for each file which parts to place have no angle, while others of it have one."""
    placed = board.placements.fitted & (board.placements.kind == Kind.PART)
    for file, start in with_starts(board.files):
        rows = placed[start : start + len(file)]
        if found := blank_angle(file.table, file.columns, file.rotation_deg, rows, file.ref):
            yield found
