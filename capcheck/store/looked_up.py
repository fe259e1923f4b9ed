"""What the store knows of a board's parts, as a library: one more source, of the shop's library's rank."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import bindparam, or_, select

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
from capcheck.store.contradicted import Contradiction, contradictions
from capcheck.store.figures import Standing, standing_in, value_of
from capcheck.store.keys import PATTERNS, SEPARATOR, among_sent, folded, many, rows_of
from capcheck.store.tables import BOARD, CUSTOMER, GIVEN, PART

if TYPE_CHECKING:
    from sqlalchemy import Connection, Select

_SIDES: Final = frozenset(("length", "width", "oriented"))
"""Fields that are one statement: which side is which hangs on all of them."""
_Row = tuple[int, str, str, str, str, str, str, int | None, int | None]
_Known = tuple[_Row, list[Standing]]
"""A part's row with its figures that stand."""
_COLUMNS: Final[tuple[Any, ...]] = (
    PART.c.id,
    PART.c.key_text,
    PART.c.part_number,
    PART.c.footprint,
    PART.c.value,
    PART.c.reference,
    PART.c.standing,
    PART.c.board_id,
    PART.c.customer_id,
)
_AT_KEY: Final = 1
_AT_NUMBER: Final = 2
_AT_STANDING: Final = 6
_AT_GIVEN: Final = 4
"""Where a figure has who said it."""


def library_of_parts(
    connection: Connection, types: Iterable[PartName], *, board: str = "", customer: str = "", path: str = ""
) -> Library:
    """Return what the store knows of parts by these names, on a board of this name, of this customer.

    What is known for the board goes before what is known for the customer, and that before what holds for everyone,
    figure by figure. *path* is what the library is called.
    """
    owner, boards = _scope(connection, board, customer)
    dialect = connection.dialect.name
    sent = {"keys": many(sorted(_keys(types)), dialect), "owner": owner, "boards": many(boards, dialect)}
    rows: list[_Row] = rows_of(connection, _parts_asked(dialect), sent)
    if boards:
        rows += rows_of(connection, _references_asked(dialect), sent)
    if owner is not None or boards:
        rows.sort(key=_narrowest_first)
    known = [(row, standing_in(row[_AT_STANDING])) for row in rows]
    told = _told_by(connection, {figure[_AT_GIVEN] for _, figures in known for figure in figures})
    is_once = len({row[_AT_KEY] for row in rows}) == len(rows)
    entries = _entries(known if is_once else _not_said_before(known), told)
    numbered = {row[0]: (row[_AT_KEY], figures) for row, figures in known if row[_AT_NUMBER]}
    if against := contradictions(connection, numbered, boards):
        number_of = {row[0]: row[_AT_NUMBER] for row, _ in known}
        entries += [_against(one, number_of[one.part], count) for count, one in enumerate(against)]
    return build_library(path, entries)


def _against(one: Contradiction, number: str, count: int) -> Entry:
    text, by = f"store {one.part} against {count}", one.given
    told = _told(by.who, by.date, by.source, by.where, by.link)
    candidate = Candidate(Basis.LIBRARY, Trust.LIBRARY, Column.LIBRARY, text, told, is_unsettled=True, **one.values)
    return Entry(number, "", candidate, text)


# Each statement of a look-up is made once: to make it took longer than to run it.


@cache
def _parts_asked(dialect: str) -> Select[Any]:
    """Return the statement that finds parts by keys, of what holds for everyone, for one customer or for boards."""
    return select(*_COLUMNS).where(
        among_sent(PART.c.found_by, "keys", dialect),
        or_(PART.c.customer_id.is_(None), PART.c.customer_id == bindparam("owner")),
        or_(PART.c.board_id.is_(None), among_sent(PART.c.board_id, "boards", dialect)),
    )


@cache
def _references_asked(dialect: str) -> Select[Any]:
    """Return the statement that finds the parts that boards name by a reference."""
    return select(*_COLUMNS).where(among_sent(PART.c.board_id, "boards", dialect), PART.c.reference != "")


@cache
def _said_asked(dialect: str) -> Select[Any]:
    """Return the statement that finds who said something."""
    columns = (GIVEN.c.id, GIVEN.c.who, GIVEN.c.at, GIVEN.c.source, GIVEN.c.place, GIVEN.c.link)
    return select(*columns).where(among_sent(GIVEN.c.id, "ids", dialect))


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


def _narrowest_first(row: _Row) -> tuple[bool, bool, int]:
    *_, board, customer = row
    return board is None, customer is None, row[0]


def _not_said_before(known: Iterable[_Known]) -> Iterator[_Known]:
    """Yield the parts of several scopes, the narrowest first, each with the figures that no narrower scope states."""
    stated: dict[str, set[str]] = {}
    for row, figures in known:
        before = stated.setdefault(row[_AT_KEY], set())
        fresh = [figure for figure in figures if figure[0] not in before]
        if before & _SIDES:
            fresh = [figure for figure in fresh if figure[0] != "oriented"]
        before.update(figure[0] for figure in fresh)
        yield row, fresh


def _entries(known: Iterable[_Known], told: Mapping[int, Said]) -> list[Entry]:
    return [
        Entry(number, footprint, candidate, candidate.text, "" if number else value, (reference,) if reference else ())
        for (part, _, number, footprint, value, reference, *_), figures in known
        for candidate in _candidates(part, figures, told)
    ]


def _candidates(part: int, figures: Sequence[Standing], told: Mapping[int, Said]) -> Iterator[Candidate]:
    """Yield what stands of one part: a candidate for each who said something of it, the sides of the body together."""
    by: dict[int, dict[str, Any]] = {}
    of_sides: list[int] = []
    for field, low, high, word, given in figures:
        if field in _SIDES:
            of_sides.append(given)
            given = of_sides[0]  # noqa: PLW2901  which side is which hangs on all of them
        if given not in by:
            by[given] = {}
        by[given][field] = value_of(field, low, high, word)
    for given, fields in by.items():
        said = told[given]
        if of_sides and given == of_sides[0]:
            if "width" in fields and "length" in fields and not fields.get("oriented"):
                fields["length"], fields["width"] = sides(fields["length"], fields["width"])
            for other in dict.fromkeys(of_sides) if len(of_sides) > 1 else ():
                said = said if other == given else say("store.and", one=said, other=told[other])
        if "family" in fields:
            fields["family_key"] = family_named(fields["family"])
        # Two statements of one part are told apart by the text; a reader is told who made them.
        text = f"store {part}.{given}"
        yield Candidate(Basis.LIBRARY, Trust.LIBRARY, Column.LIBRARY, text, said, **fields)


def _told_by(connection: Connection, ids: set[int]) -> dict[int, Said]:
    """Return who said something and when, by number, as statements."""
    dialect = connection.dialect.name
    rows = rows_of(connection, _said_asked(dialect), {"ids": many(sorted(ids), dialect)})
    return {number: _told(who, _day_of(at), source, place, link) for number, who, at, source, place, link in rows}


@lru_cache
def _day_of(at: str) -> str:
    return dt.datetime.fromisoformat(at).date().isoformat()


_NOTHING_MORE: Final = say("store.nothing more")
_SENTENCES: Final = {
    "answered": "store.answered",
    "stated": "store.stated",
    "imported": "store.imported",
    "entered": "store.entered",
    "held": "store.held",
}


def _told(who: str, date: str, source: str, place: str, link: str) -> Said:
    at = say("store.place", place=place) if place else _NOTHING_MORE
    more = say("store.link", link=link) if link else _NOTHING_MORE
    return say(_SENTENCES[source], who=who, date=date, at=at, link=more)
