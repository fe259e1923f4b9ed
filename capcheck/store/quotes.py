"""Quotes as rows: whose, for when, their boards and files, the work that is asked for, and who did what.

What a quote is at is nowhere written: it follows from the rows (:attr:`~capcheck.store.quote_records.Quote.state`),
so that a desk that was ended in the middle of anything finds all of it again. Work is held for a time, and anybody's
once that is over.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from sqlalchemy import insert, select, update

from capcheck.store.keys import among
from capcheck.store.quote_records import Logged, Quote, QuoteBoard, QuoteFile, Work, WorkKind, WorkOutcome
from capcheck.store.tables import QUOTE, QUOTE_BOARD, QUOTE_FILE, QUOTE_LOG, QUOTE_WORK

if TYPE_CHECKING:
    from sqlalchemy import Connection, Row

    from capcheck.store.opening import Database


def now_text(later: float = 0.0) -> str:
    """Return the time *later* seconds from now, in UTC, so that texts compare as times do."""
    return (dt.datetime.now(dt.UTC) + dt.timedelta(seconds=later)).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


class Quotes:
    """The quotes of a store. Every method raises InputError where the database fails."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def new(self, folder: str, *, customer: str, name: str, quantity: int | None, due: str, who: str) -> int:
        """Write a quote whose files lie in *folder*; return its number."""
        row = {"folder": folder, "customer": customer, "name": name, "quantity": quantity, "due": due}
        with self._database.writing() as connection:
            return _new(connection, row, who)

    def begin(
        self, facts: Mapping[str, str | int | None], source: str, files: Sequence[tuple[str, str, int]], who: str
    ) -> int:
        """Write a quote with the files that came for it, both or neither; *facts* are those of :meth:`new`."""
        with self._database.writing() as connection:
            number = _new(connection, facts, who)
            _bring(connection, number, source, files, who)
            return number

    def change(self, quote: int, who: str, what: str, **columns: str | int | None) -> None:
        """Change columns of a quote, and log *what* that was."""
        with self._database.writing() as connection:
            connection.execute(update(QUOTE).where(QUOTE.c.id == quote).values(**columns))
            _log(connection, quote, who, what, "")

    def add_files(
        self, quote: int, source: str, files: Sequence[tuple[str, str, int]], who: str, *, revised: int | None = None
    ) -> None:
        """Write files that came, each as shown name, path and bytes, and ask for the boards in *source* to be found.

        They are later revisions of the board *revised*, where there is one.
        """
        with self._database.writing() as connection:
            _bring(connection, quote, source, files, who, revised=revised)

    def add_boards(
        self,
        work: Work,
        boards: Sequence[tuple[str, str, Sequence[tuple[str, str, int]]]],
        told: str = "",
    ) -> None:
        """Write the boards that *work* told apart, each as name, folder and files; ask for their checks and end it.

        All of that is done at once, and nothing where the work has ended already.
        """
        with self._database.writing() as connection:
            if not _end(connection, work.id, "done", told, ""):
                return
            found = []
            for name, folder, files in boards:
                board = _inserted(connection, QUOTE_BOARD, quote_id=work.quote, name=name, folder=folder)
                for shown, path, size in files:
                    row = {"quote_id": work.quote, "board_id": board, "shown": shown, "path": path, "size": size}
                    _inserted(connection, QUOTE_FILE, **row)
                _ask(connection, "check", work.quote, board)
                found.append(board)
            result = json.dumps(found)
            connection.execute(update(QUOTE_WORK).where(QUOTE_WORK.c.id == work.id).values(result=result))

    def ask_again(self, quote: int, board: int, who: str, what: str = "asked for a check") -> int:
        """Ask for a board to be checked again; return the number of that work. One that waits takes its place."""
        with self._database.writing() as connection:
            checks = [work for work in _works(connection, [quote]) if work.board == board and work.kind == "check"]
            waiting = [work for work in checks if work.is_open and not work.tries]
            _log(connection, quote, who, what, str(board))
            return waiting[0].id if waiting else _ask(connection, "check", quote, board)

    def log(self, quote: int | None, who: str, what: str, about: str = "") -> None:
        """Write that somebody did something."""
        with self._database.writing() as connection:
            _log(connection, quote, who, what, about)

    def logged(self, quote: int, most: int = 200) -> list[Logged]:
        """Return what was done to a quote, the last first."""
        asked = select(QUOTE_LOG).where(QUOTE_LOG.c.quote_id == quote).order_by(QUOTE_LOG.c.id.desc()).limit(most)
        with self._database.reading() as connection:
            return [Logged(row.who, row.at, row.what, row.about) for row in connection.execute(asked)]

    def all(self) -> list[Quote]:
        """Return every quote with boards and work, the last first."""
        with self._database.reading() as connection:
            return _quotes(connection, None)

    def one(self, quote: int) -> Quote | None:
        """Return a quote with its boards and work; None where there is none of that number."""
        with self._database.reading() as connection:
            return next(iter(_quotes(connection, [quote])), None)

    def files(self, quote: int, board: int | None = None) -> list[QuoteFile]:
        """Return the files of a quote as they came, or those of one of its boards."""
        with self._database.reading() as connection:
            found = [QuoteFile(r.id, r.board_id, r.shown, r.path, r.size) for r in _rows(connection, QUOTE_FILE, quote)]
        return [file for file in found if file.board == board]

    def claim(self, holder: str, seconds: float, but: Sequence[int] = ()) -> Work | None:
        """Return the oldest work that nobody holds, held for so many seconds from now; None where there is none.

        None is taken of those in *but*.
        """
        now = now_text()
        free = (QUOTE_WORK.c.ended_at == "") & (QUOTE_WORK.c.held_until < now) & QUOTE_WORK.c.id.not_in(but)
        with self._database.writing() as connection:
            oldest = select(QUOTE_WORK).where(free).order_by(QUOTE_WORK.c.id).limit(1)
            row = connection.execute(oldest.with_for_update(skip_locked=True)).first()
            if row is None:
                return None
            held = {"holder": holder, "held_until": now_text(seconds), "tries": row.tries + 1}
            connection.execute(update(QUOTE_WORK).where(QUOTE_WORK.c.id == row.id).values(**held))
            return _work(row, tries=row.tries + 1)

    def hold(self, works: Sequence[int], holder: str, seconds: float) -> None:
        """Hold work for so many seconds more."""
        mine = QUOTE_WORK.c.id.in_(works) & (QUOTE_WORK.c.holder == holder)
        with self._database.writing() as connection:
            connection.execute(update(QUOTE_WORK).where(mine).values(held_until=now_text(seconds)))

    def let_go(self, holder: str) -> None:
        """Let all work that *holder* has go, for anybody to take up: it is not known to have been done."""
        mine = (QUOTE_WORK.c.holder == holder) & (QUOTE_WORK.c.ended_at == "")
        with self._database.writing() as connection:
            connection.execute(update(QUOTE_WORK).where(mine).values(held_until=""))

    def again(self, work: int) -> None:
        """Let one work go, to be tried once more."""
        with self._database.writing() as connection:
            connection.execute(update(QUOTE_WORK).where(QUOTE_WORK.c.id == work).values(held_until=""))

    def put_off(self, work: int, seconds: float) -> None:
        """Have work tried again in so many seconds, as if it had not been begun: it is not what was in the way."""
        own = update(QUOTE_WORK).where(QUOTE_WORK.c.id == work)
        with self._database.writing() as connection:
            connection.execute(own.values(held_until=now_text(seconds), tries=QUOTE_WORK.c.tries - 1))

    def end(self, work: int, outcome: WorkOutcome, *, told: str = "", result: str = "") -> None:
        """Write what came of work; of work that has ended already nothing is changed."""
        with self._database.writing() as connection:
            _end(connection, work, outcome, told, result)


def _new(connection: Connection, facts: Mapping[str, str | int | None], who: str) -> int:
    empty = dict.fromkeys(("waiting_since", "decided_at", "decision"), "")
    number = _inserted(connection, QUOTE, **facts, received_at=now_text(), **empty)
    _log(connection, number, who, "began", str(facts["name"]))
    return number


def _bring(
    connection: Connection,
    quote: int,
    source: str,
    files: Sequence[tuple[str, str, int]],
    who: str,
    *,
    revised: int | None = None,
) -> None:
    for shown, path, size in files:
        _inserted(connection, QUOTE_FILE, quote_id=quote, board_id=None, shown=shown, path=path, size=size)
    _ask(connection, "sort", quote, revised, source)
    _log(connection, quote, who, "brought files", ", ".join(shown for shown, _, _ in files)[:500])


def _end(connection: Connection, work: int, outcome: WorkOutcome, told: str, result: str) -> bool:
    """End work, if it has not ended; return whether that was so."""
    ended = {"ended_at": now_text(), "outcome": outcome, "told": _kept(told), "result": result}
    open_ = (QUOTE_WORK.c.id == work) & (QUOTE_WORK.c.ended_at == "")
    return bool(connection.execute(update(QUOTE_WORK).where(open_).values(**ended)).rowcount)


def _inserted(connection: Connection, table: Any, **values: object) -> int:  # noqa: ANN401 - a table of the store
    kept = {name: _kept(value) if isinstance(value, str) else value for name, value in values.items()}
    return int(connection.execute(insert(table).values(**kept).returning(table.c.id)).scalar_one())


def _kept(text: str) -> str:
    """Return a text as every database keeps it: a server keeps no NUL, which a customer's file may be named with."""
    return text.replace("\x00", "")


def _ask(connection: Connection, kind: WorkKind, quote: int, board: int | None, about: str = "") -> int:
    empty = dict.fromkeys(("holder", "held_until", "ended_at", "outcome", "told", "result"), "")
    return _inserted(
        connection,
        QUOTE_WORK,
        quote_id=quote,
        board_id=board,
        kind=kind,
        about=about,
        asked_at=now_text(),
        tries=0,
        **empty,
    )


def _log(connection: Connection, quote: int | None, who: str, what: str, about: str) -> None:
    _inserted(connection, QUOTE_LOG, quote_id=quote, who=who, at=now_text(), what=what, about=about)


def _rows(connection: Connection, table: Any, quote: int) -> list[Row[Any]]:  # noqa: ANN401 - a table of the store
    return list(connection.execute(select(table).where(table.c.quote_id == quote).order_by(table.c.id)))


def _work(row: Row[Any], tries: int | None = None) -> Work:
    return Work(
        row.id,
        row.quote_id,
        row.board_id,
        row.kind,
        row.about,
        row.asked_at,
        row.tries if tries is None else tries,
        row.ended_at,
        row.outcome,
        row.told,
        row.result,
    )


def _works(connection: Connection, quotes: Sequence[int]) -> Iterator[Work]:
    asked = select(QUOTE_WORK).where(among(QUOTE_WORK.c.quote_id, quotes, connection)).order_by(QUOTE_WORK.c.id)
    return map(_work, connection.execute(asked))


def _quotes(connection: Connection, numbers: Sequence[int] | None) -> list[Quote]:
    asked = select(QUOTE).order_by(QUOTE.c.id.desc())
    rows = list(connection.execute(asked if numbers is None else asked.where(QUOTE.c.id.in_(numbers))))
    ids = [row.id for row in rows]
    if not ids:
        return []
    works: dict[tuple[int, int | None], list[Work]] = {}
    revised: dict[int, int] = {}
    for work in _works(connection, ids):
        works.setdefault((work.quote, work.board if work.kind == "check" else None), []).append(work)
        if work.kind == "sort" and work.board is not None and work.result:
            revised |= dict.fromkeys(json.loads(work.result), work.board)
    boards: dict[int, list[QuoteBoard]] = {}
    of_quotes = select(QUOTE_BOARD).where(among(QUOTE_BOARD.c.quote_id, ids, connection)).order_by(QUOTE_BOARD.c.id)
    for row in connection.execute(of_quotes):
        own = tuple(works.get((row.quote_id, row.id), ()))
        boards.setdefault(row.quote_id, []).append(
            QuoteBoard(row.id, row.quote_id, row.name, row.folder, own, revised.get(row.id))
        )
    return [
        Quote(
            row.id,
            row.folder,
            row.customer,
            row.name,
            row.quantity,
            row.due,
            row.received_at,
            row.waiting_since,
            row.decided_at,
            row.decision,
            tuple(boards.get(row.id, ())),
            tuple(works.get((row.id, None), ())),
        )
        for row in rows
    ]
