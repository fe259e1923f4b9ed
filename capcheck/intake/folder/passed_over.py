"""What lies below a board's folder or in an archive in it: named, and asked about where it says otherwise."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field

from capcheck.intake.archives import is_archive, shown
from capcheck.intake.compare import elsewhere, places_of
from capcheck.intake.files import as_named
from capcheck.intake.folder.file_kinds import NO_INPUT, head_of
from capcheck.intake.folder.find import looks_like
from capcheck.intake.folder.found import Found
from capcheck.intake.folder.not_read import TABLES, damage_of_list, left_out_of_archive, not_read
from capcheck.intake.opened import OpenedFiles
from capcheck.intake.outline import Likeness, likeliest_form
from capcheck.intake.tables import Recognised, Role, expand_references, read_numbers
from capcheck.model import Decision, Discrepancy, LayerFile, Note, Said, Topic, say
from capcheck.values import InputError, Place, in_toml

if TYPE_CHECKING:
    from capcheck.intake.exchange import Form

MOST_FILES: Final = 200
_LARGEST: Final = 8 * 1024 * 1024
"""Bytes of a file that is looked at where it is passed over: the largest boards' lists are smaller."""
_HELD: Final = {"placements": "find.held placements", "BOM": "find.held BOM", "outline": "find.held outline"}
_FEW: Final = 5
_TELLING: Final = (Role.PART_NUMBER, Role.VALUE, Role.FITTED)
"""Columns in which two lists of one board differ."""
_PLACED: Final = (Role.ROTATION, Role.SIDE, Role.VALUE, Role.FOOTPRINT)
"""Likewise of placements, beside the places; the angles come first."""


class Group(Struct):
    """A folder below the board's, or an archive in it, that is passed over."""

    path: Path
    files: list[Path]
    why_closed: str = ""


def within_archive(archive: Path, members: Iterable[Path]) -> Iterator[Discrepancy]:
    """Yield what of an archive is not unpacked, and the archives in it."""
    yield from left_out_of_archive(shown(archive))
    for member in members:
        if is_archive(member):
            yield not_read(member, "an archive within an archive is not opened", f"{archive.name}/{member.name}")


def used_of(found: Found) -> list[Path]:
    """Return the files that are read of what was found."""
    boms = [found.bom] if found.bom is not None else []
    return [*found.placements, *boms, *found.outlines[:1], *found.drills, *(file for file, _ in found.fabrication)]


class Told(Struct):
    """What is said of a group."""

    notes: list[Note] = field(default_factory=list)
    decisions: list[Decision] = field(default_factory=list)
    fabrication: list[tuple[Path, Form]] = field(default_factory=list)
    layers: list[LayerFile] = field(default_factory=list)
    drills: list[Path] = field(default_factory=list)
    asked: list[Discrepancy] = field(default_factory=list)


def passed_over(group: Group, opened: OpenedFiles, found: Found) -> Told:
    """Return what is said of a group, and what it states of the board's parts."""
    from capcheck.intake.drills import is_drill_file
    from capcheck.intake.exchange import form_of
    from capcheck.intake.layers import layer_of

    place = Place(str(group.path))
    name = group.path.name
    if group.why_closed:
        return Told(asked=[not_read(group.path, group.why_closed)])
    told = Told(asked=[*within_archive(group.path, group.files)] if group.path.is_file() else [])
    files = [file for file in group.files[:MOST_FILES] if _is_looked_at(file, name, told)]
    if len(group.files) > MOST_FILES:
        told.asked.append(not_read(group.path, f"it holds more than {MOST_FILES} files, and not all were looked at"))
    holds: list[Said] = []
    placed = [table for file in found.placements for table in opened.tables(file)]
    chosen = places_of(placed)
    contents = {file.read_bytes() for file in (*used_of(found), *found.further_boms)}
    for file in files:
        if file.read_bytes() in contents:
            continue
        head = head_of(file)
        if (layer := layer_of(file, head)) is not None:
            told.layers.append(layer)
        if is_drill_file(head):
            told.drills.append(file)
            continue
        if (form := form_of(head)) is not None:
            told.fabrication.append((file, form))
            continue
        kind, tables = _kind(file, head, name, told)
        if kind is None:
            continue
        holds.append(say(_HELD[kind], file=file.name))
        if kind == "placements" and (refs := _otherwise(chosen, tables) or _told_otherwise(placed, tables, chosen)):
            told.decisions.append(_which(found, file, refs, group.path.name))
        if kind == "BOM" and (refs := _listed_otherwise(found, opened, chosen, tables)):
            told.decisions.append(_which_list(found, file, refs, group.path.name))
    key = "find.passed over holding" if holds else "find.passed over"
    told.notes.append(Note(say(key, name=name, holds=holds[:_FEW]), place))
    return told


def _is_looked_at(file: Path, group: str, told: Told) -> bool:
    """Whether a file that is passed over can be read and is no larger than lists are; else it is asked about."""
    why = ""
    try:
        with file.open("rb"):
            pass
        if file.stat().st_size > _LARGEST and file.suffix.lower() not in NO_INPUT:
            why = "it is larger than any list of parts"
    except OSError as error:
        why = f"it cannot be read: {error.strerror}"
    if why:
        told.asked.append(not_read(file, why, f"{group}/{file.name}"))
    return not why


def _kind(file: Path, head: bytes, group: str, told: Told) -> tuple[str | None, list[Recognised]]:
    """Return what a file that is passed over looks like, and its tables; a list that is damaged is asked about."""
    form, likeness = likeliest_form(head)
    if likeness is Likeness.SAYS_OUTLINE or (likeness is Likeness.OUTLINE and not form.file_a_layer):
        return "outline", []
    if likeness >= Likeness.NO_OUTLINE or file.suffix.lower() not in TABLES | {""}:
        return None, []
    try:
        tables = OpenedFiles().tables(file)
    except InputError as error:
        if damage_of_list(file):
            told.asked.append(not_read(file, error.problems[0].what, f"{group}/{file.name}"))
        return None, []
    kind = looks_like(tables)
    return ("BOM" if kind == "bom" else kind), tables


def _otherwise(mine: Mapping[str, tuple[float, float]], tables: list[Recognised]) -> list[str]:
    """Return the references of the board that tables place otherwise; none for a copy, or for another board."""
    other = places_of(tables)
    common = [ref for ref in other if ref in mine]
    if not common:
        return []
    apart = elsewhere(mine, other)
    return [ref for ref in common if mine[ref] != other[ref]] if apart is None else apart


def _told_otherwise(
    mine: Sequence[Recognised], tables: Sequence[Recognised], placed: Mapping[str, tuple[float, float]]
) -> list[str]:
    """Return the placed parts of which a copy passed over says another angle, side, value or footprint; few of many."""
    one, other = _said_of_placed(mine), _said_of_placed(tables)
    common = [ref for ref in other if ref in one and ref in placed]
    found: dict[str, None] = {}
    for k in range(len(_PLACED)):
        apart = [ref for ref in common if one[ref][k] and other[ref][k] and one[ref][k] != other[ref][k]]
        if 2 * len(apart) < len(common):  # of more it is another way to write the same
            found |= dict.fromkeys(apart)
    return list(found)


def _said_of_placed(tables: Sequence[Recognised]) -> dict[str, tuple[str, ...]]:
    """Return what placements say of each reference beside its place; an angle as its degrees within one turn."""
    found: dict[str, tuple[str, ...]] = {}
    for recognised in tables:
        try:
            columns, table = recognised.columns("placements"), recognised.table
        except InputError:
            continue
        cells = [table.columns[columns.index[role]] if role in columns.index else [""] * len(table) for role in _PLACED]
        angles, _ = read_numbers(cells[0], decimal=table.decimal, thousands=False)
        cells[0] = [f"{angle % 360.0:g}" if math.isfinite(angle) else "" for angle in angles.tolist()]
        for ref, said in zip(table.columns[columns.index[Role.REF]], zip(*cells, strict=True), strict=True):
            found[ref] = tuple(text.strip().casefold() for text in said)
    return found


def _listed_otherwise(
    found: Found, opened: OpenedFiles, placed: Mapping[str, tuple[float, float]], tables: list[Recognised]
) -> list[str]:
    """Return the placed parts that a BOM passed over lists, and lists otherwise than the one read; none for a copy."""
    other = _listed(tables)
    common = [ref for ref in other if ref in placed]
    if 2 * len(common) < len(other):
        return []
    files = [found.bom, *found.further_boms] if found.bom is not None else []
    mine = _listed([table for file in files for table in opened.tables(file)])
    return [ref for ref in common if other[ref] != mine.get(ref)] + [ref for ref in mine if ref not in other]


def _listed(tables: Sequence[Recognised]) -> dict[str, tuple[str, ...]]:
    """Return what lists of parts say of each reference: part number, value and whether it is fitted."""
    found: dict[str, tuple[str, ...]] = {}
    for recognised in tables:
        try:
            columns, table = recognised.columns("bom"), recognised.table
        except InputError:
            continue
        told = [table.columns[columns.index[role]] for role in _TELLING if role in columns.index]
        for i, cell in enumerate(columns.references(table)):
            said = tuple(column[i].strip().casefold() for column in told)
            found |= dict.fromkeys(expand_references(cell)[0], said)
    return found


def _which_list(found: Found, file: Path, refs: Sequence[str], where: str) -> Decision:
    names = [found.bom.name] if found.bom is not None else []
    return Decision(
        Topic.BOM,
        say("find.files", names=names) if names else say("find.no BOM"),
        say("find.listed below", file=f"{where}/{file.name}", refs=refs),
        say("find.files", names=[file.name]),
        f"bom = {in_toml(as_named(found.bom or file))}",
        open=True,
        place=Place(str(file)),
    )


def _which(found: Found, file: Path, refs: Sequence[str], where: str) -> Decision:
    names = [path.name for path in found.placements]
    return Decision(
        Topic.PLACEMENTS,
        say("find.files", names=names),
        say("find.elsewhere below", file=f"{where}/{file.name}", refs=refs),
        say("find.files", names=[file.name]),
        "placements = [" + ", ".join(f'"{as_named(path)}"' for path in found.placements) + "]",
        open=True,
        place=Place(str(file)),
    )
