"""The board that a JSON report tells of, as far as it holds it: its rows, bodies and box, but no contour."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

import numpy as np
from msgspec import Struct, ValidationError, convert, field

from capcheck.model import (
    Board,
    BoardSize,
    Body,
    BomLine,
    Decision,
    Discrepancy,
    Kind,
    Manifest,
    Measure,
    Mounting,
    PartName,
    Placements,
    Side,
    Topic,
)
from capcheck.values import InputError, Interval

_Ends = tuple[float | None, float | None]
_OPEN: Final[_Ends] = (None, None)
_KINDS: Final = {str(kind): kind for kind in Kind}
_SIDES: Final = {str(side): side for side in Side}
_MOUNTINGS: Final = {str(mounting): mounting for mounting in Mounting}
_TOPICS: Final = {str(topic): topic for topic in Topic}


class _Part(Struct, frozen=True):
    ref: str
    kind: str = "part"
    side: str | None = None
    x_mm: float | None = None
    y_mm: float | None = None
    rotation_deg: float | None = None
    fitted: bool = True
    part_number: str = ""
    value: str = ""
    footprint: str = ""
    family: str | None = None
    mounting: str | None = None
    pins: int | None = None
    body_mm: dict[str, _Ends] = field(default_factory=dict)


class _Size(Struct, frozen=True):
    name: str = ""
    length_mm: _Ends = _OPEN
    width_mm: _Ends = _OPEN
    thickness_mm: _Ends = _OPEN


class _BomLine(Struct, frozen=True):
    refs: tuple[str, ...]
    part_number: str = ""
    value: str = ""
    fitted: bool = True
    file: str = ""
    row: int | None = None


class _Decision(Struct, frozen=True):
    topic: str
    choice: str = ""
    open: bool = False


class _Told(Struct, frozen=True):
    topic: str
    refs: tuple[str, ...] = ()


class _Report(Struct, frozen=True):
    board: _Size
    parts: list[_Part]
    bom: list[_BomLine] | None = None
    decisions: list[_Decision] = field(default_factory=list)
    discrepancies: list[_Told] = field(default_factory=list)


def board_of_report(data: Mapping[str, object], where: str) -> Board | None:
    """Return the board of a report's *data*, None where it holds no parts. Raises :class:`InputError`."""
    if "parts" not in data or "board" not in data:
        return None
    try:
        return _board(convert(data, _Report), where)
    except ValidationError as error:
        raise InputError.at(where, f"holds a board that is not whole: {error}") from None


def _board(told: _Report, where: str) -> Board:
    """Return the board of a report. Raises ValidationError for bounds that are none."""
    keys = [_type_of(part) if part.kind == "part" else None for part in told.parts]
    types = {key: number for number, key in enumerate(dict.fromkeys(k for k in keys if k is not None))}
    named = {key: part for key, part in zip(keys, told.parts, strict=True) if key is not None}
    lines = {ref: k for k, line in enumerate(told.bom or ()) for ref in line.refs}
    count = len(told.parts)
    placements = Placements(
        ref=[part.ref for part in told.parts],
        x_mm=np.array([_number(part.x_mm) for part in told.parts]),
        y_mm=np.array([_number(part.y_mm) for part in told.parts]),
        rotation_deg=np.array([_number(part.rotation_deg) for part in told.parts]),
        side=np.array([_SIDES.get(part.side or "", Side.UNKNOWN) for part in told.parts], dtype=np.int8),
        kind=np.array([_KINDS.get(part.kind, Kind.PART) for part in told.parts], dtype=np.int8),
        fitted=np.array([part.fitted for part in told.parts], dtype=np.bool_),
        file=np.zeros(count, dtype=np.int64),
        row=np.arange(1, count + 1),
        bom_line=np.array(
            [lines.get(part.ref, lines.get(part.ref.partition("/")[0], -1)) for part in told.parts], dtype=np.int64
        ),
        part_type=np.array([-1 if key is None else types[key] for key in keys], dtype=np.int64),
        files=[where],
    )
    return Board(
        name=told.board.name,
        placements=placements,
        types=[PartName(part_number=k[0], value=k[1], footprint=k[2]) for k in types],
        bodies=[_body(named[key]) for key in types],
        bom=None if told.bom is None else [_line(line) for line in told.bom],
        outline=None,
        size=BoardSize(
            _measure(told.board.length_mm), _measure(told.board.width_mm), _measure(told.board.thickness_mm)
        ),
        manifest=Manifest(),
        decisions=[
            Decision(_TOPICS[found.topic], found.choice, "", open=found.open)
            for found in told.decisions
            if found.topic in _TOPICS
        ],
        discrepancies=[
            Discrepancy(_TOPICS[found.topic], "", found.refs) for found in told.discrepancies if found.topic in _TOPICS
        ],
    )


def _type_of(part: _Part) -> tuple[str, str, str, str | None]:
    return part.part_number, part.value, part.footprint, part.mounting


def _number(value: float | None) -> float:
    return math.nan if value is None else value


def _measure(ends: _Ends) -> Measure:
    low, high = ends
    if low is not None and high is not None and not low <= high:
        message = f"{low} to {high} are no bounds"
        raise ValidationError(message)
    return Measure(Interval(-math.inf if low is None else low, math.inf if high is None else high))


def _body(part: _Part) -> Body:
    length, width, height = (_measure(part.body_mm.get(name, _OPEN)) for name in ("length", "width", "height"))
    return Body(
        length=length,
        width=width,
        height=height,
        oriented=True,
        family=part.family,
        mounting=_MOUNTINGS.get(part.mounting or ""),
        pins=part.pins,
    )


def _line(line: _BomLine) -> BomLine:
    return BomLine(
        refs=line.refs,
        part_number=line.part_number,
        value=line.value,
        fitted=line.fitted,
        file=line.file,
        row=line.row or 0,
    )
