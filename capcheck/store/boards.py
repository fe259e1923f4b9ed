"""Boards with their revisions and results, and which parts each uses and states something of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

import msgspec
from msgspec import Struct
from sqlalchemy import insert, select

from capcheck.store.keys import Givers, among, board_id, givens, insert_missing, key_text, scopes
from capcheck.store.records import BoardKey, Given, PartKey, Result, Revision
from capcheck.store.tables import BOARD, RESULT, REVISION, REVISION_FILE, USED_ON
from capcheck.values import Interval

if TYPE_CHECKING:
    from sqlalchemy import Connection, Row

_STATED: Final = msgspec.json.Decoder(dict[str, tuple[float | None, float | None, str]])


class Used(Struct, frozen=True):
    """One type of part on a board: its key, its references, and what the board's own files state of it.

    *stated* has the place beside each measure, in mm or g.
    """

    key: PartKey
    refs: tuple[str, ...]
    stated: Mapping[str, tuple[Interval, str]]


class UsedOn(Struct, frozen=True):
    """A part on a revision of a board."""

    board: BoardKey
    label: str
    sha256: str
    used: Used
    given: Given


def keep_revision(connection: Connection, revision: Revision, used: Sequence[Used] = ()) -> bool:
    """Write a revision with its files and the parts it uses; return whether it was new. One known is left as it is."""
    owner = board_id(connection, revision.board.name, revision.board.customer, create=True)
    known = select(REVISION.c.id).where(REVISION.c.board_id == owner, REVISION.c.sha256 == revision.sha256)
    if connection.execute(known).scalar() is not None:
        return False
    row = {
        "board_id": owner,
        "label": revision.label,
        "sha256": revision.sha256,
        "given_id": Givers(connection).id_of(revision.given),
    }
    insert_missing(connection, REVISION, [row])
    number = connection.execute(known).scalar_one()
    files = [
        {"revision_id": number, "path": path, "role": role, "sha256": sha256} for path, role, sha256 in revision.files
    ]
    if files:
        connection.execute(insert(REVISION_FILE), files)
    if used:
        connection.execute(insert(USED_ON), [_row_of(one, number) for one in used])
    return True


def _row_of(used: Used, revision: int) -> dict[str, object]:
    stated = {field: [_end(v.low), _end(v.high), place] for field, (v, place) in used.stated.items()}
    return {
        "revision_id": revision,
        "key_text": key_text(used.key),
        "part_number": used.key.part_number,
        "footprint": used.key.footprint,
        "value": used.key.value,
        "refs": " ".join(used.refs),
        "stated": msgspec.json.encode(stated).decode(),
    }


def _end(number: float) -> float | None:
    return None if number in {float("inf"), float("-inf")} else number


def revisions(connection: Connection, board: BoardKey | None = None) -> list[Revision]:
    """Return the revisions of a board, or of all, in the order in which they came."""
    asked = select(REVISION, BOARD.c.customer_id).join(BOARD, BOARD.c.id == REVISION.c.board_id)
    if board is not None:
        asked = asked.where(REVISION.c.board_id == board_id(connection, board.name, board.customer))
    rows = list(connection.execute(asked.order_by(REVISION.c.id)))
    if not rows:
        return []
    files: dict[int, list[tuple[str, str, str]]] = {}
    numbers = [row.id for row in rows]
    for row in connection.execute(select(REVISION_FILE).where(among(REVISION_FILE.c.revision_id, numbers, connection))):
        files.setdefault(row.revision_id, []).append((row.path, row.role, row.sha256))
    boards, said = _boards(connection, rows), givens(connection, [row.given_id for row in rows])
    return [
        Revision(boards[row.board_id], row.sha256, tuple(files.get(row.id, ())), said[row.given_id], row.label)
        for row in rows
    ]


def _boards(connection: Connection, rows: Sequence[Row[Any]]) -> dict[int, BoardKey]:
    named = scopes(connection, ((None, row.board_id) for row in rows))
    return {number: BoardKey(scope.board, scope.customer) for (_, number), scope in named.items() if number is not None}


def keep_result(connection: Connection, result: Result) -> None:
    """Write what a check of a revision came to. Raises KeyError where the revision is not there."""
    owner = board_id(connection, result.board.name, result.board.customer)
    asked = select(REVISION.c.id).where(REVISION.c.board_id == owner, REVISION.c.sha256 == result.sha256)
    number = connection.execute(asked).scalar()
    if number is None:
        raise KeyError(result.sha256)
    row = {
        "revision_id": number,
        "line": result.line,
        "verdict": result.verdict,
        "counts": msgspec.json.encode(result.counts).decode(),
        "program": result.program,
        "given_id": Givers(connection).id_of(result.given),
    }
    connection.execute(insert(RESULT), row)


def results(connection: Connection, board: BoardKey) -> list[Result]:
    """Return what the checks of a board came to, in the order in which they ran."""
    owner = board_id(connection, board.name, board.customer)
    asked = select(RESULT, REVISION.c.sha256).join(REVISION, REVISION.c.id == RESULT.c.revision_id)
    rows = list(connection.execute(asked.where(REVISION.c.board_id == owner).order_by(RESULT.c.id)))
    said = givens(connection, [row.given_id for row in rows]) if rows else {}
    return [
        Result(
            board,
            row.sha256,
            row.line,
            row.verdict,
            msgspec.json.decode(row.counts, type=dict[str, int]),
            said[row.given_id],
            row.program,
        )
        for row in rows
    ]


def used_on(connection: Connection, keys: Sequence[PartKey]) -> list[UsedOn]:
    """Return the revisions of boards on which parts are used, in the order in which they came."""
    asked = (
        select(USED_ON, REVISION.c.label, REVISION.c.sha256, REVISION.c.board_id, REVISION.c.given_id)
        .join(REVISION, REVISION.c.id == USED_ON.c.revision_id)
        .where(among(USED_ON.c.key_text, sorted({key_text(key) for key in keys}), connection))
        .order_by(USED_ON.c.id)
    )
    rows = list(connection.execute(asked)) if keys else []
    if not rows:
        return []
    boards, said = _boards(connection, rows), givens(connection, [row.given_id for row in rows])
    return [UsedOn(boards[row.board_id], row.label, row.sha256, _used(row), said[row.given_id]) for row in rows]


def stated_in(text: str) -> dict[str, tuple[Interval, str]]:
    """Return what a board's files state of a part, from the text beside it."""
    return {
        field: (Interval(low or 0.0, float("inf") if high is None else high), place)
        for field, (low, high, place) in _STATED.decode(text).items()
    }


def _used(row: Row[Any]) -> Used:
    key = PartKey(row.part_number, row.footprint, row.value)
    return Used(key, tuple(row.refs.split()), stated_in(row.stated))
