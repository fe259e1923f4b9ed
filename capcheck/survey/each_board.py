"""The boards in folders, folders of folders and archives, one outcome each; a broken one does not stop the others.

A folder is a board where reading it gives one; nothing is read to find that out beforehand. Where it gives none, what
lies in it is looked at in turn, folders and archives alike; where the lists of several boards lie in it, each is one.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Generator, Hashable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from functools import partial
from pathlib import Path
from typing import Final, Generic, Protocol, TypeAlias, TypeVar, cast

from msgspec import Struct

from capcheck.checking import ExitCode
from capcheck.intake import (
    OF_MANY_BOARDS,
    Limits,
    NoPlacementsError,
    SeveralBoardsError,
    as_given,
    is_archive,
    leads_inside,
    shown,
    unpacked,
)
from capcheck.model import InputFile, Note, Said, say
from capcheck.survey.same_folders import same_below, without_copies
from capcheck.survey.workers import Workers
from capcheck.values import InputError, Place, unforeseen

_MOST_PLACES: Final = 20_000
_DEEPEST: Final = 12
_MANY: Final = 20
"""From so many on, folders of an archive that hold the same files are checked once."""
_SPLIT: Final = "split it into several runs"
_SAME: Final = "boards.same files"

Watch: TypeAlias = Callable[[int, int, str], None]
"""Hears how many folders and archives are done, of how many that are known so far, and the name of the last."""


class OfBoard(Protocol):
    """What comes out of a check of one board: a report, or what was taken from several."""

    @property
    def inputs(self) -> Sequence[InputFile]:
        """The files that it was made of."""


Result_co = TypeVar("Result_co", bound=OfBoard, covariant=True)


def nothing_told(path: Path) -> Hashable:
    """Tell of every board the same: nothing but its files."""
    del path
    return None


class Checked(Struct, Generic[Result_co], frozen=True):
    """A board that was checked, under the name that its user knows it by."""

    name: str
    report: Result_co


class NotChecked(Struct, frozen=True):
    """What was to be a board, and why it could not be checked."""

    name: str
    error: InputError


Outcome: TypeAlias = Checked[Result_co] | NotChecked | Note
"""A note tells what was passed over, or found twice."""


class _OfArchive(Struct, Generic[Result_co], frozen=True):
    """All outcomes of an archive; *none* is why there is no board in it."""

    outcomes: list[Outcome[Result_co]]
    none: NoPlacementsError | None


def checked_boards(
    paths: Sequence[str | Path],
    check: Callable[[Path], Result_co],
    *,
    jobs: int = 1,
    executor: Executor | None = None,
    watch: Watch = lambda *_: None,
    told_of: Callable[[Path], Hashable] = nothing_told,
) -> Iterator[Outcome[Result_co]]:
    """Yield an outcome for each board that *paths* name or hold, in their order, as it comes.

    What an archive holds is there until the next outcome is asked for. With several *jobs* as many processes check, or
    what *executor* offers, and results have to be of a form that can be sent; outcomes and order are the same.
    *watch* hears how many of the folders and archives known so far are done. *told_of* is what a check goes by beside a
    board's files: of many folders of an archive with the same files those of which the same is told are checked once.
    """
    with Workers(partial(_at, check, told_of), jobs, executor) as workers:
        search = _Search(check, told_of, workers if jobs > 1 or executor is not None else None, watch)
        named = [Path(path) for path in paths]
        search.expect(named)
        for path in named:
            yield from search.named(path)


def _at(
    check: Callable[[Path], Result_co], told_of: Callable[[Path], Hashable], path: Path
) -> Result_co | _OfArchive[Result_co]:
    """Return what a process of its own makes of a path: a check, or all outcomes of an archive."""
    if not (path.is_file() and is_archive(path)):
        return check(path)
    found: list[Outcome[Result_co]] = []
    outcomes = _Search(check, told_of).outcomes(path)
    while True:
        try:
            found.append(next(outcomes))
        except StopIteration as stop:
            return _OfArchive([o for o in found if not _tells_of_same(o)], stop.value)


def _tells_of_same(outcome: Outcome[Result_co]) -> bool:
    """Whether an outcome notes that two boards are of the same files, which is told of all boards together."""
    return isinstance(outcome, Note) and isinstance(outcome.said, Said) and outcome.said.key == _SAME


def exit_code_of_all(outcomes: Sequence[ExitCode | None]) -> ExitCode:
    """Return the worst exit code of several boards, None for one that was not checked.

    Unusable is a run in which none was answered; where some were, a board that was not has failed.
    """
    answered = [code for code in outcomes if code in {ExitCode.PASSED, ExitCode.FAILED}]
    if not answered:
        return ExitCode.UNUSABLE
    return ExitCode.PASSED if all(code == ExitCode.PASSED for code in outcomes) else ExitCode.FAILED


def common_folder(paths: Sequence[str | Path]) -> str:
    """Return the folder that boards are named from: the one named, else the one that holds all that are named."""
    named = {Path(path).parent if str(path).endswith(".toml") else path for path in paths}
    whole = sorted({os.path.abspath(path) for path in named})  # noqa: PTH100 - links stay as they are
    if not whole:
        return ""
    try:
        return os.path.commonpath(whole)
    except ValueError:  # on two drives
        return ""


class _Search(Generic[Result_co]):
    """What was looked at so far, and what archives may still hold."""

    def __init__(
        self,
        check: Callable[[Path], Result_co],
        told_of: Callable[[Path], Hashable],
        workers: Workers[Result_co | _OfArchive[Result_co]] | None = None,
        watch: Watch = lambda *_: None,
    ) -> None:
        self._check = check
        self._told_of = told_of
        self._workers = workers
        self._watch = watch
        self._expected = 0
        self._ended = 0
        self._sent: set[Path] = set()
        self._seen: set[tuple[int, int]] = set()
        self._boards: dict[frozenset[str], str] = {}
        self._places = 0
        self._left = OF_MANY_BOARDS

    def expect(self, paths: Sequence[Path]) -> None:
        """Have the processes begin with paths. An archive is one's own, but where there is nothing else to do."""
        self._expected += len(paths)
        if self._workers is None:
            return
        for path in paths:
            of_archive = shown(path) != str(path)
            if path.is_file() and is_archive(path):
                # One in another takes of the other's limits; the only one is looked into here, to share its boards.
                whole = not of_archive and not (len(paths) == 1 and self._workers.see_unpacked)
            else:
                whole = not of_archive or self._workers.see_unpacked
            if whole:
                self._sent.add(path)
                self._workers.send_ahead(path)

    def outcomes(self, path: Path) -> Generator[Outcome[Result_co], None, NoPlacementsError | None]:
        """Yield the outcomes of an archive; return why there is no board in it, if there is none."""
        return self._outcomes(path, 0)

    def named(self, path: Path) -> Iterator[Outcome[Result_co]]:
        """Yield the outcomes of a path that the user named; there is one at least."""
        if self._known(path):
            self._end(path)
            yield Note(say("boards.named twice"), Place(str(path)))
            return
        found = yield from self._outcomes(path, 0)
        if isinstance(found, NoPlacementsError):
            yield NotChecked(shown(path), found)

    def _end(self, path: Path) -> None:
        self._ended += 1
        self._watch(self._ended, self._expected, shown(path))

    def _outcomes(self, path: Path, depth: int) -> Generator[Outcome[Result_co], None, NoPlacementsError | None]:
        """Yield the outcomes of a path that is expected; return as the next one does."""
        found = yield from self._outcomes_of(path, depth)
        self._end(path)
        return found

    def _outcomes_of(self, path: Path, depth: int) -> Generator[Outcome[Result_co], None, NoPlacementsError | None]:
        """Yield the outcomes of a path; return the error of a folder in which there is nothing of a board."""
        name = shown(path)
        self._places += 1
        if self._places > _MOST_PLACES or depth > _DEEPEST:
            yield NotChecked(name, self._not_looked_at(path, too_deep=depth > _DEEPEST))
            return None
        if path.is_file() and is_archive(path):
            return (yield from self._in_archive(path, depth))
        try:
            report = self._checked(path)
        except NoPlacementsError as error:
            return (yield from self._below(path, error, depth))
        except InputError as error:
            yield NotChecked(name, error)
        except Exception as error:  # noqa: BLE001 - a shop's code and libraries may raise anything
            yield NotChecked(name, InputError(unforeseen(error, name)))
        else:
            yield from _told_of_copies(path)
            yield from self._found(Checked(name, report))
        return None

    def _not_looked_at(self, path: Path, *, too_deep: bool) -> InputError:
        name = shown(path)
        if not too_deep:
            what, remedy = "is one of too many folders and archives", _SPLIT
        else:
            itself = "name it by itself" if name == str(path) else "unpack what it lies in, and name it by itself"
            what, remedy = "lies too deep", itself
        return InputError.at(name, what, "nothing was looked at", remedy)

    def _found(self, board: Checked[Result_co]) -> Iterator[Outcome[Result_co]]:
        """Yield a board, and a note where one of the same files was found before."""
        yield board
        contents = frozenset(file.sha256 for file in board.report.inputs)
        if (other := self._boards.setdefault(contents, board.name)) != board.name:
            yield Note(say(_SAME, other=other), Place(board.name))

    def _checked(self, path: Path) -> Result_co:
        if self._workers is None or path not in self._sent:
            return self._check(path)
        return cast("Result_co", self._workers(path))  # what is no archive is checked

    def _in_archive(self, path: Path, depth: int) -> Generator[Outcome[Result_co], None, NoPlacementsError | None]:
        name, before = shown(path), self._left
        if path in self._sent:
            return (yield from self._from_process(path))
        if name == str(path):
            before = OF_MANY_BOARDS  # one within another takes of what is left to the outermost
        try:
            with unpacked(path, before) as content:
                self._left = Limits(before.files - len(content.files), before.size - content.size, before.depth)
                if content.links:
                    yield Note(say("boards.links in an archive", count=content.links), Place(name))
                for file in content.too_large:
                    yield NotChecked(name, InputError.at(name, f"{file} is too large to be unpacked", remedy=_SPLIT))
                return (yield from self._outcomes_of(_without_wrapping(content.folder), depth + 1))
        except InputError as error:
            yield NotChecked(name, InputError(as_given(error.problems)))
        return None

    def _from_process(self, path: Path) -> Generator[Outcome[Result_co], None, NoPlacementsError | None]:
        """Yield the outcomes of an archive that a process of its own looked into."""
        try:
            found = cast("_OfArchive[Result_co]", self._workers(path) if self._workers else None)
        except InputError as error:
            yield NotChecked(str(path), error)
            return None
        for outcome in found.outcomes:
            if isinstance(outcome, Checked):
                yield from self._found(outcome)
            else:
                yield outcome
        return found.none

    def _below(
        self, folder: Path, error: NoPlacementsError, depth: int
    ) -> Generator[Outcome[Result_co], None, NoPlacementsError | None]:
        """Yield the outcomes of what lies in a folder without a board of its own."""
        bare: list[Path] = []
        found = False
        inside = [*(error.boards if isinstance(error, SeveralBoardsError) else ()), *_in_it(folder)]
        copies: dict[Path, list[Path]] = {}
        if shown(folder) != str(folder) and len(inside) > _MANY:
            inside, copies = without_copies(inside, self._told_of)
        yield from _of_copies(copies, folder)
        self.expect([path for path in inside if leads_inside(path, folder)])
        for path in inside:
            if not leads_inside(path, folder):
                yield Note(say("boards.link outside"), Place(shown(path)))
            elif self._known(path):
                self._end(path)
            elif (yield from self._outcomes(path, depth + 1)) is None:
                found = True
            else:
                bare.append(path)
        if not found:
            if error.holds_parts and depth:
                yield NotChecked(shown(folder), error)
                return None
            return error
        if error.holds_parts:
            yield Note(say("boards.parts beside"), Place(shown(folder)))
        if bare:
            yield Note(say("boards.none in it", names=[path.name for path in bare]), Place(shown(folder)))
        return None

    def _known(self, path: Path) -> bool:
        """Whether a path of the user's own was looked at before, and note that it is; an archive's are ever new."""
        if shown(path) != str(path):
            return False
        try:
            there = (path.parent if path.suffix.lower() == ".toml" else path).stat()
        except OSError:
            return False
        key = there.st_dev, there.st_ino
        known = key in self._seen
        self._seen.add(key)
        return known


def _told_of_copies(board: Path) -> Iterator[Note]:
    """Yield a note where a board is one because its folders hold the same files."""
    if board.is_dir():
        yield from _of_copies(same_below(_in_it(board)), board)


def _of_copies(copies: Mapping[Path, Sequence[Path]], folder: Path) -> Iterator[Note]:
    for first, others in copies.items():
        names = [path.name for path in others]
        yield Note(say("boards.copies", first=first.name, count=len(names), names=names), Place(shown(folder)))


def _without_wrapping(folder: Path) -> Path:
    """Return the folder that an archive was made of, where it holds that and nothing else."""
    for _ in range(_DEEPEST):
        entries = list(folder.iterdir())
        if len(entries) != 1 or not entries[0].is_dir():
            break
        folder = entries[0]
    return folder


def _in_it(folder: Path) -> list[Path]:
    """Return the folders and archives in a folder, but for hidden ones."""
    try:
        entries = sorted(path for path in folder.iterdir() if not path.name.startswith((".", "__")))
        return [path for path in entries if path.is_dir() or (path.is_file() and is_archive(path))]
    except OSError:
        return []
