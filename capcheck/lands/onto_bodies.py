"""What lands prove of bodies: pitch, mounting, the way a two-land part lies, and that it reaches over its gap.

A pitch counts where as many lands were found as names say pins (right in 1,169 of 1,244 cases of any count, and in all
of 260 with that condition, against netlists). The upper end of a size, and a height, are never taken from lands.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from capcheck.model import (
    UNKNOWN_MEASURE,
    Basis,
    BoardLands,
    Body,
    Decision,
    How,
    LeadStyle,
    Measure,
    Mounting,
    PartLands,
    PartName,
    Placements,
    Said,
    Topic,
    say,
)
from capcheck.values import Interval

_MOST_STATEMENTS: Final = 3
_NAMED: Final = 5
_SLACK_MM: Final = 0.1
"""Lands are drawn to 0.05 mm, and a mask's openings a little larger than the copper in them."""
_ENDS: Final = frozenset({LeadStyle.CHIP, LeadStyle.MELF, LeadStyle.MOLDED})
"""Forms with a termination at each end of the longer side, but for those whose longer sides are soldered."""

Rows = Mapping[int, Sequence[tuple[int, PartLands]]]
"""For each part type its placements with lands."""


def lands_of_types(lands: BoardLands, placed: Placements) -> Rows:
    """Return the rows with their lands of each type that has any."""
    found: dict[int, list[tuple[int, PartLands]]] = {}
    for row, own in lands.of.items():
        index = int(placed.part_type[row])
        if index >= 0:
            found.setdefault(index, []).append((row, own))
    return found


def with_lands(
    types: Sequence[PartName], bodies: Sequence[Body], rows: Rows, placed: Placements, file_of: Mapping[str, str]
) -> list[PartName] | None:
    """Return the types with what lands prove beside what is known of their bodies; None where they add nothing.

    *file_of* names the layer of each side.
    """
    told = list(types)
    changed = False
    for index, own in rows.items():
        known, name = bodies[index], types[index]
        for pitch, row, side in _pitches(own)[:_MOST_STATEMENTS]:
            if not _says(known, pitch):
                where = f"{file_of[side]} ({placed.ref[row]})"
                sizes = {"pitch": (Interval(*pitch), where)}
                name = replace(name, other_dimensions=(*name.other_dimensions, sizes))
        for mounting, row, side in _mountings(own)[:_MOST_STATEMENTS]:
            if known.mounting is not mounting:
                where = f"{file_of[side]} ({placed.ref[row]})"
                name = replace(name, joints=(*name.joints, (mounting, where)))
        if name is not types[index]:
            told[index], changed = name, True
    return told if changed else None


def _pitches(own: Sequence[tuple[int, PartLands]]) -> list[tuple[tuple[float, float], int, str]]:
    found: dict[tuple[float, float], tuple[tuple[float, float], int, str]] = {}
    for row, lands in own:
        if lands.how is How.COUNTED and lands.pitch is not None:
            found.setdefault(lands.pitch, (lands.pitch, row, lands.side))
    return list(found.values())


def _says(body: Body, pitch: tuple[float, float]) -> bool:
    """Whether a body's pitch is known as closely, and agrees; of leads in holes it decides nothing."""
    known = body.pitch.proved
    close = known.high - known.low <= max(pitch[1] - pitch[0], _SLACK_MM / 2)
    agrees = known.low - _SLACK_MM / 10 <= pitch[1] and pitch[0] <= known.high + _SLACK_MM / 10
    return body.mounting is Mounting.THROUGH_HOLE or (close and agrees)


def _mountings(own: Sequence[tuple[int, PartLands]]) -> list[tuple[Mounting, int, str]]:
    found: dict[Mounting, tuple[Mounting, int, str]] = {}
    for row, lands in own:
        if lands.how is How.OFF_CENTRE:
            continue
        if lands.in_holes is False:
            found.setdefault(Mounting.SURFACE, (Mounting.SURFACE, row, lands.side))
        elif lands.in_holes and lands.has_paste is False:
            found.setdefault(Mounting.THROUGH_HOLE, (Mounting.THROUGH_HOLE, row, lands.side))
    return list(found.values())


def settled_by_lands(
    bodies: Sequence[Body], rows: Rows, placed: Placements, file_of: Mapping[str, str]
) -> tuple[list[Body], list[Decision]]:
    """Return the bodies turned as their two lands lie and as long as their gap at least, with what is said of it."""
    found = list(bodies)
    ways: dict[bool, list[int]] = {False: [], True: []}
    for index, own in rows.items():
        two = [(row, lands) for row, lands in own if lands.how is How.PAIR and lands.gap_mm is not None]
        if not two:
            continue
        row, widest = max(two, key=lambda one: one[1].gap_mm or 0.0)
        gap = widest.gap_mm or 0.0
        body = found[index]
        if body.lead_style not in _ENDS:
            continue  # leads reach beyond the body
        if gap > max(body.length.proved.high, body.width.proved.high) + _SLACK_MM:
            found[index] = _contradicted(body, gap, f"{file_of[widest.side]} ({placed.ref[row]})")
            continue
        # One may have been given a neighbour's lands: the part reaches over what all of them leave.
        row, narrowest = min(two, key=lambda one: one[1].gap_mm or 0.0)
        where = f"gap of {placed.ref[row]}'s lands in {file_of[narrowest.side]}"
        body = _at_least(body, narrowest.gap_mm or 0.0, where)
        along = {lands.along_y for _, lands in two}
        extent = min(lands.extent_mm or 0.0 for _, lands in two)
        across = max(lands.across_mm or 0.0 for _, lands in two)
        if len(along) == 1 and (way := along.pop()) is not None and _may_turn(body, extent, across):
            body = body.lying(along_y=way)
            ways[way].append(index)
        found[index] = body
    return found, _decisions(ways, bodies)


def _contradicted(body: Body, gap: float, where: str) -> Body:
    """Return a body that is too short for the gap between its lands, with the conflict: its size is open then."""
    said = say(
        "lands.shorter than the gap", layer=where, gap=round(gap, 2), length=body.length.high, known=body.body_from
    )
    return replace(
        body,
        length=UNKNOWN_MEASURE,
        width=UNKNOWN_MEASURE,
        conflicts=(*body.conflicts, said),
        misfits=(*body.misfits, said),
        disputed=(*body.disputed, "body"),
    )


def _at_least(body: Body, gap: float, where: str) -> Body:
    """Return a body whose longer side reaches over the gap, where less is known; never longer than it may be."""
    known = body.length
    if known.low >= gap or body.oriented or known.high < gap:
        return body
    if known.basis in {Basis.UNKNOWN, Basis.TYPICAL}:
        return body if known.basis is Basis.TYPICAL else replace(body, length=_bound(Interval(gap, known.high), where))
    if known.basis is Basis.BOUND:
        return replace(body, length=_bound(Interval(gap, known.high), f"{known.source}; {where}"))
    return body


def _bound(value: Interval, where: str) -> Measure:
    return Measure(value, Basis.BOUND, where)


def _may_turn(body: Body, extent: float, across: float) -> bool:
    """Whether the ends of the longer side are soldered: the lands reach as far, and are less wide than it is long.

    Lands of a chip that is soldered along its longer sides are as wide as it is long, and may reach as far.
    """
    longer = body.length.low
    return not body.oriented and longer > body.width.high and across < longer <= extent + _SLACK_MM


def _decisions(ways: Mapping[bool, Sequence[int]], bodies: Sequence[Body]) -> list[Decision]:
    found = []
    for along_y, types in ways.items():
        if types:
            names: list[Said | str] = [bodies[index].family or say("geometry.unnamed") for index in types]
            topic = Topic.ORIENTATION_Y if along_y else Topic.ORIENTATION_X
            choice = say("lands.orientation", along_y=along_y, families=list(dict.fromkeys(names))[:_NAMED])
            evidence = say("lands.by their two lands", count=len(types))
            found.append(Decision(topic, choice, evidence, settle=say("geometry.oriented sizes")))
    return found
