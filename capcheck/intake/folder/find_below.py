"""A board's files where its folder has none: in the folders below it, or in one archive; and what is passed over.

What lies below a folder that has its placements is not read. It is named, and where it places parts of the board
elsewhere it is a question.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import chain, islice
from pathlib import Path
from typing import Final

from msgspec.structs import replace

from capcheck.intake.archives import is_archive, unpack
from capcheck.intake.files import leads_inside
from capcheck.intake.folder.boards_apart import boards_apart, is_of_another_board, stated_below
from capcheck.intake.folder.find import find_inputs
from capcheck.intake.folder.found import Found
from capcheck.intake.folder.no_board import BoardFiles, NoPlacementsError, SeveralBoardsError
from capcheck.intake.folder.not_read import DEEPEST, NO_CONTENT, places_not_read
from capcheck.intake.folder.passed_over import MOST_FILES, Group, passed_over, used_of, within_archive
from capcheck.intake.opened import OpenedFiles
from capcheck.model import Decision, Note, Topic, say
from capcheck.values import InputError, Place, in_toml

_STATED: Final = "its board lies below it, with a board.toml of its own"
_TOO_MANY: Final = "no more than five archives of a folder are opened"
_FEW: Final = 5


def find_package(folder: Path, opened: OpenedFiles) -> Found:
    """Return a board's files: those of its folder, else those below it, else those of its one archive.

    Where none of these looks like placements, a netlist among them places the parts. Raises :class:`InputError` where
    there is none either.
    """
    try:
        found = _searched(folder, opened, netlists=False)
    except NoPlacementsError as error:
        if not error.holds_netlist:
            raise
        found = _searched(folder, opened, netlists=True)
    return replace(found, discrepancies=(*found.discrepancies, *places_not_read(folder)))


def _searched(folder: Path, opened: OpenedFiles, *, netlists: bool) -> Found:
    try:
        own = find_inputs(folder, opened, netlists=netlists)
        return _with_what_is_passed_over(own, _groups(folder), opened)
    except SeveralBoardsError:
        raise
    except NoPlacementsError as error:
        return _from_elsewhere(folder, opened, error, netlists=netlists)


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
            settle=f"{key} = {in_toml(one.name)}",
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


def _with_what_is_passed_over(found: Found, groups: Iterable[Group], opened: OpenedFiles) -> Found:
    """Return what was found with what *groups* of files beside it state of its parts, and that they are passed over."""
    told = [passed_over(one, opened, found) for one in groups]
    beside = [file for one in told for file in one.fabrication]
    return replace(
        found,
        # Beside the placements lies what is of their revision; else an archive may hold it.
        fabrication=found.fabrication or tuple(beside),
        layers=found.layers or tuple(layer for one in told for layer in one.layers),
        drills_of_layers=() if found.layers else tuple(file for one in told for file in one.drills),
        notes=(*found.notes, *(note for one in told for note in one.notes)),
        decisions=(*found.decisions, *(decision for one in told for decision in one.decisions)),
        discrepancies=(*found.discrepancies, *(asked for one in told for asked in one.asked)),
    )


def _from_elsewhere(folder: Path, opened: OpenedFiles, error: NoPlacementsError, *, netlists: bool) -> Found:
    below = list(islice(_files_below(folder, folder), MOST_FILES + 1))
    if (
        0 < len(below) <= MOST_FILES
        and (found := _from_below(folder, below, opened, error, netlists=netlists)) is not None
    ):
        return found
    archives = [file for file in _entries(folder) if file.is_file() and is_archive(file)]
    readable: list[tuple[Path, Found, list[Path]]] = []
    problems = [*error.problems]
    others = [Group(archive, [], _TOO_MANY) for archive in archives[_FEW:]]
    for archive in archives[:_FEW]:
        members: list[Path] = []
        try:
            members = unpack(archive)
            readable.append((archive, find_inputs(folder, opened, members, netlists=netlists), members))
        except SeveralBoardsError as several:
            raise SeveralBoardsError.below(folder, [archive.name], error) from several
        except NoPlacementsError as none:
            error.holds_netlist |= none.holds_netlist
            others.append(Group(archive, members))
        except InputError as failed:
            problems += failed.problems
            others.append(Group(archive, members, failed.problems[0].what))
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
    found = _with_what_is_passed_over(found, chain(_folders_below(folder), others), opened)
    found = replace(found, discrepancies=(*found.discrepancies, *within_archive(archive, members)))
    taken = [file.name for file in used_of(found) if file in members]
    said = say("find.taken from an archive", archive=archive.name, names=taken)
    return _with_note(found, Note(said, Place(str(archive))))


def _from_below(
    folder: Path, below: Sequence[Path], opened: OpenedFiles, error: NoPlacementsError, *, netlists: bool
) -> Found | None:
    """Return what the files *below* a folder make up; None where none of them looks like placements."""
    try:
        found = find_inputs(folder, opened, below, netlists=netlists)
    except SeveralBoardsError as several:
        where = dict.fromkeys(file.relative_to(folder).as_posix() for file in several.boards)
        raise SeveralBoardsError.below(folder, [*where], error) from several
    except NoPlacementsError as none:
        error.holds_netlist |= none.holds_netlist
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
    names = [file.relative_to(folder).as_posix() for file in used_of(found) if file in below]
    return _with_note(found, Note(say("find.taken from below", names=names), Place(str(folder))))


def _with_note(found: Found, note: Note) -> Found:
    return replace(found, notes=(note, *found.notes))


def _entries(folder: Path) -> list[Path]:
    """Return what lies in a folder, but for hidden things and links that leave it."""
    try:
        found = (p for p in folder.iterdir() if not p.name.startswith(".") and p.name not in NO_CONTENT)
        return sorted(p for p in found if leads_inside(p, folder))
    except OSError:  # said by places_not_read
        return []


def _files_below(folder: Path, top: Path, depth: int = DEEPEST) -> Iterator[Path]:
    """Yield the files of the folders below *folder*, so many levels deep; none that a link leads to out of *top*."""
    for entry in _entries(folder):
        if entry.is_dir() and depth:
            yield from (p for p in _entries(entry) if p.is_file() and leads_inside(p, top))
            yield from _files_below(entry, top, depth - 1)


def _groups(folder: Path) -> Iterator[Group]:
    yield from _folders_below(folder)
    for entry in _entries(folder):
        if entry.is_file() and is_archive(entry):
            try:
                yield Group(entry, unpack(entry))
            except InputError as error:
                yield Group(entry, [], error.problems[0].what)


def _folders_below(folder: Path) -> Iterator[Group]:
    for entry in _entries(folder):
        if entry.is_dir():
            own = (p for p in _entries(entry) if p.is_file())
            files = list(islice(chain(own, _files_below(entry, folder, DEEPEST - 1)), MOST_FILES + 1))
            if files:
                yield Group(entry, files)
