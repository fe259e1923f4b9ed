"""Rows set apart: those that the BOM buys as parts come back, and notes tell of all others."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.intake.placements.placement_columns import PlacementColumns
from capcheck.intake.placements.row_kinds import Feature, names_no_part
from capcheck.intake.tables import Role, prefix_of
from capcheck.model import BomLine, Kind, Note, say
from capcheck.values import Place, pattern

_BARE_NAME: Final = pattern(r"(?i)\W*(?:fid|mark|tp|test|mh|hole|logo|ref|sym|nt)?[\W\d_]*")
"""A text that says no more than a prefix does, or nothing."""
_TEST_PAD: Final = pattern(r"(?i)(?<![a-z])tp[a-z]?(?![a-z])")
"""Names of bare pads, such as ``TP-1.0`` and ``TPC1``: read so only behind a reference that begins with TP."""


def parts_by_bom(
    files: Sequence[PlacementColumns], lines: Sequence[BomLine]
) -> tuple[list[PlacementColumns], list[Note]]:
    """Return the files with those rows as parts that were set apart by their references and are bought by the BOM.

    A line buys a part where it has a part number, or is fitted and has a value and a package. Where a footprint,
    a value or the line itself names a fiducial, a hole or a test point, the row stays set apart, and so does
    what board.toml states. A note a file tells which rows they are.
    """
    kept: list[PlacementColumns] = []
    notes: list[Note] = []
    for file in files:
        rows: dict[int, BomLine] = {}
        apart = [i for i, told in sorted(file.apart.items()) if not told.stated]
        bought = _lines_of([file.ref[i] for i in apart], lines) if apart else {}
        for i in apart:
            line = bought.get(file.ref[i].upper())
            own = f"{file.text(Role.FOOTPRINT, i)} {file.text(Role.VALUE, i)}"
            if line is None or not _buys_a_part(line) or names_no_part(own):
                continue
            if prefix_of(file.ref[i]) != "TP" or not _TEST_PAD.search(f"{own} {line.part_number} {line.value}"):
                rows[i] = line
        kept.append(_with_parts(file, rows) if rows else file)
        notes += _taken_as_parts(file, rows)
    return kept, notes


def _lines_of(refs: Sequence[str], lines: Sequence[BomLine]) -> dict[str, BomLine]:
    """Return the first line of each reference that has one, by the reference in capitals."""
    wanted = {spelling for ref in refs for spelling in (ref, ref.upper(), ref.lower())}
    found: dict[str, BomLine] = {}
    for line in lines:
        for ref in wanted.intersection(line.refs):
            found.setdefault(ref.upper(), line)
    return found


def _buys_a_part(line: BomLine) -> bool:
    if names_no_part(f"{line.part_number} {line.value} {line.description} {line.package}"):
        return False
    if any(map(str.isdigit, line.part_number)) and not _BARE_NAME.fullmatch(line.part_number):
        return True
    return line.fitted and not _BARE_NAME.fullmatch(line.value) and not _BARE_NAME.fullmatch(line.package)


def _with_parts(file: PlacementColumns, rows: Mapping[int, BomLine]) -> PlacementColumns:
    kind = file.kind.copy()
    kind[list(rows)] = Kind.PART
    return replace(file, kind=kind, apart={i: told for i, told in file.apart.items() if i not in rows})


def _taken_as_parts(file: PlacementColumns, rows: Mapping[int, BomLine]) -> Iterator[Note]:
    """Yield a note on each line of the BOM that makes rows parts."""
    by_line: dict[Place, list[int]] = defaultdict(list)
    for i, line in rows.items():
        by_line[line.place].append(i)
    for same in by_line.values():
        line, refs = rows[same[0]], [file.ref[i] for i in same]
        name = line.part_number or say("placements.value and package", value=line.value, package=line.package)
        said = say("placements.bought", refs=refs, name=name, evidence=file.apart[same[0]].evidence)
        yield Note(said, file.place(same[0]))


def set_apart_by_kind(files: Sequence[PlacementColumns]) -> Iterator[Note]:
    """Yield a note for each file and each feature that lists the rows set apart: fiducials, holes, test points."""
    for file in files:
        rows_of: dict[Feature, list[int]] = defaultdict(list)
        for row, told in sorted(file.apart.items()):
            rows_of[told.feature].append(row)
        for feature in Feature:
            if rows := rows_of[feature]:
                said = say(
                    "placements.set apart",
                    rows=len(rows),
                    feature=say(feature, rows=len(rows)),
                    refs=[file.ref[row] for row in rows],
                    evidence=file.apart[rows[0]].evidence,
                )
                yield Note(said, file.place(rows[0]))
