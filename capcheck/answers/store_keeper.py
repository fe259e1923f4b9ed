"""The shop's store as the keeper of figures and answers: what is older is superseded there, never lost."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import structs

from capcheck.packages import CellChange, LibraryFile, Statement, written
from capcheck.store import (
    EVERYONE,
    Answer,
    BoardKey,
    Given,
    PartKey,
    Question,
    Scope,
    Statement as Stated,
    is_server,
    open_store,
)
from capcheck.values import InputError, counted

if TYPE_CHECKING:
    from capcheck.shop import GivenAnswer


class StoreKeeper:
    """Takes statements for the store at *address*; a part that only a reference names is of the *board* alone."""

    def __init__(
        self,
        address: str,
        *,
        by: str,
        on: dt.date,
        board: str,
        customer: str = "",
        where: str = "",
        asked: Mapping[str, Question] | None = None,
        at: dt.datetime | None = None,
    ) -> None:
        self._address = address
        self._board = BoardKey(board, customer)
        self._asked = asked or {}
        self._answers: list[Answer] = []
        # Of an answer by mail the day is known, and no hour.
        moment = at or dt.datetime.combine(on, dt.time(12), tzinfo=dt.UTC)
        self._given = Given(by, moment, "answered", where)
        self._of_board = Scope(customer=customer, board=board)
        self._taken: list[Statement] = []

    @property
    def name(self) -> str:
        """What reports call it; a server's address may hold a password."""
        return "store" if is_server(self._address) else self._address

    def changes(self, statement: Statement) -> list[CellChange]:
        """Return what a statement would change, beside what was taken before; nothing is written."""
        taken = {
            (one.key.compared, column): written(value) for one in self._taken for column, value in one.values.items()
        }
        found = [self._beside(change, taken) for change in self._in_store(statement)]
        # The references of one row are as many keys of the store.
        return list({(change.column, change.kind, change.old): change for change in found}.values())

    def _in_store(self, statement: Statement) -> Iterator[CellChange]:
        every = list(self._as_stated(statement))
        if not is_server(self._address) and not Path(self._address).exists():
            for column, value in statement.values.items():
                yield CellChange(statement.key, column, "", written(value), "new")
            return
        with open_store(self._address, create=False, read_only=True) as store:
            for change in store.changes(every):
                old = "" if change.old is None else _cell(change.old.value)
                yield CellChange(statement.key, change.field.replace("_", " "), old, _cell(change.new), change.kind)

    def _beside(self, change: CellChange, taken: Mapping[tuple[tuple[str, ...], str], str]) -> CellChange:
        before = taken.get((change.key.compared, change.column))
        if before is None:
            return change
        return CellChange(change.key, change.column, before, change.new, "same" if before == change.new else "other")

    def state(self, statement: Statement) -> None:
        """Take a statement; it is written by :meth:`commit`."""
        self._taken.append(statement)

    def files(self) -> Mapping[Path, bytes]:
        """Return no file: the store is written by :meth:`commit`."""
        return {}

    def trial(self, folder: Path) -> Path | None:
        """Return a library of what was taken, for a check that tries it."""
        if not self._taken:
            return None
        library = LibraryFile(folder / "taken.csv")
        for statement in self._taken:
            library.state(statement)
        library.path.write_bytes(library.content())
        return library.path

    def answer(self, answers: Sequence[GivenAnswer]) -> None:
        """Take what was answered; it is written with the figures, by :meth:`commit`."""
        for one in answers:
            given = structs.replace(self._given, who=one.by, where=one.where)
            goes = one.goes_to.replace("library", "store")
            self._answers.append(Answer(one.key, one.asked, one.answer, given, goes, one.closes))

    def commit(self) -> None:
        """Write figures and answers, in one transaction. Raises :class:`~capcheck.values.InputError`."""
        with self.committing():
            pass

    @contextmanager
    def committing(self) -> Iterator[None]:
        """Write figures and answers at the end of the block, or none of them where it raises.

        Raises :class:`~capcheck.values.InputError`, where the store refuses them before the block is entered.
        """
        if not (self._taken or self._answers):
            yield
            return
        stated = [stated for one in self._taken for stated in self._as_stated(one)]
        # An answer needs its question there; a list that went out before the store was kept has none in it.
        asked = [self._asked[a.key] for a in self._answers if a.key in self._asked]
        with (
            open_store(self._address) as store,
            store.answering(self._board, self._answers, stated, (asked, self._given)) as found,
        ):
            if refused := [outcome.answer.key for outcome in found if outcome.is_refused]:
                raise InputError.at(
                    self.name,
                    f"has another question now than was answered: {', '.join(refused)}",
                    "nothing was written: the answers are to what was asked",
                    "read the list again",
                )
            yield

    def written(self) -> str:
        """Return where figures and answers go, with how many of each."""
        told = [
            *([counted(len(self._taken), "part")] if self._taken else []),
            *([counted(len(self._answers), "answer")] if self._answers else []),
        ]
        return f"{self.name} ({' and '.join(told)})" if told else ""

    def _as_stated(self, statement: Statement) -> Iterator[Stated]:
        key = statement.key
        values = {name.replace(" ", "_"): value for name, value in statement.values.items()}
        given = structs.replace(self._given, link=statement.data_sheet)
        if not key.references:
            yield Stated(PartKey(key.part_number, key.footprint, key.value), values, given, EVERYONE)
            return
        for ref in key.references.split():
            yield Stated(PartKey(value=key.value, reference=ref), values, given, self._of_board)


def _cell(value: object) -> str:
    from capcheck.values import Interval

    return written(value) if isinstance(value, Interval | int | str) else str(value)
