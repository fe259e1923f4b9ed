"""Figures as bars with whiskers: the bar is what is planned, the whisker what is known, and the words say both."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from capcheck.values import Interval

_FULL: Final = 97.0
"""The greatest figure of a scale, in percent of the width: a whisker's end stays within."""


class Bar(Struct, frozen=True):
    """One figure: *length* is the bar, *low* and *high* the whisker, in percent of the width.

    *marked* is the one that counts most; *open_end* a whisker that nothing ends.
    """

    name: str
    text: str
    length: float
    low: float
    high: float
    marked: bool = False
    open_end: bool = False
    note: str = ""

    @property
    def has_whisker(self) -> bool:
        """Whether what is known is wider than what is planned."""
        return self.open_end or self.high - self.low > 0.05


class Scale(Struct, frozen=True):
    """What a width stands for, so that the bars of several figures can be compared."""

    most: float

    @classmethod
    def of(cls, values: Sequence[float]) -> Scale:
        """Return the scale on which the greatest of the finite *values* fills the width."""
        return cls(max((v for v in values if math.isfinite(v)), default=0.0))

    def at(self, value: float) -> float:
        """Return where a figure stands, in percent of the width; one without bound is at its end."""
        if self.most <= 0:
            return 0.0
        return round(_FULL * max(min(value / self.most, 1.0), 0.0), 2) if math.isfinite(value) else 100.0

    def bar(
        self, name: str, text: str, planned: float, within: Interval, *, marked: bool = False, note: str = ""
    ) -> Bar:
        """Return the bar of a figure that is *planned*, with a whisker over all that is known of it."""
        low, high = (self.at(end) for end in (within.low, within.high))
        return Bar(name, text, self.at(planned), low, high, marked, math.isinf(within.high), note)
