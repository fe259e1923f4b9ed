"""What the store knows of a board's parts, as a library: one more source, of the shop's library's rank."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

import msgspec
from sqlalchemy import or_, select

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
from capcheck.store.boards import UsedOn, board_keys, used_on_of
from capcheck.store.figures import value_of
from capcheck.store.keys import PATTERNS, SEPARATOR, among, folded, givens, key_text
from capcheck.store.records import BoardKey, Given
from capcheck.store.tables import BOARD, CUSTOMER, PART
from capcheck.values import Interval

if TYPE_CHECKING:
    from sqlalchemy import Connection

_SIDES: Final = frozenset(("length", "width", "oriented"))
"""Fields that are one statement: which side is which hangs on all of them."""
_Standing = tuple[str, float | None, float | None, str | None, int]
"""A figure that stands: field, ends, word, and the number of who said it."""
_FIGURES: Final = msgspec.json.Decoder(list[_Standing])
_Row = tuple[int, str, str, str, str, str, str, int | None, int | None]
_Known = tuple[_Row, list[_Standing]]
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
    for_whom = or_(PART.c.customer_id.is_(None), PART.c.customer_id == owner) if owner else PART.c.customer_id.is_(None)
    on_what = or_(PART.c.board_id.is_(None), PART.c.board_id.in_(boards)) if boards else PART.c.board_id.is_(None)
    asked = select(*_COLUMNS)
    keys = sorted(_keys(types))
    # All rows at once: fetched one by one, a thousand of them take longer than the database needs to find them.
    found = connection.execute(asked.where(among(PART.c.found_by, keys, connection), for_whom, on_what)).all()
    rows: list[_Row] = list(map(tuple, found))
    if boards:
        found = connection.execute(asked.where(PART.c.board_id.in_(boards), PART.c.reference != "")).all()
        rows += map(tuple, found)
    is_scoped = owner is not None or bool(boards)
    if is_scoped:
        rows.sort(key=_narrowest_first)
    known = [(row, _FIGURES.decode(row[_AT_STANDING])) for row in rows]
    said = givens(connection, {figure[_AT_GIVEN] for _, figures in known for figure in figures})
    told = {number: _told(given) for number, given in said.items()}
    entries = _entries(_not_said_before(known) if is_scoped else known, told)
    return build_library(path, [*entries, *_contradictions(connection, known, said, boards)])


def _contradictions(
    connection: Connection, known: Sequence[_Known], said: Mapping[int, Given], boards: Sequence[int]
) -> Iterator[Entry]:
    """Yield what the files of kept boards state that figures of *known* parts exclude; *boards* are the board's own."""
    uses: dict[str, list[UsedOn]] = {}
    for use in used_on_of(connection, *(row[_AT_KEY] for row, _ in known if row[_AT_NUMBER])):
        if use.used.stated:
            uses.setdefault(key_text(use.used.key), []).append(use)
    if uses:
        own = board_keys(connection, boards)
        for row, figures in known:
            if row[_AT_KEY] in uses:
                yield from _against(row, figures, said, uses[row[_AT_KEY]], own=own)


def _against(
    row: _Row,
    figures: list[_Standing],
    said: Mapping[int, Given],
    uses: Sequence[UsedOn],
    *,
    own: Container[BoardKey],
) -> Iterator[Entry]:
    """Yield what the files of kept boards state that a part's figures exclude, and nobody held the figures against.

    Of a board its latest revision counts; those of the board itself are a source of their own.
    """
    part, _, number, *_ = row
    standing = {field: (value_of(field, low, high, word), said[by]) for field, low, high, word, by in figures}
    latest = {use.board: use for use in uses}
    for count, use in enumerate(one for at, one in latest.items() if at not in own):
        fields: dict[str, Any] = {}
        for field, (value, place) in _longer_first(use.used.stated).items():
            kept, by = standing.get(field, (None, None))
            if kept is None or by is None or isinstance(kept, str) or _bounds(kept).overlaps(value):
                continue
            if by.source == "held" and by.when >= use.given.when:
                continue
            fields[field] = value if isinstance(kept, Interval) else round(value.low)
            where = place
        if fields:
            given = Given(use.given.who, use.given.when, "stated", f"{use.board.name}, {where}")
            text = f"store {part} against {count}"
            candidate = Candidate(
                Basis.LIBRARY, Trust.LIBRARY, Column.LIBRARY, text, _told(given), is_unsettled=True, **fields
            )
            yield Entry(number, "", candidate, text)


def _bounds(value: Interval | int) -> Interval:
    return value if isinstance(value, Interval) else Interval.exactly(value)


def _longer_first(stated: Mapping[str, tuple[Interval, str]]) -> Mapping[str, tuple[Interval, str]]:
    """Return what files state with the longer side as length, as the store keeps it."""
    if not {"length", "width"} <= stated.keys():
        return stated
    (length, of_length), (width, of_width) = stated["length"], stated["width"]
    length, width = sides(length, width)
    return {**stated, "length": (length, of_length), "width": (width, of_width)}


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


def _candidates(part: int, figures: Sequence[_Standing], told: Mapping[int, Said]) -> Iterator[Candidate]:
    """Yield what stands of one part: a candidate for each who said something of it, the sides of the body together."""
    by: dict[int, dict[str, Any]] = {}
    of_sides: list[int] = []
    for field, low, high, word, given in figures:
        if field in _SIDES:
            of_sides.append(given)
            given = of_sides[0]  # noqa: PLW2901  which side is which hangs on all of them
        by.setdefault(given, {})[field] = value_of(field, low, high, word)
    for given, fields in by.items():
        said = told[given]
        if of_sides and given == of_sides[0]:
            if "length" in fields and "width" in fields and not fields.get("oriented"):
                fields["length"], fields["width"] = sides(fields["length"], fields["width"])
            for other in dict.fromkeys(of_sides[1:]):
                said = said if other == given else say("store.and", one=said, other=told[other])
        family = family_named(fields["family"]) if "family" in fields else None
        # Two statements of one part are told apart by the text; a reader is told who made them.
        text = f"store {part}.{given}"
        yield Candidate(Basis.LIBRARY, Trust.LIBRARY, Column.LIBRARY, text, said, family_key=family, **fields)


def _told(given: Given) -> Said:
    """Return who said something and when, as a statement."""
    link = say("store.link", link=given.link) if given.link else say("store.nothing more")
    at = say("store.place", place=given.where) if given.where else say("store.nothing more")
    told = {
        "answered": say("store.answered", who=given.who, date=given.date, at=at, link=link),
        "stated": say("store.stated", who=given.who, date=given.date, at=at, link=link),
        "imported": say("store.imported", who=given.who, date=given.date, at=at, link=link),
        "entered": say("store.entered", who=given.who, date=given.date, at=at, link=link),
        "held": say("store.held", who=given.who, date=given.date, at=at, link=link),
    }
    return told[given.source]
