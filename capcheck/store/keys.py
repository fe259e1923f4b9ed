"""Rows that others hang on: customers, boards, parts, and who said what; found, or made where they are missing."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import ARRAY, ColumnElement, Text, any_, bindparam, func, insert, select

from capcheck.store.records import Given, PartKey, Scope
from capcheck.store.tables import BOARD, CUSTOMER, GIVEN, PART

if TYPE_CHECKING:
    from sqlalchemy import Connection, Row, Select, Table

SEPARATOR: Final = "\x1f"
PATTERNS: Final = "*"
"""What keys with wildcards are found by: all of them are looked at."""
Scoped = tuple[int | None, int | None]
"""The numbers of customer and board of a scope."""


def folded(name: str) -> str:
    """Return a customer's or a board's name as it is compared."""
    return " ".join(name.split()).casefold()


def key_text(key: PartKey) -> str:
    """Return the key of a part as one text, as it is compared."""
    return SEPARATOR.join(key.compared)


def found_by(key: PartKey) -> str:
    """Return what a look-up asks for to find the part."""
    number, value, footprint, reference = key.compared
    if reference:
        return f"r{reference}"
    if key.is_pattern:
        return PATTERNS
    if number:
        return f"n{number}"
    return f"v{value}{SEPARATOR}{footprint}" if value else f"f{footprint}"


def among(
    column: ColumnElement[Any], values: Sequence[str] | Sequence[int], connection: Connection
) -> ColumnElement[bool]:
    """Return the condition that a column is one of many values; they go as one, since databases count them."""
    dialect = connection.dialect.name
    return _is_one_of(column, dialect, value=many(values, dialect))


def among_sent(column: ColumnElement[Any], name: str, dialect: str) -> ColumnElement[bool]:
    """Return the same of values that are sent under *name* with each run, as :func:`many` makes them."""
    return _is_one_of(column, dialect, name)


def many(values: Iterable[str] | Iterable[int], dialect: str) -> object:
    """Return many values as they go to a database of this dialect as one."""
    return list(values) if dialect == "postgresql" else json.dumps(list(values))


def rows_of(connection: Connection, asked: Select[Any], sent: Mapping[str, object]) -> list[Any]:
    """Return the rows of a statement, all at once, as the driver gives them: many come in half the time."""
    return list(connection.execute(asked, sent).cursor.fetchall())


def _is_one_of(
    column: ColumnElement[Any], dialect: str, name: str | None = None, value: object = None
) -> ColumnElement[bool]:
    if dialect == "postgresql":
        return column == any_(bindparam(name, value, ARRAY(column.type)))
    each = func.json_each(bindparam(name, value, Text)).table_valued("value")
    return column.in_(select(each.c.value))


def time_text(time: dt.datetime) -> str:
    """Return a time as the store keeps it."""
    return time.astimezone(dt.UTC).isoformat(timespec="seconds")


def insert_missing(connection: Connection, table: Table, rows: Sequence[Mapping[str, object]]) -> None:
    """Insert the rows that are not there by a unique index of the table."""
    if not rows:
        return
    if connection.dialect.name == "postgresql":
        from sqlalchemy.dialects.postgresql import insert as insert_on_server

        connection.execute(insert_on_server(table).on_conflict_do_nothing(), rows)
    else:
        from sqlalchemy.dialects.sqlite import insert as insert_in_file

        connection.execute(insert_in_file(table).on_conflict_do_nothing(), rows)


def customer_id(connection: Connection, name: str, *, create: bool = False) -> int | None:
    """Return the number of a customer; None where none is named, or none of the name is there."""
    if not folded(name):
        return None
    if create:
        insert_missing(connection, CUSTOMER, [{"name": name.strip(), "folded": folded(name)}])
    found: int | None = connection.execute(select(CUSTOMER.c.id).where(CUSTOMER.c.folded == folded(name))).scalar()
    return found


def board_id(connection: Connection, name: str, customer: str, *, create: bool = False) -> int | None:
    """Return the number of a board of a customer, or of none; None where it is not there."""
    owner = customer_id(connection, customer, create=create)
    if customer and owner is None:
        return None
    if create:
        row = {"customer_id": owner, "name": name.strip(), "folded": folded(name)}
        insert_missing(connection, BOARD, [row])
    owned = BOARD.c.customer_id.is_(None) if owner is None else BOARD.c.customer_id == owner
    found: int | None = connection.execute(select(BOARD.c.id).where(BOARD.c.folded == folded(name), owned)).scalar()
    return found


def scope_ids(connection: Connection, scope: Scope, *, create: bool = False) -> Scoped | None:
    """Return the numbers of a scope; None where its customer or board is not there."""
    if scope.board:
        board = board_id(connection, scope.board, scope.customer, create=create)
        return None if board is None else (None, board)
    if scope.customer:
        customer = customer_id(connection, scope.customer, create=create)
        return None if customer is None else (customer, None)
    return None, None


def scopes(connection: Connection, ids: Iterable[Scoped]) -> dict[Scoped, Scope]:
    """Return the scopes of numbers."""
    wanted = set(ids)
    boards = sorted({board for _, board in wanted if board is not None})
    rows = connection.execute(select(BOARD).where(among(BOARD.c.id, boards, connection))) if boards else ()
    owners: dict[int, tuple[str, int | None]] = {row.id: (row.name, row.customer_id) for row in rows}
    customers = {c for c, _ in wanted if c is not None} | {c for _, c in owners.values() if c is not None}
    names: dict[int, str] = {}
    if customers:
        asked = select(CUSTOMER).where(among(CUSTOMER.c.id, sorted(customers), connection))
        names = {row.id: row.name for row in connection.execute(asked)}
    found: dict[Scoped, Scope] = {}
    for customer, board in wanted:
        if board is None:
            found[customer, board] = Scope(names.get(customer, "") if customer is not None else "")
        else:
            name, owner = owners[board]
            found[customer, board] = Scope(names.get(owner, "") if owner is not None else "", name)
    return found


class Givers:
    """Who said what, written once for all that one of them said in a transaction."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._known: dict[Given, int] = {}

    def id_of(self, given: Given) -> int:
        """Return the number of *given*, writing it where this transaction has not yet."""
        if given not in self._known:
            row = {
                "who": given.who,
                "at": time_text(given.when),
                "source": given.source,
                "place": given.where,
                "link": given.link,
            }
            self._known[given] = self._connection.execute(insert(GIVEN).values(row).returning(GIVEN.c.id)).scalar_one()
        return self._known[given]


def given_of(row: Row[Any]) -> Given:
    """Return who said something, of a row with the columns of the table."""
    return Given(row.who, dt.datetime.fromisoformat(row.at), row.source, row.place, row.link)


def givens(connection: Connection, ids: Iterable[int]) -> dict[int, Given]:
    """Return who said something, by number."""
    rows = connection.execute(select(GIVEN).where(among(GIVEN.c.id, sorted(set(ids)), connection)))
    return {row.id: given_of(row) for row in rows}


def part_row(key: PartKey, ids: Scoped) -> dict[str, object]:
    """Return the row of a part."""
    return {
        "found_by": found_by(key),
        "key_text": key_text(key),
        "part_number": key.part_number,
        "footprint": key.footprint,
        "value": key.value,
        "reference": key.reference,
        "customer_id": ids[0],
        "board_id": ids[1],
    }


def key_of_row(row: Row[Any]) -> PartKey:
    """Return the key of a part, as it was written first."""
    return PartKey(row.part_number, row.footprint, row.value, row.reference)


def parts_with(connection: Connection, keys: Sequence[str], *, lock: bool = False) -> list[Row[Any]]:
    """Return the rows of the parts of these key texts, of every scope; with *lock* no other writer changes them."""
    if not keys:
        return []
    asked = select(PART).where(among(PART.c.key_text, keys, connection)).order_by(PART.c.id)
    return list(connection.execute(asked.with_for_update() if lock else asked))
