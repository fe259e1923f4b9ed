"""What a board's own files state of its parts, for the shop to keep: nothing is kept that nobody takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from capcheck.model import UNREAD_SIZE, about, unread
from capcheck.store.boards import Used
from capcheck.store.records import COUNTS, UNITS, Given, PartKey, Scope, Statement, Value
from capcheck.values import Interval

if TYPE_CHECKING:
    from capcheck.model import Board


def used_parts(board: Board) -> list[Used]:
    """Return the parts that a board uses, each once, with its references and what the board's own files state of it.

    Where two of its sources differ, what they state together counts: the hull of both. A row of which the columns may
    have shifted states nothing.
    """
    refs: dict[int, list[str]] = {}
    for ref, index in zip(board.placements.ref, board.placements.part_type.tolist(), strict=True):
        if index >= 0:
            refs.setdefault(index, []).append(ref)
    found: dict[tuple[str, ...], Used] = {}
    for index, own in refs.items():
        name = board.types[index]
        for known_as in (name, *name.others):
            key = PartKey.of(known_as)
            if key is None:
                continue
            stated: dict[str, tuple[Interval, str]] = {}
            for given in () if name.doubt else (known_as.dimensions, *known_as.other_dimensions):
                _add(stated, given)
            before = found.get(key.compared)
            if before is not None:
                _add(stated, before.stated)
                own = [*before.refs, *own]  # noqa: PLW2901  the references of all rows of the part
            found[key.compared] = Used(before.key if before else key, tuple(dict.fromkeys(own)), stated)
    return [
        Used(one.key, one.refs, {field: (value, _short(place)) for field, (value, place) in one.stated.items()})
        for one in found.values()
    ]


def _add(stated: dict[str, tuple[Interval, str]], given: Mapping[str, tuple[Interval, str]]) -> None:
    """Add what a source states: where another states the size too, both count."""
    for field, (value, place) in given.items():
        # A size that nobody could read, or that is stated with room, proves nothing on another board either.
        proves = not {unread(field), about(field), UNREAD_SIZE} & given.keys()
        if proves and (field in UNITS or field in COUNTS):
            before = stated.get(field)
            stated[field] = (value, place) if before is None else (before[0].hull(value), before[1])


def worth_offering(used: Sequence[Used], given: Given, scope: Scope, *, board: str = "") -> list[Statement]:
    """Return what the files state of parts, as statements for the shop's store; places name the *board* they lie with.

    A maker's part number is the same part for everybody; a value and a footprint are the customer's own words, and are
    offered for the customer's or the board's scope alone.
    """
    found = []
    for one in used:
        if not one.key.part_number and scope == Scope():
            continue
        by_place: dict[str, dict[str, Value]] = {}
        for field, (value, place) in one.stated.items():
            kept = _kept(field, value)
            if kept is not None:
                by_place.setdefault(place, {})[field] = kept
        for place, values in by_place.items():
            # Every board has a bom.csv; where its name says who states it, it need not say it twice.
            where = _short(place) if board in {"", given.who} else f"{board}, {_short(place)}"
            said = Given(given.who, given.when, "stated", where, given.link)
            found.append(Statement(one.key, values, said, scope))
    return found


def _short(place: str) -> str:
    """Return a place without the folders before its file, which are of one machine."""
    return place.rpartition("/")[2].rpartition("\\")[2]


def _kept(field: str, value: Interval) -> Value | None:
    """Return a stated size as the store keeps it; None for one that no part has."""
    if field in COUNTS:
        return int(value.low) if value.is_exact and value.low == int(value.low) and value.low > 0 else None
    return value if value.low >= 0 and value.high > 0 and value.is_known else None
