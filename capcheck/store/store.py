"""The store as a whole: figures of parts, boards, questions and answers. What is written at once is written whole."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Self

from capcheck.store.opening import WAIT_S, database_at, opened
from capcheck.store.upgrades import LATEST, step_of, upgrade
from capcheck.values import collector_at_rest

if TYPE_CHECKING:
    from types import TracebackType

    from capcheck.model import PartName
    from capcheck.packages import Library
    from capcheck.store.boards import Used, UsedOn
    from capcheck.store.opening import Database
    from capcheck.store.quotes import Quotes
    from capcheck.store.records import (
        Answer,
        BoardKey,
        Change,
        Figure,
        Given,
        Outcome,
        PartKey,
        Question,
        Result,
        Revision,
        Scope,
        Standing,
        Statement,
    )


class Store:
    """An opened store; close it, or use it in a ``with``. Every method raises InputError where the database fails."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def __enter__(self) -> Self:
        """Return the store."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close it."""
        self.close()

    @property
    def address(self) -> str:
        """Where it is, as it may be shown."""
        return self._database.address.shown

    def close(self) -> None:
        """Let go of the file or the server."""
        self._database.close()

    def library(self, types: Iterable[PartName], *, board: str = "", customer: str = "") -> Library:
        """Return what it knows of these parts, ready to be looked up on a board of this name, of this customer."""
        from capcheck.store.looked_up import library_of_parts

        with collector_at_rest(), self._database.reading() as connection:
            return library_of_parts(connection, types, board=board, customer=customer, path=self.address)

    @property
    def quotes(self) -> Quotes:
        """The quotes that are kept in it."""
        from capcheck.store.quotes import Quotes

        return Quotes(self._database)

    def copy_to(self, file: Path) -> None:
        """Write a copy of all but the quotes to a file that needs no server; whole or not at all."""
        from capcheck.store.copied import copy_to

        copy_to(self._database, file)

    def state(self) -> str:
        """Return a text that is another one after anything was written: all that is written says who wrote it."""
        from sqlalchemy import func, select

        from capcheck.store.tables import GIVEN

        with self._database.reading() as connection:
            last, count = connection.execute(select(func.max(GIVEN.c.id), func.count())).one()
        return f"{self.address} {last or 0} {count}"

    def changes(self, statements: Sequence[Statement]) -> list[Change]:
        """Return what the statements would change; nothing is written."""
        from capcheck.store.figures import changes

        with self._database.reading() as connection:
            return changes(connection, statements)

    def record(self, statements: Sequence[Statement]) -> list[Change]:
        """Write the statements, all or none; return what they changed. An older figure is superseded, and kept."""
        from capcheck.store.figures import record

        with self._database.writing() as connection:
            return record(connection, statements)

    def withdraw(self, key: PartKey, fields: Iterable[str], given: Given, scope: Scope) -> list[Figure]:
        """Let figures of a part stand no more, all where no field is named; return them. They stay in the history."""
        from capcheck.store.figures import withdraw

        with self._database.writing() as connection:
            return withdraw(connection, key, fields, given, scope)

    def undo(self, where: str, given: Given) -> list[Figure]:
        """Let figures given at places that begin with *where* stand no more, and those before them stand again.

        Returns the former. The place of *given*, who undoes them, begins with ``undone:`` and a space.
        """
        from capcheck.store.figures import undo

        with self._database.writing() as connection:
            return undo(connection, where, given)

    def history(self, key: PartKey, scope: Scope | None = None) -> list[Figure]:
        """Return every figure that was ever written of a part, the oldest first; of one scope, where it is named."""
        from capcheck.store.figures import history

        with self._database.reading() as connection:
            return history(connection, key, scope)

    def figures(self, key: PartKey | None = None) -> list[Figure]:
        """Return the figures that stand, of one part or of all, of every scope."""
        from capcheck.store.figures import every_figure, standing_figures

        with self._database.reading() as connection:
            return every_figure(connection) if key is None else standing_figures(connection, key)

    def ask(self, board: BoardKey, questions: Sequence[Question], given: Given) -> None:
        """Write what is asked of a board; a question that changed replaces the older, which is kept."""
        from capcheck.store.asked import ask

        with self._database.writing() as connection:
            ask(connection, board, questions, given)

    def questions(self, board: BoardKey, *, only_open: bool = True) -> list[Standing]:
        """Return the questions of a board that stand: all, or the open ones."""
        from capcheck.store.asked import questions

        with self._database.reading() as connection:
            return questions(connection, board, only_open=only_open)

    def check_answers(self, board: BoardKey, answers: Sequence[Answer]) -> list[Outcome]:
        """Return what becomes of the answers; nothing is written."""
        from capcheck.store.asked import outcomes

        with self._database.reading() as connection:
            return outcomes(connection, board, answers)

    def answer(self, board: BoardKey, answers: Sequence[Answer], statements: Sequence[Statement] = ()) -> list[Outcome]:
        """Write answers and the figures that they bring, all or none: none where a question changed or is unknown."""
        with self.answering(board, answers, statements) as found:
            return found

    @contextmanager
    def answering(
        self,
        board: BoardKey,
        answers: Sequence[Answer],
        statements: Sequence[Statement] = (),
        asked: tuple[Sequence[Question], Given] | None = None,
    ) -> Iterator[list[Outcome]]:
        """Write answers and the figures that they bring, as :meth:`answer` does, at the end of the block.

        Where the block raises, none of it is written. What is *asked* of the board, and by whom, is written first.
        """
        from capcheck.store.asked import ask, write_answers
        from capcheck.store.figures import record

        with self._database.writing() as connection:
            if asked is not None:
                ask(connection, board, *asked)
            found = write_answers(connection, board, answers)
            if statements and not any(outcome.is_refused for outcome in found):
                record(connection, statements)
            yield found

    def take_back(self, board: BoardKey, keys: Sequence[str], given: Given) -> list[Standing]:
        """Let the answers to questions of a board hold no more; return them. They are kept, and asked anew."""
        from capcheck.store.asked import take_back

        with self._database.writing() as connection:
            return take_back(connection, board, keys, given)

    def keep_revision(self, revision: Revision, used: Sequence[Used] = (), results: Sequence[Result] = ()) -> bool:
        """Write a revision of a board, the parts it uses and what a check came to; return whether it was new."""
        from capcheck.store.boards import keep_result, keep_revision

        with self._database.writing() as connection:
            is_new = keep_revision(connection, revision, used)
            for result in results:
                keep_result(connection, result)
            return is_new

    def revisions(self, board: BoardKey | None = None) -> list[Revision]:
        """Return the revisions of a board, or of all, in the order in which they came."""
        from capcheck.store.boards import revisions

        with self._database.reading() as connection:
            return revisions(connection, board)

    def results(self, board: BoardKey) -> list[Result]:
        """Return what the checks of a board came to."""
        from capcheck.store.boards import results

        with self._database.reading() as connection:
            return results(connection, board)

    def used_on(self, keys: Sequence[PartKey]) -> list[UsedOn]:
        """Return the revisions of boards on which parts are used."""
        from capcheck.store.boards import used_on

        with self._database.reading() as connection:
            return used_on(connection, keys)


def open_store(address: str | Path, *, create: bool = True, read_only: bool = False, wait_s: float = WAIT_S) -> Store:
    """Return the store at *address*, a file of SQLite or ``postgresql://…``.

    With *create* one is made where the file is not there or the server's database is empty. *wait_s* is how many
    seconds a writer waits for another. Raises :class:`~capcheck.values.InputError` where it is locked, damaged, of
    another version, or cannot be reached, and where the extra ``[store]`` is not installed.
    """
    return Store(opened(address, create=create, read_only=read_only, wait_s=wait_s))


def upgrade_store(address: str | Path) -> tuple[int, int]:
    """Bring the store at *address* to this program's version; return the numbers of the steps before and after.

    All missing steps are taken in one transaction, or none. Raises :class:`~capcheck.values.InputError`.
    """
    from capcheck.store.opening import refuse_version

    database = database_at(address)
    try:
        with database.writing() as connection:
            before = step_of(connection)
            if before is None or before > LATEST:
                refuse_version(before, database.address)
            upgrade(connection)
    finally:
        database.close()
    return before or 0, LATEST
