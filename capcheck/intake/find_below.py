"""A board's files where its folder has none: in the folders below it, or in one archive; and what is passed over.

What lies below a folder that has its placements is not read. It is named, and where it places parts of the board
elsewhere it is a question.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.intake.archive import is_archive, unpack
from capcheck.intake.boards_apart import boards_apart, is_of_another_board, stated_below
from capcheck.intake.compare import elsewhere, places_of
from capcheck.intake.find import find_inputs, looks_like
from capcheck.intake.found import Found
from capcheck.intake.no_board import BoardFiles, NoPlacementsError, SeveralBoardsError
from capcheck.intake.opened import OpenedFiles
from capcheck.intake.outline import HEAD_BYTES, Likeness, likeliest_form
from capcheck.intake.own_files import leads_inside
from capcheck.intake.tables import Recognised, Role, expand_references
from capcheck.model import Decision, LayerFile, Note, Said, Topic, say
from capcheck.values import InputError, Place

if TYPE_CHECKING:
    from capcheck.intake.exchange import Form

_MOST_FILES: Final = 200
_DEEPEST: Final = 2
_STATED: Final = "its board lies below it, with a board.toml of its own"
_LARGEST: Final = 8 * 1024 * 1024
"""Bytes of a file that is looked at where it is passed over: the largest boards' lists are smaller."""
_TABLES: Final = frozenset({".csv", ".tsv", ".txt", ".xls", ".xlsx", ".ods", ".pos", ".xy", ".mnt", ".mnb", ""})
_HELD: Final = {"placements": "find.held placements", "BOM": "find.held BOM", "outline": "find.held outline"}
_FEW: Final = 5
_TELLING: Final = (Role.PART_NUMBER, Role.VALUE, Role.FITTED)
"""Columns in which two lists of one board differ."""


def find_package(folder: Path, opened: OpenedFiles) -> Found:
    """Return a board's files: those of its folder, else those below it, else those of its one archive.

    Raises :class:`InputError` where none of these looks like placements.
    """
    try:
        found = find_inputs(folder, opened)
    except SeveralBoardsError:
        raise
    except NoPlacementsError as error:
        return _from_elsewhere(folder, opened, error)
    return _with_what_is_passed_over(found, _groups(folder), opened)


def find_board_of_list(file: Path, opened: OpenedFiles) -> Found | None:
    """Return the files of the board that has *file* as its first list, of several whose lists lie in one folder.

    None where it is not the list of one of several boards.
    """
    own = _boards_beside(file.parent, _stamps(file.parent)).get(file)
    if own is None:
        return None
    found = find_inputs(file.parent, opened, only=own.files)
    place = Place(str(file))
    notes = [Note(say("find.one of several", names=[one.name for one in own.others]), place)]
    if own.left:
        notes.append(Note(say("find.of no board", names=[one.name for one in own.left]), place))
    asked = [
        Decision(
            topic,
            say("find.files", names=[one.name]),
            say("find.of which board"),
            settle=f'{key} = "{one.name}"',
            open=True,
        )
        for topic, key, one in (
            (Topic.BOM, "bom", found.bom),
            (Topic.OUTLINE, "outline", next(iter(found.outlines), None)),
        )
        if one in own.shared and one is not None
    ]
    topics = {decision.topic for decision in asked}
    kept = [decision for decision in found.decisions if decision.topic not in topics]
    return replace(found, notes=(*notes, *found.notes), decisions=(*kept, *asked))


@lru_cache(maxsize=4)
def _boards_beside(folder: Path, stamps: tuple[object, ...]) -> Mapping[Path, BoardFiles]:
    """Return the boards whose lists lie in a folder; all of its lists are read for that, once for all of its boards."""
    del stamps
    try:
        find_inputs(folder, OpenedFiles())
    except SeveralBoardsError as several:
        return several.boards
    except InputError:  # what is wrong is said of the folder, which is looked at before its lists
        return {}
    return {}


def _stamps(folder: Path) -> tuple[object, ...]:
    """Return what changes with the files of a folder."""
    try:
        found = [(file, file.stat()) for file in sorted(folder.iterdir()) if file.is_file()]
    except OSError:
        return ()
    return tuple((file.name, there.st_size, there.st_mtime_ns, there.st_ino) for file, there in found)


def _with_what_is_passed_over(found: Found, groups: Iterable[_Group], opened: OpenedFiles) -> Found:
    """Return what was found with what *groups* of files beside it state of its parts, and that they are passed over."""
    told = [_passed_over(one, opened, found) for one in groups]
    beside = [file for one in told for file in one.fabrication]
    return replace(
        found,
        # Beside the placements lies what is of their revision; else an archive may hold it.
        fabrication=found.fabrication or tuple(beside),
        layers=found.layers or tuple(layer for one in told for layer in one.layers),
        drills_of_layers=() if found.layers else tuple(file for one in told for file in one.drills),
        notes=(*found.notes, *(note for one in told for note in one.notes)),
        decisions=(*found.decisions, *(decision for one in told for decision in one.decisions)),
    )


def _from_elsewhere(folder: Path, opened: OpenedFiles, error: NoPlacementsError) -> Found:
    below = list(islice(_files_below(folder, folder), _MOST_FILES + 1))
    if 0 < len(below) <= _MOST_FILES and (found := _from_below(folder, below, opened, error)) is not None:
        return found
    archives = [file for file in _entries(folder) if file.is_file() and is_archive(file)]
    readable: list[tuple[Path, Found, list[Path]]] = []
    problems = [*error.problems]
    for archive in archives[:_FEW]:
        try:
            members = unpack(archive)
            readable.append((archive, find_inputs(folder, opened, members), members))
        except SeveralBoardsError as several:
            raise SeveralBoardsError.below(folder, [archive.name], error) from several
        except InputError as failed:
            if not isinstance(failed, NoPlacementsError):
                problems += failed.problems
    if len(readable) > 1:
        holding = [archive.name for archive, _, _ in readable]
        raise SeveralBoardsError.below(folder, holding, error, "more than one archive holds placement data")
    if not readable:
        error.problems = tuple(problems)
        raise error
    archive, found, members = readable[0]
    if apart := boards_apart(members, opened):
        raise SeveralBoardsError.below(archive, apart, error)
    if stated_below(found, members):
        raise SeveralBoardsError.below(folder, [archive.name], error, _STATED)
    taken = [file.name for file in _used(found) if file in members]
    said = say("find.taken from an archive", archive=archive.name, names=taken)
    return _with_note(found, Note(said, Place(str(archive))))


def _from_below(folder: Path, below: Sequence[Path], opened: OpenedFiles, error: NoPlacementsError) -> Found | None:
    """Return what the files *below* a folder make up; None where none of them looks like placements."""
    try:
        found = find_inputs(folder, opened, below)
    except SeveralBoardsError as several:
        where = dict.fromkeys(file.relative_to(folder).as_posix() for file in several.boards)
        raise SeveralBoardsError.below(folder, [*where], error) from several
    except NoPlacementsError:
        return None
    if apart := boards_apart(below, opened):
        raise SeveralBoardsError.below(folder, apart, error)
    if stated := stated_below(found, below):
        names = [place.relative_to(folder).as_posix() for place in stated]
        raise SeveralBoardsError.below(folder, names, error, _STATED)
    archives = [group for group in _groups(folder) if group.path.is_file()]
    if others := [group.path.name for group in archives if is_of_another_board(group.files, folder, found, opened)]:
        where = dict.fromkeys(file.relative_to(folder).parts[0] for file in found.placements)
        raise SeveralBoardsError.below(folder, [*where, *others], error)
    found = _with_what_is_passed_over(found, archives, opened)
    names = [file.relative_to(folder).as_posix() for file in _used(found) if file in below]
    return _with_note(found, Note(say("find.taken from below", names=names), Place(str(folder))))


def _with_note(found: Found, note: Note) -> Found:
    return replace(found, notes=(note, *found.notes))


def _used(found: Found) -> list[Path]:
    boms = [found.bom] if found.bom is not None else []
    return [*found.placements, *boms, *found.outlines[:1], *found.drills, *(file for file, _ in found.fabrication)]


def _entries(folder: Path) -> list[Path]:
    """Return what lies in a folder, but for hidden things and links that leave it."""
    try:
        return sorted(p for p in folder.iterdir() if not p.name.startswith((".", "__")) and leads_inside(p, folder))
    except OSError:
        return []


def _files_below(folder: Path, top: Path, depth: int = _DEEPEST) -> Iterator[Path]:
    """Yield the files of the folders below *folder*, so many levels deep; none that a link leads to out of *top*."""
    for entry in _entries(folder):
        if entry.is_dir() and depth:
            yield from (p for p in _entries(entry) if p.is_file() and leads_inside(p, top))
            yield from _files_below(entry, top, depth - 1)


class _Group(Struct):
    """A folder below the board's, or an archive in it, that is passed over."""

    path: Path
    files: list[Path]
    why_closed: str = ""


def _groups(folder: Path) -> Iterator[_Group]:
    for entry in _entries(folder):
        if entry.is_dir():
            own = (p for p in _entries(entry) if p.is_file())
            files = list(islice(chain(own, _files_below(entry, folder, _DEEPEST - 1)), _MOST_FILES + 1))
            if files:
                yield _Group(entry, files)
        elif entry.is_file() and is_archive(entry):
            try:
                yield _Group(entry, unpack(entry))
            except InputError as error:
                yield _Group(entry, [], error.problems[0].what)


class _Told(Struct):
    """What is said of a group."""

    notes: list[Note] = field(default_factory=list)
    decisions: list[Decision] = field(default_factory=list)
    fabrication: list[tuple[Path, Form]] = field(default_factory=list)
    layers: list[LayerFile] = field(default_factory=list)
    drills: list[Path] = field(default_factory=list)


def _passed_over(group: _Group, opened: OpenedFiles, found: Found) -> _Told:
    from capcheck.intake.drills import is_drill_file
    from capcheck.intake.exchange import form_of
    from capcheck.intake.layers import layer_of

    place = Place(str(group.path))
    name = group.path.name
    if group.why_closed:
        return _Told([Note(say("find.cannot be opened", name=name, why=group.why_closed), place)])
    files = [file for file in group.files if file.stat().st_size <= _LARGEST]
    if len(group.files) > _MOST_FILES or len(files) < len(group.files):
        files = files[:_MOST_FILES]
        told = _Told([Note(say("find.passed over in part", name=name), place)])
    else:
        told = _Told()
    holds: list[Said] = []
    chosen = places_of([table for file in found.placements for table in opened.tables(file)])
    contents = {file.read_bytes() for file in (*_used(found), *found.further_boms)}
    for file in files:
        if file.read_bytes() in contents:
            continue
        head = _head(file)
        if (layer := layer_of(file, head)) is not None:
            told.layers.append(layer)
        if is_drill_file(head):
            told.drills.append(file)
        if (form := form_of(head)) is not None:
            told.fabrication.append((file, form))
            continue
        kind, tables = _kind(file)
        if kind is None:
            continue
        holds.append(say(_HELD[kind], file=file.name))
        if kind == "placements" and (refs := _otherwise(chosen, tables)):
            told.decisions.append(_which(found, file, refs, group.path.name))
        if kind == "BOM" and (refs := _listed_otherwise(found, opened, chosen, tables)):
            told.decisions.append(_which_list(found, file, refs, group.path.name))
    if not told.notes:
        key = "find.passed over holding" if holds else "find.passed over"
        told.notes.append(Note(say(key, name=name, holds=holds[:_FEW]), place))
    return told


def _head(file: Path) -> bytes:
    with file.open("rb") as stream:
        return stream.read(HEAD_BYTES)


def _kind(file: Path) -> tuple[str | None, list[Recognised]]:
    """Return what a file that is passed over looks like, and its tables; what cannot be read looks like nothing."""
    from capcheck.intake.drills import is_drill_file

    head = _head(file)
    if is_drill_file(head):
        return None, []
    form, likeness = likeliest_form(head)
    if likeness is Likeness.SAYS_OUTLINE or (likeness is Likeness.OUTLINE and not form.file_a_layer):
        return "outline", []
    if likeness >= Likeness.NO_OUTLINE or file.suffix.lower() not in _TABLES:
        return None, []
    try:
        tables = OpenedFiles().tables(file)
    except InputError:
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
        f'bom = "{names[0] if names else file.name}"',
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
        "placements = [" + ", ".join(f'"{name}"' for name in names) + "]",
        open=True,
        place=Place(str(file)),
    )
