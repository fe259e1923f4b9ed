"""Answers given at the desk: a worker says what each changes, the server writes it whole or not at all, and takes back.

What came is kept with what it changed in a folder by its token, which also stands before the name under which the
store keeps whence an answer is. So it can be undone.
"""

from __future__ import annotations

import datetime as dt
import secrets
import shutil
import threading
from collections.abc import Awaitable, Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from capcheck.answers import StoreKeeper
from capcheck.desk.answers_kept import ANSWERED, BOARD_FILE, Answered, ChangedFile, answered_in
from capcheck.desk.areas import TO_CUSTOMER, TOKEN_DIGITS
from capcheck.desk.workers import Order, Result
from capcheck.intake import plain
from capcheck.lexicon import customers_catalogue
from capcheck.report import DATA_SHEET, FIGURES, csv_text
from capcheck.store import BoardKey, Given, Question
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.desk.shop_at_desk import Desk
    from capcheck.store import Quote, QuoteBoard

CELLS: Final = ("choice", "answer", DATA_SHEET, *FIGURES)
"""What can be filled in beside a question."""
_WRITING: Final = threading.Lock()
_TRIES: Final = 3
_TYPED: Final = "desk.csv"
Work = Callable[[Order], Awaitable[Result | None]]


class StaleError(InputError):
    """What an answer was worked out on was changed meanwhile."""


def new_list(desk: Desk, quote: Quote, name: str) -> tuple[str, Path]:
    """Return a token and the file into which a list of this name is to be written."""
    token = secrets.token_hex(TOKEN_DIGITS // 2)
    folder = desk.of_answers(quote, token)
    folder.mkdir(parents=True)
    return token, folder / f"{token}-{plain(name)[-80:]}"


def typed_list(key: str, asked: str, cells: Mapping[str, str]) -> str:
    """Return one answer as a list of questions that came back, for its reader."""
    paper = customers_catalogue().paper
    names = [name for name in CELLS if cells.get(name, "").strip()]
    titles = [paper[f"column {name}"] for name in ("key", "asked", *names)]
    return csv_text([tuple(titles), (key, asked, *(cells[name].strip() for name in names))])


async def settle(desk: Desk, work: Work, order: Order, quote: Quote, who: str) -> Answered:
    """Have a list worked out and write what it changes; return what became of each answer.

    Where somebody wrote meanwhile it is worked out anew. Raises :class:`~capcheck.values.InputError`.
    """
    import asyncio

    into = Path(order.into)
    for last in (False,) * (_TRIES - 1) + (True,):
        await asyncio.to_thread(into.mkdir, parents=True, exist_ok=True)
        result = await work(order)
        answered = answered_in(into)
        if result is None or result.outcome != "done" or answered is None:
            told = "\n".join(result.told) if result is not None else "its worker was ended at its limit"
            shutil.rmtree(into, ignore_errors=True)
            raise InputError.at("the answers", told or "were not read", remedy="nothing was written")
        try:
            await asyncio.to_thread(_write, desk, order, quote, answered, who)
        except StaleError:
            if last:
                shutil.rmtree(into, ignore_errors=True)
                raise
            anew = await asyncio.to_thread(desk.order_to_answer, quote, _board_of(order, quote), into, into)
            order = replace(order, shop=anew.shop)
            continue
        return answered
    raise AssertionError  # the last try returns or raises


def _board_of(order: Order, quote: Quote) -> QuoteBoard:
    return next(board for board in quote.boards if board.folder == order.source.rpartition("/boards/")[2])


def _write(desk: Desk, order: Order, quote: Quote, answered: Answered, who: str) -> None:
    now = dt.datetime.now(dt.UTC).replace(microsecond=0)
    if answered.lacking:
        raise InputError.at("the answers", "; ".join(answered.lacking), remedy="name a configuration: --config FILE")
    own = Path(order.source) / BOARD_FILE
    shops = desk.configuration.path
    keeper = StoreKeeper(
        desk.address,
        by=order.by,
        on=now.date(),
        board=answered.board,
        customer=quote.customer,
        where=Path(order.answers).name,
        asked={one.key: one for one in answered.questions},
        at=now,
    )
    for statement in answered.statements:
        keeper.state(statement)
    keeper.answer(answered.answers)
    with _WRITING:
        _refuse_stale(desk, answered, quote)
        changes = [(own, answered.board_file), *([(shops, answered.configuration)] if shops is not None else [])]
        for path, change in changes:
            if change is not None and _content(path) != change.before:
                raise StaleError.at(
                    path.name, "was changed meanwhile", remedy="look at the questions, and answer again"
                )
        with keeper.committing():
            for path, change in changes:
                if change is not None:
                    _put(path, change.after)
    if answered.answers:
        texts = ", ".join(f"{one.key}: {one.answer}" for one in answered.answers)
        desk.quotes.log(quote.id, who, "answered" if who == order.by else f"read answers of {order.by}", texts[:500])


def _refuse_stale(desk: Desk, answered: Answered, quote: Quote) -> None:
    """Raise where somebody else answered one of the questions since."""
    board = BoardKey(answered.board, quote.customer)
    for one in desk.store.questions(board, only_open=False):
        key = one.question.key
        mine = [answer for answer in answered.answers if answer.key == key and answer.closes]
        if mine and key not in answered.before and one.answers and not one.is_open:
            last = one.answers[-1]
            raise StaleError.at(
                one.question.text,
                f'was answered meanwhile by {last.given.who}: "{last.text}"',
                "your answer was not written over it",
                "take that one back first, if yours is right",
            )


def _content(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() else None


def _put(path: Path, content: bytes) -> None:
    beside = path.with_name(f".{path.name}.new")
    beside.write_bytes(content)
    beside.replace(path)


def take_back(desk: Desk, quote: Quote, board: QuoteBoard, token: str, who: str) -> None:
    """Undo all that one list or one typed answer changed: a figure that it superseded stands again.

    Raises :class:`~capcheck.values.InputError`.
    """
    answered = answered_in(desk.of_answers(quote, token))
    if answered is None:
        raise InputError.at("undo", "what was answered there is not kept", remedy="answer the question anew")
    given = Given(who, dt.datetime.now(dt.UTC).replace(microsecond=0), "entered", f"undone: {token}")
    own = desk.of_board(quote, board) / BOARD_FILE
    with _WRITING:
        for path, change in ((own, answered.board_file), (desk.configuration.path, answered.configuration)):
            if change is not None and path is not None:
                _refuse_changed(path, change)
        desk.store.undo(token, given)
        keys = [one.key for one in answered.answers]
        desk.store.take_back(BoardKey(answered.board, quote.customer), keys, given)
        for path, change in ((own, answered.board_file), (desk.configuration.path, answered.configuration)):
            if change is not None and path is not None:
                _restore(path, change)
    (desk.of_answers(quote, token) / ANSWERED).unlink()
    desk.quotes.log(quote.id, who, "took an answer back", ", ".join(keys)[:500])


def _refuse_changed(path: Path, change: ChangedFile) -> None:
    if _content(path) != change.after:
        raise InputError.at(
            path.name,
            "was changed after this answer",
            "what was written there since would be lost",
            "take back the later answers first, the last one first",
        )


def _restore(path: Path, change: ChangedFile) -> None:
    if change.before is None:
        path.unlink(missing_ok=True)
    else:
        _put(path, change.before)


def give_to_customer(desk: Desk, quote: Quote, board: str, questions: Sequence[Question], who: str) -> None:
    """Write that the customer is asked these questions."""
    given = Given(who, dt.datetime.now(dt.UTC).replace(microsecond=0), "entered", TO_CUSTOMER)
    desk.store.ask(BoardKey(board, quote.customer), questions, given)
    desk.quotes.log(quote.id, who, "gave to the customer", ", ".join(one.key for one in questions)[:500])
