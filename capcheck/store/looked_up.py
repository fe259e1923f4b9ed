"""What the store knows of a board's parts, as a library: one more source, of the shop's library's rank."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import or_, select

from capcheck.lexicon import sentence
from capcheck.model import Basis, PartName, Said, say
from capcheck.packages import (
    Candidate,
    Column,
    Entry,
    Library,
    Trust,
    build_library,
    family_named,
    folded_number,
    folded_value,
    sides,
)
from capcheck.store.figures import value_of
from capcheck.store.keys import PATTERNS, SEPARATOR, among, folded, givens
from capcheck.store.records import Given, Value
from capcheck.store.tables import BOARD, CUSTOMER, FIGURE, PART
from capcheck.values import Interval

if TYPE_CHECKING:
    from sqlalchemy import Connection, Row

_SIDES: Final = ("length", "width", "oriented")
"""Fields that are one statement: which side is which hangs on all of them."""


def library_of_parts(
    connection: Connection, types: Iterable[PartName], *, board: str = "", customer: str = "", path: str = ""
) -> Library:
    """Return what the store knows of parts by these names, on a board of this name, of this customer.

    What is known for the board goes before what is known for the customer, and that before what holds for everyone,
    figure by figure. *path* is what the library is called.
    """
    owner, boards = _scope(connection, board, customer)
    for_whom = or_(PART.c.customer_id.is_(None), PART.c.customer_id == owner) if owner else PART.c.customer_id.is_(None)
    on_what = or_(PART.c.board_id.is_(None), PART.c.board_id.in_(boards)) if boards else PART.c.board_id.is_(None)
    columns = (PART.c.key_text, PART.c.part_number, PART.c.footprint, PART.c.value, PART.c.reference)
    asked = (
        select(PART.c.id, PART.c.board_id, PART.c.customer_id, *columns)
        .add_columns(FIGURE.c.field, FIGURE.c.low, FIGURE.c.high, FIGURE.c.word, FIGURE.c.given_id)
        .join(FIGURE, FIGURE.c.part_id == PART.c.id)
        .where(FIGURE.c.superseded_at.is_(None))
    )
    keys = sorted(_keys(types))
    rows = list(connection.execute(asked.where(among(PART.c.found_by, keys, connection), for_whom, on_what)))
    if boards:
        rows += connection.execute(asked.where(PART.c.board_id.in_(boards), PART.c.reference != ""))
    said = givens(connection, {row.given_id for row in rows})
    told = {number: _told(given) for number, given in said.items()}
    return build_library(path, _entries(rows, told))


def _scope(connection: Connection, board: str, customer: str) -> tuple[int | None, list[int]]:
    owner = None
    if folded(customer):
        owner = connection.execute(select(CUSTOMER.c.id).where(CUSTOMER.c.folded == folded(customer))).scalar()
    if not folded(board):
        return owner, []
    rows = connection.execute(select(BOARD.c.id, BOARD.c.customer_id).where(BOARD.c.folded == folded(board)))
    # A customer's own board of this name goes before one that is nobody's.
    owned = sorted((row.customer_id is None, row.id) for row in rows if row.customer_id in {None, owner})
    return owner, [number for _, number in owned]


def _keys(types: Iterable[PartName]) -> set[str]:
    keys = {PATTERNS}
    for name in types:
        for known_as in (name, *name.others):
            footprint = known_as.footprint.casefold()
            if number := folded_number(known_as.part_number):
                keys.add(f"n{number}")
            if footprint:
                keys.add(f"f{footprint}")
                if value := folded_value(known_as.value):
                    keys.add(f"v{value}{SEPARATOR}{footprint}")
    return keys


def _entries(rows: Sequence[Row[Any]], told: Mapping[int, Said]) -> list[Entry]:
    parts: dict[int, list[Row[Any]]] = {}
    for row in rows:
        parts.setdefault(row.id, []).append(row)
    found: list[Entry] = []
    stated: dict[str, set[str]] = {}
    for figures in sorted(parts.values(), key=_narrowest_first):
        first = figures[0]
        before = stated.setdefault(first.key_text, set())
        fresh = {row.field: row for row in figures if row.field not in before}
        if "oriented" in fresh and before & set(_SIDES):
            del fresh["oriented"]
        before.update(fresh)
        for candidate in _candidates(fresh, told):
            references = (first.reference,) if first.reference else ()
            value = "" if first.part_number else first.value
            where = sentence(candidate.scheme)
            found.append(Entry(first.part_number, first.footprint, candidate, where, value, references))
    return found


def _narrowest_first(figures: Sequence[Row[Any]]) -> tuple[bool, bool, int]:
    return figures[0].board_id is None, figures[0].customer_id is None, figures[0].id


def _candidates(fresh: Mapping[str, Row[Any]], told: Mapping[int, Said]) -> list[Candidate]:
    """Return what stands of one part: a candidate for each who said something of it, the sides of the body together."""
    by: dict[tuple[int, ...], dict[str, Value]] = {}
    together = tuple(dict.fromkeys(fresh[field].given_id for field in _SIDES if field in fresh))
    for field, row in fresh.items():
        value = value_of(field, row.low, row.high, row.word)
        by.setdefault(together if field in _SIDES else (row.given_id,), {})[field] = value
    return [_candidate(values, [told[number] for number in said], fresh) for said, values in by.items()]


def _candidate(values: dict[str, Value], said: Sequence[Said], fresh: Mapping[str, Row[Any]]) -> Candidate:
    fields: dict[str, Any] = dict(values)
    length, width = fields.get("length"), fields.get("width")
    if isinstance(length, Interval) and isinstance(width, Interval) and not fields.get("oriented"):
        fields["length"], fields["width"] = sides(length, width)
    by = said[0]
    for other in said[1:]:
        by = say("store.and", one=by, other=other)
    field = next(iter(values))
    return Candidate(
        Basis.LIBRARY,
        Trust.LIBRARY,
        Column.LIBRARY,
        # Two statements of one part are told apart by it; a reader is told who said it.
        f"store {fresh[field].id} {field}",
        by,
        family_key=family_named(str(fields.get("family", ""))),
        **fields,
    )


def _told(given: Given) -> Said:
    """Return who said something and when, as a statement."""
    link = say("store.link", link=given.link) if given.link else say("store.nothing more")
    at = say("store.place", place=given.where) if given.where else say("store.nothing more")
    told = {
        "answered": say("store.answered", who=given.who, date=given.date, at=at, link=link),
        "stated": say("store.stated", who=given.who, date=given.date, at=at, link=link),
        "imported": say("store.imported", who=given.who, date=given.date, at=at, link=link),
        "entered": say("store.entered", who=given.who, date=given.date, at=at, link=link),
    }
    return told[given.source]
