"""Columns of bare numbers whose title says nothing: where they are the sizes of most parts, the others are asked about.

A column "T" or "Top" that is right for the height of most parts states the height of all of them. Nothing is taken from
it; what it contradicts is open.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.model import UNKNOWN_MEASURE, Basis, say
from capcheck.packages.bodies.conflicts import slack
from capcheck.packages.candidate import distinct

if TYPE_CHECKING:
    from capcheck.model import Body, PartName
    from capcheck.values import Interval

_FIELDS: Final = ("height", "length", "width")
_MM: Final = (1.0, 25.4, 0.0254)
"""The mm of a number without unit, in mm, inches or mils (25.4 mm are an inch)."""
_FEWEST: Final = 3
"""Different sizes that have to agree: two may do so by chance."""
_MOST: Final = 0.7
"""The share of the parts of known size that have to agree."""
_SURELY: Final = 0.5
"""Of a part of which only the greatest size is known the real one is at least this share of it."""


class _Reading(Struct, frozen=True):
    """What a column may state: one size, in one unit; which parts agree, and which do not."""

    field: str
    agree: tuple[int, ...]
    others: tuple[int, ...]


def doubted_by_figures(bodies: Sequence[Body], types: Sequence[PartName]) -> list[Body]:
    """Return the bodies, with a size open where a column that is right for most parts states another one."""
    columns: dict[str, dict[int, tuple[float, str]]] = defaultdict(dict)
    for i, name in enumerate(types):
        for title, value, where in name.figures:
            columns[title].setdefault(i, (value, where))
    changed = list(bodies)
    for rows in columns.values():
        reading = _best(bodies, {i: value for i, (value, _) in rows.items()})
        if reading is None:
            continue
        for i in reading.others:
            body = changed[i]
            said = say("packages.column is a size", where=rows[i][1], size=reading.field, agree=len(reading.agree))
            nothing = {reading.field: UNKNOWN_MEASURE}
            if reading.field != "height":
                nothing[f"nominal_{reading.field}"] = UNKNOWN_MEASURE
            changed[i] = replace(body, **nothing, questions=distinct((*body.questions, said)))
    return changed


def _best(bodies: Sequence[Body], values: Mapping[int, float]) -> _Reading | None:
    """Return the size that most of the parts agree on, None where they do on none."""
    if len(set(values.values())) <= _FEWEST:
        return None
    found = [_read(bodies, values, field, mm) for field in _FIELDS for mm in _MM]
    return max((reading for reading in found if reading), key=lambda r: len(r.agree), default=None)


def _read(bodies: Sequence[Body], values: Mapping[int, float], field: str, mm: float) -> _Reading | None:
    known = {i: size for i in values if (size := _known(bodies[i], field)) is not None}
    agree = tuple(i for i, size in known.items() if _may_be(values[i] * mm, size))
    if len({values[i] for i in agree}) < _FEWEST or len(agree) < _MOST * len(known):
        return None
    return _Reading(field, agree, tuple(sorted(known.keys() - set(agree))))


def _known(body: Body, field: str) -> Interval | None:
    measure = getattr(body, field)
    return measure.value if measure.basis is not Basis.TYPICAL and math.isfinite(measure.high) else None


def _may_be(size_mm: float, known: Interval) -> bool:
    room = slack(known)
    return max(known.low, _SURELY * known.high) - room <= size_mm <= known.high + room
