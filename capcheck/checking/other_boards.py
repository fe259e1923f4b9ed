"""What the files of two boards state differently of one maker's part: one of them is wrong, and nobody saw it yet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from capcheck.model import Discrepancy, Severity, Topic, say
from capcheck.values import LENGTH, MASS, NUMBER, Interval, show

if TYPE_CHECKING:
    from collections.abc import Mapping

    from capcheck.model import Board
    from capcheck.store import Store, Used, UsedOn

_SIDES: Final = ("length", "width")
_DIMENSIONS: Final = {"mass": MASS, "pins": NUMBER}


def stated_otherwise(board: Board, store: Store, customer: str) -> list[Discrepancy]:
    """Return a discrepancy for each size of a part number that this board's files and another board's exclude.

    Of another board its latest revision counts that uses the part. A size that the store keeps for the part is left
    out: it is weighed with the other sources.
    """
    from capcheck.store import BoardKey, used_parts

    own = {one.key.compared: one for one in used_parts(board) if one.key.part_number and one.stated}
    latest: dict[tuple[object, ...], UsedOn] = {}
    for other in store.used_on([one.key for one in own.values()]):
        is_this = _same_board(other.board, BoardKey(board.name, customer))
        if not is_this and other.used.stated:
            latest[other.used.key.compared, other.board] = other
    found = []
    for other in latest.values():
        one = own[other.used.key.compared]
        differing = _differing(one.stated, other.used.stated)
        # What the store itself says of the part is a source of this board's, and tells its own contradiction.
        kept = {figure.field for figure in store.figures(one.key)} if differing else ()
        found += [_told(one, other, field) for field in differing if field not in kept]
    return found


def _same_board(one: object, other: object) -> bool:
    return str(one).casefold() == str(other).casefold()


def _differing(own: Mapping[str, tuple[Interval, str]], other: Mapping[str, tuple[Interval, str]]) -> list[str]:
    mine, theirs = _in_order(own), _in_order(other)
    return [field for field, value in mine.items() if field in theirs and not value.overlaps(theirs[field])]


def _in_order(stated: Mapping[str, tuple[Interval, str]]) -> dict[str, Interval]:
    """Return the sizes, the longer side as length: which is which is each customer's own habit."""
    found = {field: value for field, (value, _) in stated.items()}
    if all(side in found for side in _SIDES):
        from capcheck.packages import sides

        found["length"], found["width"] = sides(found["length"], found["width"])
    return found


def _told(own: Used, other: UsedOn, field: str) -> Discrepancy:
    mine, theirs = _in_order(own.stated)[field], _in_order(other.used.stated)[field]
    customer = other.board.customer
    return Discrepancy(
        Topic.STATED_ELSEWHERE,
        say(
            "store.stated otherwise",
            part=own.key.part_number,
            field=field.replace("_", " "),
            own=_shown(field, mine),
            place=own.stated[field][1],
            theirs=_shown(field, theirs),
            other_place=other.used.stated[field][1],
            board=other.board.name,
            whose=say("store.of customer", customer=customer) if customer else say("store.nothing more"),
            date=other.given.date,
        ),
        own.refs,
        severity=Severity.ADVICE,
    )


def _shown(field: str, value: Interval) -> str:
    return show(value.low, value.high, _DIMENSIONS.get(field, LENGTH))
