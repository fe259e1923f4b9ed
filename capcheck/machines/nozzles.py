"""The nozzles that a shop has for a head: by which area each holds a body, of which sizes, and of which parts."""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
import math
from collections.abc import Iterable, Sequence
from fnmatch import fnmatchcase
from itertools import pairwise, product
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from capcheck.values import Interval, Length, PositiveLength

Holds = Literal["flat", "round", "sides"]


class Nozzle(BaseModel):
    """A nozzle that the shop has for a head: the bodies that it holds."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True, allow_inf_nan=False)

    name: str = Field(min_length=1, description="name of the nozzle, unique on the head")
    min_side: Length | None = Field(
        None, description="shorter side of the smallest body that it holds; left out: the shorter side of its pick area"
    )
    max_side: PositiveLength | None = Field(
        None, description="longer side of the largest body that it holds; left out with takes: whatever these parts are"
    )
    pick_length: PositiveLength | None = Field(
        None, description="longer side, or diameter, of the area by which it picks: no smaller body covers it"
    )
    pick_width: PositiveLength | None = Field(
        None, description="shorter side of that area; left out: as pick_length, a round or square one"
    )
    holds: Holds = Field(
        "flat",
        description="what it holds a body by: a flat top, a round body in a groove, or its sides, as a gripper does",
    )
    takes: tuple[Annotated[str, Field(min_length=1)], ...] | None = Field(
        None,
        min_length=1,
        description='part numbers, values or packages that it is made for, and no others, with * and ?: ["SOT-23*"]',
    )

    @model_validator(mode="after")
    def _says_what_it_holds(self) -> Self:
        least, most = self.min_side, self.max_side
        if least is not None and most is not None and least > most:
            raise ValueError(f"the least side ({least:g}) is more than the greatest ({most:g})")
        if self.pick_width is not None and self.pick_length is None:
            raise ValueError("a pick_width goes with a pick_length, the longer side of the area")
        if self.pick_width is not None and self.pick_length is not None and self.pick_width > self.pick_length:
            raise ValueError("the longer side of the pick area is pick_length; exchange pick_length and pick_width")
        if self.pick_length is not None and self.holds == "sides":
            raise ValueError("a gripper holds by the sides and has no pick area; leave out pick_length")
        if most is not None and (self.pick_length or 0.0) > most:
            told = f"no body up to {most:g} mm covers a pick area {self.pick_length:g} mm long"
            raise ValueError(f"{told}; correct pick_length or max_side")
        if self.takes is None and (most is None or (least is None and self.pick_length is None)):
            told = "states neither the parts that it takes nor both ends of the sizes that it holds"
            raise ValueError(f"{told}; add takes, or max_side with min_side or pick_length")
        return self

    @property
    def least_sides(self) -> tuple[float, float]:
        """Longer and shorter side in mm of the smallest body that it holds."""
        pick = 0.0 if self.pick_length is None else self.pick_length
        shorter = max(self.min_side or 0.0, pick if self.pick_width is None else self.pick_width)
        return max(pick, shorter), shorter

    @property
    def longest(self) -> float:
        """Longer side in mm of the largest body that it holds."""
        return math.inf if self.max_side is None else self.max_side

    def is_for(self, names: Sequence[str]) -> bool | None:
        """Whether it is for a part: any, or one that goes by the names of which the first is the part number.

        None where that number is not known, and none of the other names is one that the nozzle is for.
        """
        if self.takes is None:
            return True
        known = [name.casefold() for name in names if name]
        if any(fnmatchcase(name, pattern.casefold()) for name in known for pattern in self.takes):
            return True
        return False if names and names[0] else None

    def fits(self, length: Interval, width: Interval) -> bool | None:
        """Whether it holds a body by its sides, longer and shorter, mm; None where that is not decided."""
        longer, shorter = _ordered(length, width)
        least_longer, least_shorter = self.least_sides
        if longer.low > self.longest or longer.high < least_longer or shorter.high < least_shorter:
            return False
        large_enough = least_longer <= longer.low and least_shorter <= shorter.low
        return True if large_enough and longer.high <= self.longest else None


def _ordered(one: Interval, other: Interval) -> tuple[Interval, Interval]:
    """Return the longer and the shorter of two sides."""
    longer = Interval(max(one.low, other.low), max(one.high, other.high))
    return longer, Interval(min(one.low, other.low), min(one.high, other.high))


def holding(nozzles: Sequence[Nozzle], length: Interval, width: Interval, names: Sequence[str]) -> bool | None:
    """Whether one of the nozzles holds a part, whatever it is within its bounds: sides in mm, names as ``is_for`` has.

    Where each size within the bounds has a nozzle, one holds it, though it is not known which. None where it is open.
    """
    asked = [(nozzle, nozzle.is_for(names), nozzle.fits(length, width)) for nozzle in nozzles]
    asked = [(nozzle, own, fits) for nozzle, own, fits in asked if own is not False and fits is not False]
    if any(own and fits for _, own, fits in asked):
        return True
    if _covered([nozzle for nozzle, own, _ in asked if own], *_ordered(length, width)):
        return True
    return None if asked else False


def _covered(nozzles: Sequence[Nozzle], longer: Interval, shorter: Interval) -> bool:
    """Whether each pair of sides within these has a nozzle that holds it."""
    if not nozzles or not all(map(math.isfinite, (longer.high, shorter.high))):
        return False
    along = _cut(longer, (end for nozzle in nozzles for end in (nozzle.least_sides[0], nozzle.longest)))
    across = _cut(shorter, (nozzle.least_sides[1] for nozzle in nozzles))
    return all(
        any(nozzle.fits(one, other) for nozzle in nozzles)
        for one, other in product(along, across)
        # A body's shorter side is no longer than its longer one.
        if other.low <= one.high
    )


def _cut(whole: Interval, ends: Iterable[float]) -> list[Interval]:
    """Return an interval cut where something ends within it."""
    at = sorted({whole.low, whole.high, *(end for end in ends if whole.low < end < whole.high)})
    return [Interval(low, high) for low, high in pairwise(at)] or [whole]
