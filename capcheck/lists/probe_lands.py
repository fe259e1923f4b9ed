"""Test points by side and size: rows set apart as test lands, and fitted parts that are bought as test points."""

from __future__ import annotations

import math

from capcheck.lists.part_list import Cell, ListRow, PartList, body_of_type, fitted_by_type
from capcheck.model import Board, Family, Kind, Side, say
from capcheck.values import LENGTH, UnitError, pattern, read_quantity

COLUMNS = ("side", "what", "size mm", "x mm", "y mm")
_OWN = frozenset({"x mm", "y mm"})
_SIZE = pattern(
    r"(?<![\d.])(\d{1,3}(?:[.,]\d{1,3})?)(?:\s*(?:mm|mil)?\s*[x×*]\s*(\d{1,3}(?:[.,]\d{1,3})?))?\s*(mm|mil)(?![a-z])"
)
"""One size, or two, with a unit behind it; what comes first in a name of a land is the land."""


def probing_list(board: Board) -> PartList:
    """Return a row for each test point, those of one side and size together."""
    places = board.placements
    lands = dict(places.test_lands)
    fitted = [
        row
        for index, same in fitted_by_type(board).items()
        for row in same
        if body_of_type(board, index).family_key is Family.TEST_POINT
        or body_of_type(board, index).part_class == "test land"
    ]
    rows = [_land(board, row, text) for row, text in lands.items()]
    rows += [_part(board, row) for row in fitted]
    rows.sort(key=lambda row: (str(row.cells[0]), str(row.cells[1]), str(row.cells[2])))
    others = int((places.kind == Kind.MECHANICAL).sum()) - len(lands)
    count = {side: sum(row.cells[0] == side for row in rows) for side in ("top", "bottom", None)}
    total = say(
        "lists.probed",
        lands=len(lands),
        parts=len(fitted),
        top=count["top"],
        bottom=count["bottom"],
        nowhere=count[None],
        others=others,
        unsized=sum(row.cells[2] is None for row in rows),
    )
    if not rows:
        total = say("lists.no test points", lands=0, parts=0, top=0, bottom=0, nowhere=0, others=others)
    return PartList("test-points", board.name, COLUMNS, rows, [total], [say("lists.netless")], _OWN)


def _land(board: Board, row: int, text: str) -> ListRow:
    size = land_size(text)
    source = say("lists.land without name")
    if text:
        source = say("lists.land named", text=text) if size else say("lists.land unsized", text=text)
    return ListRow((board.placements.ref[row],), _cells(board, row, "land", size), source)


def _part(board: Board, row: int) -> ListRow:
    body = body_of_type(board, int(board.placements.part_type[row]))
    size = body.length.proved.value
    cells = _cells(board, row, "fitted part", size if size.is_known else None)
    return ListRow((board.placements.ref[row],), cells, say("lists.test part", source=body.body_from or "names"))


def _cells(board: Board, row: int, what: str, size: Cell) -> tuple[Cell, ...]:
    places, side = board.placements, Side(int(board.placements.side[row]))
    is_open = places.place_open is not None and bool(places.place_open[row])
    x, y = float(places.x_mm[row]), float(places.y_mm[row])
    return (
        None if side is Side.UNKNOWN or not board.sides_settled else str(side),
        what,
        size,
        *(None if math.isnan(v) or is_open or not board.unit_settled else round(v, 3) for v in (x, y)),
    )


def land_size(text: str) -> str | float | None:
    """Return the size that the name of a land states: a diameter, or two sides as text; None without a unit."""
    found = _SIZE.search(text.casefold())
    if found is None:
        return None
    try:
        sides = [read_quantity(f"{s.replace(',', '.')} {found[3]}", LENGTH) for s in (found[1], found[2]) if s]
    except UnitError:
        return None
    return round(sides[0], 4) if len(sides) == 1 else " × ".join(f"{side:.4g}" for side in sides)
