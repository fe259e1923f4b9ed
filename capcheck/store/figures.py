"""Figures of parts: what a statement would change, what is written, and what was written before; nothing is lost."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence, Set as AbstractSet
from typing import TYPE_CHECKING, Any, Final

import msgspec
from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import ColumnElement, bindparam, insert, select, update

from capcheck.model import LeadStyle, Mounting, Packaging
from capcheck.packages import sides
from capcheck.store.keys import (
    Givers,
    Scoped,
    among,
    givens,
    insert_missing,
    key_of_row,
    key_text,
    part_row,
    parts_with,
    scope_ids,
    scopes,
    time_text,
)
from capcheck.store.records import (
    COUNTS,
    FLAGS,
    UNITS,
    Change,
    Figure,
    Given,
    PartKey,
    Scope,
    Statement,
    Value,
    refuse_impossible,
)
from capcheck.store.tables import FIGURE, GIVEN, PART
from capcheck.values import Interval

if TYPE_CHECKING:
    from sqlalchemy import Connection, Row

_ENUMS: Final = {"mounting": Mounting, "lead_style": LeadStyle, "supply": Packaging}
Standing = tuple[str, float | None, float | None, str | None, int]
"""A figure that stands, beside its part: field, ends, word, and the number of who said it."""
standing_in: Final = msgspec.json.Decoder(list[Standing]).decode
"""Read the figures that stand from the text beside their part."""
_Slot = tuple[int, str]
"""The number of a part and a field of it."""
_Row = dict[str, object]
UNDONE: Final = "undone: "
"""What the place begins with of one who undoes what was given."""


class _Standing(Struct):
    """The figures that stand, as a batch of statements goes over them."""

    figures: dict[_Slot, Figure]
    numbers: dict[_Slot, int]
    """Those of them that the database holds already."""
    superseded: list[dict[str, object]]
    written: dict[_Slot, dict[str, object]]
    """New figures that stand; those superseded within the batch are in *passed*."""
    passed: list[dict[str, object]]
    withdrawn: set[int]
    """The parts of which a figure stands no more, with none in its place."""


def changes(connection: Connection, statements: Sequence[Statement]) -> list[Change]:
    """Return what the statements would change; nothing is written."""
    found, _ = _compared(connection, [_usual(s) for s in statements], None)
    return found


def record(connection: Connection, statements: Sequence[Statement]) -> list[Change]:
    """Write the statements within the transaction of *connection*; return what they changed."""
    usual = [_usual(statement) for statement in statements]
    made: dict[Scope, Scoped] = {}
    for scope in dict.fromkeys(s.scope for s in usual):
        ids = scope_ids(connection, scope, create=True)
        if ids is not None:
            made[scope] = ids
    rows = {(key_text(s.key), made[s.scope]): part_row(s.key, made[s.scope]) for s in usual}
    # In one order everywhere: two writers of the same parts would else wait for each other.
    insert_missing(connection, PART, [rows[at] for at in sorted(rows, key=_place_of)])
    found, standing = _compared(connection, usual, Givers(connection))
    _write(connection, standing)
    return found


def _place_of(at: tuple[str, Scoped]) -> tuple[str, int, int]:
    return at[0], at[1][0] or 0, at[1][1] or 0


def _write(connection: Connection, standing: _Standing) -> None:
    if standing.superseded:
        connection.execute(
            update(FIGURE)
            .where(FIGURE.c.id == bindparam("number"))
            .values(superseded_at=bindparam("at"), superseded_by=bindparam("by")),
            standing.superseded,
        )
    for rows in (standing.passed, list(standing.written.values())):
        if rows:
            connection.execute(insert(FIGURE), rows)
    touched = {int(str(row["part_id"])) for row in standing.written.values()} | standing.withdrawn
    if touched:
        connection.execute(
            update(PART).where(PART.c.id == bindparam("number")).values(standing=bindparam("figures")),
            [{"number": part, "figures": figures} for part, figures in _standing_texts(connection, touched).items()],
        )


def _standing_texts(connection: Connection, parts: AbstractSet[int]) -> dict[int, str]:
    """Return the figures of parts that stand, as one text a part."""
    columns = (FIGURE.c.field, FIGURE.c.low, FIGURE.c.high, FIGURE.c.word, FIGURE.c.given_id)
    asked = (
        select(FIGURE.c.part_id, *columns)
        .where(among(FIGURE.c.part_id, sorted(parts), connection), FIGURE.c.superseded_at.is_(None))
        .order_by(FIGURE.c.id)
    )
    found: dict[int, list[tuple[object, ...]]] = {part: [] for part in sorted(parts)}
    for part, *columns_of in connection.execute(asked):
        found[part].append(tuple(columns_of))
    return {part: msgspec.json.encode(figures).decode() for part, figures in found.items()}


def _compared(
    connection: Connection, statements: Sequence[Statement], givers: Givers | None
) -> tuple[list[Change], _Standing]:
    """Return what the statements change, and what is to be written; without *givers* nothing is to be."""
    known = {s.scope: scope_ids(connection, s.scope) for s in statements}
    texts = sorted({key_text(s.key) for s in statements})
    parts = {
        (row.key_text, (row.customer_id, row.board_id)): row
        for row in parts_with(connection, texts, lock=givers is not None)
    }
    standing = _standing(connection, [row.id for row in parts.values()])
    found: list[Change] = []
    unknown: dict[object, int] = {}
    for statement in statements:
        at = (key_text(statement.key), known[statement.scope])
        row = parts.get(at) if at[1] is not None else None  # type: ignore[arg-type]
        # A part that is not there yet has a number of its own below zero, where nothing is written.
        number = row.id if row is not None else unknown.setdefault((at, statement.scope), -1 - len(unknown))
        for field, value in _with_orientation(statement, number, standing).items():
            found.append(_change(statement, (number, field), value, standing, givers))
    return found, standing


def _standing(connection: Connection, parts: Sequence[int]) -> _Standing:
    standing = _Standing({}, {}, [], {}, [], set())
    if not parts:
        return standing
    for figure, row in _read(connection, among(FIGURE.c.part_id, parts, connection), FIGURE.c.superseded_at.is_(None)):
        standing.figures[row.part_id, row.field] = figure
        standing.numbers[row.part_id, row.field] = row.id
    return standing


def _change(statement: Statement, slot: _Slot, value: Value, standing: _Standing, givers: Givers | None) -> Change:
    field, given = slot[1], statement.given
    old = standing.figures.get(slot)
    same = old is not None and _same(old.value, value)
    change = Change(
        statement.key, statement.scope, field, value, given, "new" if old is None else "same" if same else "other", old
    )
    if same and old is not None and given.source != "held" and (not given.link or given.link == old.given.link):
        return change
    standing.figures[slot] = Figure(statement.key, statement.scope, field, value, given)
    if givers is None:
        return change
    by = givers.id_of(given)
    if slot in standing.written:
        standing.passed.append(
            {**standing.written.pop(slot), "superseded_at": time_text(given.when), "superseded_by": by}
        )
    elif slot in standing.numbers:
        standing.superseded.append({"number": standing.numbers.pop(slot), "at": time_text(given.when), "by": by})
    standing.written[slot] = {
        "part_id": slot[0],
        "field": field,
        **_columns(field, value),
        "given_id": by,
        "superseded_at": None,
        "superseded_by": None,
    }
    return change


def _usual(statement: Statement) -> Statement:
    """Return a statement with the longer side as length, unless it says how the body lies."""
    refuse_impossible(statement)
    values = dict(statement.values)
    length, width = values.get("length"), values.get("width")
    if isinstance(length, Interval) and isinstance(width, Interval) and not values.get("oriented"):
        values["length"], values["width"] = sides(length, width)
    return replace(statement, values=values)


def _with_orientation(statement: Statement, part: int, standing: _Standing) -> Mapping[str, Value]:
    """Return the values, and that nothing is known of how the body lies where other sides are stated without it."""
    values = statement.values
    lies = standing.figures.get((part, "oriented"))
    if "oriented" in values or lies is None or lies.value is not True:
        return values
    for field in ("length", "width"):
        old = standing.figures.get((part, field))
        if field in values and (old is None or not _same(old.value, values[field])):
            return {**values, "oriented": False}
    return values


def _same(one: Value, other: Value) -> bool:
    if isinstance(one, Interval) and isinstance(other, Interval):
        return math.isclose(one.low, other.low, rel_tol=1e-9) and (
            one.high == other.high or math.isclose(one.high, other.high, rel_tol=1e-9)
        )
    return isinstance(one, bool) is isinstance(other, bool) and one == other


def _columns(field: str, value: Value) -> dict[str, object]:
    """Return the columns of a figure's value."""
    if isinstance(value, Interval):
        high = None if math.isinf(value.high) else value.high
        return {"low": value.low, "high": high, "unit": UNITS[field], "word": None}
    if field in COUNTS:
        return {"low": float(value), "high": float(value), "unit": "", "word": None}
    word = ("yes" if value else "no") if isinstance(value, bool) else str(value)
    return {"low": None, "high": None, "unit": "", "word": word}


def value_of(field: str, low: float | None, high: float | None, word: str | None) -> Value:
    """Return the value of a figure's columns."""
    if field in UNITS:
        return Interval(low or 0.0, math.inf if high is None else high)
    if field in COUNTS:
        return int(low or 0)
    if field in FLAGS:
        return word == "yes"
    return _ENUMS[field](word or "") if field in _ENUMS else word or ""


def history(connection: Connection, key: PartKey, scope: Scope | None = None) -> list[Figure]:
    """Return every figure that was ever written of a part, the oldest first; of one scope, where it is named."""
    found = [figure for figure, _ in _read(connection, PART.c.key_text == key_text(key))]
    return [figure for figure in found if scope is None or figure.scope == scope]


def standing_figures(connection: Connection, key: PartKey) -> list[Figure]:
    """Return the figures of a part that stand, of every scope."""
    here = PART.c.key_text == key_text(key)
    return [figure for figure, _ in _read(connection, here, FIGURE.c.superseded_at.is_(None))]


def every_figure(connection: Connection) -> list[Figure]:
    """Return all figures that stand, by their parts."""
    return [figure for figure, _ in _read(connection, FIGURE.c.superseded_at.is_(None))]


def withdraw(connection: Connection, key: PartKey, fields: Iterable[str], given: Given, scope: Scope) -> list[Figure]:
    """Let figures of a part stand no more, with nothing in their place; return them as they stood."""
    ids = scope_ids(connection, scope)
    if ids is None:
        return []
    wanted = set(fields)
    rows = [row for row in parts_with(connection, [key_text(key)], lock=True) if (row.customer_id, row.board_id) == ids]
    standing = _standing(connection, [row.id for row in rows])
    gone = {slot: figure for slot, figure in standing.figures.items() if not wanted or slot[1] in wanted}
    if gone:
        by = Givers(connection).id_of(given)
        at = time_text(given.when)
        standing.withdrawn = {slot[0] for slot in gone}
        standing.superseded = [{"number": standing.numbers[slot], "at": at, "by": by} for slot in gone]
        _write(connection, standing)
    return list(gone.values())


def undo(connection: Connection, where: str, given: Given) -> list[Figure]:
    """Let what was given at places that begin with *where* stand no more, and what stood before it stand again.

    Returns the former. *given* says who undoes it, its place begins with ``UNDONE``: by that a later undoing knows
    that a figure was undone, and passes it over.
    """
    own = set(connection.scalars(select(GIVEN.c.id).where(GIVEN.c.place.startswith(where, autoescape=True))))
    mine = _read(connection, among(FIGURE.c.given_id, sorted(own), connection)) if own else []
    if not mine:
        return []
    parts = sorted({row.part_id for _, row in mine})
    standing = _standing(connection, parts)
    by, at = Givers(connection).id_of(given), time_text(given.when)
    # Those of them that stand no more are marked too, so that no undoing of what superseded them brings them back.
    passed = [row for _, row in mine if row.superseded_at]
    standing.superseded = [{"number": row.id, "at": row.superseded_at, "by": by} for row in passed]
    gone = [(figure, row) for figure, row in mine if not row.superseded_at]
    standing.superseded += [{"number": row.id, "at": at, "by": by} for _, row in gone]
    standing.withdrawn = {row.part_id for _, row in gone}
    standing.written = _stood_before(connection, {(row.part_id, row.field) for _, row in gone}, own)
    _write(connection, standing)
    return [figure for figure, _ in gone]


def _stood_before(connection: Connection, slots: AbstractSet[_Slot], own: AbstractSet[int]) -> dict[_Slot, _Row]:
    """Return, to be written anew, the last figure of each slot that is not of *own*, nor undone, nor withdrawn."""
    if not slots:
        return {}
    parts = among(FIGURE.c.part_id, sorted({part for part, _ in slots}), connection)
    rows = connection.execute(select(FIGURE).where(parts).order_by(FIGURE.c.id)).all()
    givers = {(row.part_id, row.field, row.given_id) for row in rows}
    ends = givens(connection, {row.superseded_by for row in rows if row.superseded_by})
    found: dict[_Slot, _Row] = {}
    for row in rows:
        slot = row.part_id, row.field
        end = ends.get(row.superseded_by)
        if slot not in slots or row.given_id in own or (end is not None and end.where.startswith(UNDONE)):
            continue
        if (*slot, row.superseded_by) in givers:
            found[slot] = {
                **{name: value for name, value in row._mapping.items() if name != "id"},  # noqa: SLF001 - SQLAlchemy's
                "superseded_at": None,
                "superseded_by": None,
            }
        else:
            found.pop(slot, None)
    return found


def _read(connection: Connection, *conditions: ColumnElement[bool]) -> list[tuple[Figure, Row[Any]]]:
    """Return figures with their rows, by the part and the order in which they were written."""
    asked = (
        select(FIGURE, PART.c.part_number, PART.c.footprint, PART.c.value, PART.c.reference)
        .add_columns(PART.c.customer_id, PART.c.board_id)
        .join(PART, PART.c.id == FIGURE.c.part_id)
        .where(*conditions)
        .order_by(FIGURE.c.part_id, FIGURE.c.id)
    )
    rows = list(connection.execute(asked))
    said = givens(connection, (row.given_id for row in rows))
    named = scopes(connection, ((row.customer_id, row.board_id) for row in rows))
    found = []
    for row in rows:
        past = None if row.superseded_at is None else dt.datetime.fromisoformat(row.superseded_at)
        value = value_of(row.field, row.low, row.high, row.word)
        scope = named[row.customer_id, row.board_id]
        figure = Figure(key_of_row(row), scope, row.field, value, said[row.given_id], past)
        found.append((figure, row))
    return found
