"""Parts for which wash, reflow or the hand makes an exception, by the class of part that their names tell."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from capcheck.lists.part_list import ListRow, PartList, body_of_type, fitted_by_type, label_of_type, refs_of
from capcheck.model import Board, Body, Mounting, Said, say
from capcheck.packages import class_named

if TYPE_CHECKING:
    from capcheck.packages import PartClass

COLUMNS = ("part number", "class", "mounting", "placed by", "reflow", "aqueous wash")
_YES_NO = {True: "yes", False: "no", None: None}


def handling_list(board: Board) -> PartList:
    """Return a row for each part number with an exception or a doubt, and one for all others together.

    Exceptions are a class that is placed by hand, does not survive reflow or must not be washed unsealed, leads
    through holes, and a text that says so. A class that says nothing of a step leaves it not known.
    """
    hand = _by_hand_in_text(board)
    rows: dict[tuple[str, tuple[str | None, ...], Said], list[int]] = {}
    others: list[int] = []
    for index, same in sorted(fitted_by_type(board).items(), key=lambda item: label_of_type(board, item[0])):
        body = body_of_type(board, index)
        known = None if body.part_class is None else class_named(body.part_class)
        for row in same:
            text = hand.get(int(board.placements.bom_line[row]), "")
            if known is None and body.mounting is Mounting.SURFACE and not text:
                others.append(row)
                continue
            key = label_of_type(board, index), _cells(body, known, text), _source(body, known, text)
            rows.setdefault(key, []).append(row)
    listed = [
        ListRow(refs_of(board, same), (label, *cells), source)
        for (label, cells, source), same in sorted(rows.items(), key=lambda item: _rank(item[0][1]))
    ]
    if others:
        cells = ("all others", "none", str(Mounting.SURFACE), "machine", None, None)
        listed.append(ListRow(refs_of(board, others), cells, say("lists.no class")))
    count = sum(map(len, rows.values()))
    total = say(
        "lists.handled", fitted=count + len(others), listed=count, washed=_count(rows, 4), molten=_count(rows, 3)
    )
    alone = [ref for line in board.bom or () if line.fitted for ref in line.refs if ref not in _bases(board)]
    notes = [say("lists.not in placements", refs=alone)] if alone else []
    return PartList("handling", board.name, COLUMNS, listed, [total], [*notes, say("lists.no moisture")])


def _bases(board: Board) -> set[str]:
    return {ref.partition("/")[0] for ref in board.placements.ref}


def _by_hand_in_text(board: Board) -> Mapping[int, str]:
    """Return the text by which a line of the BOM has its parts fitted by hand, by the line's number."""
    return {number: line.by_hand for number, line in enumerate(board.bom or ()) if line.by_hand}


def _cells(body: Body, known: PartClass | None, text: str) -> tuple[str | None, ...]:
    placed = "hand" if text else known.placed_by if known is not None and known.placed_by else _by_mounting(body)
    return (
        body.part_class or "",
        None if body.mounting is None else str(body.mounting),
        placed,
        _YES_NO[None if known is None else known.reflow],
        _YES_NO[None if known is None else known.washable],
    )


def _by_mounting(body: Body) -> str | None:
    if body.mounting is Mounting.THROUGH_HOLE:
        return "hand or wave"
    return {Mounting.SURFACE: "machine", Mounting.NONE: "nothing"}.get(body.mounting) if body.mounting else None


def _source(body: Body, known: PartClass | None, text: str) -> Said:
    if text:
        return say("lists.by hand in a text", text=text)
    if known is not None:
        return say("lists.class", name=known.name, source=known.source)
    if body.mounting is None:
        return say("lists.mounting not known")
    return say("lists.mounting", source=body.body_from) if body.body_from else say("lists.mounting stated")


def _rank(cells: tuple[str | None, ...]) -> int:
    """Return the place of a row: what must not be soldered or washed with the others comes first."""
    return 0 if cells[3] == "no" else 1 if cells[4] == "no" else 2 if cells[0] else 3


def _count(rows: Mapping[tuple[str, tuple[str | None, ...], Said], list[int]], column: int) -> int:
    return sum(len(same) for (_, cells, _), same in rows.items() if cells[column] == "no")
