"""Where answers go: bodies to whatever keeps the shop's library, entries to board.toml, acceptances to waivers.

All of it is worked out before anything is written, and each file is written whole.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

import tomli
from msgspec import Struct
from msgspec.structs import replace

from capcheck.answers.agreement import doubted
from capcheck.answers.entries import EntryChange, with_entries, with_tables
from capcheck.answers.figures import Doubt
from capcheck.answers.outcome import Edit, Settled, State
from capcheck.model import Manifest
from capcheck.packages import CellChange, LibraryFile, Statement
from capcheck.report import csv_text
from capcheck.shop import ConfigurationFile, GivenAnswer, answers_as_text
from capcheck.values import InputError, read_text, refs_of_subject, validate

if TYPE_CHECKING:
    import datetime as dt

    from capcheck.answers.settling import Answering
    from capcheck.answers.store_keeper import StoreKeeper
    from capcheck.shop import Configuration

_NEW_BOARD: Final = "# What the files of this board do not say; entries below were answered by the customer.\n"
_ANSWERS: Final = "answers.csv"
_NOT_FITTED: Final = "not_fitted"
_KEPT: Final = frozenset({State.WRITTEN, State.HOLDS, State.NOTED, State.WAITS, State.WORDS})


class Keeper(Protocol):
    """Keeps what the shop knows of bodies: a library in CSV, or the shop's store."""

    @property
    def name(self) -> str:
        """What reports call it."""

    def changes(self, statement: Statement) -> list[CellChange]:
        """Return what a statement would change; nothing is written."""

    def state(self, statement: Statement) -> None:
        """Take a statement; it is kept when the files are written."""

    def files(self) -> Mapping[Path, bytes]:
        """Return the files to write, whole."""

    def trial(self, folder: Path) -> Path | None:
        """Return a library in *folder* of what is in no file, for a check that tries it."""

    def committing(self) -> AbstractContextManager[None]:
        """Write what is in no file at the end of a block that writes the files; nothing where that fails."""

    def written(self) -> str:
        """Return what :meth:`committing` writes and where, in words; empty where it writes nothing."""


class LibraryKeeper:
    """The shop's library as a CSV file."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._file = LibraryFile(path)
        self._is_changed = False

    @property
    def name(self) -> str:
        """The path of the library."""
        return str(self._path)

    def changes(self, statement: Statement) -> list[CellChange]:
        """Return what a statement would change; nothing is written."""
        return self._file.changes(statement)

    def state(self, statement: Statement) -> None:
        """Take a statement into the rows."""
        self._is_changed |= any(change.kind != "same" for change in self._file.changes(statement))
        self._file.state(statement)

    def files(self) -> Mapping[Path, bytes]:
        """Return the library, where anything in it changes."""
        return {self._path: self._file.content()} if self._is_changed else {}

    def trial(self, _folder: Path) -> Path | None:
        """Return None: all of it is in the file."""
        return None

    def committing(self) -> AbstractContextManager[None]:
        """Do nothing: the file is written as files are."""
        return nullcontext()

    def written(self) -> str:
        """Return nothing: the file is named as files are."""
        return ""


class Destinations(Struct, frozen=True):
    """The files that answers go to; None where there is none.

    *board* is board.toml, or what is written instead of it; *configuration* holds waivers, *answers* what was answered.
    """

    keeper: Keeper | None
    board: Path | None
    configuration: Configuration
    answers: Path | None
    begins_as: Path | None = None
    """The board.toml that *board* begins as where it is another file that is not there yet."""
    store: StoreKeeper | None = None
    """Keeps what was answered, instead of the file; also where figures go to a list."""
    layer: str = ""
    """The board's folder, as the configuration is to name it with *board*, where it does not yet."""


class Told(Struct, frozen=True):
    """An answer with what it changes: cells of the library, entries of board.toml, waivers."""

    settled: Settled
    cells: tuple[CellChange, ...] = ()
    entries: tuple[EntryChange, ...] = ()
    waivers: tuple[Mapping[str, object], ...] = ()


class Planned(Struct, frozen=True):
    """What is to be written: each file whole, and for each answer what it changes."""

    told: tuple[Told, ...]
    files: Mapping[Path, bytes]
    waivers: tuple[Mapping[str, object], ...]
    lacking: tuple[str, ...]
    """What was answered and has no place to go: ``library``, ``configuration``."""
    kept: tuple[GivenAnswer, ...] = ()
    """What was answered, as it is kept."""


def planned(
    answers: Sequence[Settled],
    destinations: Destinations,
    answering: Answering,
    board: str,
    *,
    until: dt.date,
    before: Sequence[GivenAnswer] = (),
) -> Planned:
    """Return what *answers* to the *board* of this name change; nothing is written.

    An answer that stands against a figure of the library is doubted instead. *until* is the last day of waivers.
    Raises :class:`~capcheck.values.InputError` where a file that is to be changed cannot be read.
    """
    files: dict[Path, bytes] = {}
    told, lacking = _stated(answers, destinations.keeper, answering.taken)
    told = _entered(told, destinations, files)
    gone = {ref for one in told for edit in one.settled.edits if edit.path == (_NOT_FITTED,) for ref in edit.value}
    told = [replace(one, waivers=_waivers(one.settled, board, answering.by, until, gone)) for one in told]
    told = [_as_before(one, board, before) for one in told]
    waivers = tuple(waiver for one in told for waiver in one.waivers)
    if destinations.keeper is not None:
        files |= destinations.keeper.files()
    kept = [answer for one in told if one.settled.state in _KEPT for answer in _kept(one, board, answering)]
    known = {_said(answer) for answer in before}
    kept = [answer for answer in kept if _said(answer) not in known]
    if destinations.store is not None:
        destinations.store.answer(kept)
    listed = kept if destinations.store is None else []
    named = destinations.layer if destinations.board in files else ""
    if (waivers or listed) and destinations.configuration.path is None:
        lacking.add("configuration")
        return Planned(tuple(told), files, waivers, tuple(sorted(lacking)), tuple(kept))
    path = destinations.answers or destinations.configuration.beside(_ANSWERS)
    prefix = destinations.configuration.prefix
    edits = [Edit((*prefix, "answers"), path.name)] if listed and destinations.answers is None else []
    if named and destinations.configuration.path is not None:
        file = os.path.relpath(destinations.board or "", destinations.configuration.folder)
        edits.append(Edit((*prefix, "boards", named, "board_file"), Path(file).as_posix()))
    if waivers or edits:
        files[destinations.configuration.path or path] = _configured(destinations.configuration, waivers, edits)
    if listed:
        files[path] = _as_csv([*before, *listed])
    return Planned(tuple(told), files, waivers, tuple(sorted(lacking)), tuple(kept))


def _said(answer: GivenAnswer) -> tuple[object, ...]:
    """Return what makes two answers one: where they were kept may differ."""
    return answer.board, answer.key, answer.asked, answer.answer, answer.closes, answer.by, answer.on


def _stated(answers: Sequence[Settled], keeper: Keeper | None, taken: frozenset[str]) -> tuple[list[Told], set[str]]:
    """Return the answers with the cells of the library that they change, taken up by its keeper."""
    told, lacking = [], set[str]()
    for one in answers:
        if not one.statements:
            told.append(Told(one))
            continue
        if keeper is None:
            lacking.add("library")
            told.append(Told(one))
            continue
        cells = tuple(cell for statement in one.statements for cell in keeper.changes(statement))
        others = [cell for cell in cells if cell.kind == "other"]
        if others and one.key not in taken:
            doubts = [Doubt(cell.column, cell.new, f"{keeper.name} has {cell.old} for {cell.key}") for cell in others]
            told.append(Told(doubted(one, *doubts)))
            continue
        for statement in one.statements:
            keeper.state(statement)
        told.append(Told(one, cells))
    return told, lacking


def _as_before(told: Told, board: str, before: Sequence[GivenAnswer]) -> Told:
    """Return an answer that was written when it was read before as such."""
    one = told.settled
    if one.state is not State.WRITTEN or told.entries or told.waivers or any(c.kind != "same" for c in told.cells):
        return told
    for earlier in before:
        if (earlier.board, earlier.key, earlier.asked, earlier.answer) == (board, one.key, one.asked, one.answer):
            known = {"on": earlier.on, "by": earlier.by}
            return Told(replace(one, state=State.BEFORE, told=known, doubts=()))
    return told


def _entered(told: Sequence[Told], destinations: Destinations, files: dict[Path, bytes]) -> list[Told]:
    """Return the answers with the entries of board.toml that they change, and add the file."""
    if not any(one.settled.edits for one in told):
        return list(told)
    path = destinations.board
    if path is None:
        raise InputError.at(
            "--board",
            "is no folder that board.toml could be written to",
            "answers about the board are kept beside its files",
            "name the file to write them to: --into FILE",
        )
    own = next((file for file in (path, destinations.begins_as) if file is not None and file.exists()), None)
    before = _NEW_BOARD if own is None else read_text(own, "board.toml")
    text, found = before, []
    for one in told:
        with_these, entries = with_entries(text, one.settled.edits)
        try:
            validate(Manifest, tomli.loads(with_these), str(path), with_these)
        except InputError as error:
            why = error.problems[0].what
            found.append(Told(doubted(one.settled, Doubt("answer", one.settled.answer, why))))
            continue
        text = with_these
        found.append(replace(one, entries=tuple(entries)))
    if text != before:
        files[path] = text.encode()
    return found


def _waivers(one: Settled, board: str, by: str, until: dt.date, gone: set[str]) -> tuple[Mapping[str, object], ...]:
    return tuple(
        {
            "rule": accepted.rule,
            "board": "".join(f"[{letter}]" if letter in "*?[" else letter for letter in board),
            "part": accepted.part,
            **({"margin": accepted.margin} if accepted.margin else {}),
            "reason": accepted.reason,
            "who": by,
            "until": until,
        }
        for accepted in one.acceptances
        # What the list leaves off has no findings any more.
        if not gone.intersection(refs_of_subject(accepted.part))
    )


def _configured(configuration: Configuration, waivers: Sequence[Mapping[str, object]], edits: Sequence[Edit]) -> bytes:
    path = configuration.path
    assert path is not None  # noqa: S101 - the caller has seen to it
    text = read_text(path, "configuration")
    if waivers:
        text = with_tables(text, (*configuration.prefix, "waiver"), waivers)
    text, _ = with_entries(text, edits)
    data = tomli.loads(text)
    for step in configuration.prefix:
        data = data[step]
    validate(ConfigurationFile, data, str(path), text, configuration.prefix)
    return text.encode()


def _kept(told: Told, board: str, answering: Answering) -> list[GivenAnswer]:
    """Return an answer as the shop keeps it, and with it the parts that it answers too."""
    one = told.settled
    goes = [
        name
        for name, some in (("library", one.statements), ("board.toml", one.edits), ("waiver", one.acceptances))
        if some
    ]
    settles = one.state in {State.WRITTEN, State.HOLDS, State.NOTED}
    kept = GivenAnswer(
        board,
        one.key,
        one.asked,
        one.answer,
        one.closes and settles,
        answering.by,
        str(answering.on),
        f"{Path(one.place.file).name}:{one.place.row}",
        ", ".join(goes) or "noted",
    )
    return [kept, *(replace(kept, key=key, asked=asked, closes=True) for key, asked in one.closes_rows if settles)]


def _as_csv(answers: Sequence[GivenAnswer]) -> bytes:
    return csv_text(answers_as_text(answers)).encode()
