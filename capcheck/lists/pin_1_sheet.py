"""Polarity and pin 1 for the first article: where pin 1 or the marked pole of each part lies at its angle.

Where no file shows pad 1, it is taken where IPC-7351A (its zero component orientations) has it, and said so: at the
left end of parts with two terminals, at the upper left of all others.
"""

from __future__ import annotations

import math

from capcheck.lexicon import reference_letters
from capcheck.lists.part_list import Cell, ListRow, PartList, body_of_type, fitted_by_type, is_bare, label_of_type
from capcheck.lists.tables import terminals
from capcheck.model import Board, Body, Family, LeadStyle, Said, Side, say

COLUMNS = ("part number", "body", "why", "side", "angle °", "pin 1 at", "known", "x mm", "y mm")
_OWN = frozenset({"x mm", "y mm"})
_TWO = 2
_OCTANT_DEG = 45.0
_OCTANTS = ("right", "upper right", "top", "upper left", "left", "lower left", "bottom", "lower right")


def pin_1_list(board: Board) -> PartList:
    """Return a row for each fitted part that must not be turned, or of which that is not known.

    Directions are as seen on the part's own side, with y up.
    """
    rows: list[ListRow] = []
    bare = free = shown = doubtful = 0
    for index, same in sorted(fitted_by_type(board).items(), key=lambda item: label_of_type(board, item[0])):
        body = body_of_type(board, index)
        letters = "" if index < 0 else board.types[index].ref_prefix
        why = _why(body, letters)
        if is_bare(board, index):
            bare += len(same)
            continue
        if why is None:
            free += len(same)
            continue
        for row in sorted(same, key=lambda r: (board.placements.side[r], board.placements.rotation_deg[r], r)):
            at, source = _direction(board, row, two=_is_two(body))
            is_shown = source.key == "lists.pad shown"
            shown += is_shown
            doubtful += why.key == "lists.polarity not known"
            rows.append(
                ListRow(
                    (board.placements.ref[row],),
                    (label_of_type(board, index), body.family, why, *_place(board, row, at, is_shown=is_shown)),
                    say("lists.by terminals", source=source) if why.key == "lists.taken as polarised" else source,
                )
            )
    total = say(
        "lists.to be seen",
        fitted=len(rows) + free + bare,
        bare=bare,
        listed=len(rows),
        free=free,
        shown=shown,
        assumed=len(rows) - shown,
        doubtful=doubtful,
    )
    return PartList("pin-1", board.name, COLUMNS, rows, [total], [say("lists.own side")], _OWN)


def _place(board: Board, row: int, at: str | None, *, is_shown: bool) -> tuple[Cell, ...]:
    places, side = board.placements, Side(int(board.placements.side[row]))
    angle, x, y = (float(column[row]) for column in (places.rotation_deg, places.x_mm, places.y_mm))
    is_open = places.place_open is not None and bool(places.place_open[row])
    known = "shown" if is_shown else None if at is None else "assumed"
    return (
        None if side is Side.UNKNOWN or not board.sides_settled else str(side),
        None if math.isnan(angle) else round(angle, 3),
        at,
        known,
        *(None if math.isnan(v) or is_open or not board.unit_settled else round(v, 3) for v in (x, y)),
    )


def _is_two(body: Body) -> bool:
    return (body.pins or _TWO) <= _TWO and not _is_many(body)


def _is_many(body: Body) -> bool:
    """Whether the part has more than two terminals: by its pins, else by its form."""
    if body.pins is not None:
        return body.pins > _TWO
    many = terminals().many
    return body.lead_style in many.forms or body.family_key in many.families


def _why(body: Body, letters: str) -> Said | None:
    """Return why the part stands in the list; None for one that may be turned by 180°."""
    if _is_many(body):
        return say("lists.terminals", pins=body.pins) if body.pins else say("lists.several terminals")
    if body.polarised is not None:
        return say("lists.polarised") if body.polarised else None
    polarised = _by_table(body.family_key, body.lead_style, letters)
    if polarised is None:
        return say("lists.polarity not known")
    return say("lists.taken as polarised") if polarised else None


def _by_table(family: Family | None, style: LeadStyle | None, letters: str) -> bool | None:
    table = terminals()
    if family in table.families:
        return table.families[family]
    known = reference_letters().get(letters)
    if known is None or style not in {LeadStyle.CHIP, LeadStyle.MELF}:
        return None
    return table.chips.get(known.chip or "")


def _direction(board: Board, row: int, *, two: bool) -> tuple[str | None, Said]:
    """Return where pin 1 lies at the part's angle, and what that stands on."""
    pads = board.placements.pin_1_at
    across, along = (math.nan, math.nan) if pads is None else map(float, pads[row])
    source = say("lists.pad shown")
    if math.isnan(across):
        across, along = -1.0, 0.0 if two else 1.0
        source = say("lists.pad assumed", where="left" if two else "upper left")
    angle = float(board.placements.rotation_deg[row])
    if math.isnan(angle) or (across == 0.0 and along == 0.0):
        return None, say("lists.no angle")
    return direction(math.degrees(math.atan2(along, across)) + angle), source


def direction(degrees: float) -> str:
    """Return an angle from the centre in words, counter-clockwise from the right: ``between top and upper left``."""
    place = degrees % 360.0 / _OCTANT_DEG
    nearest = round(place)
    if abs(place - nearest) * _OCTANT_DEG < 1.0:
        return _OCTANTS[nearest % 8]
    return f"between {_OCTANTS[math.floor(place) % 8]} and {_OCTANTS[math.ceil(place) % 8]}"
