"""Questions that were asked of a board and the answers to them, with what changed in between."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

import msgspec
from sqlalchemy import insert, select, update

from capcheck.store.keys import Givers, among, board_id, givens, time_text
from capcheck.store.records import Answer, BoardKey, Given, Outcome, PartKey, Question, Standing
from capcheck.store.tables import ANSWER, BOARD, QUESTION

if TYPE_CHECKING:
    from sqlalchemy import Connection, Row


def ask(connection: Connection, board: BoardKey, asked: Sequence[Question], given: Given) -> None:
    """Write what is asked of a board, within the transaction of *connection*.

    A question that stands as it is stays; one that stands with another fingerprint is replaced, and kept as changed.
    """
    number = board_id(connection, board.name, board.customer, create=True)
    # The board's row is what two writers of its questions wait for.
    connection.execute(select(BOARD.c.id).where(BOARD.c.id == number).with_for_update()).all()
    standing = {row.key: row for row in _rows(connection, number)}
    givers = Givers(connection)
    for question in {question.key: question for question in asked}.values():
        old = standing.get(question.key)
        if old is not None and old.fingerprint == question.fingerprint:
            continue
        if old is not None:
            changed = update(QUESTION).where(QUESTION.c.id == old.id).values(changed_at=time_text(given.when))
            connection.execute(changed)
        connection.execute(
            insert(QUESTION).values(
                board_id=number,
                key=question.key,
                type=question.type,
                text=question.text,
                fingerprint=question.fingerprint,
                refs=_json(question.refs),
                part=_json(question.part),
                fields=_json(question.fields),
                data=_json(question.data),
                given_id=givers.id_of(given),
            )
        )


def take_back(connection: Connection, board: BoardKey, keys: Sequence[str], given: Given) -> list[Standing]:
    """Let the answers to these questions hold no more, within the transaction of *connection*; return what they were.

    Each question is put anew as it was; the one that was answered is kept as changed, with its answers.
    """
    found = [one for one in questions(connection, board, only_open=False) if one.question.key in keys and one.answers]
    number = board_id(connection, board.name, board.customer)
    for one in found:
        standing = (QUESTION.c.board_id == number) & QUESTION.c.changed_at.is_(None)
        gone = standing & (QUESTION.c.key == one.question.key)
        connection.execute(update(QUESTION).where(gone).values(changed_at=time_text(given.when)))
    ask(connection, board, [one.question for one in found], given)
    return found


def questions(connection: Connection, board: BoardKey, *, only_open: bool = True) -> list[Standing]:
    """Return the questions of a board that stand, in the order in which they were asked; all, or the open ones."""
    rows = _rows(connection, board_id(connection, board.name, board.customer))
    if not rows:
        return []
    asked = (
        select(ANSWER).where(among(ANSWER.c.question_id, [row.id for row in rows], connection)).order_by(ANSWER.c.id)
    )
    answers = list(connection.execute(asked))
    said = givens(connection, [row.given_id for row in (*rows, *answers)])
    given: dict[int, list[Answer]] = {}
    of = {row.id: row for row in rows}
    for row in answers:
        question = of[row.question_id]
        answer = Answer(
            question.key, question.fingerprint, row.text, said[row.given_id], row.goes_to, bool(row.settles)
        )
        given.setdefault(row.question_id, []).append(answer)
    found = [Standing(_question(row), said[row.given_id], tuple(given.get(row.id, ()))) for row in rows]
    return [standing for standing in found if standing.is_open or not only_open]


def outcomes(connection: Connection, board: BoardKey, answers: Sequence[Answer]) -> list[Outcome]:
    """Return what becomes of the answers; nothing is written."""
    standing = {s.question.key: s for s in questions(connection, board, only_open=False)}
    return [Outcome(answer, _state(answer, standing.get(answer.key))) for answer in answers]


def _state(answer: Answer, standing: Standing | None) -> Literal["accepted", "same", "changed", "unknown"]:
    if standing is None:
        return "unknown"
    if standing.question.fingerprint != answer.fingerprint:
        return "changed"
    last = standing.answers[-1] if standing.answers else None
    same = last is not None and (last.text, last.goes_to, last.settles) == (answer.text, answer.goes_to, answer.settles)
    return "same" if same else "accepted"


def write_answers(connection: Connection, board: BoardKey, answers: Sequence[Answer]) -> list[Outcome]:
    """Write the answers that are new, within the transaction of *connection*.

    Where one is to a question that changed or was never asked, none is written.
    """
    number = board_id(connection, board.name, board.customer)
    connection.execute(select(BOARD.c.id).where(BOARD.c.id == number).with_for_update()).all()
    found = outcomes(connection, board, answers)
    if any(outcome.is_refused for outcome in found):
        return found
    ids = {row.key: row.id for row in _rows(connection, number)}
    givers = Givers(connection)
    for outcome in found:
        answer = outcome.answer
        if outcome.state == "accepted":
            connection.execute(
                insert(ANSWER).values(
                    question_id=ids[answer.key],
                    text=answer.text,
                    goes_to=answer.goes_to,
                    settles=int(answer.settles),
                    given_id=givers.id_of(answer.given),
                )
            )
    return found


def _rows(connection: Connection, board: int | None) -> list[Row[Any]]:
    asked = select(QUESTION).where(QUESTION.c.board_id == board, QUESTION.c.changed_at.is_(None))
    return list(connection.execute(asked.order_by(QUESTION.c.id))) if board is not None else []


def _question(row: Row[Any]) -> Question:
    return Question(
        row.key,
        row.type,
        row.text,
        row.fingerprint,
        tuple(msgspec.json.decode(row.refs)),
        msgspec.json.decode(row.part, type=PartKey | None),
        tuple(msgspec.json.decode(row.fields)),
        msgspec.json.decode(row.data, type=dict[str, str]),
    )


def _json(value: object) -> str:
    return msgspec.json.encode(value).decode()
