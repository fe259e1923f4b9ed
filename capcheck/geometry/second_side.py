"""The second side: what hangs below in the second reflow, and which side to solder first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from capcheck.model import Body, Flags, Floats, Placements, Said, Side, say
from capcheck.values import UNKNOWN_SIZE, Interval

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

SQUARE_INCH_MM2: Final = 645.16
_LIGHT_G: Final = 0.05
"""Lighter parts stay by the tension of the solder whatever their joints: from memory."""
HANGING_LIMIT_G_MM2: Final = 30 / SQUARE_INCH_MM2
"""30 g/in² of pad-mating area, 46.5 mg/mm²: guideline 12 of rules/guidelines.csv."""
_LEAST_FOOT_MM: Final = 0.4
"""Shortest foot of a gull wing: JEDEC MS-012 gives 0.40 to 1.27 mm, from memory."""
_LEAST_TERMINATION_SHARE: Final = 0.1
"""A chip's termination covers at least this share of its length at each end: from memory."""
_BALL_PAD_SHARE: Final = (0.7, 1.0)
"""Pad diameter over ball diameter: lands are made smaller by up to a quarter, with a margin; from memory."""


def mass_per_area(mass: tuple[ArrayLike, ArrayLike], area: tuple[ArrayLike, ArrayLike]) -> tuple[Floats, Floats]:
    """Return the bounds of mass over pad-mating area in g/mm²; an area that may be 0 leaves the high end open."""
    (m_low, m_high), (a_low, a_high) = ([np.asarray(v, float) for v in pair] for pair in (mass, area))
    with np.errstate(divide="ignore", invalid="ignore"):
        low = np.where(a_high > 0, m_low / a_high, 0.0)
        high = np.where(a_low > 0, m_high / a_low, np.inf)
    return np.nan_to_num(low, nan=0.0, posinf=np.inf), np.where(np.isnan(high), np.inf, high)


def foot_area(pins: int, lead_width: Interval, foot_length: Interval) -> Interval:
    """Return the contact area in mm² of *pins* feet of this size."""
    high = pins * lead_width.high * foot_length.high
    return Interval(pins * lead_width.low * foot_length.low, math.inf if math.isnan(high) else high)


def joint_area(body: Body) -> Interval:
    """Return bounds of the pad-mating area in mm² as far as the body's data go, by its lead style.

    Gull wings: their feet, from the shortest foot of the standard to all that reaches beyond the body. Chips: the
    ends, from a tenth of the length each to half. Ball grids: the pads under the balls. Anything else is open.
    """
    if body.lead_style == "chip" and body.length.low > 0:
        whole = body.length.high * body.width.high
        return Interval(2 * _LEAST_TERMINATION_SHARE * body.length.low * body.width.low, whole)
    if not body.pins:
        return UNKNOWN_SIZE
    if body.lead_style == "gull wing":
        across = body.span.high - min(body.width.low, body.length.low)
        return foot_area(body.pins, body.lead_width.value, Interval(_LEAST_FOOT_MM, max(across / 2, _LEAST_FOOT_MM)))
    if body.lead_style == "ball grid":
        low, high = (
            body.pins * math.pi / 4 * (d * share) ** 2
            for d, share in zip((body.ball_diameter.low, body.ball_diameter.high), _BALL_PAD_SHARE, strict=True)
        )
        return Interval(low, high)
    return UNKNOWN_SIZE


def tallest(height: tuple[ArrayLike, ArrayLike], rows: Flags) -> tuple[Interval, int]:
    """Return the bounds of the tallest height among *rows* and the row that sets the high end; (0, −1) without any."""
    low, high = (np.asarray(h, float) for h in height)
    index = np.flatnonzero(rows)
    if not len(index):
        return Interval.exactly(0.0), -1
    row = int(index[np.argmax(high[index])])
    return Interval(float(low[index].max()), float(high[row])), row


class SideLoad(Struct, frozen=True):
    """What matters of one side for the order of soldering. *falling* and *may_fall* count parts over the mass limit."""

    side: Side
    parts: int
    falling: int
    may_fall: int
    ball_grids: int
    height: Interval


def side_load(
    side: Side,
    rows: Flags,
    load: tuple[ArrayLike, ArrayLike],
    height: tuple[ArrayLike, ArrayLike],
    *,
    ball_grid: ArrayLike,
    limit_g_mm2: float = HANGING_LIMIT_G_MM2,
) -> SideLoad:
    """Return the sums over the parts in *rows*; *load* is :func:`mass_per_area`, *height* mm."""
    low, high = (np.asarray(v, float)[rows] for v in load)
    return SideLoad(
        side,
        int(np.count_nonzero(rows)),
        int((low > limit_g_mm2).sum()),
        int(((high > limit_g_mm2) & (low <= limit_g_mm2)).sum()),
        int(np.asarray(ball_grid, bool)[rows].sum()),
        tallest(height, rows)[0],
    )


def hanging_load(bodies: Sequence[Body]) -> tuple[Floats, Floats]:
    """Return the bounds of each body's mass over its pad-mating area in g/mm²."""
    mass = np.array([(b.mass.low, b.mass.high) for b in bodies])
    area = np.array([(a.low, a.high) for a in map(joint_area, bodies)])
    return mass_per_area((mass[:, 0], mass[:, 1]), (area[:, 0], area[:, 1]))


def side_loads(placements: Placements, bodies: Sequence[Body]) -> list[SideLoad]:
    """Return what matters of top and bottom, over all parts that are not known to have leads through holes.

    Mass over area says nothing of chips, and light parts stay by the tension of the solder whatever their joints.
    """
    known = (*bodies, Body())  # the last stands for parts without a type
    types, sides = placements.part_type[placements.is_part], placements.side[placements.is_part]
    on_surface = np.array([b.mounting not in {"through hole", "none"} for b in known])[types]
    may_fall = np.array([b.lead_style not in {"chip", "melf"} and b.mass.low > _LIGHT_G for b in known])
    load = tuple(np.where(may_fall, end, 0.0)[types] for end in hanging_load(known))
    height = np.array([(b.height.low, b.height.high) for b in known])[types]
    grid = np.array([b.lead_style in {"ball grid", "column grid"} for b in known])[types]
    return [
        side_load(
            side,
            (sides == side) & on_surface,
            (load[0], load[1]),
            (height[:, 0], height[:, 1]),
            ball_grid=grid,
        )
        for side in (Side.TOP, Side.BOTTOM)
    ]


class FirstSide(Struct, frozen=True):
    """The side proposed to be soldered first, with the reasons."""

    side: Side
    reasons: tuple[Said, ...]


def propose_first(loads: Sequence[SideLoad]) -> FirstSide:
    """Return which side to solder first, because it hangs below while the other is soldered.

    In order of weight: parts that would fall, ball grids (a second melting takes their life), height below the
    board, number of parts. A side without parts is never soldered. Common practice, no source.
    """
    filled = [s for s in loads if s.parts]
    if len(filled) < 2:
        side = filled[0].side if filled else Side.TOP
        return FirstSide(side, (say("geometry.only filled side" if filled else "geometry.no filled side"),))
    one, other = filled[:2]
    found: list[tuple[Side, Said]] = []

    def compare(key: str, a: int, b: int) -> None:
        if a != b:
            side = (one if a < b else other).side
            found.append((side, say(key, side=str(side), fewer=min(a, b), more=max(a, b))))

    compare("geometry.fewer too heavy", one.falling, other.falling)
    compare("geometry.fewer that may be too heavy", one.may_fall, other.may_fall)
    compare("geometry.fewer ball grids", one.ball_grids, other.ball_grids)
    if one.height.high < other.height.low or other.height.high < one.height.low:
        side = (one if one.height.high < other.height.low else other).side
        found.append((side, say("geometry.lower side", side=str(side))))
    compare("geometry.fewer parts", one.parts, other.parts)
    if not found:
        return FirstSide(one.side, (say("geometry.sides alike"),))
    first = found[0][0]
    speaking = tuple(reason for side, reason in found if side == first)
    against = tuple(say("geometry.against", reason=reason) for side, reason in found if side != first)
    return FirstSide(first, speaking + against)
