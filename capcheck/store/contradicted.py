"""What the files of kept boards state that figures of the store exclude: either may be right until it is settled."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from sqlalchemy import select

from capcheck.packages import sides
from capcheck.store.boards import stated_in
from capcheck.store.figures import Standing, value_of
from capcheck.store.keys import among_sent, givens, many, rows_of, scopes
from capcheck.store.records import Given
from capcheck.store.tables import REVISION, USED_ON
from capcheck.values import Interval

if TYPE_CHECKING:
    from sqlalchemy import Connection, Select


class Contradiction(Struct, frozen=True):
    """What a kept board's files state of a part, as far as its figures exclude it."""

    part: int
    """The number of the part in the store."""
    values: Mapping[str, Any]
    """The sizes as intervals and the counts as numbers, by their fields."""
    given: Given
    """Who kept the board, and where it is stated."""


@cache
def _uses_asked(dialect: str) -> Select[Any]:
    return (
        select(USED_ON.c.key_text, USED_ON.c.stated, REVISION.c.board_id, REVISION.c.given_id)
        .join(REVISION, REVISION.c.id == USED_ON.c.revision_id)
        .where(among_sent(USED_ON.c.key_text, "texts", dialect), USED_ON.c.stated != "{}")
        .order_by(USED_ON.c.id)
    )


def contradictions(
    connection: Connection, known: Mapping[int, tuple[str, list[Standing]]], own: Collection[int]
) -> list[Contradiction]:
    """Return what the files of kept boards state that figures exclude, and nobody held the figures against.

    *known* has the key's text and the figures of parts by their numbers. Of a board its latest revision counts; those
    of the boards *own* are a source of their own.
    """
    dialect = connection.dialect.name
    texts = many(sorted({text for text, _ in known.values()}), dialect)
    uses: dict[str, dict[int, tuple[str, int]]] = {}
    for text, stated, board, given in rows_of(connection, _uses_asked(dialect), {"texts": texts}):
        if board not in own:
            uses.setdefault(text, {})[board] = (stated, given)
    excluded = [
        (part, board, given, against)
        for part, (text, figures) in known.items()
        for board, (stated, given) in uses.get(text, {}).items()
        if (against := _excluded(figures, stated))
    ]
    if not excluded:
        return []
    said = givens(connection, {by for *_, given, against in excluded for by in (given, *(a[-1] for a in against))})
    names = {board: scope.board for (_, board), scope in scopes(connection, ((None, e[1]) for e in excluded)).items()}
    return [
        found
        for part, board, given, against in excluded
        if (found := _not_held(part, names[board], said[given], against, said)) is not None
    ]


def _excluded(figures: Iterable[Standing], stated: str) -> list[tuple[str, Interval | int, str, int]]:
    """Return what files state that figures exclude: field, value, place, and the number of who said the figure."""
    measures = _longer_first(stated_in(stated))
    found: list[tuple[str, Interval | int, str, int]] = []
    for field, low, high, word, by in figures:
        if field not in measures:
            continue
        kept, (value, place) = value_of(field, low, high, word), measures[field]
        if isinstance(kept, Interval):
            if not kept.overlaps(value):
                found.append((field, value, place, by))
        elif not value.low <= int(kept) <= value.high:
            # Where two rows of the board count differently, both differ from the figure.
            found.append((field, int(value.low), place, by))
    return found


def _not_held(
    part: int,
    board: str,
    kept: Given,
    against: Iterable[tuple[str, Interval | int, str, int]],
    said: Mapping[int, Given],
) -> Contradiction | None:
    """Return what is left where some figures were held against what a board, kept by somebody, states."""
    values: dict[str, Interval | int] = {}
    for field, value, place, by in against:
        if said[by].source != "held" or said[by].when < kept.when:
            values[field] = value
            where = f"{board}, {place}"
    return Contradiction(part, values, Given(kept.who, kept.when, "stated", where)) if values else None


def _longer_first(stated: Mapping[str, tuple[Interval, str]]) -> Mapping[str, tuple[Interval, str]]:
    """Return what files state with the longer side as length, as the store keeps it."""
    if not {"length", "width"} <= stated.keys():
        return stated
    (length, of_length), (width, of_width) = stated["length"], stated["width"]
    length, width = sides(length, width)
    return {**stated, "length": (length, of_length), "width": (width, of_width)}
