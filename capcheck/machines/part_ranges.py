"""What of a head hangs on the size of the part: ranges of the body's longer side, each with limits and times."""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from pydantic import BaseModel, ConfigDict, Field

from capcheck.values import Length, PositiveLength, PositiveTime, Rate

UPPER: Final = ("max_part_height",)
"""Limits of a range that no part may exceed."""
LOWER: Final = ("min_lead_pitch", "min_ball_pitch")
"""Limits of a range that no part may fall below."""


class PartRange(BaseModel):
    """A range of the body's longer side, with limits that are stricter than the head's own, and times no shorter."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True, allow_inf_nan=False)

    over: Length | None = Field(
        None, description="longer side of the body above which the range begins; left out: where the one before ends"
    )
    up_to: PositiveLength | None = Field(
        None, description="longer side of the body up to which it goes; left out in the last: up to max_body_length"
    )
    max_part_height: PositiveLength | None = Field(None, description="tallest part of this size")
    min_lead_pitch: Length | None = Field(None, description="least lead pitch that is resolved at this size")
    min_ball_pitch: Length | None = Field(None, description="least ball pitch that is resolved at this size")
    recognises_balls: bool | None = Field(
        None, description="whether ball grids of this size are recognised; false where pictures are put together"
    )
    rated: Rate | None = Field(None, description="rated placements per hour of parts of this size alone")
    pick: PositiveTime | None = Field(None, description="down, vacuum and up at a feeder, for one part of this size")
    place: PositiveTime | None = Field(None, description="down, blow off and up on the board, for a part of this size")


def spans_of(ranges: Sequence[PartRange]) -> list[tuple[float, float]]:
    """Return above which and up to which longer side in mm each range goes."""
    found: list[tuple[float, float]] = []
    for one in ranges:
        before = found[-1][1] if found else 0.0
        found.append((before if one.over is None else one.over, math.inf if one.up_to is None else one.up_to))
    return found


def faults_of_ranges(ranges: Sequence[PartRange], head: Mapping[str, float | bool | None]) -> Iterator[str]:
    """Yield what contradicts itself in the ranges of a head, whose own limits are *head*, each with what to do."""
    end, largest = 0.0, head["max_body_length"]
    for number, (one, (over, up_to)) in enumerate(zip(ranges, spans_of(ranges), strict=True), 1):
        if math.isinf(over):
            yield f"range {number} has no sizes left: the one before has no end; state up_to there"
        elif over >= up_to:
            yield f"range {number} goes from {over:g} to {up_to:g} mm, which is nothing; correct over or up_to"
        elif over > end:
            yield f"no range is for bodies of {end:g} to {over:g} mm; close the hole before range {number}"
        elif over < end:
            last = f"{end:g} mm" if math.isfinite(end) else "any size"
            yield f"range {number} begins at {over:g} mm, but the one before goes up to {last}; they overlap"
        end = max(end, up_to)
        yield from _beyond_head(number, one, head)
    if largest is not None and math.isfinite(end) and end != largest:
        yield f"the ranges end at {end:g} mm, but max_body_length is {largest:g} mm; leave out up_to of the last one"


def _beyond_head(number: int, one: PartRange, head: Mapping[str, float | bool | None]) -> Iterator[str]:
    """Yield which limits of a range are wider than the head's own: those hold for every part."""
    for name in (*UPPER, *LOWER):
        own, here = head[name], getattr(one, name)
        if own is not None and here is not None and (here > own if name in UPPER else here < own):
            yield f"range {number} states {name} {here:g} mm, the head {own:g} mm for every part; correct one of them"
    if head["recognises_balls"] is False and one.recognises_balls:
        yield f"range {number} recognises balls, the head does not; correct one of them"
