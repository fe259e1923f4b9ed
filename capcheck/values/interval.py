"""Numbers that are known only within bounds.

An interval holds every value that the data leave possible. A stated value has equal ends; a missing one spans
everything. Magnitudes are in the canonical unit of their dimension (mm, degree, gram, second, 1/hour).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from msgspec import Struct


class Interval(Struct, frozen=True, gc=False):
    """All values from *low* to *high*, both included; an open end is infinite."""

    low: float
    high: float

    def __post_init__(self) -> None:
        # A comparison with what is not a number is false.
        if not self.low <= self.high:
            message = f"not an interval: {self.low} to {self.high}"
            raise ValueError(message)

    @classmethod
    def exactly(cls, value: float) -> Interval:
        """Return the interval that holds *value* alone."""
        return cls(value, value)

    @classmethod
    def about(cls, value: float, plus: float, minus: float | None = None) -> Interval:
        """Return *value* with its tolerances, both given as positive numbers."""
        return cls(value - (plus if minus is None else minus), value + plus)

    @classmethod
    def at_most(cls, high: float) -> Interval:
        """Return the interval of a size that is known only not to exceed *high*."""
        return cls(0.0, high)

    @property
    def is_known(self) -> bool:
        """Whether both ends are finite."""
        return math.isfinite(self.low) and math.isfinite(self.high)

    @property
    def is_exact(self) -> bool:
        """Whether only one value is possible."""
        return self.low == self.high

    @property
    def middle(self) -> float:
        """The value half-way between the ends, which must be finite."""
        return (self.low + self.high) / 2

    def hull(self, other: Interval) -> Interval:
        """Return the least interval that holds both."""
        return Interval(min(self.low, other.low), max(self.high, other.high))

    def meet(self, other: Interval) -> Interval | None:
        """Return the values in both, or None where the two exclude each other."""
        low, high = max(self.low, other.low), min(self.high, other.high)
        return Interval(low, high) if low <= high else None

    def scaled(self, factor: float) -> Interval:
        """Return the interval times a factor that is not negative."""
        return Interval(self.low * factor, self.high * factor)

    def overlaps(self, other: Interval, slack: float = 0.0) -> bool:
        """Whether the two have a value in common, or come within *slack* of it."""
        return self.low <= other.high + slack and other.low <= self.high + slack


def total(terms: Iterable[Interval]) -> Interval:
    """Return the sum of intervals, 0 of none; no two of them may be open to opposite sides."""
    listed = list(terms)
    return Interval(sum((t.low for t in listed), 0.0), sum((t.high for t in listed), 0.0))


def product(*factors: Interval) -> Interval:
    """Return the product of intervals that are not negative: nothing of what is not known is nothing."""
    low = high = 1.0
    for factor in factors:
        low = 0.0 if 0.0 in {low, factor.low} else low * factor.low
        high = 0.0 if 0.0 in {high, factor.high} else high * factor.high
    return Interval(low, high)


def quotient(over: Interval, under: Interval) -> Interval:
    """Return a quotient of intervals that are not negative; by what may be nothing it has no high end."""
    low = 0.0 if math.isinf(under.high) or over.low == 0 else over.low / under.high if under.high else math.inf
    high = 0.0 if over.high == 0 else over.high / under.low if under.low else math.inf
    return Interval(min(low, high), high)


UNKNOWN: Final = Interval(-math.inf, math.inf)
"""Any value: nothing is known."""

UNKNOWN_SIZE: Final = Interval(0.0, math.inf)
"""Any size: nothing is known but that it is not negative."""
